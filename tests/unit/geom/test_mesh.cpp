// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <map>
#include <numbers>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/mesh.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double pi = std::numbers::pi;
// Sums over up to some ten thousand faces, relative.
constexpr double summing = 1e-11;

struct NamedMesh {
    const char* name;
    TriMesh mesh;
};

std::vector<NamedMesh> all_shapes() {
    return {{"box", make_box({2, 3, 4})},
            {"sphere", make_sphere(10, 3)},
            {"ellipsoid", make_ellipsoid({30, 8, 5}, 3)},
            {"torus", make_torus(100, 30, 24, 16)},
            {"elliptic cylinder", make_elliptic_cylinder(8, 5, 30, 32, 4)},
            {"cone", make_cone(10, 0, 15, 40)},
            {"truncated cone", make_cone(10, 4, 15, 40)},
            {"pyramid", make_pyramid(100, 80, 50)},
            {"pointed pyramid", make_pyramid(100, 0, 50)},
            {"NACA 0012", make_naca_prism(12, 100, 300, 60, 3)},
            {"NACA 4415", make_naca_prism(4415, 100, 300, 60, 3)}};
}

Frame3 any_motion() {
    Frame3 f = rotation_about({1, 2, 3}, 0.7);
    f.origin = {1000, -2000, 500};
    return f;
}

TriMesh scaled(TriMesh mesh, double factor) {
    for (Vec3& v : mesh.vertices) v = v * factor;
    return mesh;
}

TriMesh inside_out(TriMesh mesh) {
    for (Triangle& t : mesh.triangles) std::swap(t[1], t[2]);
    return mesh;
}

/// Moments are a tensor: along any direction they agree with those of the unmoved body along that direction turned
/// back.
void check_moments_turned(const MassProperties& m, const MassProperties& moved, const Frame3& motion) {
    const auto along = [](const MassProperties& p, Vec3 d) {
        const auto& i = p.area_moments;
        return i[0] * d.x * d.x + i[1] * d.y * d.y + i[2] * d.z * d.z +
               2 * (i[3] * d.x * d.y + i[4] * d.y * d.z + i[5] * d.z * d.x);
    };
    const Vec3 directions[] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 1, 0}, {0, 1, 1}, {1, 0, 1}};
    for (const Vec3 d : directions)
        CHECK(along(moved, motion.direction_to_parent(d)) == Approx(along(m, d)).epsilon(1e-9));
}

/// The plain way: a dictionary of directed edges.
std::vector<FaceId> adjacency_by_map(const TriMesh& mesh) {
    std::map<std::pair<VertexId, VertexId>, FaceId> face_of;
    for (FaceId f = 0; f < mesh.face_count(); ++f)
        for (std::size_t k = 0; k < 3; ++k) face_of[{mesh.triangles[f][k], mesh.triangles[f][(k + 1) % 3]}] = f;
    std::vector<FaceId> adjacency;
    for (const Triangle& t : mesh.triangles)
        for (std::size_t k = 0; k < 3; ++k) {
            const auto twin = face_of.find({t[(k + 1) % 3], t[k]});
            adjacency.push_back(twin == face_of.end() ? no_id : twin->second);
        }
    return adjacency;
}

}  // namespace

TEST_CASE("mass properties of a box are the products of its sides", "[geom][mesh]") {
    const double a = 2, b = 3, c = 4;
    const MassProperties m = mass_properties(make_box({a, b, c}));
    CHECK(m.volume_mm3 == Approx(a * b * c).epsilon(summing));
    CHECK(m.area_mm2 == Approx(2 * (a * b + b * c + c * a)).epsilon(summing));
    CHECK(norm(m.centroid) < summing);
    CHECK(norm(m.area_centroid) < summing);
    // Two faces at distance a/2, four faces of width a.
    const auto moment = [](double along, double p, double q) {
        return 2 * p * q * along * along / 4 + 2 * (p + q) * along * along * along / 12;
    };
    CHECK(m.area_moments[0] == Approx(moment(a, b, c)).epsilon(summing));
    CHECK(m.area_moments[1] == Approx(moment(b, a, c)).epsilon(summing));
    CHECK(m.area_moments[2] == Approx(moment(c, a, b)).epsilon(summing));
    for (std::size_t mixed = 3; mixed < 6; ++mixed) CHECK(std::abs(m.area_moments[mixed]) < summing);
}

TEST_CASE("mass properties of a sphere converge with the square of the edge", "[geom][mesh]") {
    const double r = 10;
    const double volume = 4 * pi * r * r * r / 3, area = 4 * pi * r * r, moment = area * r * r / 3;
    const auto errors = [&](int levels) {
        const MassProperties m = mass_properties(make_sphere(r, levels));
        return std::array{1 - m.volume_mm3 / volume, 1 - m.area_mm2 / area, 1 - m.area_moments[0] / moment};
    };
    const auto coarse = errors(4), fine = errors(5);
    for (std::size_t i = 0; i < coarse.size(); ++i) {
        CHECK(coarse[i] > 0);                                   // inscribed
        CHECK(coarse[i] / fine[i] == Approx(4).epsilon(0.02));  // the next term of the series is of fourth order
        CHECK(fine[i] < 2e-3);
    }
}

