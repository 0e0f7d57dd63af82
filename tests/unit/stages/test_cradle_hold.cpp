// SPDX-License-Identifier: GPL-3.0-or-later
// What keeps the plug from sliding, against closed forms; how stops follow the limits.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/cradle_hold.hpp"
#include "cradlewright/stages/plug_beam.hpp"
#include "support/cradle_rig.hpp"

using namespace cradlewright;
using std::numbers::pi;
using test::CradleRig;

namespace {

/// A box whose walls reach 7 mm below the underside of one panel all round: too little for saddles to reach its edges.
CradleRig shallow_box() {
    CradleRig rig(test::make_box({300, 120, 80}));
    rig.panel_top = rig.posed.box_fixture.low.z + 10;
    rig.surround_by_ring(60);
    return rig;
}

std::size_t stops_toward(const Cradle& cradle, const std::string& side) {
    return static_cast<std::size_t>(std::count_if(cradle.stops.begin(), cradle.stops.end(), [&](const PlatePart& p) {
        return p.id.starts_with("stop-" + side);
    }));
}

double width_toward(const Cradle& cradle, const std::string& side) {
    double width = 0;
    for (const PlatePart& p : cradle.stops)
        if (p.id.starts_with("stop-" + side)) width += bounding_box(p.outline).size().x;
    return width;
}

}  // namespace

// W (sin a - mu cos a) on a slope a. Source: Coulomb friction on an incline, from memory.
TEST_CASE("a stop takes what friction leaves on the incline", "[stages][cradle][hold]") {
    const PosedPlug posed = test::posed_plug(test::make_box({300, 120, 60}));
    Settings settings;
    settings.limits.squeegee_load = Force::n(0);
    const double mass = 300.0 * 120 * 60 * settings.plug.density.kg_mm3() + 300.0 * 120 * wet_laminate_kg_mm2(settings);
    const double weight = mass * 9.80665, slope = 10 * pi / 180, friction = std::tan(std::atan(0.10) / 2);
    CHECK(stop_load_n(posed, settings, 0) ==
          Approx(weight * (std::sin(slope) - friction * std::cos(slope))).epsilon(1e-6));
    CHECK(stop_load_n(posed, settings, -pi / 2) == Approx(weight * std::sin(slope)).epsilon(1e-6));
    CHECK(stop_load_n(posed, settings, 8 * pi / 180) == 0);
    settings.limits.tip_factor = 4;
    CHECK(stop_load_n(posed, settings, -pi / 2) == Approx(weight * std::sin(2 * slope)).epsilon(1e-6));
    settings.limits.squeegee_load = Force::n(30);
    CHECK(stop_load_n(posed, settings, 25 * pi / 180) == Approx(30));
}

// F h^3 / (3 E I), I = b d^3 / 12: cantilever with end load, Roark Table 8.1, from memory. E: soft end of birch
// plywood.
TEST_CASE("a stop gives way as a cantilever and presses by its face", "[stages][cradle][hold]") {
    Settings settings;
    const double inertia = 40 * 9.0 * 9 * 9 / 12;
    CHECK(stop_strength(settings, 31, 40, 9, 80, 10).dip_mm ==
          Approx(31 * 80.0 * 80 * 80 / (3 * 5000 * inertia)).epsilon(1e-9));
    const double crush = material(settings.plug.material).crush_mpa.low;
    REQUIRE(crush > 0);
    CHECK(stop_strength(settings, 31, 40, 9, 80, 10).crush_share == Approx(31 / (40 * 10.0) / (0.5 * crush)));
    settings.limits.bearing = 0.25;
    CHECK(stop_strength(settings, 31, 40, 9, 80, 10).crush_share == Approx(31 / (40 * 10.0) / (0.25 * crush)));
}

