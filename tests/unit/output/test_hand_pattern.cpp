// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/output/hand_pattern.hpp"

using namespace cradlewright;

namespace {

PlatePart outlined(std::vector<Vec2> corners) {
    PlatePart part;
    part.id = "cloth-test";
    part.outline.outer = make_loop(corners, CutKind::rough);
    return part;
}

/// Two half circles: an exact circle by the bulge of 1.
PlatePart disc(Vec2 middle, double radius) {
    PlatePart part = outlined({middle - Vec2{radius, 0}, middle + Vec2{radius, 0}});
    for (PathVertex& v : part.outline.outer.vertices) v.bulge = 1;
    return part;
}

std::vector<Vec2> drawn(const std::vector<HandPoint>& points) {
    std::vector<Vec2> line;
    for (const HandPoint& p : points) line.push_back(p.at);
    return line;
}

bool is_whole(double value, double unit) { return std::abs(value / unit - std::round(value / unit)) < 1e-9; }

}  // namespace

TEST_CASE("a straight-sided pattern is its corners", "[output][hand]") {
    const HandPattern pattern =
        hand_pattern(outlined({{-30, -20}, {970, -20}, {970, 180}, {-30, 180}}), UnitSystem::metric);
    REQUIRE(pattern.loops.size() == 1);
    CHECK(drawn(pattern.loops[0]) == std::vector<Vec2>{{0, 0}, {1000, 0}, {1000, 200}, {0, 200}});
    CHECK(pattern.length_mm == 1000);
    CHECK(pattern.width_mm == 200);
    CHECK(pattern.miss_mm == Approx(0).margin(1e-9));
}

TEST_CASE("lines drawn through the points keep to the cut line", "[output][hand]") {
    const UnitSystem units = GENERATE(UnitSystem::metric, UnitSystem::inch);
    const double radius = GENERATE(20.0, 75.3, 412.7, 1500.0);
    const double unit = units == UnitSystem::inch ? 25.4 / 16 : 1;
    const Vec2 middle{3.7, -8.9};
    const HandPattern pattern = hand_pattern(disc(middle, radius), units);
    REQUIRE(pattern.loops.size() == 1);
    const std::vector<Vec2> line = drawn(pattern.loops[0]);
    double miss = 0;
    for (int i = 0; i < 3600; ++i) {
        const double angle = i * std::numbers::pi / 1800;
        const Vec2 p = middle + Vec2{std::cos(angle), std::sin(angle)} * radius - pattern.origin;
        miss = std::max(miss, distance_to_polyline(p, line, true));
    }
    CHECK(miss <= hand_miss_mm);
    CHECK(pattern.miss_mm == Approx(miss).margin(0.15));
    for (const Vec2 p : line) {
        CHECK(is_whole(p.x, unit));
        CHECK(is_whole(p.y, unit));
    }
    // No more points than the stations give on both sides, and chords of 1.5 mm sag: r (1 - cos(a / 2)) = 1.5.
    const double arcs = std::numbers::pi / std::acos(1 - 1.5 / radius);
    CHECK(double(line.size()) <= 2 * (2 * radius / pattern.station_mm + 1) + 2 * arcs);
    CHECK(double(line.size()) >= arcs / 2);
}

TEST_CASE("a pattern that a station crosses four times, with a hole", "[output][hand]") {
    PlatePart part = outlined({{0, 0}, {300, 0}, {300, 60}, {40, 60}, {40, 140}, {300, 140}, {300, 200}, {0, 200}});
    std::vector<Vec2> hole{{80, 20}, {80, 40}, {120, 40}, {120, 20}};
    part.outline.holes.push_back(make_loop(hole, CutKind::rough));
    part.marks = {{MarkKind::cross, {{200, 30}}, "", 5},
                  {MarkKind::text, {{205, 35}}, "7", 8},
                  {MarkKind::cross, {{20, 100}}, "", 5},
                  {MarkKind::line, {{20, 100}, {80, 100}}, "", 0}};
    const HandPattern pattern = hand_pattern(part, UnitSystem::metric);
    REQUIRE(pattern.loops.size() == 2);
    CHECK(pattern.loops[0].size() == 8);
    CHECK(pattern.loops[1].size() == 4);
    CHECK(pattern.miss_mm == Approx(0).margin(1e-9));
    REQUIRE(pattern.crosses.size() == 2);
    CHECK(pattern.crosses[0].name == "start");
    CHECK(pattern.crosses[0].at == Vec2{20, 100});
    CHECK(pattern.crosses[1].name == "7");
}
