// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <limits>
#include <numbers>
#include <random>
#include <sstream>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"

namespace cradlewright {
namespace {

using std::numbers::pi;

constexpr double snap_mm = 1e-5;  // of the boolean operations

Polygons box(double x0, double y0, double x1, double y1) { return {{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}}; }

std::vector<Vec2> ring(Vec2 center, double radius, int n, double phase = 0) {
    std::vector<Vec2> points;
    for (int i = 0; i < n; ++i) {
        const double angle = phase + 2 * pi * i / n;
        points.push_back({center.x + radius * std::cos(angle), center.y + radius * std::sin(angle)});
    }
    return points;
}

/// A few random stars, overlapping and crossing themselves.
Polygons random_polygons(std::mt19937& random) {
    std::uniform_real_distribution<double> place(-30, 30), radius(5, 30);
    Polygons result;
    for (int k = 0; k < 3; ++k) {
        const Vec2 center{place(random), place(random)};
        std::vector<Vec2> points = ring(center, 1, 11, place(random));
        for (Vec2& p : points) p = center + (p - center) * radius(random);
        result.push_back(points);
    }
    return result;
}

TEST_CASE("booleans of two squares", "[geom]") {
    const Polygons a = box(0, 0, 10, 10), b = box(5, 5, 15, 15);
    CHECK(area_of(unite(a, b)) == Approx(175));
    CHECK(area_of(intersect(a, b)) == Approx(25));
    CHECK(area_of(subtract(a, b)) == Approx(75));
    CHECK(unite({}, {}).empty());
    CHECK(intersect(a, {}).empty());
    CHECK(subtract(a, a).empty());
    CHECK(unite(a) == Polygons{{{0, 0}, {10, 0}, {10, 10}, {0, 10}}});
}

TEST_CASE("a hole comes out clockwise", "[geom]") {
    const Polygons frame = subtract(box(0, 0, 10, 10), box(2, 2, 8, 8));
    REQUIRE(frame.size() == 2);
    CHECK(area_of(frame) == Approx(64));
    CHECK(signed_area(frame[0]) == Approx(100));
    CHECK(signed_area(frame[1]) == Approx(-36));
    CHECK(contains(frame, {1, 5}));
    CHECK_FALSE(contains(frame, {5, 5}));
    CHECK_FALSE(contains(frame, {12, 5}));
}

TEST_CASE("areas obey inclusion and exclusion, and points the logic of sets", "[geom]") {
    std::mt19937 random(7);
    std::uniform_real_distribution<double> place(-60, 60);
    for (int round = 0; round < 40; ++round) {
        const Polygons a = unite(random_polygons(random)), b = unite(random_polygons(random));
        const Polygons sum = unite(a, b), common = intersect(a, b), rest = subtract(a, b);
        // Rounded crossings move every edge by up to a step.
        const double margin = 4000 * snap_mm;
        CHECK(area_of(sum) + area_of(common) == Approx(area_of(a) + area_of(b)).margin(margin));
        CHECK(area_of(rest) + area_of(common) == Approx(area_of(a)).margin(margin));
        for (int k = 0; k < 100; ++k) {
            const Vec2 p{place(random), place(random)};
            const bool in_a = contains(a, p), in_b = contains(b, p);
            CHECK(contains(sum, p) == (in_a || in_b));
            CHECK(contains(common, p) == (in_a && in_b));
            CHECK(contains(rest, p) == (in_a && !in_b));
        }
    }
}

TEST_CASE("results have one canonical form whatever the order of the input", "[geom]") {
    std::mt19937 random(11);
    for (int round = 0; round < 20; ++round) {
        Polygons a = random_polygons(random), b = random_polygons(random);
        const Polygons expected = unite(a, b);
        std::rotate(a[0].begin(), a[0].begin() + 4, a[0].end());
        std::swap(a[0], a[2]);
        CHECK(unite(b, a) == expected);
        CHECK(unite(expected) == expected);
        CHECK(std::is_sorted(expected.begin(), expected.end()));
        for (const auto& loop : expected) CHECK(*std::min_element(loop.begin(), loop.end()) == loop.front());
    }
}

TEST_CASE("loops that would touch themselves are split", "[geom]") {
    // Two squares that share the corner (10, 10), and a hole that touches its outline at (0, 5).
    const Polygons corner = unite(box(0, 0, 10, 10), box(10, 10, 20, 20));
    CHECK(corner.size() == 2);
    const Polygons pinched = subtract(box(0, 0, 10, 10), {{{0, 5}, {4, 3}, {4, 7}}});
    CHECK(area_of(pinched) == Approx(92));
    for (const Polygons* result : {&corner, &pinched}) {
        for (std::vector<Vec2> loop : *result) {
            std::sort(loop.begin(), loop.end());
            CHECK(std::adjacent_find(loop.begin(), loop.end()) == loop.end());
        }
    }
}

TEST_CASE("coordinates no workshop has are refused", "[geom]") {
    CHECK_THROWS_AS(unite(box(0, 0, 1e8, 1)), Error);
    CHECK_THROWS_AS(unite(box(0, 0, std::nan(""), 1)), Error);
    CHECK(area_of(unite(box(-50000, -50000, 50000, 50000))) == Approx(1e10));  // the longest plug allowed
}

TEST_CASE("offset areas follow Steiner's formula", "[geom]") {
    // Convex: A + P d + pi d^2. Source: J. Steiner, "Ueber parallele Flaechen" (1840).
    const double sag = 0.001;
    for (const double d : {0.5, 3.0, 20.0}) {
        const double length = 2 * (30 + 12) + 2 * pi * d;
        CHECK(area_of(offset(box(0, 0, 30, 12), d, sag)) == Approx(360 + 84 * d + pi * d * d).margin(length * sag));
    }
    // Inward a rectangle shrinks to a rectangle.
    CHECK(area_of(offset(box(0, 0, 30, 12), -2)) == Approx(26 * 8).margin(84 * 2 * snap_mm));
    CHECK(offset(box(0, 0, 30, 12), -6.01).empty());
    CHECK(offset(box(0, 0, 30, 12), 0) == unite(box(0, 0, 30, 12)));
    // A hole shrinks as the solid grows.
    const Polygons frame = subtract(box(0, 0, 10, 10), box(2, 2, 8, 8));
    CHECK(area_of(offset(frame, 1, sag)) == Approx(100 + 40 + pi - 16).margin(0.1));
}

TEST_CASE("every point of an offset lies at the distance", "[geom]") {
    std::mt19937 random(23);
    const double sag = 0.01, d = 4;
    for (int round = 0; round < 10; ++round) {
        const Polygons a = unite(random_polygons(random));
        const auto distance = [&](Vec2 p) {
            double least = std::numeric_limits<double>::infinity();
            for (const auto& loop : a) least = std::min(least, distance_to_polyline(p, loop, true));
            return least;
        };
        for (const auto& loop : offset(a, d, sag)) {
            for (std::size_t i = 0; i < loop.size(); ++i) {
                const Vec2 p = loop[i], middle = (p + loop[(i + 1) % loop.size()]) * 0.5;
                CHECK(distance(p) == Approx(d).margin(sag + 10 * snap_mm));
                CHECK(distance(middle) >= d - sag - 10 * snap_mm);
            }
        }
    }
}

/// Least y of any edge over x, straight from the definition.
double least_height(const Polygons& a, double x) {
    double least = std::numeric_limits<double>::infinity();
    for (const auto& loop : a) {
        for (std::size_t i = 0; i < loop.size(); ++i) {
            const auto [l, r] = std::minmax(loop[i], loop[(i + 1) % loop.size()]);
            if (l.x < x && x < r.x) least = std::min(least, l.y + (r.y - l.y) * (x - l.x) / (r.x - l.x));
        }
    }
    return least;
}

double height_of_chain(const std::vector<Vec2>& chain, double x) {
    for (std::size_t i = 0; i + 1 < chain.size(); ++i) {
        const Vec2 l = chain[i], r = chain[i + 1];
        if (l.x < x && x < r.x) return l.y + (r.y - l.y) * (x - l.x) / (r.x - l.x);
    }
    return std::nan("");
}

TEST_CASE("the lower envelope of a square is its bottom, of two its step", "[geom]") {
    CHECK(lower_envelope(box(0, 0, 10, 5)) == std::vector<Vec2>{{0, 0}, {10, 0}});
    const Polygons stairs = unite(box(0, 0, 10, 5), box(5, -3, 20, 2));
    CHECK(lower_envelope(stairs) == std::vector<Vec2>{{0, 0}, {5, 0}, {5, -3}, {20, -3}});
    // An overhang hides nothing from below, and an island over a gap is bridged.
    const Polygons apart = unite(box(0, 0, 4, 5), box(6, 1, 8, 2));
    CHECK(lower_envelope(apart) == std::vector<Vec2>{{0, 0}, {4, 0}, {6, 1}, {8, 1}});
    CHECK(lower_envelope({}).empty());
}

TEST_CASE("the lower envelope is the least height of all loops", "[geom]") {
    std::mt19937 random(5);
    std::uniform_real_distribution<double> place(-60, 60);
    for (int round = 0; round < 50; ++round) {
        // Crossing loops as well: the promise does not need them united.
        const Polygons a = round % 2 == 0 ? unite(random_polygons(random)) : random_polygons(random);
        const std::vector<Vec2> chain = lower_envelope(a);
        CHECK(std::is_sorted(chain.begin(), chain.end(), [](Vec2 p, Vec2 q) { return p.x < q.x; }));
        for (int k = 0; k < 300; ++k) {
            const double x = place(random);
            const double expected = least_height(a, x);
            if (std::isfinite(expected)) CHECK(height_of_chain(chain, x) == Approx(expected).margin(1e-9));
        }
    }
}

TEST_CASE("the lower envelope copies corners of a united outline exactly", "[geom]") {
    const std::vector<Vec2> circle = ring({0, 0}, 50, 720, 0.001);
    for (const Vec2 p : lower_envelope({circle})) {
        CHECK(std::find(circle.begin(), circle.end(), p) != circle.end());
    }
}

TEST_CASE("inside radius finds arcs that bend inward", "[geom]") {
    Region plate{make_rectangle({0, 0}, {100, 40}, CutKind::rough), {}};
    CHECK(std::isinf(min_inside_radius(plate, CutKind::rough).radius_mm));
    // A half round bay of radius 15 in the top edge.
    plate.outer = {{{{0, 0}, 0, CutKind::rough},
                    {{100, 0}, 0, CutKind::rough},
                    {{100, 40}, 0, CutKind::rough},
                    {{65, 40}, -1, CutKind::fit},
                    {{35, 40}, 0, CutKind::rough},
                    {{0, 40}, 0, CutKind::rough}}};
    const InsideRadius bay = min_inside_radius(plate, CutKind::fit);
    CHECK(bay.radius_mm == Approx(15));
    CHECK(norm(bay.at - Vec2{50, 25}) == Approx(0).margin(1e-9));
    CHECK(std::isinf(min_inside_radius(plate, CutKind::rough).radius_mm));
    // A round hole is an inside radius as well; the tighter place wins.
    plate.holes = {make_circle({20, 20}, 4, CutKind::fit, true)};
    CHECK(min_inside_radius(plate, CutKind::fit).radius_mm == Approx(4));
    // An outward round is none.
    const Region disc{make_circle({0, 0}, 9, CutKind::fit, false), {}};
    CHECK(std::isinf(min_inside_radius(disc, CutKind::fit).radius_mm));
}

TEST_CASE("a sharp inside corner has no radius, a slight kink has a large one", "[geom]") {
    const auto notched = [](double depth, CutKind cut) {
        return Region{{{{{0, 0}, 0, CutKind::rough},
                        {{100, 0}, 0, CutKind::rough},
                        {{100, 40}, 0, cut},
                        {{50, 40 - depth}, 0, CutKind::rough},
                        {{0, 40}, 0, CutKind::rough}}},
                      {}};
    };
    const InsideRadius corner = min_inside_radius(notched(30, CutKind::fit), CutKind::fit);
    CHECK(corner.radius_mm == 0);
    CHECK(corner.at == Vec2{50, 10});
    CHECK(std::isinf(min_inside_radius(notched(30, CutKind::rough), CutKind::fit).radius_mm));
    CHECK(std::isinf(min_inside_radius(notched(50 * std::tan(1.45 * pi / 180), CutKind::fit), CutKind::fit).radius_mm));
    // 10 deg in all: 0.05 / (1 / cos 5 deg - 1).
    const double depth = 50 * std::tan(5 * pi / 180);
    CHECK(min_inside_radius(notched(depth, CutKind::fit), CutKind::fit).radius_mm ==
          Approx(0.05 / (1 / std::cos(5 * pi / 180) - 1)));
    // A square hole is all inside corners.
    Region holed{make_rectangle({0, 0}, {50, 50}, CutKind::rough),
                 {reversed(make_rectangle({10, 10}, {20, 20}, CutKind::fit))}};
    CHECK(min_inside_radius(holed, CutKind::fit).radius_mm == 0);
}

// Corpus: regions/own-edges.txt, found by its fuzz target. Two triangles make a strip of 95 mm2 that holds the square
// of 4 x 4, which is drawn twice more on top of it.
TEST_CASE("loops of one operand may run along each other", "[geom]") {
    const std::vector<Vec2> square{{3, 3}, {3, 7}, {7, 7}, {7, 3}};
    const Polygons strip{square, {{1, 0}, {10, 10}, {0, 10}}, square, {{1, 0}, {10, 0}, {10, 10}}};
    CHECK(area_of(unite(strip)) == Approx(95));
    CHECK(area_of(intersect({square}, strip)) == Approx(16));
    CHECK(area_of(intersect(strip, {square})) == Approx(16));
    CHECK(subtract({square}, strip).empty());
    CHECK(area_of(subtract(strip, {square})) == Approx(95 - 16));
}

}  // namespace
}  // namespace cradlewright
