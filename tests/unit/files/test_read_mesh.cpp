// SPDX-License-Identifier: GPL-3.0-or-later
// Files are written here byte by byte as the formats' specifications say, or by Assimp's exporters: an independent
// writer.
#include <assimp/scene.h>

#include <algorithm>
#include <array>
#include <assimp/Exporter.hpp>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <limits>
#include <random>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/read_mesh.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;
using Catch::Matchers::Contains;
namespace fs = std::filesystem;

namespace {

/// A folder that goes when the test ends.
class TempFolder {
public:
    TempFolder() {
        static int count = 0;
        std::random_device seed;
        path_ =
            fs::temp_directory_path() / ("cradlewright-read-" + std::to_string(seed()) + "-" + std::to_string(count++));
        fs::create_directories(path_);
    }
    TempFolder(const TempFolder&) = delete;
    TempFolder& operator=(const TempFolder&) = delete;
    ~TempFolder() {
        std::error_code ignored;
        fs::remove_all(path_, ignored);
    }
    std::string write(const std::string& name, const std::string& bytes) const {
        std::ofstream(path_ / name, std::ios::binary) << bytes;
        return (path_ / name).string();
    }
    [[nodiscard]] std::string path(const std::string& name) const { return (path_ / name).string(); }

private:
    fs::path path_;
};

template <class Number>
void put(std::string& to, Number value) {
    std::array<char, sizeof value> bytes;
    std::memcpy(bytes.data(), &value, sizeof value);
    to.append(bytes.data(), bytes.size());
}

std::string binary_stl(const TriMesh& mesh, std::string header = "a scan") {
    header.resize(80, ' ');
    put(header, static_cast<std::uint32_t>(mesh.face_count()));
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        for (int i = 0; i < 3; ++i) put(header, 0.0f);
        for (const Vec3 p : mesh.corners(f))
            for (const double c : {p.x, p.y, p.z}) put(header, static_cast<float>(c));
        put(header, std::uint16_t{0});
    }
    return header;
}

std::string number(double value) {
    std::array<char, 32> text;
    return {text.data(), static_cast<std::size_t>(std::snprintf(text.data(), text.size(), "%.9g", value))};
}

std::string words(Vec3 p) { return number(p.x) + " " + number(p.y) + " " + number(p.z); }

std::string ascii_stl(const TriMesh& mesh, const std::string& line_end = "\n") {
    std::string text = "solid a vertex of names" + line_end;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        text += " facet normal 0 0 0" + line_end + "  outer loop" + line_end;
        for (const Vec3 p : mesh.corners(f)) text += "   vertex " + words(p) + line_end;
        text += "  endloop" + line_end + " endfacet" + line_end;
    }
    return text + "endsolid a vertex of names" + line_end;
}

std::string off(const TriMesh& mesh) {
    std::string text = "OFF\n# drawn by hand\n" + std::to_string(mesh.vertices.size()) + " " +
                       std::to_string(mesh.face_count()) + " 0\n";
    for (const Vec3 p : mesh.vertices) text += words(p) + " 0.5 0.5 0.5\n";
    for (const Triangle& t : mesh.triangles)
        text += "3 " + std::to_string(t[0]) + " " + std::to_string(t[1]) + " " + std::to_string(t[2]) + " 255 0 0\n";
    return text;
}

std::string ply_header(const std::string& format, std::size_t vertices, std::size_t faces) {
    return "ply\nformat " + format + " 1.0\ncomment by hand\nelement vertex " + std::to_string(vertices) +
           "\nproperty float x\nproperty float y\nproperty float z\nproperty uchar red\nelement face " +
           std::to_string(faces) + "\nproperty list uchar int vertex_indices\nend_header\n";
}

template <class Number>
void put_swapped(std::string& to, Number value, bool is_big) {
    std::string bytes;
    put(bytes, value);
    if (is_big) std::reverse(bytes.begin(), bytes.end());
    to += bytes;
}

std::string binary_ply(const TriMesh& mesh, bool is_big) {
    std::string out =
        ply_header(is_big ? "binary_big_endian" : "binary_little_endian", mesh.vertices.size(), mesh.face_count());
    for (const Vec3 p : mesh.vertices) {
        for (const double c : {p.x, p.y, p.z}) put_swapped(out, static_cast<float>(c), is_big);
        out += 'r';
    }
    for (const Triangle& t : mesh.triangles) {
        out += '\3';
        for (const VertexId v : t) put_swapped(out, static_cast<std::int32_t>(v), is_big);
    }
    return out;
}

