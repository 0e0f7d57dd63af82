// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

/// Point i of n spread evenly over the unit sphere by the golden angle.
Vec3 spread(int i, int n) {
    const double z = 1 - (2.0 * i + 1) / n, r = std::sqrt(1 - z * z);
    const double angle = i * std::numbers::pi * (3 - std::sqrt(5.0));
    return {r * std::cos(angle), r * std::sin(angle), z};
}

/// The plain way: foot of the perpendicular where it falls inside the face, else the border.
double distance_to_face(Vec3 p, const std::array<Vec3, 3>& c) {
    const Vec3 n = normalized(area_vector(c));
    const double height = dot(p - c[0], n);
    const Vec3 foot = p - n * height;
    bool is_over = true;
    for (std::size_t k = 0; k < 3; ++k) is_over = is_over && dot(cross(c[(k + 1) % 3] - c[k], foot - c[k]), n) >= 0;
    return is_over ? std::abs(height) : distance_to_polyline(p, c, true);
}

double naive_distance(const TriMesh& mesh, Vec3 p) {
    double least = std::numeric_limits<double>::infinity();
    for (FaceId f = 0; f < mesh.face_count(); ++f) least = std::min(least, distance_to_face(p, mesh.corners(f)));
    return least;
}

}  // namespace

TEST_CASE("nearest points agree with testing every face", "[geom][mesh_index]") {
    for (const TriMesh& mesh : {shuffled(make_torus(20, 7, 30, 20), 1), make_box({4, 6, 10}),
                                make_naca_prism(12, 100, 60, 40, 2), with_noise(make_sphere(10, 3), 0.1, 2)}) {
        const MeshIndex index(mesh);
        for (int i = 0; i < 300; ++i) {
            const Vec3 query = spread(i, 300) * (0.2 * i);
            const auto found = index.nearest(query);
            REQUIRE(found.distance_mm == Approx(naive_distance(mesh, query)).epsilon(1e-12).margin(1e-12));
            REQUIRE(norm(found.point - query) == found.distance_mm);
            REQUIRE(distance_to_face(found.point, mesh.corners(found.face)) < 1e-12 * 100);
        }
    }
}

TEST_CASE("distance and rays to a sphere", "[geom][mesh_index]") {
    const double r = 50;
    const TriMesh sphere = make_sphere(r, 5);
    const double sag = chord_sag(sphere, r);
    const Vec3 center{10, -20, 30};
    Frame3 place = rotation_about({1, 2, 3}, 0.7);
    place.origin = center;
    const MeshIndex index(shuffled(placed(sphere, place), 3));  // the index keeps what it needs
    for (int i = 0; i < 500; ++i) {
        const Vec3 direction = spread(i, 500);
        for (const double d : {10.0, 49.0, 80.0}) {
            const double distance = index.nearest(center + direction * d).distance_mm;
            CHECK(distance >= std::abs(d - r) - sag);
            CHECK(distance <= std::abs(d - r) + sag);
        }
        const auto outward = index.first_hit(center, direction * 3),
                   inward = index.first_hit(center + direction * 90, -direction);
        REQUIRE(outward);
        REQUIRE(inward);
        CHECK(outward->distance_mm <= r + 1e-9);
        CHECK(outward->distance_mm >= r - sag);
        CHECK(inward->distance_mm ==
              Approx(90 - outward->distance_mm).epsilon(1e-12));  // the same place from both sides
        CHECK(norm(inward->point - outward->point) < 1e-10);
        CHECK_FALSE(index.first_hit(center + direction * 90, direction));
    }
}

TEST_CASE("no ray slips through a vertex or an edge", "[geom][mesh_index]") {
    const TriMesh mesh = make_sphere(10, 4);
    const MeshIndex index(mesh);
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(f);
        REQUIRE(index.first_hit({}, c[0]));
        REQUIRE(index.first_hit({}, c[0] + c[1]));
        // At the same level of rounding, a ray that starts beyond misses nothing on its way in either.
        REQUIRE(index.first_hit(c[0] * 3, -c[0])->distance_mm == Approx(20).epsilon(1e-12));
    }
}

TEST_CASE("the first hit is the nearest one, also along a face", "[geom][mesh_index]") {
    const TriMesh box = make_box({4, 6, 10});
    const MeshIndex index(box);
    const auto side = index.first_hit({-10, 0.5, 1}, {1, 0, 0});
    REQUIRE(side);
    CHECK(side->point == Vec3{-2, 0.5, 1});
    CHECK(side->distance_mm == 8);
    CHECK(box.corners(side->face)[0].x == -2);
    const auto skimming = index.first_hit({-10, 0.5, 5}, {2, 0, 0});  // in the plane of the top
    REQUIRE(skimming);
    CHECK(skimming->distance_mm == Approx(8).epsilon(1e-12));
    CHECK(index.first_hit({0, 0, 5}, {0, 0, 1})->distance_mm == 0);
    CHECK_FALSE(index.first_hit({-10, 0.5, 5.0001}, {1, 0, 0}));
}

TEST_CASE("only the faces given are indexed, and reported by their own numbers", "[geom][mesh_index]") {
    const TriMesh box = make_box({4, 6, 10});
    std::vector<FaceId> top;
    for (FaceId f = 0; f < box.face_count(); ++f)
        if (area_vector(box.corners(f)).z > 0) top.push_back(f);
    REQUIRE(top.size() == 2);
    const MeshIndex index(box, top);
    const auto below = index.nearest({0.5, 0.3, -20});
    CHECK(below.distance_mm == 25);
    CHECK(std::find(top.begin(), top.end(), below.face) != top.end());
    CHECK_FALSE(index.first_hit({-10, 0.5, 1}, {1, 0, 0}));
}

TEST_CASE("degenerate and missing faces", "[geom][mesh_index]") {
    TriMesh mesh = make_box({4, 6, 10});
    const double nan = std::numeric_limits<double>::quiet_NaN();
    mesh.vertices.push_back({nan, 0, 0});
    mesh.triangles.insert(mesh.triangles.begin(), {{0, 0, 1}, {2, 2, 2}, {0, 1, 8}});
    const MeshIndex index(mesh);
    CHECK(index.nearest({0, 0, 20}).distance_mm == 15);
    CHECK(index.first_hit({-10, 0.5, 1}, {1, 0, 0})->distance_mm == 8);

    const MeshIndex none{TriMesh{}};
    CHECK(none.is_empty());
    CHECK(none.nearest({}).face == no_id);
    CHECK(std::isinf(none.nearest({}).distance_mm));
    CHECK_FALSE(none.first_hit({}, {1, 0, 0}));
    CHECK_THROWS_AS(index.nearest({nan, 0, 0}), Error);
    CHECK_THROWS_AS(index.first_hit({}, {}), Error);
}

TEST_CASE("an index can be moved", "[geom][mesh_index]") {
    MeshIndex a{make_box({4, 6, 10})};
    MeshIndex b{TriMesh{}};
    b = std::move(a);
    CHECK(b.nearest({0, 0, 20}).distance_mm == 15);
}
