// SPDX-License-Identifier: GPL-3.0-or-later
#include <assimp/postprocess.h>
#include <assimp/scene.h>

#include <assimp/Importer.hpp>
#include <catch2/catch.hpp>
#include <cstring>
#include <nlohmann/json.hpp>
#include <sstream>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/write_scene.hpp"
#include "support/sample_design.hpp"
#include "support/shapes.hpp"
#include "unit/files/outside_tools.hpp"

namespace cradlewright {
namespace {

std::uint32_t word(const std::string& bytes, std::size_t at) {
    std::uint32_t value = 0;
    std::memcpy(&value, bytes.data() + at, 4);
    return value;
}

std::string glb_of(const Scene& scene, const std::string& name) {
    const test::ScratchFolder folder(name);
    write_glb(scene, folder / "scene.glb");
    return test::bytes_of(folder / "scene.glb");
}

Scene one_triangle() {
    TriMesh mesh;
    mesh.vertices = {{100, 200, 300}, {0, 0, 0}, {50, 0, 0}};
    mesh.triangles = {{0, 1, 2}};
    return {{{"plug", mesh, {0.5f, 0.25f, 0.125f, 1}, Shading::flat}}, 0};
}

// Source: Khronos, glTF 2.0 specification, sec. 4.4 (binary container).
TEST_CASE("the container is well formed", "[files]") {
    const std::string bytes = glb_of(make_scene(test::sample_design()), "glb-container");
    REQUIRE(bytes.size() > 20);
    CHECK(word(bytes, 0) == 0x46546C67);
    CHECK(word(bytes, 4) == 2);
    CHECK(word(bytes, 8) == bytes.size());
    const std::size_t json_size = word(bytes, 12);
    CHECK(word(bytes, 16) == 0x4E4F534A);
    CHECK(json_size % 4 == 0);
    const std::size_t binary = 20 + json_size;
    REQUIRE(binary + 8 <= bytes.size());
    CHECK(word(bytes, binary + 4) == 0x004E4942);
    CHECK(binary + 8 + word(bytes, binary) == bytes.size());

    const auto json = nlohmann::json::parse(bytes.substr(20, json_size));
    for (const auto& accessor : json["accessors"]) {
        const auto& view = json["bufferViews"][accessor["bufferView"].get<std::size_t>()];
        CHECK(view["byteOffset"].get<std::size_t>() % 4 == 0);
    }
    // Extensions a reader must know would lock plain viewers out.
    CHECK_FALSE(json.contains("extensionsRequired"));
}

TEST_CASE("mm with z up become metres with y up", "[files]") {
    // (100, 200, 300) mm -> (0.1, 0.3, -0.2) m. Source: glTF 2.0, sec. 3.4.
    const std::string bytes = glb_of(one_triangle(), "glb-axes");
    const auto json = nlohmann::json::parse(bytes.substr(20, word(bytes, 12)));
    const auto& positions =
        json["accessors"][json["meshes"][0]["primitives"][0]["attributes"]["POSITION"].get<std::size_t>()];
    const std::size_t offset = json["bufferViews"][positions["bufferView"].get<std::size_t>()]["byteOffset"];
    std::array<float, 3> first{};
    std::memcpy(first.data(), bytes.data() + 28 + word(bytes, 12) + offset, sizeof first);
    CHECK(first == std::array<float, 3>{0.1f, 0.3f, -0.2f});
    CHECK(json["materials"][0]["pbrMetallicRoughness"]["baseColorFactor"] == nlohmann::json({0.5, 0.25, 0.125, 1}));
    CHECK(json["materials"][0]["doubleSided"] == true);
}

// FB_ngon_encoding: triangles in a row that begin at one vertex would be pieces of one polygon.
TEST_CASE("no two triangles in a row begin at one vertex", "[files]") {
    Scene scene = one_triangle();
    scene.nodes[0].mesh.vertices.push_back({0, 70, 0});
    scene.nodes[0].mesh.triangles = {{0, 1, 2}, {0, 2, 3}, {0, 3, 1}};
    const std::string bytes = glb_of(scene, "glb-fan");
    const auto json = nlohmann::json::parse(bytes.substr(20, word(bytes, 12)));
    const auto& indices = json["accessors"][json["meshes"][0]["primitives"][0]["indices"].get<std::size_t>()];
    REQUIRE(indices["componentType"] == 5125);
    const std::size_t at =
        28 + word(bytes, 12) +
        json["bufferViews"][indices["bufferView"].get<std::size_t>()]["byteOffset"].get<std::size_t>();
    REQUIRE(indices["count"] == 9);
    CHECK(word(bytes, at) != word(bytes, at + 12));
    CHECK(word(bytes, at + 12) != word(bytes, at + 24));
}

TEST_CASE("Assimp reads back every node with its faces", "[files]") {
    const test::ScratchFolder folder("glb-assimp");
    const Scene scene = make_scene(test::sample_design());
    write_glb(scene, folder / "scene.glb");
    Assimp::Importer importer;
    const aiScene* read = importer.ReadFile(folder / "scene.glb", aiProcess_ValidateDataStructure);
    REQUIRE(read != nullptr);
    REQUIRE(read->mRootNode->mNumChildren == scene.nodes.size());
    for (unsigned i = 0; i < scene.nodes.size(); ++i) {
        const aiNode& node = *read->mRootNode->mChildren[i];
        CHECK(std::string(node.mName.C_Str()) == scene.nodes[i].name);
        REQUIRE(node.mNumMeshes == 1);
        const aiMesh& mesh = *read->mMeshes[node.mMeshes[0]];
        CHECK(mesh.mNumFaces == scene.nodes[i].mesh.face_count());
        CHECK(mesh.HasNormals() == (scene.nodes[i].shading == Shading::smooth));
    }
}

TEST_CASE("VTK reads the same boxes and names", "[files]") {
    const test::ScratchFolder folder("glb-vtk");
    const Scene scene = make_scene(test::sample_design());
    write_glb(scene, folder / "scene.glb");
    const std::string program = R"(
from vtkmodules.vtkIOGeometry import vtkGLTFReader
from vtkmodules.vtkCommonDataModel import vtkCompositeDataSet
import sys
r = vtkGLTFReader(); r.SetFileName(sys.argv[1]); r.Update(); o = r.GetOutput()
it = o.NewIterator()
while not it.IsDoneWithTraversal():
    b = it.GetCurrentDataObject().GetBounds()
    print(it.GetCurrentDataObject().GetNumberOfCells(), *['%.6f' % v for v in b])
    it.GoToNextItem()
)";
    std::istringstream lines(
        test::output_of("/usr/bin/python3 -c \"" + program + "\" '" + (folder / "scene.glb") + "' 2>/dev/null"));
    for (const SceneNode& node : scene.nodes) {
        const Box3 box = bounding_box(node.mesh);
        std::size_t cells = 0;
        double x0, x1, y0, y1, z0, z1;
        REQUIRE(lines >> cells >> x0 >> x1 >> y0 >> y1 >> z0 >> z1);
        INFO(node.name);
        CHECK(cells == node.mesh.face_count());
        constexpr double printed = 2e-6;  // six decimals of a metre
        CHECK(x0 == Approx(box.low.x / 1000).margin(printed));
        CHECK(x1 == Approx(box.high.x / 1000).margin(printed));
        CHECK(y0 == Approx(box.low.z / 1000).margin(printed));
        CHECK(y1 == Approx(box.high.z / 1000).margin(printed));
        CHECK(z0 == Approx(-box.high.y / 1000).margin(printed));
        CHECK(z1 == Approx(-box.low.y / 1000).margin(printed));
    }
    std::string rest;
    CHECK_FALSE(lines >> rest);
}

TEST_CASE("same scene, same bytes", "[files]") {
    const Scene scene = make_scene(test::sample_design());
    CHECK(glb_of(scene, "glb-once") == glb_of(scene, "glb-twice"));
}

TEST_CASE("a place that cannot be written is an error", "[files]") {
    CHECK_THROWS_AS(write_glb(one_triangle(), "/nonexistent-folder/scene.glb"), Error);
}

// Source: G. Turk, "The PLY Polygon File Format" (1994).
TEST_CASE("PLY keeps every bit of the vertices", "[files]") {
    TriMesh mesh = test::make_box({1.0 / 3, 2, 3});
    const std::string bytes = ply_bytes(mesh);
    const std::size_t body = bytes.find("end_header\n") + 11;
    CHECK(bytes.starts_with("ply\nformat binary_little_endian 1.0\n"));
    CHECK(bytes.find("element vertex 8\n") < body);
    CHECK(bytes.find("element face 12\n") < body);
    REQUIRE(bytes.size() == body + 8 * 24 + 12 * 13);
    for (std::size_t v = 0; v < 8; ++v) {
        Vec3 p;
        std::memcpy(&p, bytes.data() + body + 24 * v, 24);
        CHECK(p == mesh.vertices[v]);
    }
    for (std::size_t f = 0; f < 12; ++f) {
        const std::size_t at = body + 8 * 24 + 13 * f;
        CHECK(bytes[at] == 3);
        CHECK(Triangle{word(bytes, at + 1), word(bytes, at + 5), word(bytes, at + 9)} == mesh.triangles[f]);
    }
}

TEST_CASE("VTK reads the PLY", "[files]") {
    const test::ScratchFolder folder("ply-vtk");
    std::ofstream(folder / "box.ply", std::ios::binary) << ply_bytes(test::make_box({10, 20, 30}));
    const std::string program =
        "from vtkmodules.vtkIOPLY import vtkPLYReader\nfrom vtkmodules.vtkFiltersCore import vtkMassProperties\nimport "
        "sys\n"
        "r = vtkPLYReader(); r.SetFileName(sys.argv[1]); m = vtkMassProperties(); "
        "m.SetInputConnection(r.GetOutputPort())\n"
        "m.Update(); print('%.6f' % m.GetVolume())\n";
    CHECK(test::output_of("/usr/bin/python3 -c \"" + program + "\" '" + (folder / "box.ply") + "'") == "6000.000000\n");
}

}  // namespace
}  // namespace cradlewright
