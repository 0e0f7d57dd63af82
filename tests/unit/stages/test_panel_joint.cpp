// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/panel_joint.hpp"
#include "plugs.hpp"
#include "support/cradle_rig.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

// All lies level here, so sections in plan tell what shares space.

using namespace cradlewright;
using test::plan_at;

namespace {

struct Plate {
    test::PartedPlug plug = test::parted_plug(test::make_cut_off_plate({.length = 600, .step_mm = 4}));
    Settings settings;
    Flange flange;
    Cradle cradle;

    Plate(double sheet_mm, int ribs) {
        settings.cradle.ribs = ribs;
        settings.flange.width = Length::mm(110);  // two rows of strips leave room between them
        Stock& sheet = settings.stocks.at(settings.flange.stock);
        sheet.length_mm = sheet_mm;
        sheet.width_mm = 400;
        flange = lay_flange(plug.posed, plug.parting, settings);
        cradle = build_cradle(plug.posed, plug.parting, flange, settings);
    }
    [[nodiscard]] Flange strapped() const { return lay_straps(flange, plug.parting, cradle, settings); }
};

Box2 box_of(const Polygons& plan) {
    Box2 box;
    for (const auto& chain : plan)
        for (const Vec2 p : chain) box.add(p);
    return box;
}

}  // namespace

TEST_CASE("a strap lies under a joint, clear of all that stands there", "[stages][flange]") {
    const Plate plate(420, 3);
    const Flange flange = plate.strapped();
    const double sheet = stock(plate.settings, plate.settings.flange.stock).thickness_mm;
    REQUIRE_FALSE(flange.straps.empty());
    Polygons panels;
    for (const FlangePanel& panel : flange.panels)
        panels = unite(panels, plan_at(panel.part, panel.point.z - sheet / 2));
    double glued = 0;
    for (const PlatePart& strap : flange.straps) {
        CAPTURE(strap.id, strap.note);
        const double z = strap.frame.origin.z - sheet / 2;
        const Polygons plan = plan_at(strap, z);
        REQUIRE_FALSE(plan.empty());
        CHECK(strap.frame.origin.z == Approx(flange.panels.front().point.z - sheet).margin(0.05));
        CHECK(area_of(subtract(plan, panels)) < 0.2);  // arcs of the outline
        for (const Rib& rib : plate.cradle.ribs) CHECK(intersect(plan, plan_at(rib.part, z)).empty());
        for (const Stringer& strip : plate.cradle.stringers) CHECK(intersect(plan, plan_at(strip.part, z)).empty());
        for (const PlatePart& stop : plate.cradle.stops) CHECK(intersect(plan, plan_at(stop, z)).empty());
        // Both panels hold to it.
        int holds = 0;
        for (const FlangePanel& panel : flange.panels) {
            if (strap.note.find(panel.id) == std::string::npos) continue;
            const Polygons shared = intersect(plan, plan_at(panel.part, panel.point.z - sheet / 2));
            CHECK(box_of(shared).size().x >= 3 * sheet - 0.2);
            CHECK(box_of(shared).size().x <= 8 * sheet + 0.2);
            CHECK_THAT(panel.part.note, Catch::Contains(strap.id));
            ++holds;
        }
        CHECK(holds == 2);
        if (strap.id.starts_with("strap-front")) glued += area_of(plan);
    }
    // Strips take some of the panel's width, what is left of it is strapped over 16 thicknesses at most.
    const double whole = 16 * sheet * plate.settings.flange.width.mm();
    CHECK(glued > 2 * 0.3 * whole);  // two joints
    CHECK(glued < 2 * whole);
}

TEST_CASE("over a rib there is no room for a strap and both panels are glued to the rib", "[stages][flange]") {
    const Plate plate(420, 4);
    const Flange flange = plate.strapped();
    CHECK(flange.straps.empty());
    const auto front = std::ranges::find(flange.panels, "front", &FlangePanel::edge);
    REQUIRE(front != flange.panels.end());
    CHECK_THAT(front->part.note, Catch::Contains("butts against panel-front-2") && Catch::Contains("glue both to it"));
}

TEST_CASE("panels of one piece get no strap", "[stages][flange]") {
    const Plate plate(2000, 4);
    const Flange flange = plate.strapped();
    CHECK(flange.straps.empty());
    for (const FlangePanel& panel : flange.panels) CHECK_THAT(panel.part.note, !Catch::Contains("butts"));
}

TEST_CASE("edges that leave the top short say by how much and how to close it", "[stages][flange]") {
    // On a ridge square-cut edges leave their tops apart by 2 t tan(a / 2), a the angle between them.
    test::PartedPlug plug = test::parted_plug(test::make_cut_off_plate({.length = 600, .step_mm = 4}));
    Settings settings;
    settings.flange.stock = "birch-ply-12";
    settings.flange.slope = Angle::deg(20);
    const double sheet = stock(settings, settings.flange.stock).thickness_mm;
    int ridges = 0;
    const Flange flange = lay_flange(plug.posed, plug.parting, settings);
    for (const FlangePanel& panel : flange.panels)
        for (const PanelBevel& bevel : panel.bevels) {
            if (bevel.toward == "the plug") continue;
            ++ridges;
            const auto other = std::ranges::find(flange.panels, bevel.toward, &FlangePanel::id);
            REQUIRE(other != flange.panels.end());
            // Two tops that fall by s to either side of a square corner: cos a = cos^2 s.
            const double angle = std::acos(std::pow(std::cos(settings.flange.slope.rad()), 2));
            CHECK(2 * bevel.angle_rad == Approx(angle).epsilon(0.02));
            CHECK(bevel.open_mm == Approx(sheet * std::tan(angle / 2)).epsilon(0.02));
            CHECK_THAT(panel.part.note, Catch::Contains("toward " + bevel.toward));
        }
    CHECK(ridges == 8);  // four corners, both sides of each
    // A wall that leans away upward by 45 deg leaves the top of the sheet short by t sin 45 deg.
    test::PartedPlug ball = test::parted_plug(test::make_sphere(100, 6));
    const double lean = Angle::deg(45).rad(), down = 100 * std::sin(lean);
    for (Vec3& p : ball.parting.loops.front().panel_line) {
        const Vec3 middle = ball.posed.box_fixture.center();
        const Vec2 out = normalized(Vec2{p.x - middle.x, p.y - middle.y});
        p = middle + Vec3{out.x * 100 * std::cos(lean), out.y * 100 * std::cos(lean), down};
    }
    settings.flange.slope = {};
    const Flange ring = lay_flange(ball.posed, ball.parting, settings);
    REQUIRE(ring.panels.size() == 1);
    REQUIRE(ring.panels.front().bevels.size() == 1);
    const PanelBevel& bevel = ring.panels.front().bevels.front();
    // The edge's lower corner keeps the gap from the ball; how far its upper one is then, in the same section.
    const double low = down - sheet, gap = settings.flange.gap.mm() + Tolerances{}.arc_fit_mm;
    const double reach = std::sqrt(std::pow(100 + gap, 2) - low * low);
    CHECK(bevel.open_mm == Approx(std::hypot(reach, down) - 100 - gap).margin(0.1));
    CHECK(bevel.angle_rad == Approx(std::asin(bevel.open_mm / sheet)).epsilon(1e-6));
    CHECK(bevel.toward == "the plug");
}
