#pragma once

#include <variant>

namespace lowhiss {

// Whether a table of the board language must have a figure.
inline constexpr bool required = true;
inline constexpr bool optional = false;

template <class Member>
struct MemberOwner;
template <class Class, class Type>
struct MemberOwner<Type Class::*> {
    using type = Class;
};

/// Accesses a member of a plain struct.
template <auto Member>
double& slot(typename MemberOwner<decltype(Member)>::type& owner) {
    return owner.*Member;
}

/// Accesses a member of the struct that a variant holds.
template <auto Member, class Variant>
double& slot_in(Variant& variant) {
    return std::get<typename MemberOwner<decltype(Member)>::type>(variant).*Member;
}

}  // namespace lowhiss
