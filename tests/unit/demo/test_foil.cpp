// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <vector>

#include "plugs.hpp"

using namespace cradlewright;
using namespace cradlewright::demo;

namespace {

/// Area of a polygon through points of the section itself.
double shoelace(const std::vector<Vec2>& points) {
    double sum = 0;
    for (std::size_t i = 0; i < points.size(); ++i) sum += cross(points[i], points[(i + 1) % points.size()]) / 2;
    return sum;
}

/// Area of the polygon on `n` points a side, spaced closely at the nose.
double polygon_area(const FoilSection& section, double x_cut, int n) {
    std::vector<Vec2> points;
    for (int i = n; i >= 0; --i) points.push_back(section_point(section, x_cut * i * i / (n * n), FoilSide::upper));
    for (int i = 1; i <= n; ++i) points.push_back(section_point(section, x_cut * i * i / (n * n), FoilSide::lower));
    return shoelace(points);
}

constexpr double degree = std::numbers::pi / 180;

}  // namespace

TEST_CASE("symmetric section has the published ordinates", "[demo][foil]") {
    // NACA Report 824 (1945), table of NACA 0012, % chord, open tail, recomputed from the published polynomial.
    const std::array<std::pair<double, double>, 6> table = {
        {{1.25, 1.8939}, {5, 3.5547}, {10, 4.6828}, {30, 6.0017}, {60, 4.5634}, {100, 0.1260}}};
    for (const auto& [x, y] : table) {
        CAPTURE(x);
        CHECK(100 * half_thickness(naca_section(12), x / 100) == Approx(y).margin(1e-4));
    }
    // Greatest thickness (trade data T3.2).
    CHECK(half_thickness(naca_section(12), 0.299828) == Approx(0.0600173).margin(1e-7));
}

TEST_CASE("cambered section has the published ordinates", "[demo][foil]") {
    // NACA 2412 at x = 0.3 (trade data T3.3, after NASA TM-4741).
    const Vec2 upper = section_point(naca_section(2412), 0.3, FoilSide::upper);
    const Vec2 lower = section_point(naca_section(2412), 0.3, FoilSide::lower);
    CHECK(upper.x == Approx(0.298500).margin(1e-6));
    CHECK(upper.y == Approx(0.0787485).margin(1e-6));
    CHECK(lower.x == Approx(0.301500).margin(1e-6));
    CHECK(lower.y == Approx(-0.0412485).margin(1e-6));
}

TEST_CASE("nose is as round as published", "[demo][foil]") {
    // r = 1.1019 t^2 (aerofoil equation pages; exact limit 0.5 (5 t 0.2969)^2). On a parabola y^2 = 2 r x.
    const double thickness = GENERATE(12, 15) / 100.0;
    const FoilSection section{0, 0, thickness};
    const double x = 1e-8, y = half_thickness(section, x);
    CHECK(y * y / (2 * x) == Approx(1.1019 * thickness * thickness).epsilon(2e-4));
}

TEST_CASE("section area", "[demo][foil]") {
    SECTION("symmetric, published integral") {
        CHECK(section_area(naca_section(12), 1) == Approx(0.0822100).margin(1e-6));
    }
    SECTION("cambered, against the polygon through its points") {
        const int digits = GENERATE(2412, 4415, 6409);
        const double x_cut = GENERATE(1.0, 0.9);
        // A polygon of n points misses a share of the order 1/n^2.
        CHECK(section_area(naca_section(digits), x_cut) ==
              Approx(polygon_area(naca_section(digits), x_cut, 4000)).epsilon(1e-6));
    }
}

TEST_CASE("tail is cut where it has the asked thickness", "[demo][foil]") {
    const FoilSection section = naca_section(4415);
    const double thickness = GENERATE(0.005, 0.02, 0.06);
    const double x = tail_cut(section, thickness);
    CHECK(x < 1);
    CHECK(x > 0.3);
    const Vec2 width = section_point(section, x, FoilSide::upper) - section_point(section, x, FoilSide::lower);
    CHECK(norm(width) == Approx(thickness).epsilon(1e-12));
    CHECK(tail_cut(section, 1e-4) == 1);  // thinner than the open tail
}

TEST_CASE("blade tapers, twists and keeps its tail", "[demo][foil]") {
    const Blade blade;
    for (const double v : {0.0, 0.35, 1.0}) {
        CAPTURE(v);
        const Vec3 nose = surface_point(blade, 0, v);
        CHECK(nose.x == Approx(900 * v));
        const double chord = 140 - 80 * v, twist = (-13 + 9 * v) * degree;
        CHECK(nose.y == Approx(0.3 * chord * std::cos(twist)));
        CHECK(nose.z == Approx(0.3 * chord * std::sin(twist)));
        CHECK(norm(surface_point(blade, 1, v) - surface_point(blade, -1, v)) == Approx(blade.tail_mm));
        CHECK(norm(surface_point(blade, 2, v) - surface_point(blade, -1, v)) == Approx(0).margin(1e-12));
    }
}

TEST_CASE("squared tail faces half 1 along the whole blade at the job's tilt", "[demo][foil]") {
    const Blade blade;
    const double tilt = 6 * degree;
    const Vec3 pull{0, std::sin(tilt), std::cos(tilt)};  // fixture +Z seen from the plug
    for (int i = 0; i <= 20; ++i) {
        const double v = i / 20.0;
        const Vec3 across = surface_point(blade, 2, v) - surface_point(blade, 1, v);
        const Vec3 along = surface_point(blade, 1.5, std::min(1.0, v + 1e-4)) - surface_point(blade, 1.5, v - 1e-4);
        CHECK(std::asin(dot(normalized(cross(across, along)), pull)) > 3 * degree);
    }
}

TEST_CASE("silhouette of a tilted symmetric section", "[demo][foil]") {
    // NACA 0012, pull 10 deg off: x/c = 2.40206e-4, |y|/c = 2.74274e-3 (trade data T3.5, derived).
    const Daggerboard board;
    const double lean = GENERATE(10, -10) * degree;
    const Vec3 pull{0, std::sin(lean), std::cos(lean)};
    const Vec3 p = nose_silhouette(board, 0, pull);
    CHECK((board.chord_mm / 2 - p.y) / board.chord_mm == Approx(2.40206e-4).epsilon(1e-4));
    CHECK(p.z / board.chord_mm == Approx(std::copysign(2.74274e-3, -lean)).epsilon(1e-4));
}

TEST_CASE("silhouette of the blade has a level normal", "[demo][foil]") {
    const Blade blade;
    const double tilt = GENERATE(0, 6, -4) * degree, v = GENERATE(0.1, 0.5, 0.9);
    const Vec3 pull{0, std::sin(tilt), std::cos(tilt)};
    const Vec3 p = nose_silhouette(blade, v, pull);
    // Points of the section a little above and below lie further back, by a second-order amount.
    const Vec3 forward = cross(Vec3{1, 0, 0}, pull) * -1.0;
    for (double u = -0.5; u <= 0.5; u += 0.01) CHECK(dot(surface_point(blade, u, v) - p, forward) < 1e-9);
    CHECK(p.x == Approx(900 * v));
}