std::string ascii_ply(const TriMesh& mesh) {
    std::string out = ply_header("ascii", mesh.vertices.size(), mesh.face_count());
    for (const Vec3 p : mesh.vertices) out += words(p) + " 7\n";
    for (const Triangle& t : mesh.triangles)
        out += "3 " + std::to_string(t[0]) + " " + std::to_string(t[1]) + " " + std::to_string(t[2]) + "\n";
    return out;
}

/// One mesh under a node with the given transform, written by Assimp.
void write_by_assimp(const TriMesh& mesh, const std::string& path, const char* format,
                     const aiMatrix4x4& placement = {}) {
    aiScene scene;
    scene.mNumMaterials = 1;
    scene.mMaterials = new aiMaterial* [1] { new aiMaterial };
    auto* body = new aiMesh;
    body->mPrimitiveTypes = aiPrimitiveType_TRIANGLE;
    body->mNumVertices = static_cast<unsigned>(mesh.vertices.size());
    body->mVertices = new aiVector3D[mesh.vertices.size()];
    for (std::size_t i = 0; i < mesh.vertices.size(); ++i) {
        const Vec3 p = mesh.vertices[i];
        body->mVertices[i] = {static_cast<float>(p.x), static_cast<float>(p.y), static_cast<float>(p.z)};
    }
    body->mNumFaces = static_cast<unsigned>(mesh.face_count());
    body->mFaces = new aiFace[mesh.face_count()];
    for (std::size_t f = 0; f < mesh.face_count(); ++f) {
        body->mFaces[f].mNumIndices = 3;
        body->mFaces[f].mIndices = new unsigned[3]{mesh.triangles[f][0], mesh.triangles[f][1], mesh.triangles[f][2]};
    }
    scene.mNumMeshes = 1;
    scene.mMeshes = new aiMesh* [1] { body };
    scene.mRootNode = new aiNode("root");
    auto* child = new aiNode("plug");
    child->mTransformation = placement;
    child->mNumMeshes = 1;
    child->mMeshes = new unsigned[1]{0};
    scene.mRootNode->addChildren(1, &child);
    Assimp::Exporter exporter;
    REQUIRE(exporter.Export(&scene, format, path) == aiReturn_SUCCESS);
}

ScanMesh read(const std::string& path, const std::string& unit = "mm", const std::string& known = "") {
    PlugOptions options;
    options.scan = path;
    options.unit = unit;
    options.known = known;
    return read_scan(options);
}

/// The message of the Error that reading ends in.
std::string error_of(const std::string& path, const std::string& unit = "mm", const std::string& known = "") {
    try {
        read(path, unit, known);
    } catch (const Error& e) {
        CHECK(e.code() == ErrorCode::bad_input);
        const std::string text = e.what();
        CHECK(text.find('\n') == std::string::npos);
        return text;
    }
    return "no error";
}

/// Shapes whose coordinates are floats, so that every format can hold them exactly.
TriMesh float_shape() {
    TriMesh mesh = make_torus(40, 12, 20, 10);
    for (Vec3& p : mesh.vertices)
        p = {double{static_cast<float>(p.x)}, double{static_cast<float>(p.y)}, double{static_cast<float>(p.z)}};
    return mesh;
}

void require_same(const TriMesh& a, const TriMesh& b, double tolerance = 0) {
    REQUIRE(a.face_count() == b.face_count());
    REQUIRE(a.vertices.size() == b.vertices.size());
    for (FaceId f = 0; f < a.face_count(); ++f) {
        const auto ca = a.corners(f), cb = b.corners(f);
        for (std::size_t k = 0; k < 3; ++k) REQUIRE(norm(ca[k] - cb[k]) <= tolerance);
    }
}

