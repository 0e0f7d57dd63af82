// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string_view>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/write_scene.hpp"

namespace cradlewright {
namespace {

using Json = nlohmann::ordered_json;

// Source: Khronos, glTF 2.0 specification, sec. 4.4 (container) and 3.6.2 (accessors; OpenGL's numbers).
constexpr std::uint32_t magic = 0x46546C67, container_version = 2, json_chunk = 0x4E4F534A, binary_chunk = 0x004E4942;
constexpr int float_type = 5126, index_type = 5125, vertex_target = 34962, index_target = 34963;
constexpr std::size_t chunk_step = 4;

// Little-endian bytes of a number, whatever the machine.
template <class Number>
void append_little_endian(std::string& bytes, Number value) {
    std::array<char, sizeof(Number)> raw;
    std::memcpy(raw.data(), &value, sizeof(Number));
    if constexpr (std::endian::native == std::endian::big) {
        std::reverse(raw.begin(), raw.end());
    }
    bytes.append(raw.data(), raw.size());
}

using Point = std::array<float, 3>;

// mm, +Z up to metres, +Y up; a turn about x, so left stays left. Source: Khronos, glTF 2.0 specification, sec. 3.4.
Point to_gltf(Vec3 v, double factor) {
    return {static_cast<float>(v.x * factor), static_cast<float>(v.z * factor), static_cast<float>(-v.y * factor)};
}

// Area-weighted mean of the faces about each vertex.
std::vector<Vec3> vertex_normals(const TriMesh& mesh) {
    std::vector<Vec3> normals(mesh.vertices.size());
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const Vec3 n = area_vector(mesh.corners(f));
        for (const VertexId v : mesh.triangles[f]) {
            normals[v] += n;
        }
    }
    for (Vec3& n : normals) {
        n = n == Vec3{} ? Vec3{0, 0, 1} : normalized(n);  // the format wants unit vectors even where faces cancel
    }
    return normals;
}

/// Collects the numbers of all nodes and says where they are.
class Buffer {
public:
    /// Index of the accessor.
    std::size_t add_points(const std::vector<Point>& points, const char* attribute) {
        const std::size_t start = bytes_.size();
        Point low = points.front(), high = low;
        for (const Point& p : points)
            for (std::size_t k = 0; k < 3; ++k) {
                append_little_endian(bytes_, p[k]);
                low[k] = std::min(low[k], p[k]);
                high[k] = std::max(high[k], p[k]);
            }
        Json accessor = describe(start, vertex_target, float_type, points.size(), "VEC3");
        if (std::string_view(attribute) == "POSITION") {  // demanded there, sec. 3.7.2.1
            accessor["min"] = low;
            accessor["max"] = high;
        }
        return keep(std::move(accessor));
    }
    std::size_t add_indices(const std::vector<Triangle>& triangles) {
        const std::size_t start = bytes_.size();
        for (const Triangle& t : triangles)
            for (const VertexId v : t) append_little_endian(bytes_, v);
        return keep(describe(start, index_target, index_type, 3 * triangles.size(), "SCALAR"));
    }

    [[nodiscard]] const std::string& bytes() const { return bytes_; }
    Json accessors = Json::array(), views = Json::array();

private:
    Json describe(std::size_t start, int target, int component, std::size_t count, const char* type) {
        views.push_back(
            {{"buffer", 0}, {"byteOffset", start}, {"byteLength", bytes_.size() - start}, {"target", target}});
        return {{"bufferView", views.size() - 1}, {"componentType", component}, {"count", count}, {"type", type}};
    }
    std::size_t keep(Json accessor) {
        accessors.push_back(std::move(accessor));
        return accessors.size() - 1;
    }

