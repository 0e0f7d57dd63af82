// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <numbers>

#include "cradlewright/geom/corner_relief.hpp"
#include "cradlewright/geom/cutter_reach.hpp"

namespace cradlewright {
namespace {

using std::numbers::pi;

/// A plate of 200 x 100 with a slot open at the bottom, from x = 80; walls and bottom fit.
Region slotted(double width, double depth) {
    Region region{
        make_loop({{0, 0}, {80, 0}, {80, depth}, {80 + width, depth}, {80 + width, 0}, {200, 0}, {200, 100}, {0, 100}},
                  CutKind::rough),
        {}};
    for (const std::size_t i : {1u, 2u, 3u}) region.outer.vertices[i].cut = CutKind::fit;
    return region;
}

TEST_CASE("a square inside corner keeps (sqrt 2 - 1) of the cutter's radius", "[geom]") {
    // Trade values T10.2 and T10.3: cutter 6.35: 1.31513 mm; cutter 6: 1.24264 mm.
    for (const auto& [cutter, left] : {std::pair{6.35, 1.31513}, std::pair{6.0, 1.24264}}) {
        const auto places = unreached_places(to_polygons(slotted(40, 20)), cutter / 2, 0.1, 0.001);
        REQUIRE(places.size() == 2);
        CHECK(places[0].left_mm == Approx(left).margin(0.004));
        CHECK(norm(places[0].at - Vec2{80, 20}) < 0.01);
        CHECK(norm(places[1].at - Vec2{120, 20}) < 0.01);
    }
}

TEST_CASE("corners of other angles keep r (1 / sin(a / 2) - 1)", "[geom]") {
    for (const double angle : {60.0, 90.0, 120.0, 150.0}) {
        const double half = angle / 2 * pi / 180;  // of the void
        const Vec2 tip{0, -40}, left{-40 * std::sin(half) / std::cos(half), 0};
        const Region plate{
            make_loop({{-200, 0}, {-200, -100}, {200, -100}, {200, 0}, {-left.x, 0}, tip, left}, CutKind::fit), {}};
        const auto places = unreached_places(to_polygons(plate), 5, 0.05, 0.001);
        REQUIRE(places.size() == 1);
        CHECK(places[0].left_mm == Approx(5 * (1 / std::sin(half) - 1)).margin(0.01));
    }
}

TEST_CASE("narrow slots and holes are told, wide ones are not", "[geom]") {
    const auto wide = unreached_places(to_polygons(slotted(9.2, 25)), 3, 2, 0.001);
    CHECK(wide.empty());
    const auto narrow = unreached_places(to_polygons(slotted(5.9, 25)), 3, 2, 0.001);
    REQUIRE(narrow.size() == 1);
    // The cutter rests on both rims: its top stands r - sqrt(r^2 - w^2/4) in the slot.
    const double in = 3 - std::sqrt(9 - 2.95 * 2.95);
    CHECK(narrow[0].left_mm == Approx(std::hypot(25 + 3 - in, 2.95) - 3).margin(0.02));
    Region holed = slotted(40, 20);
    holed.holes = {make_circle({150, 70}, 2.9, CutKind::rough, true), make_circle({30, 70}, 3.1, CutKind::rough, true)};
    const auto holes = unreached_places(to_polygons(holed), 3, 2, 0.001);
    REQUIRE(holes.size() == 1);
    CHECK(std::isinf(holes[0].left_mm));
    CHECK(norm(holes[0].at - Vec2{150, 70}) < 3);
    CHECK(unreached_places({}, 3, 1).empty());
}

TEST_CASE("relief in a wide slot is centred on the bisectors", "[geom]") {
    // T10.2: cutter 6.35: the centre lies 2.24506 mm off both edges of a square corner; here the radius has 0.1 more.
    const double cutter = 6.35, radius = cutter / 2 + relief_over_mm;
    const Region opened = with_corner_relief(slotted(40, 20), cutter);
    const auto& v = opened.outer.vertices;
    REQUIRE(v.size() == 10);
    const Arc arc = arc_of(v[2].at, v[3].at, v[2].bulge);
    CHECK(arc.radius == Approx(radius));
    CHECK(arc.center.x - 80 == Approx(radius / std::sqrt(2.0)));
    CHECK(20 - arc.center.y == Approx(radius / std::sqrt(2.0)));
    CHECK(norm(arc.center - Vec2{80, 20}) == Approx(radius));  // through the corner
    CHECK(2.24506 == Approx(cutter / (2 * std::sqrt(2.0))).margin(1e-5));
    CHECK(v[2].cut == CutKind::rough);
    CHECK(v[1].cut == CutKind::fit);
    CHECK(v[3].cut == CutKind::fit);
    CHECK(area_of(opened) < area_of(slotted(40, 20)));
    CHECK(unreached_places(to_polygons(opened, 0.001), cutter / 2, 0.05, 0.001).empty());
}

TEST_CASE("relief in a narrow slot leaves its bottom whole", "[geom]") {
    const Region opened = with_corner_relief(slotted(9.2, 25), 6);
    const auto& v = opened.outer.vertices;
    REQUIRE(v.size() == 10);
    CHECK(v[3].at == Vec2{80, 25});
    CHECK(v[4].at == Vec2{89.2, 25});
    CHECK(v[3].cut == CutKind::fit);
    CHECK(arc_of(v[2].at, v[3].at, v[2].bulge).center.x == Approx(80));
    CHECK(arc_of(v[4].at, v[5].at, v[4].bulge).center.x == Approx(89.2));
    CHECK(unreached_places(to_polygons(opened, 0.001), 3, 0.05, 0.001).empty());
}

TEST_CASE("relief opens no other corner and none without room", "[geom]") {
    const auto corners = [](const Region& region) { return region.outer.vertices.size(); };
    Region rough = slotted(40, 20);
    for (PathVertex& v : rough.outer.vertices) v.cut = CutKind::rough;
    CHECK(corners(with_corner_relief(rough, 6)) == 8);
    CHECK(corners(with_corner_relief(slotted(9.2, 8), 6)) == 8);  // walls of 8 would lose 6.2
    CHECK(corners(with_corner_relief(slotted(9.2, 13), 6)) == 10);
    // A hole's corners are all inside ones.
    Region holed{make_rectangle({0, 0}, {100, 100}, CutKind::fit),
                 {reversed(make_rectangle({20, 20}, {80, 60}, CutKind::fit))}};
    const Region opened = with_corner_relief(holed, 6);
    CHECK(corners(opened) == 4);
    CHECK(opened.holes[0].vertices.size() == 8);
    CHECK(unreached_places(to_polygons(opened, 0.001), 3, 0.05, 0.001).empty());
    CHECK(unreached_places(to_polygons(holed, 0.001), 3, 0.05, 0.001).size() == 4);
}

}  // namespace
}  // namespace cradlewright
