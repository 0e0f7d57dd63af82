// SPDX-License-Identifier: GPL-3.0-or-later
// Castability cases after de Berg et al., Computational Geometry, ch. 4 (removal by one translation), with
// hand-computed angles; values repeated from the project's reference sheet, tags there: derived.
#include <catch2/catch.hpp>
#include <numbers>

#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

double deg(double rad) { return Angle::rad(rad).deg(); }
Vec3 flank(double draft_deg, double side) {
    const double a = Angle::deg(draft_deg).rad();
    return {side * std::cos(a), 0, std::sin(a)};
}

/// A box with a knob overhanging its top: a wide disc on a narrow stem, as one closed surface of revolution about z.
TriMesh make_mushroom(double stem_radius, double cap_radius, double base_radius) {
    const std::vector<Vec2> profile{{0.001, -40},      {base_radius, -40}, {base_radius, 0}, {stem_radius, 0},
                                    {stem_radius, 20}, {cap_radius, 20},   {cap_radius, 30}, {0.001, 30}};
    // Subdivide so that faces are small against the overhang.
    std::vector<Vec2> fine;
    for (std::size_t i = 0; i + 1 < profile.size(); ++i)
        for (int k = 0; k < 12; ++k) fine.push_back(profile[i] + (profile[i + 1] - profile[i]) * (k / 12.0));
    fine.push_back(profile.back());
    TriMesh mesh;
    constexpr std::uint32_t n = 96;
    for (const Vec2& p : fine)
        for (std::uint32_t i = 0; i < n; ++i) {
            const double a = 2 * std::numbers::pi * i / n;
            mesh.vertices.push_back({p.x * std::cos(a), p.x * std::sin(a), p.y});
        }
    for (std::uint32_t r = 0; r + 1 < fine.size(); ++r)
        for (std::uint32_t i = 0; i < n; ++i) {
            const std::uint32_t a = r * n + i, b = r * n + (i + 1) % n;
            mesh.triangles.push_back({a, b, b + n});
            mesh.triangles.push_back({a, b + n, a + n});
        }
    const auto close = [&](std::uint32_t ring, bool is_top) {
        const auto middle = static_cast<std::uint32_t>(mesh.vertices.size());
        mesh.vertices.push_back({0, 0, fine[ring].y});
        for (std::uint32_t i = 0; i < n; ++i) {
            const std::uint32_t a = ring * n + i, b = ring * n + (i + 1) % n;
            mesh.triangles.push_back(is_top ? Triangle{a, b, middle} : Triangle{b, a, middle});
        }
    };
    close(0, false);
    close(static_cast<std::uint32_t>(fine.size()) - 1, true);
    return mesh;
}

}  // namespace

TEST_CASE("best pull is the centre of the smallest cap of normals", "[stages][release]") {
    SECTION("wedge with flanks of 3 and 9 deg: 6 deg, tilted 3 deg toward the 3 deg flank") {
        const BestPull best = best_pull({flank(3, 1), flank(9, -1)});
        CHECK(best.is_feasible);
        CHECK(deg(std::asin(best.least_dot)) == Approx(6.0).margin(1e-9));
        CHECK(deg(std::atan2(best.direction.x, best.direction.z)) == Approx(3.0).margin(1e-9));
    }
    SECTION("wedge 5 and 15 deg: 10 deg, tilted 5 deg") {
        const BestPull best = best_pull({flank(5, 1), flank(15, -1)});
        CHECK(deg(std::asin(best.least_dot)) == Approx(10.0).margin(1e-9));
        CHECK(deg(std::atan2(best.direction.x, best.direction.z)) == Approx(5.0).margin(1e-9));
    }
    SECTION("three square faces: cap of 54.7356 deg") {
        const BestPull best = best_pull({{1, 0, 0}, {0, 1, 0}, {0, 0, 1}});
        CHECK(deg(std::acos(best.least_dot)) == Approx(54.7356).margin(1e-4));
    }
    SECTION("opposite faces: infeasible, never better than zero") {
        const BestPull best = best_pull({{1, 0, 0}, {-1, 0, 0}, {0, 0, 1}});
        CHECK_FALSE(best.is_feasible);
        CHECK(best.least_dot <= 1e-12);
    }
    SECTION("brute force over the sphere never beats it") {
        const std::vector<Vec3> normals{flank(4, 1), flank(11, -1), normalized(Vec3{0.1, 0.9, 0.3}),
                                        normalized(Vec3{0.2, -0.8, 0.5})};
        const BestPull best = best_pull(normals);
        double brute = -1;
        for (int i = 0; i < 720; ++i)
            for (int k = 0; k <= 360; ++k) {
                const double a = i * std::numbers::pi / 360, b = k * std::numbers::pi / 360 - std::numbers::pi / 2;
                const Vec3 d{std::cos(a) * std::cos(b), std::sin(a) * std::cos(b), std::sin(b)};
                double least = 1;
                for (const Vec3& n : normals) least = std::min(least, dot(n, d));
                brute = std::max(brute, least);
            }
        CHECK(best.least_dot >= brute - 1e-12);
        CHECK(best.least_dot < brute + 0.02);  // grid of half a degree
    }
}

