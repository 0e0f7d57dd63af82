// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <set>

#include "cradlewright/geom/triangulate.hpp"

namespace cradlewright {
namespace {

double area_of(const Triangulation& t) {
    double area = 0;
    for (const Triangle& f : t.triangles) {
        const double twice = cross(t.points[f[1]] - t.points[f[0]], t.points[f[2]] - t.points[f[0]]);
        CHECK(twice > 0);
        area += twice / 2;
    }
    return area;
}

std::vector<Vec2> square(Vec2 center, double half) {
    return {center + Vec2{-half, -half}, center + Vec2{half, -half}, center + Vec2{half, half},
            center + Vec2{-half, half}};
}

TEST_CASE("triangles cover an area with holes and islands", "[geom]") {
    // 20 x 20 less 12 x 12 plus 4 x 4; loops run either way.
    std::vector<Vec2> hole = square({0, 0}, 6);
    std::reverse(hole.begin(), hole.end());
    const Triangulation t = triangulate({square({0, 0}, 10), hole, square({0, 0}, 2)});
    CHECK(area_of(t) == Approx(400 - 144 + 16));
    CHECK(t.points.size() == 12);
}

TEST_CASE("a many-cornered loop has two triangles fewer than corners", "[geom]") {
    // Source: every triangulation of a simple polygon of n corners has n - 2 triangles (de Berg et al., Theorem 3.1).
    std::vector<Vec2> star;
    constexpr int n = 400;
    for (int i = 0; i < n; ++i) {
        const double r = i % 2 == 0 ? 100 : 60, a = 2 * std::numbers::pi * i / n;
        star.push_back({r * std::cos(a), r * std::sin(a)});
    }
    const Triangulation t = triangulate({star});
    CHECK(t.triangles.size() == n - 2);
    // n triangles between centre and star, 1/2 r1 r2 sin(2 pi / n) each.
    CHECK(area_of(t) == Approx(n * 0.5 * 100 * 60 * std::sin(2 * std::numbers::pi / n)));
}

TEST_CASE("crossing and touching loops are covered where odd", "[geom]") {
    // A bow tie: two triangles of base 10 and height 5, meeting at a point that is no corner.
    const Triangulation bow = triangulate({{{0, 0}, {10, 10}, {10, 0}, {0, 10}}});
    CHECK(bow.points.size() == 5);
    CHECK(area_of(bow) == Approx(50));
    // Corner of one square on the corner of another: the first of the equal points stands for both.
    const Triangulation touching = triangulate({square({0, 0}, 5), square({10, 10}, 5)});
    CHECK(area_of(touching) == Approx(200));
    std::set<VertexId> used;
    for (const Triangle& f : touching.triangles) {
        used.insert(f.begin(), f.end());
    }
    CHECK(used.size() == 7);
}

TEST_CASE("loops without area give no triangles", "[geom]") {
    CHECK(triangulate({}).triangles.empty());
    CHECK(triangulate({{{0, 0}, {5, 0}, {9, 0}}}).triangles.empty());
    CHECK(triangulate({{{1, 1}, {1, 1}, {1, 1}}}).triangles.empty());
}

}  // namespace
}  // namespace cradlewright
