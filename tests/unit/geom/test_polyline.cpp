// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "support/curves.hpp"

using namespace cradlewright;
using test::total_turning;

namespace {

constexpr double pi = std::numbers::pi;
// Sums over a few thousand points, relative.
constexpr double summing = 1e-12;

std::vector<Vec2> regular_polygon(double r, int n, Vec2 center = {}) {
    std::vector<Vec2> points;
    for (int i = 0; i < n; ++i)
        points.push_back(center + Vec2{r * std::cos(2 * pi * i / n), r * std::sin(2 * pi * i / n)});
    return points;
}

/// The polygon in a slanting plane.
std::vector<Vec3> in_space(const std::vector<Vec2>& points) {
    Frame3 f = rotation_about({1, 2, 3}, 0.7);
    f.origin = {10, 20, 30};
    std::vector<Vec3> result;
    for (const Vec2 p : points) result.push_back(f.to_parent(p));
    return result;
}

/// Half a circle of n chords.
std::vector<Vec2> half_circle(double r, int n) {
    auto points = regular_polygon(r, 2 * n);
    points.resize(static_cast<std::size_t>(n) + 1);
    return points;
}

}  // namespace

TEST_CASE("length and area of a regular polygon", "[geom][polyline]") {
    const double r = 50;
    for (const int n : {3, 4, 17, 1000}) {
        const auto flat = regular_polygon(r, n, {1000, -500});
        const double perimeter = 2 * n * r * std::sin(pi / n);
        CHECK(polyline_length(flat, true) == Approx(perimeter).epsilon(summing));
        CHECK(polyline_length(in_space(flat), true) == Approx(perimeter).epsilon(summing));
        CHECK(polyline_length(flat, false) == Approx(perimeter * (n - 1) / n).epsilon(summing));
        CHECK(signed_area(flat) == Approx(n / 2.0 * r * r * std::sin(2 * pi / n)).epsilon(summing));
        CHECK(signed_area(std::vector<Vec2>(flat.rbegin(), flat.rend())) ==
              Approx(-signed_area(flat)).epsilon(summing));
    }
}

TEST_CASE("short chains have no length and no area", "[geom][polyline]") {
    const std::vector<Vec2> none, one{{3, 4}}, two{{0, 0}, {3, 4}};
    CHECK(polyline_length(none, true) == 0);
    CHECK(polyline_length(one, true) == 0);
    CHECK(polyline_length(two, false) == 5);
    CHECK(polyline_length(two, true) == 10);
    CHECK(signed_area(none) == 0);
    CHECK(signed_area(two) == 0);
}

TEST_CASE("a convex closed curve turns once, a half circle half", "[geom][polyline]") {
    for (const int n : {3, 8, 500}) {
        CHECK(total_turning(in_space(regular_polygon(20, n)), true) == Approx(2 * pi).epsilon(summing));
        // n chords turn at n - 1 corners by pi / n.
        CHECK(total_turning(in_space(half_circle(20, n)), false) == Approx(pi * (n - 1) / n).epsilon(summing));
    }
}

TEST_CASE("turning counts every turn and passes over doubled points", "[geom][polyline]") {
    const std::vector<Vec3> zigzag{{0, 0, 0}, {1, 1, 0}, {2, 0, 0}, {3, 1, 0}};
    CHECK(total_turning(zigzag, false) == Approx(2 * pi / 2).epsilon(summing));
    const std::vector<Vec3> there_and_back{{0, 0, 0}, {1, 0, 0}};
    CHECK(total_turning(there_and_back, true) == Approx(2 * pi).epsilon(summing));
    auto doubled = zigzag;
    doubled.insert(doubled.begin() + 2, zigzag[1]);
    doubled.push_back(zigzag.back());
    CHECK(total_turning(doubled, false) == total_turning(zigzag, false));
    CHECK(total_turning(std::vector<Vec3>(5, Vec3{1, 2, 3}), true) == 0);
    CHECK(total_turning({}, true) == 0);
}

TEST_CASE("resampling a circle gives equal steps on it", "[geom][polyline]") {
    const double r = 50;
    const int n = 3000;
    const auto circle = in_space(regular_polygon(r, n));
    const double length = polyline_length(circle, true);
    const auto points = resample(circle, true, 7);
    REQUIRE(points.size() == static_cast<std::size_t>(std::round(length / 7)));
    CHECK(points.front() == circle.front());
    const double sagitta = r * (1 - std::cos(pi / n));
    // Chord of one step of arc; a corner of the fine polygon inside a step costs less than its sagitta.
    const double chord = 2 * r * std::sin(pi / static_cast<double>(points.size()));
    for (std::size_t i = 0; i < points.size(); ++i) {
        CHECK(std::abs(norm(points[(i + 1) % points.size()] - points[i]) - chord) < 2 * sagitta);
        CHECK(distance_to_polyline(points[i], circle, true) < 1e-12);
    }
}

TEST_CASE("resampling keeps the ends of an open chain and divides it evenly", "[geom][polyline]") {
    const std::vector<Vec3> corner{{0, 0, 0}, {10, 0, 0}, {10, 5, 0}};
    const auto points = resample(corner, false, 2.4);  // 15 / 2.4 = 6.25, so 6 steps of 2.5
    REQUIRE(points.size() == 7);
    CHECK(points.front() == corner.front());
    CHECK(points.back() == corner.back());
    for (std::size_t i = 0; i < 7; ++i) {
        const double s = 2.5 * static_cast<double>(i);
        CHECK(norm(points[i] - Vec3{std::min(s, 10.0), std::max(s - 10, 0.0), 0}) < 1e-12);
    }
}

