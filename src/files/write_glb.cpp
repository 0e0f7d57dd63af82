// SPDX-License-Identifier: GPL-3.0-or-later
#include <assimp/material.h>
#include <assimp/mesh.h>
#include <assimp/scene.h>

#include <algorithm>
#include <assimp/Exporter.hpp>
#include <bit>
#include <cstring>
#include <memory>
#include <string_view>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/output_folder.hpp"
#include "cradlewright/files/write_scene.hpp"

namespace cradlewright {
namespace {

// mm, +Z up to metres, +Y up; a turn about x, so left stays left. Source: Khronos, glTF 2.0 specification, sec. 3.4.
aiVector3D to_gltf(Vec3 v, double factor) {
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

// Flat nodes carry no normals: readers must then shade each triangle by its own (glTF 2.0, sec. 3.7.2.1).
void set_points(aiMesh& out, const SceneNode& node) {
    constexpr double metres_per_mm = 1e-3;
    const std::vector<Vec3>& points = node.mesh.vertices;
    out.mNumVertices = static_cast<unsigned>(points.size());
    out.mVertices = new aiVector3D[points.size()];
    std::transform(points.begin(), points.end(), out.mVertices, [](Vec3 p) { return to_gltf(p, metres_per_mm); });
    if (node.shading == Shading::smooth) {
        const std::vector<Vec3> normals = vertex_normals(node.mesh);
        out.mNormals = new aiVector3D[normals.size()];
        std::transform(normals.begin(), normals.end(), out.mNormals, [](Vec3 n) { return to_gltf(n, 1); });
    }
}

// Assimp 5.2 marks its files as FB_ngon_encoding, where neighbours in the list that begin at one vertex are pieces of
// one polygon. Ours are not, so a triangle that begins like the one before it is turned.
void set_faces(aiMesh& out, const std::vector<Triangle>& triangles) {
    out.mPrimitiveTypes = aiPrimitiveType_TRIANGLE;
    out.mNumFaces = static_cast<unsigned>(triangles.size());
    out.mFaces = new aiFace[triangles.size()];
    VertexId begin = no_id;
    for (std::size_t f = 0; f < triangles.size(); ++f) {
        Triangle t = triangles[f];
        if (t[0] == begin) {
            std::rotate(t.begin(), t.begin() + 1, t.end());
        }
        begin = t[0];
        out.mFaces[f].mNumIndices = 3;
        out.mFaces[f].mIndices = new unsigned[3];
        std::copy(t.begin(), t.end(), out.mFaces[f].mIndices);
    }
}

std::unique_ptr<aiMaterial> make_material(const std::string& name, const std::array<float, 4>& colour) {
    auto material = std::make_unique<aiMaterial>();
    const aiString text(name);
    material->AddProperty(&text, AI_MATKEY_NAME);
    const aiColor4D base(colour[0], colour[1], colour[2], colour[3]);
    material->AddProperty(&base, 1, AI_MATKEY_BASE_COLOR);
    const float metallic = 0, roughness = 0.75f;
    material->AddProperty(&metallic, 1, AI_MATKEY_METALLIC_FACTOR);
    material->AddProperty(&roughness, 1, AI_MATKEY_ROUGHNESS_FACTOR);
    const int is_two_sided = 1;  // the mould surface is a sheet
    material->AddProperty(&is_two_sided, 1, AI_MATKEY_TWOSIDED);
    return material;
}

// Assimp's scene owns and deletes all that hangs on it.
std::unique_ptr<aiScene> make_ai_scene(const Scene& scene) {
    auto out = std::make_unique<aiScene>();
    const std::size_t count = scene.nodes.size();
    out->mFlags = AI_SCENE_FLAGS_NON_VERBOSE_FORMAT;  // vertices are shared already
    out->mRootNode = new aiNode("fixture");
    out->mMeshes = new aiMesh*[count];
    out->mMaterials = new aiMaterial*[count];
    for (const SceneNode& node : scene.nodes) {
        auto mesh = std::make_unique<aiMesh>();
        mesh->mName = node.name;
        mesh->mMaterialIndex = out->mNumMaterials;
        set_points(*mesh, node);
        set_faces(*mesh, node.mesh.triangles);
        auto child = std::make_unique<aiNode>(node.name);
        child->mMeshes = new unsigned[1]{out->mNumMeshes};
        child->mNumMeshes = 1;
        out->mMaterials[out->mNumMaterials++] = make_material(node.name, node.colour).release();
        out->mMeshes[out->mNumMeshes++] = mesh.release();
        aiNode* added = child.release();
        out->mRootNode->addChildren(1, &added);
    }
    return out;
}

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

}  // namespace

void write_glb(const Scene& scene, const std::filesystem::path& path) {
    Assimp::Exporter exporter;
    const std::unique_ptr<aiScene> ai_scene = make_ai_scene(scene);
    const aiExportDataBlob* blob = exporter.ExportToBlob(ai_scene.get(), "glb2");
    if (blob == nullptr) {
        throw Error(ErrorCode::internal, path.string(), std::string("GLB export failed: ") + exporter.GetErrorString());
    }
    write_file(path, {static_cast<const char*>(blob->data), blob->size}, OutputFolder::Existing::replace);
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