TEST_CASE("mass properties of bodies with flat faces", "[geom][mesh]") {
    // Frustum: h/3 (A1 + A2 + sqrt(A1 A2)).
    CHECK(mass_properties(make_pyramid(100, 80, 50)).volume_mm3 ==
          Approx(50.0 / 3 * (10000 + 6400 + 8000)).epsilon(summing));
    // Centroid of a full pyramid lies at a quarter of its height.
    CHECK(mass_properties(make_pyramid(100, 0, 50)).centroid.z == Approx(50.0 / 4).epsilon(summing));
    // n-gon prism and cone: base area n/2 r^2 sin(2 pi / n).
    const int n = 40;
    const double base = n / 2.0 * 100 * std::sin(2 * pi / n);
    CHECK(mass_properties(make_cone(10, 0, 15, n)).volume_mm3 == Approx(base * 15 / 3).epsilon(summing));
    CHECK(mass_properties(make_elliptic_cylinder(10, 10, 15, n, 3)).volume_mm3 == Approx(base * 15).epsilon(summing));
}

TEST_CASE("volume of a NACA 0012 prism is the published section area times length", "[geom][mesh]") {
    // Area of the section with open tail 0.0822100 c^2 (integral of the four-digit thickness, NASA TM-4741); closing
    // the tail takes 5 t (0.1036 - 0.1015) x^4 off each side.
    const double closing = 2 * 5 * 0.12 * (0.1036 - 0.1015) / 5;
    const double chord = 100, length = 300;
    const double volume = mass_properties(make_naca_prism(12, chord, length, 2000, 1)).volume_mm3;
    CHECK(volume / (chord * chord * length) == Approx(0.0822100 - closing).epsilon(1e-5));  // published to six digits
}

TEST_CASE("area values hold for open surfaces", "[geom][mesh]") {
    TriMesh square;
    square.vertices = {{10, 10, 5}, {14, 10, 5}, {14, 14, 5}, {10, 14, 5}};
    square.triangles = {{0, 1, 2}, {0, 2, 3}};
    const MassProperties m = mass_properties(square);
    CHECK(m.area_mm2 == Approx(16).epsilon(summing));
    CHECK(norm(m.area_centroid - Vec3{12, 12, 5}) < summing);
    CHECK(m.area_moments[0] == Approx(4 * 4 * 4 * 4 / 12.0).epsilon(summing));  // b h^3 / 12
    CHECK(std::abs(m.area_moments[2]) < summing);
}

TEST_CASE("mass properties follow motion, scale, order and direction of the faces", "[geom][mesh]") {
    const Frame3 motion = any_motion();
    for (const auto& [name, mesh] : all_shapes()) {
        INFO(name);
        const MassProperties m = mass_properties(mesh);
        const double size = norm(bounding_box(mesh).size());
        CHECK(m.volume_mm3 > 0);

        const MassProperties moved = mass_properties(placed(mesh, motion));
        CHECK(moved.volume_mm3 == Approx(m.volume_mm3).epsilon(summing));
        CHECK(moved.area_mm2 == Approx(m.area_mm2).epsilon(summing));
        CHECK(norm(moved.centroid - motion.to_parent(m.centroid)) < 1e-9 * size);
        CHECK(norm(moved.area_centroid - motion.to_parent(m.area_centroid)) < 1e-9 * size);
        check_moments_turned(m, moved, motion);

        const MassProperties doubled = mass_properties(scaled(mesh, 2));
        CHECK(doubled.volume_mm3 == Approx(8 * m.volume_mm3).epsilon(summing));
        CHECK(doubled.area_mm2 == Approx(4 * m.area_mm2).epsilon(summing));
        CHECK(doubled.area_moments[0] == Approx(16 * m.area_moments[0]).epsilon(summing));

        CHECK(mass_properties(shuffled(mesh, 3)).volume_mm3 == Approx(m.volume_mm3).epsilon(summing));
        CHECK(mass_properties(inside_out(mesh)).volume_mm3 == Approx(-m.volume_mm3).epsilon(summing));
    }
}

TEST_CASE("an empty mesh has no properties", "[geom][mesh]") {
    const TriMesh empty;
    CHECK(mass_properties(empty).area_mm2 == 0);
    CHECK(bounding_box(empty).is_empty());
    CHECK(face_adjacency(empty).empty());
    CHECK(face_normals(empty).empty());
    CHECK(mean_edge_length(empty) == 0);
}

