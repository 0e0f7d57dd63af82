// SPDX-License-Identifier: GPL-3.0-or-later
// Places where a scan is worse than elsewhere, made on purpose and found again; fewer triangles, held against distances
// found by brute force.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "cradlewright/geom/mesh_repair.hpp"
#include "geom/decimate.hpp"
#include "geom/nearest_on_triangle.hpp"
#include "geom/scan_weak_places.hpp"
#include "geom/self_crossings.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

TriMesh together(TriMesh a, const TriMesh& b) {
    const auto shift = static_cast<VertexId>(a.vertices.size());
    a.vertices.insert(a.vertices.end(), b.vertices.begin(), b.vertices.end());
    for (Triangle t : b.triangles) {
        for (VertexId& v : t) v += shift;
        a.triangles.push_back(t);
    }
    return a;
}

TriMesh shifted(TriMesh mesh, Vec3 by) {
    for (Vec3& p : mesh.vertices) p += by;
    return mesh;
}

}  // namespace

TEST_CASE("a surface that passes through itself is found at its place", "[geom][places]") {
    CHECK(crossing_faces(make_sphere(40, 5)).empty());
    CHECK(crossing_faces(make_box({30, 20, 10})).empty());
    CHECK(crossing_faces(make_torus(50, 10, 60, 30)).empty());

    // Two spheres cross along a circle: at x = 30, of radius sqrt(40^2 - 30^2).
    const TriMesh pair = together(make_sphere(40, 5), shifted(make_sphere(40, 5), {60, 0.3, 0.2}));
    const auto faces = crossing_faces(pair);
    CHECK(faces.size() > 50);
    const auto places = crossing_places(pair, faces, 10);
    REQUIRE(places.size() == 1);
    CHECK(places[0].center.x == Approx(30).margin(1));
    CHECK(std::abs(places[0].center.y) < 1);
    CHECK(places[0].reach_mm == Approx(std::sqrt(40.0 * 40 - 30 * 30)).margin(2));
    CHECK(places[0].pairs == faces.size());

    // A vertex pushed through the far side of a thin plate.
    TriMesh plate = make_elliptic_cylinder(40, 2, 100, 60, 60);
    const auto top = std::max_element(plate.vertices.begin(), plate.vertices.end(), [](Vec3 a, Vec3 b) {
        return std::pair(a.z - std::abs(a.x), a.y) < std::pair(b.z - std::abs(b.x), b.y);
    });
    top->z = -5;
    const auto through = crossing_places(plate, crossing_faces(plate), 5);
    REQUIRE(through.size() == 1);
    CHECK(norm(Vec3{through[0].center.x - top->x, through[0].center.y - top->y, 0}) < 3);
}

TEST_CASE("crossing faces agree with the pairs of a fold", "[geom][places]") {
    // Faces 0 and 1 share an edge and lie on each other; 2 shares a corner with 0 and goes through it.
    const TriMesh mesh{.vertices = {{0, 0, 0}, {10, 0, 0}, {0, 10, 0}, {4, 3, 0}, {3, 3, 5}, {3, 3, -5}},
                       .triangles = {{0, 1, 2}, {1, 0, 3}, {0, 4, 5}},
                       .face_origin = {},
                       .openings = {}};
    const auto pairs = crossing_faces(mesh);
    CHECK(std::find(pairs.begin(), pairs.end(), std::pair<FaceId, FaceId>{0, 1}) != pairs.end());
    CHECK(std::find(pairs.begin(), pairs.end(), std::pair<FaceId, FaceId>{0, 2}) != pairs.end());
    const std::vector<FaceId> some{0, 2};
    CHECK(crossing_faces(mesh, some) == std::vector<std::pair<FaceId, FaceId>>{{0, 2}});
}