/// A ZIP archive of one stored entry. Source: PKWARE APPNOTE 6.3, sec. 4.3. The reader does not look at the checksum.
std::string zip_of(const std::string& name, const std::string& content, std::uint32_t said_size) {
    std::string out;
    const auto head = [&](std::uint32_t mark, bool is_directory) {
        put(out, mark);
        if (is_directory) put(out, std::uint16_t{20});
        for (const int v : {20, 0, 0, 0, 0}) put(out, static_cast<std::uint16_t>(v));
        put(out, std::uint32_t{0});
        put(out, static_cast<std::uint32_t>(content.size()));
        put(out, said_size);
        put(out, static_cast<std::uint16_t>(name.size()));
        put(out, std::uint16_t{0});
        if (!is_directory) return;
        for (int i = 0; i < 3; ++i) put(out, std::uint16_t{0});
        put(out, std::uint32_t{0});
        put(out, std::uint32_t{0});
    };
    head(0x04034b50, false);
    out += name + content;
    const auto directory = static_cast<std::uint32_t>(out.size());
    head(0x02014b50, true);
    out += name;
    const auto size = static_cast<std::uint32_t>(out.size()) - directory;
    put(out, std::uint32_t{0x06054b50});
    for (const int v : {0, 0, 1, 1}) put(out, static_cast<std::uint16_t>(v));
    put(out, size);
    put(out, directory);
    put(out, std::uint16_t{0});
    return out;
}

std::string zip_of(const std::string& name, const std::string& content) {
    return zip_of(name, content, static_cast<std::uint32_t>(content.size()));
}

std::string model_3mf(const std::string& unit, const std::string& build) {
    return "<?xml version=\"1.0\"?><!-- <vertex x='9'/> --><model " + unit +
           "><resources><object id=\"1\"><mesh><vertices><vertex x=\"0\" y=\"0\" z=\"0\"/><vertex x=\"1\" y=\"0\" "
           "z=\"0\"/>"
           "<vertex x=\"0\" y=\"2\" z=\"0\"/><vertex x=\"0\" y=\"0\" z=\"3\"/></vertices><triangles>"
           "<triangle v1=\"0\" v2=\"2\" v3=\"1\"/><triangle v1=\"0\" v2=\"1\" v3=\"3\"/><triangle v1=\"1\" v2=\"2\" "
           "v3=\"3\"/>"
           "<triangle v1=\"2\" v2=\"0\" v3=\"3\"/></triangles></mesh></object><object id=\"7\"><components><component "
           "objectid=\"1\" transform=\"2 0 0 0 2 0 0 0 2 10 0 0\"/></components></object></resources><build>" +
           build + "</build></model>";
}

}  // namespace

TEST_CASE("binary STL", "[files][scan]") {
    const TempFolder folder;
    const TriMesh shape = float_shape();
    const ScanMesh scan = read(folder.write("blade.STL", binary_stl(shape)));
    CHECK(scan.name == "blade");
    CHECK(scan.format == "stl-binary");
    CHECK(scan.unit_from == "told");
    CHECK(scan.note.empty());
    require_same(scan.soup, shape);

    // A header that starts with "solid" is told by the size.
    CHECK(read(folder.write("b.stl", binary_stl(shape, "solid blade"))).format == "stl-binary");

    // Numbered in order of first use.
    VertexId next = 0;
    for (const Triangle& t : scan.soup.triangles)
        for (const VertexId v : t) {
            CHECK(v <= next);
            if (v == next) ++next;
        }

    const ScanMesh longer = read(folder.write("c.stl", binary_stl(shape) + "0123456789"));
    require_same(longer.soup, shape);
    CHECK_THAT(longer.note, Contains("10 bytes"));
}

TEST_CASE("text STL", "[files][scan]") {
    const TempFolder folder;
    const TriMesh shape = float_shape();
    for (const std::string line_end : {"\n", "\r\n", "\r"}) {
        const ScanMesh scan = read(folder.write("a.stl", ascii_stl(shape, line_end)));
        CHECK(scan.format == "stl-ascii");
        require_same(scan.soup, shape, 1e-6);  // nine digits
    }
    const std::string text = ascii_stl(shape);
    CHECK_THAT(error_of(folder.write("cut.stl", text.substr(0, text.size() / 2))),
               Contains("byte") || Contains("line"));
    CHECK_THAT(error_of(folder.write("word.stl", "solid x\nfacet normal 0 0 1\nouter loop\nvertex 1 2 three\n")),
               Contains("line 4"));
    CHECK_THAT(error_of(folder.write("none.stl", "solid x\nendsolid x\n")), Contains("no triangles"));
    CHECK_THAT(error_of(folder.write("comma.stl", "solid x\nfacet normal 0 0 1\nouter loop\nvertex 1,5 2 3\n")),
               Contains("line 4"));
}

