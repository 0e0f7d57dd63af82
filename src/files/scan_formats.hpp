// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

/// \file Readers of the scan formats. Each takes the file's bytes and checks every count, index and offset against them
/// before it uses it, so memory stays within a small multiple of the file and nothing outside it is read.
namespace cradlewright {

/// A scan in the file's own unit: vertices finite and joined where equal.
struct FileMesh {
    TriMesh mesh;
    double mm_per_unit = 0;  ///< as the format states it; 0 when it does not
    std::string note;        ///< what a person should know about the reading, or empty
};

/// The binary kind is told by its size; a header that starts with "solid" does not make a file text.
bool is_binary_stl(std::string_view start, std::size_t file_size);
/// Reads in blocks; bytes after the last triangle are left out, with a note. Errors: Error(bad_input), Error(io).
FileMesh read_binary_stl(const std::filesystem::path& path, std::size_t file_size, const std::string& place);

/// Errors of all: Error(bad_input, place) with the line, byte or facet.
FileMesh read_ascii_stl(std::string_view bytes, const std::string& place);
FileMesh read_obj(std::string_view bytes, const std::string& place);
FileMesh read_off(std::string_view bytes, const std::string& place);
FileMesh read_ply(std::string_view bytes, const std::string& place);
/// glTF 2.0 in one file: positions of triangles, strips and fans of the default scene, nodes applied; metres, turned
/// nowhere.
FileMesh read_glb(std::string_view bytes, const std::string& place);
/// 3MF core: the build items with their components and transforms; the model's unit.
FileMesh read_3mf(std::string_view bytes, const std::string& place);

/// Collects vertices and polygons and checks them.
class MeshBuilder {
public:
    explicit MeshBuilder(const std::string& place) : place_(place) {}
    void add_vertex(Vec3 p) { mesh_.vertices.push_back(p); }
    [[nodiscard]] std::size_t vertex_count() const { return mesh_.vertices.size(); }
    /// A polygon of known vertices. Four corners are split along the shorter diagonal, more from the first corner.
    /// Errors: Error(bad_input) with the facet's number: under three corners, unknown vertex, corner not finite.
    void add_face(std::span<const std::size_t> corners);
    /// Joins equal vertices and drops unused ones. Errors: Error(bad_input) without a face.
    [[nodiscard]] FileMesh finish() &&;

private:
    [[noreturn]] void fail_facet(std::string_view problem) const;
    std::string place_;
    TriMesh mesh_;
    std::size_t facets_ = 0;
};

/// Coordinates beyond this are not lengths of anything; squares and cubes of what is below do not overflow.
inline constexpr double largest_coordinate = 1e30;
bool is_usable(Vec3 p);
[[noreturn]] void fail_scan(const std::string& place, const std::string& problem, std::string_view hint = {});
/// The system's reason by its errno; 0 = none, the file only ended before the size that it had a moment ago.
/// Errors: Error(io), always.
[[noreturn]] void fail_reading(const std::string& place, int reason);
[[noreturn]] void fail_no_triangles(const std::string& place);
[[noreturn]] void fail_not_finite(const std::string& place, std::size_t facet_number);

}  // namespace cradlewright