TEST_CASE("a noisy region is found and nothing else", "[geom][places]") {
    const double sigma = 0.05;
    const TriMesh drawn = make_naca_prism(18, 200, 600, 200, 300);
    TriMesh scan = with_noise(drawn, sigma, 1);
    CHECK(noisy_places(scan, estimate_noise(scan)).empty());
    const TriMesh rough = with_noise(drawn, 6 * sigma, 2);
    const Vec3 bad{450, 20, 17};
    for (VertexId v = 0; v < scan.vertices.size(); ++v)
        if (norm(drawn.vertices[v] - bad) < 60) scan.vertices[v] = rough.vertices[v];
    const auto places = noisy_places(scan, estimate_noise(scan));
    REQUIRE(places.size() == 1);
    CHECK(norm(places[0].center - bad) < 30);
    CHECK(places[0].value_mm == Approx(6 * sigma).epsilon(0.35));
    CHECK(noisy_places(drawn, 0).empty());
}

TEST_CASE("thin coverage is found where triangles are large", "[geom][places]") {
    CHECK(thin_places(make_sphere(100, 6)).empty());
    CHECK(thin_places(make_torus(200, 40, 300, 80)).empty());
    // A cap of the fine sphere replaced by that of a coarse one.
    const auto is_cap = [](const TriMesh& m, const Triangle& t) {
        return (m.vertices[t[0]].z + m.vertices[t[1]].z + m.vertices[t[2]].z) / 3 > 85;
    };
    TriMesh fine = make_sphere(100, 6), coarse = make_sphere(100, 3);
    std::erase_if(fine.triangles, [&](const Triangle& t) { return is_cap(fine, t); });
    std::erase_if(coarse.triangles, [&](const Triangle& t) { return !is_cap(coarse, t); });
    const auto places = thin_places(together(fine, coarse));
    REQUIRE(places.size() == 1);
    CHECK(places[0].center.z > 85);
    const double edge = mean_edge_length(make_sphere(100, 3));
    CHECK(places[0].value_mm == Approx(edge).epsilon(0.25));
    // Middles of neighbours in a net of even triangles are edge / sqrt(3) apart: turn by that over the radius.
    CHECK(places[0].chord_mm == Approx(edge * edge / std::sqrt(3.0) / 100 / 8).epsilon(0.35));
}

TEST_CASE("fewer triangles stay within the told deviation", "[geom][decimate]") {
    const double sigma = 0.02;
    const TriMesh scan = with_noise(make_ellipsoid({90, 50, 30}, 6), sigma, 4);
    for (const double told : {0.1, 0.4}) {
        const Decimated thin = decimate(scan, told);
        CHECK(thin.deviation_mm <= told);
        CHECK(thin.mesh.face_count() < scan.face_count() / 3);
        const RepairedMesh sound = repair_mesh(thin.mesh, {}, "test");
        CHECK(sound.mesh.openings.empty());
        CHECK(sound.mesh.face_count() == thin.mesh.face_count());
        // Brute force over points drawn by lot on each surface, every face of the other.
        std::mt19937 random(7);
        std::uniform_real_distribution<double> unit(0, 1);
        const auto worst_of = [&](const TriMesh& from, const TriMesh& to, int points) {
            double worst = 0;
            for (int i = 0; i < points; ++i) {
                const auto c = from.corners(static_cast<FaceId>(random() % from.face_count()));
                const double s = std::sqrt(unit(random)), t = unit(random);
                const Vec3 p = c[0] * (1 - s) + c[1] * (s * (1 - t)) + c[2] * (s * t);
                double best = 1e9;
                for (FaceId f = 0; f < to.face_count(); ++f)
                    best = std::min(best, norm(nearest_on_triangle(p, to.corners(f)) - p));
                worst = std::max(worst, best);
            }
            return worst;
        };
        CHECK(worst_of(scan, thin.mesh, 500) <= told * 1.02);
        CHECK(worst_of(thin.mesh, scan, 200) <= told * 1.02);
    }
    CHECK(decimate(make_box({10, 10, 10}), 0.001).mesh.face_count() == 12);
}
