// SPDX-License-Identifier: GPL-3.0-or-later
// First byte picks the format, the rest is the file. Any file either is refused with Error(bad_input) or gives finite
// triangles that repair_mesh mends or refuses. Seeds: tests/corpus/scans.
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/mesh_repair.hpp"
#include "files/scan_formats.hpp"

using namespace cradlewright;

namespace {

/// The binary reader takes its file in blocks, so it gets one.
FileMesh read_as_file(std::string_view bytes) {
    static const std::filesystem::path path =
        std::filesystem::temp_directory_path() / ("cradlewright-fuzz-" + std::to_string(getpid()) + ".stl");
    std::ofstream(path, std::ios::binary) << bytes;
    return read_binary_stl(path, bytes.size(), "fuzz");
}

FileMesh read_by(std::uint8_t format, std::string_view bytes) {
    switch (format % 7) {
        case 0:
            return read_as_file(bytes);
        case 1:
            return read_ascii_stl(bytes, "fuzz");
        case 2:
            return read_obj(bytes, "fuzz");
        case 3:
            return read_off(bytes, "fuzz");
        case 4:
            return read_ply(bytes, "fuzz");
        case 5:
            return read_glb(bytes, "fuzz");
        default:
            return read_3mf(bytes, "fuzz");
    }
}

void require(bool holds) {
    if (!holds) std::abort();
}

void check(FileMesh file) {
    for (const Vec3 p : file.mesh.vertices) require(is_usable(p));
    for (const Triangle& t : file.mesh.triangles)
        for (const VertexId v : t) require(v < file.mesh.vertices.size());
    const RepairedMesh mended = repair_mesh(std::move(file.mesh), {}, "fuzz");
    face_adjacency(mended.mesh);  // throws Error(internal) on a surface that is not sound
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size == 0) return 0;
    try {
        check(read_by(data[0], {reinterpret_cast<const char*>(data) + 1, size - 1}));
    } catch (const Error& error) {
        require(error.code() == ErrorCode::bad_input);
    }
    return 0;
}
