// SPDX-License-Identifier: GPL-3.0-or-later
#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>

#include "cradlewright/base/error.hpp"
#include "measures.hpp"
#include "plugs.hpp"

using namespace cradlewright;
using namespace cradlewright::demo;

namespace {

ScanOptions small() {
    ScanOptions options;
    options.triangles = 6000;
    options.seed = 5;
    return options;
}

bool is_same(const TriMesh& a, const TriMesh& b) { return a.vertices == b.vertices && a.triangles == b.triangles; }

std::size_t shell_count(const TriMesh& mesh) {
    std::vector<VertexId> parent(mesh.vertices.size());
    for (VertexId v = 0; v < parent.size(); ++v) parent[v] = v;
    const auto root = [&](VertexId v) {
        while (parent[v] != v) v = parent[v] = parent[parent[v]];
        return v;
    };
    for (const Triangle& t : mesh.triangles)
        for (std::size_t k = 1; k < 3; ++k) parent[root(t[k])] = root(t[0]);
    std::set<VertexId> roots;
    for (VertexId v = 0; v < parent.size(); ++v) roots.insert(root(v));
    return roots.size();
}

std::vector<char> bytes_of(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

float float_at(const std::vector<char>& bytes, std::size_t offset) {
    float value = 0;
    std::memcpy(&value, bytes.data() + offset, sizeof value);
    return value;
}

}  // namespace

TEST_CASE("same options give the same mesh, another seed another", "[demo][scan]") {
    ScanOptions options = small();
    options.noise_mm = 0.05;
    options.triangulation = Triangulation::shuffled;
    const TriMesh mesh = make_scan(Blade{}, options);
    CHECK(is_same(mesh, make_scan(Blade{}, options)));
    options.seed = 6;
    CHECK_FALSE(is_same(mesh, make_scan(Blade{}, options)));
}

TEST_CASE("noise has the told spread and no drift", "[demo][scan]") {
    ScanOptions options = small();
    options.triangles = 40000;
    const TriMesh clean = make_scan(Daggerboard{}, options);
    const double sigma = options.noise_mm = GENERATE(0.02, 0.2);
    const TriMesh noisy = make_scan(Daggerboard{}, options);
    REQUIRE(clean.vertices.size() == noisy.vertices.size());
    const auto n = static_cast<double>(clean.vertices.size());
    double squares = 0, drift = 0;
    for (std::size_t i = 0; i < clean.vertices.size(); ++i) {
        const Vec3 shift = noisy.vertices[i] - clean.vertices[i];
        squares += dot(shift, shift);
        drift += std::copysign(norm(shift), shift.z * clean.vertices[i].z);  // out of the flat body is positive
    }
    // Four standard errors: of a standard deviation sigma / sqrt(2 n), of a mean sigma / sqrt(n).
    CHECK(std::sqrt(squares / n) == Approx(sigma).margin(4 * sigma / std::sqrt(2 * n)));
    CHECK(drift / n == Approx(0).margin(4 * sigma / std::sqrt(n)));
}

TEST_CASE("scale and pose change nothing else", "[demo][scan]") {
    ScanOptions options = small();
    const TriMesh plain = make_scan(Scoop{}, options);
    options.scale = 2;
    options.pose = {{10, -20, 30}, {0, 1, 0}, {-1, 0, 0}, {0, 0, 1}};  // quarter turn about z, then a shift
    const TriMesh posed = make_scan(Scoop{}, options);
    CHECK(plain.triangles == posed.triangles);
    CHECK(measure::volume(posed) == Approx(8 * measure::volume(plain)).epsilon(1e-12));
    for (std::size_t i = 0; i < plain.vertices.size(); ++i) {
        const Vec3 p = plain.vertices[i];
        REQUIRE(norm(posed.vertices[i] - Vec3{10 - 2 * p.y, -20 + 2 * p.x, 30 + 2 * p.z}) < 1e-9);
    }
}

TEST_CASE("shuffling keeps the shape", "[demo][scan]") {
    ScanOptions options = small();
    const TriMesh before = make_scan(Blade{}, options);
    options.triangulation = Triangulation::shuffled;
    const TriMesh after = make_scan(Blade{}, options);
    CHECK_FALSE(is_same(before, after));
    CHECK(measure::volume(after) == Approx(measure::volume(before)).epsilon(1e-12));
    CHECK(measure::euler(after) == measure::euler(before));
}

TEST_CASE("defects do what they say", "[demo][scan]") {
    ScanOptions options = small();
    const TriMesh sound = make_scan(Daggerboard{}, options);
    SECTION("a hole opens the surface and leaves no loose vertex") {
        options.defects.holes = 1;
        const TriMesh mesh = make_scan(Daggerboard{}, options);
        CHECK(mesh.face_count() < sound.face_count());
        CHECK(measure::edges(mesh).open > 2);
        CHECK(measure::edges(mesh).wrong == 0);
        CHECK(shell_count(mesh) == 1);
    }
    SECTION("strays are closed shells outside the plug's box") {
        options.defects.strays = 3;
        const TriMesh mesh = make_scan(Daggerboard{}, options);
        CHECK(shell_count(mesh) == 4);
        CHECK(measure::edges(mesh).open == 0);
        CHECK(measure::edges(mesh).wrong == 0);
        CHECK(measure::volume(mesh) > measure::volume(sound));
        const Box3 box = measure::box(sound);
        for (std::size_t i = sound.vertices.size(); i < mesh.vertices.size(); ++i)
            CHECK((mesh.vertices[i].y < box.low.y || mesh.vertices[i].y > box.high.y));
    }
    SECTION("a flipped patch runs against its neighbours") {
        options.defects.flipped = 1;
        const TriMesh mesh = make_scan(Daggerboard{}, options);
        CHECK(mesh.face_count() == sound.face_count());
        CHECK(measure::edges(mesh).wrong > 2);
    }
    SECTION("duplicates repeat faces") {
        options.defects.duplicates = 5;
        const TriMesh mesh = make_scan(Daggerboard{}, options);
        CHECK(mesh.face_count() == sound.face_count() + 5);
        CHECK(std::set<Triangle>(mesh.triangles.begin(), mesh.triangles.end()).size() == sound.face_count());
    }
}

TEST_CASE("binary STL has the published size and layout", "[demo][scan]") {
    const TriMesh mesh = make_scan(Seat{}, small());
    const auto path = std::filesystem::temp_directory_path() / "demo-plug-layout.stl";
    write_stl(mesh, path);
    const std::vector<char> bytes = bytes_of(path);
    std::filesystem::remove(path);
    // 80 bytes of header, a 4-byte count, 50 bytes a facet: 12 facets give 684 bytes (trade data T11.6).
    REQUIRE(bytes.size() == 84 + 50 * mesh.face_count());
    CHECK(std::string(bytes.data(), 5) != "solid");
    std::uint32_t count = 0;
    std::memcpy(&count, bytes.data() + 80, 4);
    CHECK(count == mesh.face_count());
    const std::size_t last = 84 + 50 * (mesh.face_count() - 1);
    const Vec3 corner = mesh.corners(static_cast<FaceId>(mesh.face_count() - 1))[2];
    CHECK(float_at(bytes, last + 36) == static_cast<float>(corner.x));
    CHECK(float_at(bytes, last + 44) == static_cast<float>(corner.z));
}

TEST_CASE("an unwritable place is said", "[demo][scan]") {
    CHECK_THROWS_AS(write_stl(make_scan(Blade{}, small()), "/no-such-folder/plug.stl"), Error);
}
