// SPDX-License-Identifier: GPL-3.0-or-later
// Release held against brute force and closed forms. Castability after de Berg et al., Computational Geometry, ch. 4:
// removal by one translation d needs n.d >= 0 on every facet of the half and no facet covered along d.
#include <catch2/catch.hpp>
#include <numbers>
#include <random>

#include "cradlewright/geom/triangulate.hpp"
#include "support/brute_rays.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

/// A profile (x, z), counter-clockwise, drawn out along y in steps of about `step`.
TriMesh extruded(const std::vector<Vec2>& profile, double length, double step) {
    std::vector<Vec2> fine;
    for (std::size_t i = 0; i < profile.size(); ++i) {
        const Vec2 a = profile[i], b = profile[(i + 1) % profile.size()];
        const int n = std::max(1, static_cast<int>(std::ceil(norm(b - a) / step)));
        for (int k = 0; k < n; ++k) fine.push_back(a + (b - a) * (double(k) / n));
    }
    const auto n = static_cast<std::uint32_t>(fine.size());
    const auto m = static_cast<std::uint32_t>(std::ceil(length / step));
    TriMesh mesh;
    for (std::uint32_t j = 0; j <= m; ++j)
        for (const Vec2& p : fine) mesh.vertices.push_back({p.x, length * (double(j) / m - 0.5), p.y});
    for (std::uint32_t j = 0; j < m; ++j)
        for (std::uint32_t i = 0; i < n; ++i) {
            const std::uint32_t a = j * n + i, b = j * n + (i + 1) % n;
            mesh.triangles.push_back({a, a + n, b});
            mesh.triangles.push_back({b, a + n, b + n});
        }
    for (const Triangle& t : triangulate({fine}).triangles) {
        mesh.triangles.push_back(t);
        mesh.triangles.push_back({t[0] + m * n, t[2] + m * n, t[1] + m * n});
    }
    return mesh;
}

/// A slab with a T-shaped rail on top.
TriMesh make_t_rail(double stem, double cap) {
    return extruded({{-60, -30},
                     {60, -30},
                     {60, 0},
                     {stem, 0},
                     {stem, 15},
                     {cap, 15},
                     {cap, 25},
                     {-cap, 25},
                     {-cap, 15},
                     {-stem, 15},
                     {-stem, 0},
                     {-60, 0}},
                    150, 2.5);
}

/// A slab with a rib that leans over toward +x by `lean`.
TriMesh make_leaning_rib(double lean_deg, double height) {
    const double over = height * std::tan(Angle::deg(lean_deg).rad());
    return extruded(
        {{-60, -30}, {60, -30}, {60, 0}, {8, 0}, {8 + over, height}, {-8 + over, height}, {-8, 0}, {-60, 0}}, 150, 2.5);
}

/// A profile (radius, z), from the lowest point up, turned about z and closed flat at both ends.
TriMesh turned(const std::vector<Vec2>& profile) {
    constexpr std::uint32_t n = 96;
    constexpr double step = 2.5;
    std::vector<Vec2> fine{{0, profile.front().y}};
    std::vector<Vec2> corners = profile;
    corners.push_back({0, profile.back().y});
    for (const Vec2& to : corners) {
        const Vec2 from = fine.back();
        const int m = static_cast<int>(std::ceil(norm(to - from) / step));
        for (int k = 1; k <= m; ++k) fine.push_back(from + (to - from) * (double(k) / m));
    }
    TriMesh mesh;
    mesh.vertices = {{0, 0, fine.front().y}, {0, 0, fine.back().y}};
    for (std::size_t r = 1; r + 1 < fine.size(); ++r)
        for (std::uint32_t i = 0; i < n; ++i) {
            const double a = 2 * std::numbers::pi * i / n;
            mesh.vertices.push_back({fine[r].x * std::cos(a), fine[r].x * std::sin(a), fine[r].y});
        }
    const auto rings = static_cast<std::uint32_t>(fine.size() - 2);
    for (std::uint32_t i = 0; i < n; ++i) {
        const std::uint32_t j = (i + 1) % n, last = 2 + (rings - 1) * n;
        mesh.triangles.push_back({0, 2 + j, 2 + i});
        mesh.triangles.push_back({1, last + i, last + j});
        for (std::uint32_t r = 0; r + 1 < rings; ++r) {
            const std::uint32_t a = 2 + r * n + i, b = 2 + r * n + j;
            mesh.triangles.push_back({a, b, b + n});
            mesh.triangles.push_back({a, b + n, a + n});
        }
    }
    return mesh;
}