TEST_CASE("OBJ, OFF and PLY by hand", "[files][scan]") {
    const TempFolder folder;
    const TriMesh shape = float_shape();
    SECTION("off") {
        const ScanMesh scan = read(folder.write("a.off", off(shape)));
        CHECK(scan.format == "off");
        require_same(scan.soup, shape, 1e-6);
    }
    SECTION("ply") {
        require_same(read(folder.write("a.ply", ascii_ply(shape))).soup, shape, 1e-6);
        require_same(read(folder.write("b.ply", binary_ply(shape, false))).soup, shape);
        require_same(read(folder.write("c.ply", binary_ply(shape, true))).soup, shape);
    }
    SECTION("obj: slashes, negative numbers, a quad, a line that goes on") {
        const std::string text =
            "# by hand\nmtllib none.mtl\no tent\nv 0 0 0\nv 4 0 0\nv 4 4 0 1.0\nv 0 4 0\nvt 0 0\nvn 0 0 1\nv 2 2 3\ng "
            "faces\n"
            "f 4/1 3/1/1 2//1 1\nf 1 2 -1\nf 2 3 5 \nf 3 4 \\\n 5\nf -2 1 5\n";
        // The quad has diagonals of one length: it is split from its first corner.
        const ScanMesh scan = read(folder.write("a.obj", text));
        CHECK(scan.format == "obj");
        CHECK(scan.soup.face_count() == 6);
        CHECK(scan.soup.vertices.size() == 5);
        // Last face: -2 of five is vertex 4, the one at (0, 4, 0).
        CHECK(scan.soup.corners(5)[0] == Vec3{0, 4, 0});
        CHECK(mass_properties(scan.soup).volume_mm3 == Approx(4 * 4 * 3 / 3.0));  // pyramid
    }
}

TEST_CASE("files of an independent writer", "[files][scan]") {
    const TempFolder folder;
    const TriMesh shape = float_shape();
    for (const auto& [format, ending, tolerance] : {std::tuple{"stl", "stl", 1e-4},
                                                    {"stlb", "stl", 0.0},
                                                    {"obj", "obj", 1e-4},
                                                    {"ply", "ply", 1e-4},
                                                    {"plyb", "ply", 0.0}}) {
        INFO(format);
        const std::string path = folder.path(std::string("by-") + format + "." + ending);
        write_by_assimp(shape, path, format);
        require_same(read(path).soup, shape, tolerance);
    }
}

TEST_CASE("GLB is in metres and its nodes are applied", "[files][scan]") {
    const TempFolder folder;
    const TriMesh shape = float_shape();
    const std::string path = folder.path("a.glb");
    // x -> 2 y + 1, y -> -x, z -> z: a quarter turn about z, stretched along the new x, moved.
    const aiMatrix4x4 placement(0, 2, 0, 1, -1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1);
    write_by_assimp(shape, path, "glb2", placement);
    const ScanMesh scan = read(path, "");
    CHECK(scan.unit_from == "format");
    CHECK(scan.unit_factor == 1000);
    CHECK(scan.format == "glb");
    TriMesh expected = shape;
    for (Vec3& p : expected.vertices) p = Vec3{2 * p.y + 1, -p.x, p.z} * 1000;
    require_same(scan.soup, expected, 1e-6);
    CHECK(read(path, "cm").unit_factor == 10);  // told beats stated
    CHECK(read(path, "cm").unit_from == "told");

    std::ifstream file(path, std::ios::binary);
    const std::string bytes((std::istreambuf_iterator<char>(file)), {});
    CHECK_THAT(error_of(folder.write("cut.glb", bytes.substr(0, bytes.size() - 100)), ""),
               Contains("byte " + std::to_string(bytes.size() - 100)));
    CHECK_THAT(error_of(folder.write("text.glb", "glTF?"), ""), Contains("not a GLB"));
}