TEST_CASE("resampling at a coarser spacing than the chain, and of doubled points", "[geom][polyline]") {
    const std::vector<Vec3> chain{{0, 0, 0}, {0, 0, 0}, {1, 0, 0}, {1, 0, 0}, {2, 0, 0}, {2, 0, 0}};
    CHECK(resample(chain, false, 1000) == std::vector<Vec3>{{0, 0, 0}, {2, 0, 0}});
    CHECK(resample(chain, false, 1) == std::vector<Vec3>{{0, 0, 0}, {1, 0, 0}, {2, 0, 0}});
    const std::vector<Vec3> triangle{{0, 0, 0}, {3, 0, 0}, {0, 4, 0}};
    CHECK(resample(triangle, true, 1000).size() == 3);
    CHECK(resample(std::vector<Vec3>(4, Vec3{1, 2, 3}), false, 1).size() == 2);
    CHECK_THROWS_AS(resample(triangle, true, 0), Error);
    CHECK_THROWS_AS(resample(std::vector<Vec3>{{0, 0, 0}}, true, 1), Error);
}

TEST_CASE("resampling never loses or doubles a point to rounding", "[geom][polyline]") {
    // Lengths that are not exact in binary, at spacings that divide them: the count must be the quotient.
    for (int pieces = 1; pieces <= 400; ++pieces) {
        std::vector<Vec3> chain;
        for (int i = 0; i <= 7; ++i) chain.push_back({0.1 * pieces * i / 7, 0, 0});
        CHECK(resample(chain, false, 0.1).size() == static_cast<std::size_t>(pieces) + 1);
        if (pieces >= 3) {
            chain.pop_back();
            for (int i = 7; i > 0; --i) chain.push_back({0.1 * pieces * i / 7, 0, 0});
            CHECK(resample(chain, true, 0.2).size() == static_cast<std::size_t>(pieces));
        }
    }
}

TEST_CASE("distance to a polyline", "[geom][polyline]") {
    const std::vector<Vec2> square{{0, 0}, {10, 0}, {10, 10}, {0, 10}};
    CHECK(distance_to_polyline(Vec2{5, -3}, square, true) == 3);   // side
    CHECK(distance_to_polyline(Vec2{13, 14}, square, true) == 5);  // corner
    CHECK(distance_to_polyline(Vec2{1, 5}, square, true) == 1);    // closing side
    CHECK(distance_to_polyline(Vec2{1, 5}, square, false) == 5);   // which an open chain lacks
    const std::vector<Vec3> line{{0, 0, 0}, {0, 0, 0}, {0, 0, 10}};
    CHECK(distance_to_polyline(Vec3{3, 4, 5}, line, false) == 5);
    CHECK(distance_to_polyline(Vec3{0, 0, 12}, line, false) == 2);
    CHECK(distance_to_polyline(Vec3{0, 3, -4}, std::vector<Vec3>{{0, 0, 0}}, false) == 5);
    CHECK_THROWS_AS(distance_to_polyline(Vec2{}, std::vector<Vec2>{}, true), Error);
    const double r = 50;
    const int n = 200;
    for (const double d : {0.0, 20.0, 49.0, 80.0})  // between the circle's distance and the polygon's
        CHECK(std::abs(distance_to_polyline(Vec2{d * std::cos(0.3), d * std::sin(0.3)}, regular_polygon(r, n), true) -
                       std::abs(r - d)) <= r * (1 - std::cos(pi / n)) + summing * r);
}

TEST_CASE("inside test on shapes with a known answer", "[geom][polyline]") {
    const int n = 30;
    const double r = 10;
    const auto polygon = regular_polygon(r, n);
    for (double x = -11.05; x < 12; x += 0.5)
        for (double y = -11; y < 12; y += 0.5) {
            const double d = norm(Vec2{x, y});
            if (d < r * std::cos(pi / n)) CHECK(is_inside({x, y}, polygon));
            if (d > r) CHECK_FALSE(is_inside({x, y}, polygon));
        }
    // Level with corners: the ray through (10, 0) and (-10, 0).
    CHECK(is_inside({0, 0}, polygon));
    CHECK_FALSE(is_inside({-20, 0}, polygon));
    // A five-pointed star drawn in one line: its middle is wound twice, so even-odd calls it outside.
    std::vector<Vec2> star;
    for (int i = 0; i < 5; ++i) star.push_back(regular_polygon(10, 5)[static_cast<std::size_t>(2 * i % 5)]);
    CHECK_FALSE(is_inside({0, 0.1}, star));
    CHECK(is_inside({8, 0}, star));
    CHECK_FALSE(is_inside({0, 0}, {}));
}

TEST_CASE("Pieces of a chain are even on each side and stand for its whole length", "[polyline]") {
    // Derived: 10 mm in pieces of at most 4 are three of 10/3; 2 mm are one.
    const std::vector<Vec2> chain{{0, 0}, {10, 0}, {10, 2}};
    const std::vector<Vec2> middles = piece_middles(chain, 4);
    REQUIRE(middles.size() == 4);
    for (std::size_t k = 0; k < 3; ++k) {
        CHECK(middles[k].x == Approx((static_cast<double>(k) + 0.5) * 10 / 3));
        CHECK(middles[k].y == 0);
    }
    CHECK(middles[3].x == 10);
    CHECK(middles[3].y == Approx(1));
    CHECK(piece_middles(std::span(chain).first(1), 4).empty());
}