TEST_CASE("adjacency agrees with a dictionary of edges", "[geom][mesh]") {
    for (const auto& [name, mesh] : all_shapes()) {
        INFO(name);
        for (const TriMesh& m : {mesh, shuffled(mesh, 1), shuffled(mesh, 2)}) {
            const auto adjacency = face_adjacency(m);
            CHECK(adjacency == adjacency_by_map(m));
            CHECK(std::count(adjacency.begin(), adjacency.end(), no_id) == 0);  // closed
        }
    }
}

TEST_CASE("adjacency marks boundaries", "[geom][mesh]") {
    TriMesh mesh = shuffled(make_sphere(10, 3), 5);
    mesh.triangles.resize(mesh.triangles.size() / 2);  // half of the faces at random: every kind of boundary
    const auto adjacency = face_adjacency(mesh);
    CHECK(adjacency == adjacency_by_map(mesh));
    CHECK(std::count(adjacency.begin(), adjacency.end(), no_id) > 0);
}

TEST_CASE("adjacency is quick at the hub of a large fan", "[geom][mesh]") {
    // 50 000 faces at one vertex, in random order: a quadratic search would need 10^9 steps.
    const TriMesh mesh = shuffled(make_cone(10, 0, 5, 50000), 1);
    CHECK(face_adjacency(mesh) == adjacency_by_map(mesh));
}

TEST_CASE("adjacency refuses edges that break its precondition", "[geom][mesh]") {
    const auto code_of = [](const TriMesh& mesh) {
        try {
            (void)face_adjacency(mesh);
        } catch (const Error& e) {
            return e.code();
        }
        FAIL("accepted");
        return ErrorCode::io;
    };
    TriMesh three_at_edge;
    three_at_edge.vertices = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}};
    three_at_edge.triangles = {{0, 1, 2}, {1, 0, 3}, {0, 1, 4}};
    CHECK(code_of(three_at_edge) == ErrorCode::internal);

    TriMesh mixed = make_box({1, 1, 1});
    std::swap(mixed.triangles[3][0], mixed.triangles[3][1]);
    CHECK(code_of(mixed) == ErrorCode::internal);

    TriMesh hub = make_cone(10, 0, 5, 100);  // the same through the path for large fans
    hub.triangles.push_back(hub.triangles.back());
    CHECK(code_of(hub) == ErrorCode::internal);
}

TEST_CASE("face normals are unit, outward, and zero for a face without area", "[geom][mesh]") {
    const TriMesh sphere = make_sphere(10, 3);
    const auto normals = face_normals(sphere);
    for (FaceId f = 0; f < sphere.face_count(); ++f) {
        const auto c = sphere.corners(f);
        CHECK(norm(normals[f]) == Approx(1).epsilon(1e-14));
        // The circumcentre of a face on a sphere lies on the radius along its normal, so all corners are equally high.
        CHECK(dot(normals[f], c[0]) > 0);
        CHECK(dot(normals[f], c[0]) == Approx(dot(normals[f], c[1])).epsilon(1e-12));
    }
    TriMesh needle;
    needle.vertices = {{0, 0, 0}, {1, 1, 1}, {2, 2, 2}};
    needle.triangles = {{0, 1, 2}};
    CHECK(face_normals(needle)[0] == Vec3{});
}

TEST_CASE("mean edge length and box", "[geom][mesh]") {
    // Each square face of a unit cube: two triangles with sides 1, 1, sqrt(2).
    CHECK(mean_edge_length(make_box({1, 1, 1})) == Approx((2 + std::sqrt(2.0)) / 3).epsilon(1e-14));
    const Box3 box = bounding_box(make_box({2, 3, 4}));
    CHECK(box.low == Vec3{-1, -1.5, -2});
    CHECK(box.high == Vec3{1, 1.5, 2});
}

TEST_CASE("noise has the asked deviation and repeats with its seed", "[geom][mesh][support]") {
    const double r = 100, sigma = 0.05;
    const TriMesh smooth = make_sphere(r, 6), noisy = with_noise(smooth, sigma, 7);
    double sum = 0, squares = 0;
    for (const Vec3 v : noisy.vertices) {
        sum += norm(v) - r;
        squares += (norm(v) - r) * (norm(v) - r);
    }
    const double n = static_cast<double>(noisy.vertices.size());
    CHECK(std::abs(sum / n) < 4 * sigma / std::sqrt(n));                           // 4 standard errors of a mean
    CHECK(std::sqrt(squares / n) == Approx(sigma).epsilon(4 / std::sqrt(2 * n)));  // and of a deviation
    CHECK(with_noise(smooth, sigma, 7).vertices == noisy.vertices);
    CHECK(with_noise(smooth, sigma, 8).vertices != noisy.vertices);
}