/// Release about the level half-way down the slab, which runs out at the rail's ends: where the halves meet there is
/// for the parting stage to say, and not what is asked here.
Release release_above(const TriMesh& mesh, double z) {
    const PosedPlug posed = posed_plug(mesh);
    const ReleaseMap map = map_release(posed);
    Parting parting;
    parting.loops.emplace_back().length_mm = 1;
    const double middle = posed.pose.to_fixture({0, 0, z}).z;
    for (FaceId f = 0; f < posed.mesh().face_count(); ++f) {
        const auto c = posed.mesh().corners(f);
        parting.half.push_back(posed.pose.to_fixture((c[0] + c[1] + c[2]) / 3).z > middle ? 1 : 2);
    }
    return measure_release(posed, map, parting, {});
}

/// Best n.d over a grid of directions, by trying them all.
double brute_best(const std::vector<Vec3>& normals, int rows) {
    double best = -1;
    for (int i = 0; i <= rows; ++i)
        for (int k = 0; k < 2 * rows; ++k) {
            const double lift = std::numbers::pi * (double(i) / rows - 0.5), around = std::numbers::pi * k / rows;
            const Vec3 d{std::cos(lift) * std::cos(around), std::cos(lift) * std::sin(around), std::sin(lift)};
            double least = 1;
            for (const Vec3& n : normals) least = std::min(least, dot(n, d));
            best = std::max(best, least);
        }
    return best;
}

Vec3 random_direction(std::mt19937& random) {
    std::normal_distribution<double> deviate;
    return normalized(Vec3{deviate(random), deviate(random), deviate(random)});
}

}  // namespace

TEST_CASE("best pull equals brute force over the sphere, feasible or not", "[stages][release]") {
    constexpr int rows = 180;
    // No direction is further from the grid than half a cell's diagonal, and the least dot changes no faster than that.
    const double grid_error = std::numbers::pi / rows / std::sqrt(2.0);
    std::mt19937 random(7);
    int feasible = 0, infeasible = 0;
    for (int round = 0; round < 60; ++round) {
        const int count = 2 + static_cast<int>(random() % 14);
        // Half of the sets lie about a direction, as on one half of a plug, the others anywhere.
        const Vec3 up = random_direction(random);
        std::vector<Vec3> normals;
        while (static_cast<int>(normals.size()) < count) {
            const Vec3 n = random_direction(random);
            if (round % 2 == 0 || dot(n, up) > 0.15) normals.push_back(n);
        }
        const BestPull best = best_pull(normals);
        const double brute = brute_best(normals, rows);
        double own = 1;
        for (const Vec3& n : normals) own = std::min(own, dot(n, best.direction));
        CHECK(norm(best.direction) == Approx(1).margin(1e-12));
        CHECK(best.least_dot == Approx(own).margin(1e-12));
        CHECK(best.least_dot >= brute - 1e-12);
        CHECK(best.least_dot <= brute + grid_error);
        CHECK(best.is_feasible == (best.least_dot > 0));
        ++(best.is_feasible ? feasible : infeasible);
    }
    CHECK(feasible > 10);
    CHECK(infeasible > 10);
}

TEST_CASE("sets of normals that leave no room have their exact answer", "[stages][release]") {
    SECTION("both sides of a plate: anything along it, zero") {
        CHECK(best_pull({{0, 0, 1}, {0, 0, -1}}).least_dot == Approx(0).margin(1e-12));
    }
    SECTION("a full ring: the axis, zero") {
        std::vector<Vec3> ring;
        for (int i = 0; i < 12; ++i) ring.push_back({std::cos(i * 0.5236), std::sin(i * 0.5236), 0});
        const BestPull best = best_pull(ring);
        CHECK(best.least_dot == Approx(0).margin(1e-12));
        CHECK(std::abs(best.direction.z) == Approx(1).margin(1e-12));
    }
    SECTION("a cube: into a corner, -1/sqrt(3)") {
        const BestPull best = best_pull({{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}});
        CHECK(best.least_dot == Approx(-1 / std::sqrt(3.0)).margin(1e-12));
    }
    SECTION("a regular tetrahedron: against a facet's opposite, -1/3") {
        const double s = 1 / std::sqrt(3.0);
        const BestPull best = best_pull({{s, s, s}, {s, -s, -s}, {-s, s, -s}, {-s, -s, s}});
        CHECK(best.least_dot == Approx(-1.0 / 3).margin(1e-12));
        // De Berg et al., ch. 4: without any one facet as the mould's opening it can be cast.
        CHECK(best_pull({{s, -s, -s}, {-s, s, -s}, {-s, -s, s}}).least_dot == Approx(1.0 / 3).margin(1e-12));
    }
}

