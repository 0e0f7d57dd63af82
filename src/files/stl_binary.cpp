// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <bit>
#include <cerrno>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <memory>
#include <span>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "files/scan_formats.hpp"
#include "geom/mesh_weld.hpp"

namespace cradlewright {

static_assert(std::endian::native == std::endian::little, "binary STL is little-endian and is copied as it is");

namespace {

// Layout: 80 bytes of free text, number of triangles, then per triangle a normal, three corners and two bytes of
// attributes.
constexpr std::size_t header_size = 84, record_size = 50, normal_size = 12, count_at = 80;
constexpr std::size_t records_per_block = 1024;

std::size_t announced_triangles(const char* header) {
    std::uint32_t n = 0;
    std::memcpy(&n, header + count_at, sizeof n);
    return n;
}

bool starts_like_text(std::string_view start) {
    const std::size_t first = start.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos) return false;
    start.remove_prefix(first);
    const auto is_solid = [](char c, char wanted) { return (c | 0x20) == wanted; };
    constexpr std::string_view word = "solid";
    return start.size() >= word.size() && std::equal(word.begin(), word.end(), start.begin(),
                                                     [&](char wanted, char c) { return is_solid(c, wanted); });
}

class Reader {
public:
    Reader(std::FILE* file, std::size_t count, const std::string& place)
        : file_(file), count_(count), place_(place), welder_(count / 2 + 2) {
        triangles_.reserve(count);
    }

    TriMesh read() && {
        std::vector<char> block(std::min(count_, records_per_block) * record_size);
        while (triangles_.size() < count_) {
            const std::size_t wanted = std::min(count_ - triangles_.size(), records_per_block) * record_size;
            errno = 0;
            if (std::fread(block.data(), 1, wanted, file_) != wanted) fail_reading(place_, errno);
            add_records({block.data(), wanted});
        }
        TriMesh mesh;
        mesh.vertices = welder_.take();
        mesh.triangles = std::move(triangles_);
        return mesh;
    }

private:
    void add_records(std::span<const char> records) {
        corners_.clear();
        for (std::size_t at = 0; at < records.size(); at += record_size) {
            std::array<float, 9> c;
            std::memcpy(c.data(), records.data() + at + normal_size, sizeof c);
            for (std::size_t k = 0; k < 3; ++k) {
                const Vec3 p{double{c[3 * k]}, double{c[3 * k + 1]}, double{c[3 * k + 2]}};
                if (!is_usable(p)) fail_not_finite(place_, triangles_.size() + corners_.size() / 3 + 1);
                corners_.push_back(p);
            }
        }
        ids_.resize(corners_.size());
        welder_.add_all(corners_, ids_);
        for (std::size_t i = 0; i < ids_.size(); i += 3) triangles_.push_back({ids_[i], ids_[i + 1], ids_[i + 2]});
    }

    std::FILE* file_;
    std::size_t count_;
    const std::string& place_;
    PointWelder welder_;
    std::vector<Triangle> triangles_;
    std::vector<Vec3> corners_;  // of one block
    std::vector<VertexId> ids_;
};

}  // namespace

bool is_binary_stl(std::string_view start, std::size_t file_size) {
    const bool has_header = start.size() >= header_size;
    if (has_header && file_size == header_size + record_size * announced_triangles(start.data())) return true;
    return !starts_like_text(start);
}

FileMesh read_binary_stl(const std::filesystem::path& path, std::size_t file_size, const std::string& place) {
    if (file_size < header_size)
        fail_scan(place, "ends at byte " + std::to_string(file_size) + ", within the header of a binary STL file",
                  "copy or export the scan again");
    errno = 0;
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file(std::fopen(path.string().c_str(), "rb"), &std::fclose);
    std::array<char, header_size> header;
    if (!file || std::fread(header.data(), 1, header_size, file.get()) != header_size) fail_reading(place, errno);
    const std::size_t count = announced_triangles(header.data());
    const std::size_t needed = header_size + record_size * count;
    if (needed > file_size)
        fail_scan(place,
                  "is cut short or no STL file: it ends at byte " + std::to_string(file_size) + ", the " +
                      std::to_string(count) + " triangles announced need " + std::to_string(needed),
                  "copy or export the scan again");
    if (count == 0) fail_no_triangles(place);
    FileMesh out;
    out.mesh = Reader(file.get(), count, place).read();
    if (needed < file_size)
        out.note = std::to_string(file_size - needed) + " bytes after the last triangle were left out";
    return out;
}

}  // namespace cradlewright
