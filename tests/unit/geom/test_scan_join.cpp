// SPDX-License-Identifier: GPL-3.0-or-later
// Two scans of one body made one; a half and its mirror image. Truth: the body they were cut from.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/mesh_repair.hpp"
#include "geom/join_scans.hpp"
#include "geom/mirror_half.hpp"
#include "geom/register_scan.hpp"
#include "geom/zip_loops.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;
using Catch::Matchers::Contains;

namespace {

constexpr double pi = std::numbers::pi;

template <typename Keep>
TriMesh part_of(TriMesh mesh, const Keep& keep) {
    std::erase_if(mesh.triangles, [&](const Triangle& t) {
        return !keep((mesh.vertices[t[0]] + mesh.vertices[t[1]] + mesh.vertices[t[2]]) / 3);
    });
    return repair_mesh(mesh, {.hole_perimeter_mm = 5, .caps_openings = false}, "part").mesh;
}

/// Two scans are never triangulated alike: the second is of the same body turned under the scanner.
TriMesh other_triangles(const TriMesh& body, const Vec3 axes) {
    const Frame3 turn = rotation_about({0.3, 0.2, 0.9}, 0.7);
    TriMesh out = body;
    for (Vec3& p : out.vertices) {
        const Vec3 q = turn.to_parent(Vec3{p.x / axes.x, p.y / axes.y, p.z / axes.z});
        p = {q.x * axes.x, q.y * axes.y, q.z * axes.z};
    }
    return out;
}

const Vec3 semi{90, 60, 35};  // three different axes, so that an overlap fixes every motion

double ellipsoid_volume() { return 4 * pi / 3 * semi.x * semi.y * semi.z; }

Frame3 moved() {
    Frame3 f = rotation_about({1, 2, 0.5}, 2.6);
    f.origin = {140, -30, 55};
    return f;
}

double worst_gap(const TriMesh& mesh, const Frame3& motion, const Frame3& truth) {
    double worst = 0;
    for (const Vec3 p : mesh.vertices) worst = std::max(worst, norm(motion.to_parent(p) - truth.to_parent(p)));
    return worst;
}

}  // namespace

TEST_CASE("picked points give the motion between two scans", "[geom][join]") {
    const Frame3 truth = moved();
    std::vector<std::pair<Vec3, Vec3>> pairs;
    for (const Vec3 p : {Vec3{0, 0, 0}, Vec3{100, 0, 0}, Vec3{0, 50, 0}, Vec3{0, 0, 20}})
        pairs.emplace_back(truth.to_parent(p), p);
    const PairFit fit = fit_pairs(pairs);
    CHECK(fit.rms_mm < 1e-9);
    for (const auto& [to, from] : pairs) CHECK(norm(fit.motion.to_parent(from) - to) < 1e-9);
    // Pairs that only a mirror image would match leave a residual instead.
    for (auto& [to, from] : pairs) from.z = -from.z;
    CHECK(fit_pairs(pairs).rms_mm > 1);
    CHECK(fit_pairs(std::vector{pairs[0], pairs[1], pairs[0]}).spread_mm < 1e-9);
}

TEST_CASE("a second scan is fitted to the first from a rough start", "[geom][join]") {
    const TriMesh first = part_of(make_ellipsoid(semi, 6), [](Vec3 p) { return p.z > -15; });
    for (const double sigma : {0.0, 0.1}) {
        const TriMesh body = with_noise(other_triangles(make_ellipsoid(semi, 6), semi), sigma, 5);
        const TriMesh second = placed(part_of(body, [](Vec3 p) { return p.z < 10; }), inverse(moved()));
        // 3 mm and 2 deg off, as picks by hand are.
        Frame3 start = compose(rotation_about({0, 1, 1}, 0.035), moved());
        start.origin += Vec3{2, -2, 1};
        const Registration fit = register_scan(first, second, start, 8);
        CHECK_FALSE(fit.slides);
        CHECK(fit.overlap > 0.15);
        CHECK(worst_gap(second, fit.motion, moved()) < 0.05 + sigma);
        CHECK(fit.residual_mm < 0.05 + 1.2 * sigma);
        CHECK(fit.residual_mm > 0.7 * sigma);
    }
}

TEST_CASE("a motion that the overlap does not fix stays as told", "[geom][join]") {
    const TriMesh tube = make_elliptic_cylinder(30, 30, 200, 120, 100);
    const auto inside = [](Vec3 p) { return std::abs(p.x) < 99; };
    Frame3 start;
    start.origin = {3, 0.5, 0};
    const Registration fit = register_scan(part_of(tube, inside), part_of(tube, inside), start, 10);
    CHECK(fit.slides);
    CHECK(fit.motion.origin.x == Approx(3).margin(0.2));
    CHECK(std::abs(fit.motion.origin.y) < 0.02);
    start.origin = {0, 500, 0};
    CHECK(register_scan(part_of(tube, inside), part_of(tube, inside), start, 10).overlap == 0);
}