TEST_CASE("a flat-bottomed box gets stops on all sides and is held by them", "[stages][cradle][hold]") {
    const CradleRig rig = shallow_box();
    const Cradle cradle = rig.build();
    CHECK(stops_toward(cradle, "end-a") >= 1);
    CHECK(stops_toward(cradle, "end-b") >= 1);
    CHECK(stops_toward(cradle, "front") == 2);  // both halves, or the plug turns
    CHECK(stops_toward(cradle, "back") == 2);
    for (const SlideWay& way : slide_ways(rig.posed, cradle, rig.settings)) {
        INFO(way.side);
        CHECK(way.is_held(rig.settings));
        CHECK(way.climb_rad() == Approx(pi / 2));
        CHECK(way.saddle_rad[0] == Approx(0).margin(0.01));  // level saddles
    }
    std::string who;
    CHECK(test::shared_area(test::parts_of(rig, cradle), who) < 0.5);
    INFO(who);
    // The face toward the plug is a felt's thickness from it, all below the panels.
    const double seat = rig.panel_top - rig.sheet - rig.settings.flange.glue.mm();
    for (const PlatePart& stop : cradle.stops) {
        INFO(stop.id);
        const Box2 box = bounding_box(stop.outline);
        CHECK(box.low.y == Approx(0).margin(1e-9));
        CHECK(box.high.y <= seat - 1 + 1e-9);
        if (stop.id.starts_with("stop-front")) CHECK(box.low.x == Approx(61).margin(0.3));
        if (stop.id.starts_with("stop-back")) CHECK(box.high.x == Approx(-61).margin(0.3));
    }
    // Without one of them the plug may turn.
    Cradle less = cradle;
    std::erase_if(less.stops, [](const PlatePart& p) { return p.id == "stop-front-a"; });
    const std::vector<SlideWay> ways = slide_ways(rig.posed, less, rig.settings);
    CHECK(ways[0].side == "front");
    CHECK(ways[0].needs_stop(0, rig.settings));
    CHECK_FALSE(ways[0].needs_stop(1, rig.settings));
}

TEST_CASE("stops follow the limits", "[stages][cradle][hold]") {
    CradleRig rig = shallow_box();
    const double usual = width_toward(rig.build(), "end-a");
    const auto with = [&](auto change) {
        CradleRig changed = rig;
        change(changed.settings.limits);
        return width_toward(changed.build(), "end-a");
    };
    CHECK(with([](LimitOptions& l) { l.squeegee_load = Force::n(45); }) > usual);
    CHECK(with([](LimitOptions& l) { l.squeegee_load = Force::n(10); }) < usual);
    CHECK(with([](LimitOptions& l) { l.seat_deviation = Length::mm(0.2); }) > usual);
    CHECK(with([](LimitOptions& l) { l.bearing = 1; }) < usual);
    CHECK(with([](LimitOptions& l) { l.bearing = 0.4; }) > usual);
    CHECK(with([](LimitOptions& l) { l.friction = 0.4; }) == 0);  // half of atan 0.4 is 10.9 deg: the pads hold it
    CHECK(with([](LimitOptions& l) {
              l.tip_factor = 1;
              l.friction = 0.2;
          }) == 0);  // 5.7 deg against 5
}

TEST_CASE("stops take the load that was asked of them", "[stages][cradle][hold]") {
    const CradleRig rig = shallow_box();
    const Cradle cradle = rig.build();
    const double load = stop_load_n(rig.posed, rig.settings, 0), low = rig.posed.box_fixture.low.z;
    const auto count = static_cast<double>(stops_toward(cradle, "end-a"));
    for (const PlatePart& stop : cradle.stops) {
        if (!stop.id.starts_with("stop-end-a")) continue;
        const Vec2 size = bounding_box(stop.outline).size();
        const double dip = load / count * std::pow(size.y, 3) / (3 * 5000 * size.x * 9 * 9 * 9 / 12);
        CHECK(dip <= rig.settings.limits.seat_deviation.mm());
        const double pressure = load / count / (size.x * (size.y - low));
        CHECK(pressure <= 0.5 * material(rig.settings.plug.material).crush_mpa.low);
    }
}

TEST_CASE("a plug in a deep saddle needs no stop beside it", "[stages][cradle][hold]") {
    CradleRig rig(test::make_elliptic_cylinder(80, 60, 300, 360, 10));
    rig.surround(60);
    const Cradle cradle = rig.build();
    CHECK(stops_toward(cradle, "front") == 0);
    CHECK(stops_toward(cradle, "back") == 0);
    CHECK(stops_toward(cradle, "end-a") > 0);
}
