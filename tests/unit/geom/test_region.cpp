// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <numbers>
#include <random>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/region.hpp"

namespace cradlewright {
namespace {

using std::numbers::pi;

/// Closed loop round the origin with random lines and arcs of up to three quarters of a turn.
Loop random_loop(std::uint32_t seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> radius(20, 60), bulge(-0.6, 0.6);
    Loop loop;
    for (int i = 0; i < 9; ++i) {
        const double angle = 2 * pi * i / 9;
        const double r = radius(random);
        loop.vertices.push_back({{r * std::cos(angle), r * std::sin(angle)},
                                 i % 3 == 0 ? 0 : bulge(random),
                                 i % 2 == 0 ? CutKind::fit : CutKind::rough});
    }
    return loop;
}

TEST_CASE("an arc is the circle its bulge says", "[geom]") {
    // Closed forms, derived: a half turn has bulge 1, a quarter turn tan(pi/8).
    const Arc half = arc_of({10, 0}, {-10, 0}, 1);
    CHECK(norm(half.center) == Approx(0).margin(1e-12));
    CHECK(half.radius == Approx(10));
    CHECK(half.sweep_rad == Approx(pi));
    const Arc quarter = arc_of({5, 0}, {0, 5}, std::tan(pi / 8));
    CHECK(norm(quarter.center) == Approx(0).margin(1e-12));
    CHECK(quarter.start_rad == Approx(0).margin(1e-12));
    CHECK(quarter.sweep_rad == Approx(pi / 2));
    const Arc back = arc_of({0, 5}, {5, 0}, -std::tan(pi / 8));
    CHECK(norm(back.center) == Approx(0).margin(1e-12));
    CHECK(back.sweep_rad == Approx(-pi / 2));
    CHECK_THROWS_AS(arc_of({0, 0}, {1, 0}, 0), Error);
}

TEST_CASE("edge directions are square to the arc's radius", "[geom]") {
    for (const double bulge : {-2.5, -1.0, -0.3, 0.2, 1.0, 3.0}) {
        const Vec2 a{3, 1}, b{-4, 7};
        const Arc arc = arc_of(a, b, bulge);
        const Vec2 square = perp(normalized(a - arc.center)) * (bulge > 0 ? 1 : -1);
        CHECK(norm(edge_direction(a, b, bulge) - square) == Approx(0).margin(1e-12));
    }
    CHECK(edge_direction({0, 0}, {0, 8}, 0) == Vec2{0, 1});
}

TEST_CASE("circles and slots have their textbook area, length and box", "[geom]") {
    const Loop circle = make_circle({40, -7}, 12.5, CutKind::fit, false);
    CHECK(area_of(circle) == Approx(pi * 12.5 * 12.5));
    CHECK(perimeter_of(circle) == Approx(2 * pi * 12.5));
    CHECK(area_of(make_circle({40, -7}, 12.5, CutKind::fit, true)) == Approx(-pi * 12.5 * 12.5));
    const Box2 box = bounding_box(circle);
    CHECK(box.low.x == Approx(27.5));
    CHECK(box.high.y == Approx(5.5));

    Loop slot = make_rectangle({0, 0}, {30, 10}, CutKind::rough);
    slot.vertices[1].bulge = slot.vertices[3].bulge = 1;  // half round ends
    CHECK(area_of(slot) == Approx(300 + pi * 25));
    CHECK(perimeter_of(slot) == Approx(60 + 10 * pi));
    CHECK(bounding_box(slot).size().x == Approx(40));

    const Region washer{make_circle({0, 0}, 20, CutKind::fit, false), {make_circle({3, 0}, 5, CutKind::fit, true)}};
    CHECK(area_of(washer) == Approx(pi * (400 - 25)));
}

TEST_CASE("a nearly straight arc keeps its area", "[geom]") {
    Loop loop = make_rectangle({0, 0}, {100, 50}, CutKind::rough);
    for (const double bulge : {1e-9, 9.9e-5, 1.1e-4, 1e-3}) {
        loop.vertices[0].bulge = bulge;
        // Parabolic segment, 2/3 chord x sagitta, sagitta = bulge chord / 2; relative error O(bulge^2).
        CHECK(area_of(loop) - 5000 == Approx(100 * 100 * bulge / 3).epsilon(1e-5).margin(1e-9));
    }
}

TEST_CASE("flattening stays within its sag and on the arc", "[geom]") {
    for (const double sag : {1.0, 0.1, 0.01, 0.001}) {
        for (std::uint32_t seed = 1; seed <= 20; ++seed) {
            const Loop loop = random_loop(seed);
            for (std::size_t i = 0; i < loop.vertices.size(); ++i) {
                const PathVertex& v = loop.vertices[i];
                if (v.bulge == 0) continue;
                const Vec2 b = loop.vertices[(i + 1) % loop.vertices.size()].at;
                const Arc arc = arc_of(v.at, b, v.bulge);
                Vec2 from = v.at;
                for (const Vec2 p : flatten_edge(v.at, b, v.bulge, sag)) {
                    CHECK(norm(p - arc.center) == Approx(arc.radius));
                    CHECK(arc.radius - norm((p + from) * 0.5 - arc.center) <= sag * (1 + 1e-9));
                    from = p;
                }
                CHECK(from == b);
            }
        }
    }
}

TEST_CASE("fine chords agree with the closed forms of area and length", "[geom]") {
    for (std::uint32_t seed = 1; seed <= 20; ++seed) {
        const Loop loop = random_loop(seed);
        const double sag = 1e-5;
        const Loop chords = make_loop(flatten(loop, sag), CutKind::rough);
        CHECK(area_of(chords) == Approx(area_of(loop)).margin(perimeter_of(loop) * sag));
        CHECK(perimeter_of(chords) == Approx(perimeter_of(loop)).epsilon(1e-5));
        const Box2 exact = bounding_box(loop), coarse = bounding_box(chords);
        CHECK(norm(exact.low - coarse.low) <= 2 * sag);
        CHECK(norm(exact.high - coarse.high) <= 2 * sag);
    }
}

TEST_CASE("turning a loop round keeps each edge's shape and kind", "[geom]") {
    for (std::uint32_t seed = 1; seed <= 10; ++seed) {
        const Loop loop = random_loop(seed);
        const Loop back = reversed(loop);
        CHECK(area_of(back) == Approx(-area_of(loop)));
        CHECK(perimeter_of(back) == Approx(perimeter_of(loop)));
        const Loop twice = reversed(back);
        REQUIRE(twice.vertices.size() == loop.vertices.size());
        double fit = 0, fit_back = 0;
        for (std::size_t i = 0; i < loop.vertices.size(); ++i) {
            CHECK(twice.vertices[i].at == loop.vertices[i].at);
            CHECK(twice.vertices[i].bulge == loop.vertices[i].bulge);
            CHECK(twice.vertices[i].cut == loop.vertices[i].cut);
            const std::size_t next = (i + 1) % loop.vertices.size();
            const PathVertex &v = loop.vertices[i], &w = back.vertices[i];
            if (v.cut == CutKind::fit) fit += edge_length(v.at, loop.vertices[next].at, v.bulge);
            if (w.cut == CutKind::fit) fit_back += edge_length(w.at, back.vertices[next].at, w.bulge);
        }
        CHECK(fit == Approx(fit_back));
    }
}

TEST_CASE("moving keeps area and length", "[geom]") {
    const Region region{random_loop(3), {make_circle({0, 0}, 4, CutKind::fit, true)}};
    const Region there = moved(region, 0.7, {1000, -20});
    CHECK(area_of(there) == Approx(area_of(region)));
    CHECK(perimeter_of(there.outer) == Approx(perimeter_of(region.outer)));
    const Region back = moved(moved(region, 0.7, {}), -0.7, {});
    CHECK(norm(back.outer.vertices[4].at - region.outer.vertices[4].at) == Approx(0).margin(1e-12));
}

}  // namespace
}  // namespace cradlewright