TEST_CASE("draft of a truncated pyramid is its flank angle", "[stages][release]") {
    // base 100, top 80, height 50: atan(10 / 50) = 11.3099 deg (sheet T1.1).
    const PartedPlug p = parted_plug(make_pyramid(100, 80, 50));
    REQUIRE(p.parting.is_found());
    CHECK(p.release.half1.draft_p01_deg == Approx(11.3099).margin(1e-3));
    CHECK(p.release.half1.undercut_area_mm2 == 0);
    CHECK(p.release.half1.locked_area_mm2 == 0);
    CHECK(p.release.best1.is_feasible);
}

TEST_CASE("a sphere leaves both halves", "[stages][release]") {
    const PartedPlug p = parted_plug(make_sphere(60, 6));
    CHECK(p.release.half1.undercut_depth_mm == 0);
    CHECK(p.release.half2.undercut_depth_mm == 0);
    // Points with draft < delta lie within R sin(delta) of the parting plane; along the surface that is R delta.
    CHECK(p.release.half1.low_band_mm == Approx(60 * Angle::deg(3).rad()).epsilon(0.15));
}

TEST_CASE("a mushroom knob locks half 1 by the overhang of its cap", "[stages][release]") {
    const double stem = 10, cap = 16;
    const PartedPlug p = parted_plug(make_mushroom(stem, cap, 60));
    REQUIRE(p.parting.is_found());
    CHECK(p.parting.loops.size() == 1);  // neither the cap's rim nor its shadow is a parting line
    // Freeing the stem's foot from under the cap takes a shift of cap - stem.
    CHECK(p.release.half1.undercut_depth_mm == Approx(cap - stem).margin(1.0));
    // Under the cap lie the ring of base it covers, its own underside, and the stem's wall of height 20.
    const double ring = std::numbers::pi * (cap * cap - stem * stem), wall = 2 * std::numbers::pi * stem * 20;
    CHECK(p.release.half1.locked_area_mm2 == Approx(2 * ring + wall).epsilon(0.15));
    CHECK(p.release.half2.undercut_depth_mm == 0);
}

TEST_CASE("undercut depth is that of the deepest corner, however large the faces", "[stages][release]") {
    // A frustum standing on its small end, all but that end taken for half 1: its foot must come out from under the
    // rim.
    const PosedPlug posed = posed_plug(make_cone(40, 50, 20, 96));
    const TriMesh& mesh = posed.mesh();
    Parting parting;
    for (FaceId f = 0; f < mesh.face_count(); ++f)
        parting.half.push_back(normalized(area_vector(mesh.corners(f))).z < -0.99 ? 2 : 1);
    const Release release = measure_release(posed, map_release(posed), parting, {});
    CHECK(release.half1.undercut_depth_mm == Approx(10).margin(0.2));
}