TEST_CASE("cover along the pull equals every face against every triangle", "[stages][slow][release]") {
    struct Shape {
        const char* name;
        TriMesh mesh;
        double tilt_deg;
    };
    const TriMesh rail = extruded({{-20, -10},
                                   {20, -10},
                                   {20, 0},
                                   {4, 0},
                                   {4, 6},
                                   {9, 6},
                                   {9, 10},
                                   {-9, 10},
                                   {-9, 6},
                                   {-4, 6},
                                   {-4, 0},
                                   {-20, 0}},
                                  30, 2);
    for (const Shape& shape :
         {Shape{"rail", rail, 0}, Shape{"rail tilted", rail, 25}, Shape{"ring upright", make_torus(40, 12, 72, 28), 70},
          Shape{"ring leaning", make_torus(40, 12, 72, 28), 35}, Shape{"ball", make_sphere(30, 4), 10}}) {
        INFO(shape.name);
        const PosedPlug posed = posed_plug(shape.mesh, Angle::deg(shape.tilt_deg));
        const ReleaseMap map = map_release(posed);
        const TriMesh& mesh = posed.mesh();
        const auto all = [](FaceId) { return true; };
        std::size_t compared = 0, wrong = 0;
        for (FaceId f = 0; f < mesh.face_count(); ++f) {
            const auto c = mesh.corners(f);
            const Vec3 n = normalized(area_vector(c)), middle = (c[0] + c[1] + c[2]) / 3;
            for (const double sign : {1.0, -1.0}) {
                const Vec3 d = posed.pose.pull_scan * sign;
                // A face that barely turns away, or whose answer hangs on where in a tenth of an edge one looks from or
                // on what is nearer than two edges, is left to the tolerance of the map.
                const Vec3 out = n * (0.05 * map.mean_edge_mm);
                const double a = brute_hit(mesh, middle + n * 1e-7, d, 0, all),
                             b = brute_hit(mesh, middle + out * 2, d, 0, all);
                const double far = 2 * map.mean_edge_mm;
                const auto is_clear_cut = [&](double t) { return t > far; };
                if (std::isinf(a) != std::isinf(b) || !is_clear_cut(a) || !is_clear_cut(b)) continue;
                if (std::abs(dot(n, posed.pose.pull_scan)) < 0.1) continue;
                ++compared;
                const bool is_covered = (map.covered[f] & (sign > 0 ? covered_above : covered_below)) != 0;
                if (is_covered != !std::isinf(a)) ++wrong;
            }
        }
        CHECK(2 * compared > mesh.face_count());  // of two questions a face
        CHECK(wrong == 0);
    }
}

TEST_CASE("undercut depth has its closed forms", "[stages][release]") {
    const double ring_error = 1 / std::cos(std::numbers::pi / 24) - 1;  // 24 directions, 7.5 deg off at worst
    SECTION("a T-shaped rail: cap less stem") {
        for (const auto& [stem, cap] : {std::pair{10.0, 16.0}, std::pair{6.0, 20.0}}) {
            const Release p = release_above(make_t_rail(stem, cap), -15);
            // Faces are looked at by their middles, up to 2.5 mm / 3 from the corner.
            CHECK(p.half1.undercut_depth_mm == Approx(cap - stem).epsilon(2 * ring_error).margin(0.9));
            CHECK(p.half2.undercut_depth_mm == 0);
        }
    }
    SECTION("a leaning rib: height times the tangent of its lean") {
        for (const double lean : {15.0, 30.0}) {
            const Release p = release_above(make_leaning_rib(lean, 30), -15);
            const double over = 30 * std::tan(Angle::deg(lean).rad());
            CHECK(p.half1.undercut_depth_mm == Approx(over).epsilon(2 * ring_error).margin(0.9));
        }
    }
    SECTION("walls of two faces each, as a drawing program writes them") {
        const Release p = release_above(extruded({{-40, 0}, {40, 0}, {60, 30}, {-60, 30}}, 300, 1000), 1);
        CHECK(p.half1.undercut_depth_mm == Approx(20).epsilon(2 * ring_error));
        CHECK(p.half1.undercut_area_mm2 == Approx(2 * 300 * std::hypot(20, 30)).epsilon(1e-6));
    }
    SECTION("deeper than any fixed search") {
        const Release p = release_above(
            extruded({{-200, -30}, {200, -30}, {200, 0}, {20, 0}, {20, 30}, {150, 30}, {150, 60}, {-200, 60}}, 300, 10),
            -15);
        CHECK(p.half1.undercut_depth_mm == Approx(130).epsilon(2 * ring_error).margin(3.5));
    }
}

