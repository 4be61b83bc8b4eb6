#include "shard/packer.hpp"

#include <array>
#include <bit>
#include <boost/endian/conversion.hpp>
#include <limits>

namespace lowhiss::cli {
namespace {

constexpr std::uint64_t any_size = std::numeric_limits<std::uint64_t>::max();
constexpr std::uint64_t one_byte = 1U << 8U;
constexpr std::uint64_t two_bytes = 1U << 16U;
constexpr std::uint64_t four_bytes = std::uint64_t{1} << 32U;

}  // namespace

void Packer::table(std::size_t keys) {
    head(keys, {{16, 0x80, 0}, {two_bytes, 0xDE, 2}, {any_size, 0xDF, 4}});
}

void Packer::list(std::size_t items) {
    head(items, {{16, 0x90, 0}, {two_bytes, 0xDC, 2}, {any_size, 0xDD, 4}});
}

void Packer::text(std::string_view text) {
    head(text.size(),
         {{32, 0xA0, 0}, {one_byte, 0xD9, 1}, {two_bytes, 0xDA, 2}, {any_size, 0xDB, 4}});
    put(text);
}

void Packer::whole(std::uint64_t number) {
    head(number, {{128, 0x00, 0},
                  {one_byte, 0xCC, 1},
                  {two_bytes, 0xCD, 2},
                  {four_bytes, 0xCE, 4},
                  {any_size, 0xCF, 8}});
}

void Packer::whole_in_nine_bytes(std::uint64_t number) {
    head(number, {{any_size, 0xCF, 8}});
}

void Packer::truth(bool flag) {
    put(flag ? "\xC3" : "\xC2");
}

void Packer::bytes(std::string_view bytes) {
    head(bytes.size(), {{one_byte, 0xC4, 1}, {two_bytes, 0xC5, 2}, {any_size, 0xC6, 4}});
    put(bytes);
}

void Packer::numbers(const std::vector<double>& values) {
    head(8 * values.size(), {{one_byte, 0xC4, 1}, {two_bytes, 0xC5, 2}, {any_size, 0xC6, 4}});
    for (const double value : values) {
        std::array<unsigned char, sizeof value> bytes{};
        boost::endian::store_little_u64(bytes.data(), std::bit_cast<std::uint64_t>(value));
        put({reinterpret_cast<const char*>(bytes.data()), bytes.size()});
    }
}

void Packer::finish() {
    if (!piece_.empty()) sink_(piece_);
    piece_.clear();
}

void Packer::head(std::uint64_t count, std::initializer_list<Form> forms) {
    const Form* form = forms.begin();
    while (form + 1 != forms.end() && count >= form->below) ++form;
    if (form->bytes == 0) {
        piece_ += static_cast<char>(form->head + count);
        return;
    }
    piece_ += static_cast<char>(form->head);
    for (int k = form->bytes - 1; k >= 0; --k) {
        piece_ += static_cast<char>(count >> (8U * static_cast<unsigned>(k)) & 0xFFU);
    }
}

void Packer::put(std::string_view bytes) {
    constexpr std::size_t longest = 1U << 16U;
    piece_ += bytes;
    if (piece_.size() >= longest) finish();
}

}  // namespace lowhiss::cli