TEST_CASE("a strip between two loops has one triangle an edge", "[geom][join]") {
    const auto ring = [](int n, double z, int way, double phase) {
        PointLoop loop;
        for (int i = 0; i < n; ++i) {
            const double a = way * 2 * pi * i / n + phase;
            loop.push_back({10 * std::cos(a), 10 * std::sin(a), z});
        }
        return loop;
    };
    const PointLoop low = ring(40, 0, 1, 0), high = ring(57, 2, -1, 1.1);
    const std::vector<Triangle> strip = zip_loops(low, high);
    REQUIRE(strip.size() == 97);
    double area = 0;
    for (const Triangle& t : strip) {
        const auto at = [&](VertexId v) { return v < 40 ? low[v] : high[v - 40]; };
        const Vec3 a = area_vector({at(t[0]), at(t[1]), at(t[2])});
        area += norm(a) / 2;
        CHECK(dot(a, Vec3{at(t[0]).x, at(t[0]).y, 0}) > 0);  // outward all round
    }
    CHECK(area == Approx(2 * pi * 10 * 2).epsilon(0.02));  // of the cylinder between them
    const LoopGap gap = gap_between(low, high);
    CHECK(gap.widest_mm == Approx(2).epsilon(0.01));
}

TEST_CASE("two scans that overlap become one closed surface", "[geom][join]") {
    const TriMesh whole = make_ellipsoid(semi, 6);
    for (const double sigma : {0.0, 0.05}) {
        const TriMesh first = part_of(with_noise(whole, sigma, 1), [](Vec3 p) { return p.z > -15; });
        const TriMesh second =
            part_of(with_noise(other_triangles(whole, semi), sigma, 2), [](Vec3 p) { return p.z < 12; });
        const JoinedScans joined = join_scans(first, second, {0.2 + 5 * sigma, 20}, "test");
        CHECK(joined.seams == 1);
        CHECK(joined.overlap > 0.2);
        CHECK(joined.widest_bridge_mm < 3 * mean_edge_length(whole));
        const RepairedMesh r = repair_mesh(joined.mesh, {}, "test");
        CHECK(r.mesh.openings.empty());
        CHECK(mass_properties(r.mesh).volume_mm3 == Approx(ellipsoid_volume()).epsilon(0.003));
    }
}

TEST_CASE("two scans that leave a gap are bridged up to the limit", "[geom][join]") {
    const TriMesh whole = make_ellipsoid(semi, 6);
    const TriMesh first = part_of(whole, [](Vec3 p) { return p.z > 4; });
    const TriMesh second = part_of(other_triangles(whole, semi), [](Vec3 p) { return p.z < -4; });
    const JoinedScans joined = join_scans(first, second, {0.2, 15}, "test");
    CHECK(joined.overlap < 1e-9);
    CHECK(joined.widest_bridge_mm > 8);
    CHECK(joined.widest_bridge_mm < 15);
    const RepairedMesh r = repair_mesh(joined.mesh, {}, "test");
    CHECK(r.mesh.openings.empty());
    CHECK(mass_properties(r.mesh).volume_mm3 == Approx(ellipsoid_volume()).epsilon(0.01));
    try {
        join_scans(first, second, {0.2, 5}, "lower.stl");
        FAIL("joined");
    } catch (const Error& e) {
        CHECK(e.code() == ErrorCode::bad_input);
        CHECK_THAT(e.what(), Contains("do not meet") && Contains("mm apart") && Contains("5.0 mm can be bridged"));
    }
    CHECK_THROWS_AS(join_scans(first, first, {0.2, 15}, "test"), Error);
    CHECK_THROWS_AS(join_scans(whole, first, {0.2, 15}, "test"), Error);
}

TEST_CASE("a half and its mirror image are the whole", "[geom][join]") {
    const double sigma = 0.05;
    TriMesh half = part_of(make_ellipsoid(semi, 6), [](Vec3 p) { return p.z > 0; });
    for (const VertexId v : half.openings.front().loop) half.vertices[v].z = 0;
    const Frame3 pose = moved();
    for (const double noise : {0.0, sigma}) {
        const TriMesh scan = placed(with_noise(half, noise, 3), pose);
        TriMesh open = repair_mesh(scan, {.caps_openings = false}, "half").mesh;
        const MirroredHalf whole = mirror_half(open, 2, "test");
        CHECK(std::abs(dot(whole.normal, pose.direction_to_parent({0, 0, -1}))) == Approx(1).epsilon(1e-5));
        CHECK(whole.largest_move_mm < 6 * noise + 1e-9);
        const RepairedMesh r = repair_mesh(whole.mesh, {}, "test");
        CHECK(r.mesh.openings.empty());
        CHECK(mass_properties(r.mesh).volume_mm3 == Approx(ellipsoid_volume()).epsilon(0.003));
        const auto mirrored = std::count(r.mesh.face_origin.begin(), r.mesh.face_origin.end(), FaceOrigin::mirrored);
        CHECK(2 * static_cast<std::size_t>(mirrored) == r.mesh.face_count());
    }
    // Cut far below the middle it is no half.
    const TriMesh bowl = part_of(make_ellipsoid(semi, 5), [](Vec3 p) { return p.z > -15 || p.x > 60; });
    try {
        mirror_half(bowl, 2, "bowl.stl");
        FAIL("mirrored");
    } catch (const Error& e) {
        CHECK_THAT(e.what(),
                   Contains("bowl.stl") && Contains("no half to be mirrored") && Contains("mm off the plane"));
    }
    CHECK_THROWS_AS(mirror_half(make_sphere(20, 3), 2, "test"), Error);
}