TEST_CASE("3MF states its unit", "[files][scan]") {
    const TempFolder folder;
    SECTION("by an independent writer, packed, millimetres by default") {
        const TriMesh shape = float_shape();
        const std::string path = folder.path("a.3mf");
        write_by_assimp(shape, path, "3mf");
        const ScanMesh scan = read(path, "");
        CHECK(scan.unit_from == "format");
        CHECK(scan.unit_factor == 1);
        require_same(scan.soup, shape, 1e-4);
    }
    SECTION("inches; the item places an object whose component doubles and moves it") {
        const std::string build = "<item objectid=\"7\" transform=\"1 0 0 0 1 0 0 0 1 0 5 0\"/>";
        const std::string path = folder.write("b.3mf", zip_of("3D/3dmodel.model", model_3mf("unit=\"inch\"", build)));
        const ScanMesh scan = read(path, "");
        CHECK(scan.unit_factor == 25.4);
        const Box3 box = bounding_box(scan.soup);
        CHECK(norm(box.low - Vec3{10, 5, 0} * 25.4) < 1e-9);
        CHECK(norm(box.high - Vec3{12, 9, 6} * 25.4) < 1e-9);
        CHECK(mass_properties(scan.soup).volume_mm3 ==
              Approx(8 * 1.0 * std::pow(25.4, 3)));  // tetrahedron 1 x 2 x 3 / 6, doubled
    }
    SECTION("damaged") {
        const std::string item = "<item objectid=\"1\"/>";
        const auto of = [&](const std::string& model) {
            return error_of(folder.write("c.3mf", zip_of("3D/3dmodel.model", model)), "");
        };
        CHECK_THAT(of(model_3mf("unit=\"cubit\"", item)), Contains("cubit"));
        CHECK_THAT(of(model_3mf("", "<item objectid=\"5\"/>")), Contains("not in this model"));
        CHECK_THAT(of(model_3mf("", "")), Contains("no triangles"));
        CHECK_THAT(of("<html/>"), Contains("a model"));
        CHECK_THAT(error_of(folder.write("d.3mf", zip_of("other.txt", "x")), ""), Contains("no model"));
        CHECK_THAT(error_of(folder.write("e.3mf", zip_of("3D/3dmodel.model", item, 4000000000u)), ""),
                   Contains("damaged"));
        const std::string whole = zip_of("3D/3dmodel.model", model_3mf("", item));
        CHECK_THAT(error_of(folder.write("f.3mf", whole.substr(0, whole.size() - 30)), ""), Contains("cut short"));
    }
}

TEST_CASE("units are told, stated or fixed by a known length, never guessed", "[files][scan]") {
    const TempFolder folder;
    const std::string path = folder.write("a.stl", binary_stl(make_box({8, 2, 1})));
    for (const auto& [unit, mm] : {std::pair{"mm", 1.0}, {"cm", 10.0}, {"m", 1000.0}, {"in", 25.4}, {"ft", 304.8}}) {
        const ScanMesh scan = read(path, unit);
        CHECK(scan.unit_factor == mm);
        CHECK(bounding_box(scan.soup).size().x == Approx(8 * mm));
    }
    CHECK_THAT(error_of(path, ""), Contains("--unit mm makes it 8.00 x 2.00 x 1.00 mm") &&
                                       Contains("--unit in makes it 203 x 50.8 x 25.4 mm") &&
                                       Contains("--unit m makes it 8.00 x 2.00 x 1.00 m,") && Contains("--unit ft") &&
                                       Contains("--unit cm") && Contains("--known \"LENGTH along span\""));
    CHECK_THAT(error_of(path, "furlong"), Contains("furlong") && Contains("mm, cm, m, in or ft"));

    const ScanMesh known = read(path, "", "812mm along span");
    CHECK(known.unit_from == "known length");
    CHECK(bounding_box(known.soup).size().x == Approx(812));
    CHECK_THAT(error_of(path, "", "812mm"), Contains("along span"));
    CHECK_THAT(error_of(path, "", "0mm along span"), Contains("not a positive length"));
    CHECK_THAT(error_of(path, "", "long along span"), Contains("--known"));
}

