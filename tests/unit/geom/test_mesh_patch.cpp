// SPDX-License-Identifier: GPL-3.0-or-later
// Patches over holes held against the closed form of the surface that is missing; corners written apart.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <random>

#include "cradlewright/geom/mesh_repair.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double pi = std::numbers::pi;

TriMesh with_hole(TriMesh mesh, Vec3 at, double radius) {
    std::erase_if(mesh.triangles, [&](const Triangle& t) {
        return norm((mesh.vertices[t[0]] + mesh.vertices[t[1]] + mesh.vertices[t[2]]) / 3 - at) < radius;
    });
    return mesh;
}

/// Largest distance of a patch's points and faces' middles from the surface, told by its distance function.
template <typename Distance>
double patch_error(const TriMesh& mesh, const Distance& distance) {
    double worst = 0;
    std::size_t patched = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        if (mesh.origin_of(f) != FaceOrigin::patched) continue;
        ++patched;
        const auto c = mesh.corners(f);
        for (const Vec3 p : {c[0], c[1], c[2], (c[0] + c[1] + c[2]) / 3})
            worst = std::max(worst, std::abs(distance(p)));
    }
    REQUIRE(patched > 0);
    return worst;
}

/// Every corner of every face a vertex of its own, each coordinate rounded to `step`, then off by one step or none.
TriMesh split_corners(const TriMesh& mesh, double step, std::uint32_t seed) {
    std::mt19937 random(seed);
    std::uniform_int_distribution<int> off(-1, 1);
    const auto written = [&](double x) { return (std::round(x / step) + off(random)) * step; };
    TriMesh soup;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        Triangle t{};
        for (unsigned k = 0; k < 3; ++k) {
            const Vec3 p = mesh.corners(f)[k];
            t[k] = static_cast<VertexId>(soup.vertices.size());
            soup.vertices.push_back({written(p.x), written(p.y), written(p.z)});
        }
        soup.triangles.push_back(t);
    }
    return soup;
}

}  // namespace

TEST_CASE("a patch on a sphere follows it", "[geom][repair][patch]") {
    const double radius = 60, hole = 9;
    const TriMesh sphere = make_sphere(radius, 6);
    const double flat = radius - std::sqrt(radius * radius - hole * hole);  // what a flat patch would leave, 0.68 mm
    const auto off_sphere = [&](Vec3 p) { return norm(p) - radius; };
    for (const Vec3 at : {Vec3{0, 0, radius}, normalized(Vec3{1, 2, 3}) * radius}) {
        const RepairedMesh r = repair_mesh(with_hole(sphere, at, hole), {.hole_perimeter_mm = 80}, "test");
        REQUIRE(r.report.holes_closed == 1);
        CHECK(patch_error(r.mesh, off_sphere) < chord_sag(sphere, radius) + 0.02 * flat);
        REQUIRE(r.report.closed_holes.size() == 1);
        CHECK(norm(r.report.closed_holes[0].center - at) < flat + 0.1 * hole);
    }
    // Noise of the rim passes on to the patch, not blown up.
    for (const std::uint32_t seed : {1u, 2u, 3u}) {
        const double sigma = 0.05;
        const TriMesh noisy = with_noise(sphere, sigma, seed);
        const RepairedMesh r = repair_mesh(with_hole(noisy, {0, 0, radius}, hole), {.hole_perimeter_mm = 120}, "test");
        CHECK(patch_error(r.mesh, off_sphere) < chord_sag(sphere, radius) + 4 * sigma);
    }
}

TEST_CASE("a patch on a cylinder follows it", "[geom][repair][patch]") {
    const double radius = 30, hole = 8;
    const TriMesh tube = make_elliptic_cylinder(radius, radius, 200, 240, 260);
    const double flat = radius - std::sqrt(radius * radius - hole * hole);  // 1.1 mm
    const RepairedMesh r = repair_mesh(with_hole(tube, {0, 0, radius}, hole), {.hole_perimeter_mm = 80}, "test");
    const double facets = radius * (1 - std::cos(pi / 240));
    const double error = patch_error(r.mesh, [&](Vec3 p) { return std::hypot(p.y, p.z) - radius; });
    CHECK(error < facets + 0.03 * flat);
}

TEST_CASE("an open tube's end gets no dome", "[geom][repair][patch]") {
    TriMesh tube = make_elliptic_cylinder(6, 6, 60, 60, 60);
    std::erase_if(tube.triangles, [&](const Triangle& t) {
        return std::all_of(t.begin(), t.end(), [&](VertexId v) { return tube.vertices[v].x > 30 - 1e-9; });
    });
    const RepairedMesh r = repair_mesh(tube, {}, "test");
    REQUIRE(r.report.holes_closed == 1);
    CHECK(bounding_box(r.mesh).high.x == Approx(30));
}

TEST_CASE("corners split by their last written digit are joined without being told", "[geom][repair][weld]") {
    const TriMesh sphere = make_sphere(40, 5);
    for (const double step : {1e-6, 1e-4, 1e-2}) {
        for (const std::uint32_t seed : {1u, 2u}) {
            INFO("step " << step << " mm, edges " << mean_edge_length(sphere) << " mm");
            const RepairedMesh r = repair_mesh(split_corners(shuffled(sphere, seed), step, seed), {}, "test");
            CHECK(r.mesh.face_count() == sphere.face_count());
            CHECK(r.mesh.vertices.size() == sphere.vertices.size());
            CHECK(r.mesh.openings.empty());
            CHECK(r.report.holes_closed == 0);
            CHECK(r.report.stray_shells.empty());
            CHECK(r.report.split_corners_joined > 0);
            for (const Vec3 p : r.mesh.vertices) REQUIRE(std::abs(norm(p) - 40) < 2 * step * std::sqrt(3.0));
        }
    }
}

TEST_CASE("joining split corners closes no gap that is one", "[geom][repair][weld]") {
    // One face sunk by an eighth of an edge is a loose piece below a hole.
    TriMesh sphere = make_sphere(40, 4);
    const double edge = mean_edge_length(sphere);
    for (VertexId& v : sphere.triangles[0]) {
        sphere.vertices.push_back(sphere.vertices[v] - normalized(sphere.vertices[v]) * (edge / 8));
        v = static_cast<VertexId>(sphere.vertices.size() - 1);
    }
    const RepairedMesh r = repair_mesh(sphere, {}, "test");
    CHECK(r.report.split_corners_joined == 0);
    CHECK(r.report.holes_closed == 1);
    CHECK(r.report.stray_shells.size() == 1);
}