    std::string bytes_;
};

std::vector<Point> points_of(const std::vector<Vec3>& from, double factor) {
    std::vector<Point> points;
    points.reserve(from.size());
    for (const Vec3 p : from) points.push_back(to_gltf(p, factor));
    return points;
}

// Flat nodes carry no normals: readers must then shade each triangle by its own (glTF 2.0, sec. 3.7.2.1).
Json mesh_of(const SceneNode& node, std::size_t material, Buffer& buffer) {
    constexpr double metres_per_mm = 1e-3;
    Json attributes{{"POSITION", buffer.add_points(points_of(node.mesh.vertices, metres_per_mm), "POSITION")}};
    if (node.shading == Shading::smooth)
        attributes["NORMAL"] = buffer.add_points(points_of(vertex_normals(node.mesh), 1), "NORMAL");
    const Json primitive{
        {"attributes", attributes}, {"indices", buffer.add_indices(node.mesh.triangles)}, {"material", material}};
    return {{"name", node.name}, {"primitives", Json::array({primitive})}};
}

Json material_of(const SceneNode& node) {
    return {{"name", node.name},
            {"pbrMetallicRoughness",
             {{"baseColorFactor", node.colour}, {"metallicFactor", 0.0}, {"roughnessFactor", 0.75}}},
            {"doubleSided", true}};  // the mould surface is a sheet
}

/// One node below the root for each of the scene's.
Json describe_scene(const Scene& scene, Buffer& buffer) {
    Json nodes = Json::array({{{"name", "fixture"}, {"children", Json::array()}}});
    Json meshes = Json::array(), materials = Json::array();
    for (const SceneNode& node : scene.nodes) {
        CRADLEWRIGHT_PRECONDITION(node.mesh.face_count() > 0);
        meshes.push_back(mesh_of(node, materials.size(), buffer));
        materials.push_back(material_of(node));
        nodes[0]["children"].push_back(nodes.size());
        nodes.push_back({{"name", node.name}, {"mesh", meshes.size() - 1}});
    }
    return {{"asset", {{"version", "2.0"}, {"generator", "Cradlewright"}}},
            {"scene", 0},
            {"scenes", Json::array({{{"nodes", Json::array({0})}}})},
            {"nodes", nodes},
            {"meshes", meshes},
            {"materials", materials},
            {"accessors", buffer.accessors},
            {"bufferViews", buffer.views},
            {"buffers", Json::array({{{"byteLength", buffer.bytes().size()}}})}};
}

void append_chunk(std::string& file, std::uint32_t kind, std::string body, char filler) {
    while (body.size() % chunk_step != 0) body.push_back(filler);
    append_little_endian(file, static_cast<std::uint32_t>(body.size()));
    append_little_endian(file, kind);
    file += body;
}

std::string glb_bytes(const Scene& scene) {
    Buffer buffer;
    std::string chunks;
    append_chunk(chunks, json_chunk, describe_scene(scene, buffer).dump(), ' ');
    append_chunk(chunks, binary_chunk, buffer.bytes(), '\0');
    std::string file;
    append_little_endian(file, magic);
    append_little_endian(file, container_version);
    append_little_endian(file, static_cast<std::uint32_t>(3 * sizeof(std::uint32_t) + chunks.size()));
    return file + chunks;
}

}  // namespace

void write_glb(const Scene& scene, const std::filesystem::path& path) {
    const std::string bytes = glb_bytes(scene);
    std::ofstream file(path, std::ios::binary);
    file.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    file.close();
    if (!file) {
        throw Error(ErrorCode::io, path.string(), "cannot be written", "is the disk full or the folder read-only?");
    }
}

std::string ply_bytes(const TriMesh& mesh) {
    std::string bytes = "ply\nformat binary_little_endian 1.0\ncomment unit mm\nelement vertex " +
                        std::to_string(mesh.vertices.size()) +
                        "\nproperty double x\nproperty double y\nproperty double z\nelement face " +
                        std::to_string(mesh.triangles.size()) +
                        "\nproperty list uchar uint vertex_indices\nend_header\n";
    bytes.reserve(bytes.size() + 24 * mesh.vertices.size() + 13 * mesh.triangles.size());
    for (const Vec3& v : mesh.vertices) {
        for (const double c : {v.x, v.y, v.z}) {
            append_little_endian(bytes, c);
        }
    }
    for (const Triangle& t : mesh.triangles) {
        bytes.push_back(3);
        for (const VertexId v : t) {
            append_little_endian(bytes, v);
        }
    }
    return bytes;
}

}  // namespace cradlewright
