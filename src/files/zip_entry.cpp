// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/zip_entry.hpp"

#include <zlib.h>

#include <cstdint>
#include <optional>

#include "files/scan_formats.hpp"

namespace cradlewright {

namespace {

constexpr std::size_t end_record_size = 22, directory_record_size = 46, local_head_size = 30;
constexpr std::uint32_t end_mark = 0x06054b50, directory_mark = 0x02014b50, local_mark = 0x04034b50;
constexpr std::size_t most_unpacked_per_byte = 200;  // text of coordinates packs about 5 to 20 times

struct ZipEntry {
    std::string_view packed;
    unsigned method = 0;
    std::size_t size = 0;
};

/// The archive with checked access; numbers are little-endian.
class Archive {
public:
    Archive(std::string_view bytes, const std::string& place) : bytes_(bytes), place_(place) {}

    [[nodiscard]] std::optional<ZipEntry> find(const std::function<bool(std::string_view)>& is_wanted) const {
        const std::size_t end = find_end_record();
        const std::size_t entries = number(end + 10, 2);
        std::size_t at = number(end + 16, 4);
        for (std::size_t i = 0; i < entries; ++i) {
            if (number(at, 4) != directory_mark) damaged();
            const std::size_t name_size = number(at + 28, 2);
            if (is_wanted(part(at + directory_record_size, name_size))) return entry_at(at);
            at += directory_record_size + name_size + number(at + 30, 2) + number(at + 32, 2);
        }
        return std::nullopt;
    }

    [[noreturn]] void damaged() const {
        fail_scan(place_, "is a damaged or cut short archive of " + std::to_string(bytes_.size()) + " bytes",
                  "copy or export the scan again");
    }

private:
    [[nodiscard]] std::string_view part(std::size_t at, std::size_t size) const {
        if (at > bytes_.size() || size > bytes_.size() - at) damaged();
        return bytes_.substr(at, size);
    }
    [[nodiscard]] std::size_t number(std::size_t at, std::size_t size) const {
        std::size_t value = 0, shift = 0;
        for (const char c : part(at, size)) {
            value |= std::size_t{static_cast<unsigned char>(c)} << shift;
            shift += 8;
        }
        return value;
    }
    /// It is last but for a comment of at most 65535 bytes.
    [[nodiscard]] std::size_t find_end_record() const {
        for (std::size_t back = end_record_size; back <= bytes_.size() && back <= end_record_size + 65535; ++back)
            if (number(bytes_.size() - back, 4) == end_mark) return bytes_.size() - back;
        damaged();
    }
    [[nodiscard]] ZipEntry entry_at(std::size_t directory) const {
        const std::size_t packed_size = number(directory + 20, 4), local = number(directory + 42, 4);
        if (number(local, 4) != local_mark) damaged();
        const std::size_t data = local + local_head_size + number(local + 26, 2) + number(local + 28, 2);
        return {part(data, packed_size), static_cast<unsigned>(number(directory + 10, 2)), number(directory + 24, 4)};
    }

    std::string_view bytes_;
    const std::string& place_;
};

/// Raw deflate into exactly `size` bytes.
std::optional<std::string> inflate_to(std::string_view packed, std::size_t size) {
    std::string out(size, '\0');
    z_stream stream{};
    if (inflateInit2(&stream, -MAX_WBITS) != Z_OK) return std::nullopt;
    stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));  // zlib does not write to its input
    stream.avail_in = static_cast<uInt>(packed.size());
    stream.next_out = reinterpret_cast<Bytef*>(out.data());
    stream.avail_out = static_cast<uInt>(out.size());
    const int result = inflate(&stream, Z_FINISH);
    const bool is_whole = result == Z_STREAM_END && stream.total_out == size;
    inflateEnd(&stream);
    return is_whole ? std::optional(std::move(out)) : std::nullopt;
}

}  // namespace

std::optional<std::string> unpack_zip_entry(std::string_view bytes,
                                            const std::function<bool(std::string_view)>& is_wanted,
                                            const std::string& place) {
    constexpr unsigned stored = 0, deflated = 8;
    const Archive archive(bytes, place);
    const std::optional<ZipEntry> entry = archive.find(is_wanted);
    if (!entry) return std::nullopt;
    if (entry->method == stored && entry->size == entry->packed.size()) return std::string(entry->packed);
    if (entry->method != deflated) archive.damaged();
    if (entry->size / most_unpacked_per_byte > entry->packed.size())
        fail_scan(place, "is packed more densely than a scan can be");
    auto unpacked = inflate_to(entry->packed, entry->size);
    if (!unpacked) archive.damaged();
    return unpacked;
}

}  // namespace cradlewright