TEST_CASE("the low band is what hangs together with the edge", "[stages][release]") {
    // Upright side, a drafted step, an upright boss in the middle: only the side is the band. A lean that cannot be
    // told from upright, either way, changes nothing.
    const auto lean_deg = GENERATE(-0.1, 0.0, 0.1);
    CAPTURE(lean_deg);
    const double rim = 60 + 30 * std::tan(Angle::deg(lean_deg).rad());
    const PartedPlug p = parted_plug(turned({{60, -20}, {rim, 10}, {20, 20}, {20, 40}}));
    REQUIRE(p.parting.is_found());
    // Both halves share the side's height of 30 mm; the boss would add 20 * 20 / 60 = 6.7 mm.
    CHECK(p.release.half1.low_band_mm + p.release.half2.low_band_mm == Approx(30).epsilon(0.03));
}

TEST_CASE("noise does not change what is locked", "[stages][release]") {
    // Limits: noise to 0.1 mm on edges of 2 to 3 mm, which tilts raw faces by 4 deg.
    const double sigma = 0.1;
    for (const std::uint32_t seed : {1u, 2u, 3u}) {
        INFO("seed " << seed);
        const PartedPlug ball = parted_plug(with_noise(make_sphere(60, 5), sigma, seed));
        CHECK(ball.release.half1.undercut_depth_mm <= 0.3);  // release.undercut-limit
        CHECK(ball.release.half2.undercut_depth_mm <= 0.3);
        const Release rail = release_above(with_noise(make_t_rail(10, 16), sigma, seed), -15);
        CHECK(rail.half1.undercut_depth_mm == Approx(6).margin(1.2));
        CHECK(rail.half2.undercut_depth_mm <= 0.3);
        // A rib with flanks of 20 deg: as drafted as without noise, to three times what the smoothing leaves.
        const TriMesh wedge = extruded({{-45, -15}, {45, -15}, {30, 26.21}, {-30, 26.21}}, 100, 2.5);
        const PartedPlug plain = parted_plug(wedge), noisy = parted_plug(with_noise(wedge, sigma, seed));
        CHECK(noisy.release.half1.undercut_depth_mm == plain.release.half1.undercut_depth_mm);
    }
}

TEST_CASE("best pull of a noisy half", "[stages][release]") {
    // A frustum with flanks of atan(20 / 60) = 18.435 deg: its axis is the best pull and that the best draft.
    const TriMesh frustum = turned({{60, -20}, {40, 40}});
    const PartedPlug plain = parted_plug(frustum);
    CHECK(plain.release.best1.is_feasible);
    CHECK(plain.release.best1.draft_deg == Approx(18.435).margin(0.1));
    CHECK(plain.release.best1.left_out.empty());
    for (const std::uint32_t seed : {1u, 2u, 3u, 4u}) {
        INFO("seed " << seed);
        const PartedPlug noisy = parted_plug(with_noise(frustum, 0.05, seed));
        CHECK(noisy.release.best1.is_feasible);
        // Grain only takes draft away: what the smoothing leaves of it, at its worst place of many.
        CHECK(noisy.release.best1.draft_deg < 18.435 + 0.5);
        CHECK(noisy.release.best1.draft_deg > 18.435 - 4);
        CHECK(noisy.release.best1.direction_plug.z > std::cos(Angle::deg(2).rad()));
        double left_out_mm2 = 0;
        for (const LeftOutFacing& f : noisy.release.best1.left_out) {
            CHECK(f.draft_deg < noisy.release.best1.draft_deg);
            left_out_mm2 += f.area_mm2;
        }
        CHECK(left_out_mm2 < 0.02 * noisy.release.half1.area_mm2);
    }
}
