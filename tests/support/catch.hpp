#pragma once

// Catch2 of either major version. Tests use only the names common to both.
#if __has_include(<catch2/catch_all.hpp>)
#include <catch2/catch_all.hpp>
#else
#include <catch2/catch.hpp>
#endif

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace lowhiss::test {

#if __has_include(<catch2/catch_all.hpp>)
template <class T>
using MatcherBase = Catch::Matchers::MatcherBase<T>;
#else
template <class T>
using MatcherBase = Catch::MatcherBase<T>;
#endif

/// Catch prints so many decimals: enough for a density of 1e-18 V^2/Hz and a tolerance of 1e-11.
[[maybe_unused]] inline const int printed_digits = Catch::StringMaker<double>::precision = 30;

}  // namespace lowhiss::test
