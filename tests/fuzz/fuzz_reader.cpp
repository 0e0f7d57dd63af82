// SPDX-License-Identifier: GPL-3.0-or-later
// One target a reader: CRADLEWRIGHT_FUZZ_READER is the reader's function. Any file either is refused with
// Error(bad_input) or gives finite triangles that repair_mesh mends or refuses. Seeds: tests/corpus/scans/FORMAT.
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
[[maybe_unused]] FileMesh read_stl_binary(std::string_view bytes, const std::string& place) {
    static const std::filesystem::path path =
        std::filesystem::temp_directory_path() / ("cradlewright-fuzz-" + std::to_string(getpid()) + ".stl");
    std::ofstream(path, std::ios::binary) << bytes;
    return read_binary_stl(path, bytes.size(), place);
}
[[maybe_unused]] FileMesh read_stl_ascii(std::string_view bytes, const std::string& place) {
    return read_ascii_stl(bytes, place);
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
    if (size == 0) return 0;  // read_scan refuses an empty file before any reader sees it
    try {
        check(CRADLEWRIGHT_FUZZ_READER({reinterpret_cast<const char*>(data), size}, "fuzz"));
    } catch (const Error& error) {
        require(error.code() == ErrorCode::bad_input);
    }
    return 0;
}
