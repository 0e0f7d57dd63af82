// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <bit>
#include <cstring>
#include <fstream>
#include <vector>

#include "cradlewright/base/error.hpp"
#include "plugs.hpp"

namespace cradlewright::demo {
namespace {

constexpr std::size_t header_bytes = 80, record_bytes = 50;

void put(char*& to, std::uint32_t value) {
    for (int shift = 0; shift < 32; shift += 8) *to++ = static_cast<char>(static_cast<unsigned char>(value >> shift));
}
void put(char*& to, Vec3 p) {
    for (const double c : {p.x, p.y, p.z}) put(to, std::bit_cast<std::uint32_t>(static_cast<float>(c)));
}

}  // namespace

void write_stl(const TriMesh& mesh, const std::filesystem::path& path) {
    std::ofstream out(path, std::ios::binary);
    std::array<char, header_bytes + 4> header{};
    const std::string_view title = "demo plug, mm";
    std::memcpy(header.data(), title.data(), title.size());
    char* count = header.data() + header_bytes;
    put(count, static_cast<std::uint32_t>(mesh.face_count()));
    out.write(header.data(), header.size());

    constexpr std::size_t batch = 20000;
    std::vector<char> buffer(batch * record_bytes);
    for (std::size_t first = 0; first < mesh.face_count(); first += batch) {
        const std::size_t last = std::min(mesh.face_count(), first + batch);
        char* to = buffer.data();
        for (std::size_t f = first; f < last; ++f) {
            const auto corners = mesh.corners(static_cast<FaceId>(f));
            put(to, normalized(area_vector(corners)));
            for (const Vec3 p : corners) put(to, p);
            *to++ = 0;
            *to++ = 0;
        }
        out.write(buffer.data(), to - buffer.data());
    }
    out.close();
    if (!out) throw Error(ErrorCode::io, path.string(), "could not be written", "check the folder and the free space");
}

}  // namespace cradlewright::demo
