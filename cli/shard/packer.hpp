#pragma once

#include <cstdint>
#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

#include "write/output.hpp"

namespace lowhiss::cli {

/// Writes MessagePack (msgpack.org, its specification of 2013) in pieces, each value in its
/// shortest form. A list or table is begun with its number of items or of keys.
class Packer {
  public:
    explicit Packer(const Sink& sink) : sink_(sink) {}

    void table(std::size_t keys);
    void list(std::size_t items);
    void text(std::string_view text);
    void bytes(std::string_view bytes);
    void whole(std::uint64_t number);
    void truth(bool flag);
    /// Little-endian doubles in one byte string.
    void numbers(const std::vector<double>& values);
    void finish();

    /// The number in the nine bytes of the longest form.
    void whole_in_nine_bytes(std::uint64_t number);

  private:
    /// A head in the first of these forms that holds the count.
    struct Form {
        std::uint64_t below;
        unsigned char head;
        int bytes;  ///< of the count after the head; 0: the count is added to the head
    };
    void head(std::uint64_t count, std::initializer_list<Form> forms);
    void put(std::string_view bytes);

    const Sink& sink_;
    std::string piece_;
};

}  // namespace lowhiss::cli