TEST_CASE("bad files end in one line", "[files][scan]") {
    const TempFolder folder;
    const TriMesh box = make_box({8, 2, 1});
    const std::string good = binary_stl(box);
    CHECK_THAT(error_of(folder.path("nowhere.stl")), Contains("nowhere.stl") && Contains("no such file"));
    CHECK_THAT(error_of(folder.path(".")), Contains("not a file"));
    CHECK_THAT(error_of(folder.write("empty.stl", "")), Contains("empty"));
    CHECK_THAT(error_of(folder.write("a.doc", good)), Contains(".stl, .obj"));
    CHECK_THAT(error_of(folder.write("cut.stl", good.substr(0, 500))),
               Contains("byte 500") && Contains("12 triangles") && Contains(std::to_string(84 + 12 * 50)));
    CHECK_THAT(error_of(folder.write("short.stl", "abc")), Contains("byte 3"));
    CHECK_THAT(error_of(folder.write("none.stl", binary_stl({}))), Contains("no triangles"));
    CHECK_THAT(error_of(folder.write("points.obj", "v 0 0 0\nv 1 0 0\n")), Contains("no triangles"));
    CHECK_THAT(error_of(folder.write("index.obj", "v 0 0 0\nv 1 0 0\nf 1 2 3\n")), Contains("line 3"));
    CHECK_THAT(error_of(folder.write("index.off", "OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 7\n")), Contains("facet 1"));
    CHECK_THAT(error_of(folder.write("counts.off", "OFF\n4000000000 4000000000 0\n0 0 0\n")),
               Contains("vertex 2 of 4000000000"));
    CHECK_THAT(error_of(folder.write("counts.ply", ply_header("binary_little_endian", 4000000000u, 1) + "abc")),
               Contains("cut short"));
    CHECK_THAT(error_of(folder.write("line.ply", "ply\nformat ascii 1.0\nelement vertex many\n")), Contains("line 3"));
}

TEST_CASE("corners that are no numbers are named by facet", "[files][scan]") {
    const TempFolder folder;
    for (const double bad : {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity()}) {
        TriMesh box = make_box({8, 2, 1});
        box.vertices.push_back({0, bad, 0});
        box.triangles[4][1] = 8;
        CHECK_THAT(error_of(folder.write("a.stl", binary_stl(box))), Contains("facet 5"));
        CHECK_THAT(error_of(folder.write("b.stl", ascii_stl(box))), Contains("facet 5"));
        CHECK_THAT(error_of(folder.write("c.off", off(box))), Contains("facet 5"));
        CHECK_THAT(error_of(folder.write("d.ply", binary_ply(box, true))), Contains("facet 5"));
    }
}

TEST_CASE("random bytes and damaged files never do worse than an error", "[files][scan]") {
    const TempFolder folder;
    const TriMesh box = make_box({8, 2, 1});
    write_by_assimp(box, folder.path("seed.glb"), "glb2");
    std::ifstream glb(folder.path("seed.glb"), std::ios::binary);
    const std::vector<std::pair<std::string, std::string>> seeds{
        {".stl", binary_stl(box)},
        {".stl", ascii_stl(box)},
        {".off", off(box)},
        {".ply", binary_ply(box, false)},
        {".ply", ascii_ply(box)},
        {".obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n"},
        {".3mf", zip_of("3D/3dmodel.model", model_3mf("", "<item objectid=\"7\"/>"))},
        {".glb", std::string((std::istreambuf_iterator<char>(glb)), {})}};
    std::mt19937 random(11);
    for (const auto& [ending, seed] : seeds) {
        for (int round = 0; round < 60; ++round) {
            std::string bytes = seed;
            if (round % 3 == 0) bytes.resize(random() % (bytes.size() + 1));
            for (int hit = 0; hit < 4 && round % 3 != 0 && !bytes.empty(); ++hit)
                bytes[random() % bytes.size()] = static_cast<char>(random() % 256);
            if (round % 10 == 9)
                for (char& c : bytes) c = static_cast<char>(random() % 256);
            try {
                const ScanMesh scan = read(folder.write("x" + ending, bytes));
                for (const Triangle& t : scan.soup.triangles)
                    for (const VertexId v : t) REQUIRE(v < scan.soup.vertices.size());
                for (const Vec3 p : scan.soup.vertices) REQUIRE(is_finite(p));
            } catch (const Error& e) {
                REQUIRE(e.code() == ErrorCode::bad_input);
            }
        }
    }
}
