// SPDX-License-Identifier: GPL-3.0-or-later
// The plug as a beam, what holds panels, and the choices made by them.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/stages/panel_support.hpp"
#include "cradlewright/stages/plug_beam.hpp"
#include "stages/cradle_choice.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"
#include "support/text.hpp"

using namespace cradlewright;
using std::numbers::pi;

namespace {

Settings foam(double e_mpa) {
    Settings settings;
    settings.plug.material = "xps-foam";  // nu = 0.3
    settings.plug.stiffness = Pressure::mpa(e_mpa);
    settings.limits.hand_load = Force::n(100);
    return settings;
}

/// Axis z turned into x.
PosedPlug posed_cone(double base_radius, double top_radius, double length) {
    const Frame3 lying{{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};
    return test::posed_plug(test::placed(test::make_cone(base_radius, top_radius, length, 180), lying));
}

}  // namespace

// Solid ellipse 160 x 100, 400 between supports, 100 N at the middle: P L^3 / (48 EI) = 1.41471 (trade data T4.3) and
// P L / (4 k A G) with k = 5/6. Source: Roark ch. 8, from memory. Facets of 360 sides miss pi by 5e-5.
TEST_CASE("a solid plug on two ribs", "[stages][strength]") {
    const PosedPlug posed = test::posed_plug(test::make_elliptic_cylinder(80, 50, 400, 360, 40));
    const Settings settings = foam(12);
    const PlugBeam plug = cut_plug_beam(posed, settings);
    REQUIRE(plug.sections.size() == 80);
    CHECK(plug.sections[7].solid.ixx_mm4 == Approx(pi * 80 * std::pow(50.0, 3) / 4).epsilon(1e-3));
    const std::vector<double> ends{plug.low_mm, plug.high_mm};
    const WorstDip sag = plug_sag(plug, settings, ends, Stiffness::usual);
    const double shear = 100 * 400 / (4 * 5.0 / 6 * pi * 80 * 50 * 12 / 2.6);
    CHECK(sag.dip_mm - sag.own_dip_mm == Approx(1.41471 + shear).epsilon(3e-3));
}

// Slices of the mesh against the exact section law, both through the same beam: what differs is the slicing.
TEST_CASE("a tapering plug's sections follow its cone", "[stages][strength]") {
    const PosedPlug posed = posed_cone(60, 20, 800);
    const Settings settings = foam(12);
    const PlugBeam plug = cut_plug_beam(posed, settings);
    const std::vector<double> supports{plug.low_mm + 40, plug.low_mm + 450, plug.low_mm + 740};
    const bool is_thick_first = plug.sections.front().solid.area_mm2 > plug.sections.back().solid.area_mm2;
    const auto radius = [&](double x) {
        const double t = (x - plug.low_mm) / 800;
        return is_thick_first ? 60 - 40 * t : 20 + 40 * t;
    };
    Beam exact{{}, supports, Hold::push_only};
    const double density = settings.plug.density.kg_mm3(), wet = wet_laminate_kg_mm2(settings);
    for (int i = 0; i <= 400; ++i) {
        const double x = plug.low_mm + 2.0 * i, r = radius(x), area = pi * r * r;
        exact.points.push_back(
            {x, 12 * area * r * r / 4, 5.0 / 6 * 12 / 2.6 * area, standard_gravity * (density * area + wet * pi * r)});
    }
    std::vector<double> places;
    for (const PlugSection& s : plug.sections)
        if (pi * radius(s.x_mm) * radius(s.x_mm) > 0.05 * pi * 3600) places.push_back(s.x_mm);
    const WorstDip expected = worst_dip(exact, 100, places);
    const WorstDip sag = plug_sag(plug, settings, supports, Stiffness::usual);
    CHECK(sag.dip_mm == Approx(expected.dip_mm).epsilon(0.01));
    CHECK(sag.load_x_mm == Approx(expected.load_x_mm).margin(1e-6));
    for (std::size_t i = 0; i < 3; ++i) CHECK(sag.reaction_n[i] == Approx(expected.reaction_n[i]).epsilon(5e-3));
}

TEST_CASE("a skin stiffens, a soft end sags more", "[stages][strength]") {
    const PosedPlug posed = test::posed_plug(test::make_elliptic_cylinder(80, 20, 600, 96, 20));
    Settings bare, skinned;
    skinned.plug.skin = Length::mm(1);
    const std::vector<double> ends{posed.box_fixture.low.x, posed.box_fixture.high.x};
    const auto sag = [&](const Settings& settings, Stiffness stiffness) {
        return plug_sag(cut_plug_beam(posed, settings), settings, ends, stiffness).dip_mm;
    };
    CHECK(sag(skinned, Stiffness::usual) < 0.1 * sag(bare, Stiffness::usual));
    CHECK(sag(bare, Stiffness::soft) > sag(bare, Stiffness::usual));
    CHECK(sag(bare, Stiffness::usual) > sag(bare, Stiffness::stiff));
}

TEST_CASE("ribs are chosen by the sag that the check finds", "[stages][strength]") {
    const PosedPlug posed = test::posed_plug(test::make_elliptic_cylinder(60, 15, 600, 96, 20));
    Settings settings;
    settings.cradle.spacing = Length::mm(250);
    settings.limits.sag = Length::mm(2);
    const RibChoice choice = choose_ribs(posed, settings);
    CAPTURE(choice.reason);
    const double ribs = choice.ribs;
    CHECK(ribs > 4);  // four are what 250 mm ask for
    CHECK(test::count_of(choice.reason, " ribs: ") >= 2);
    REQUIRE(choice.trials.size() >= 2);
    CHECK(choice.trials.back().is_enough);
    for (const Trial& t : choice.trials) CHECK(t.is_enough == (t.value_mm <= 2));
    const auto sag = [&](double n) {
        CradleOptions options = settings.cradle;
        options.ribs = n;
        const auto stations = rib_stations(posed.box_fixture.low.x, posed.box_fixture.high.x, 9, options);
        return plug_sag(cut_plug_beam(posed, settings), settings, stations, Stiffness::soft).dip_mm;
    };
    CHECK(sag(ribs) <= settings.limits.sag.mm());
    CHECK(sag(ribs - 1) > settings.limits.sag.mm());

    settings.limits.sag = settings.limits.sag * 4;
    CHECK(choose_ribs(posed, settings).ribs < ribs);
}

TEST_CASE("where twice the ribs do not help, the spacing stays", "[stages][strength]") {
    const PosedPlug posed = test::posed_plug(test::make_elliptic_cylinder(60, 15, 600, 96, 20));
    Settings settings;
    settings.cradle.spacing = Length::mm(250);
    settings.limits.sag = Length::mm(0.1);
    const RibChoice choice = choose_ribs(posed, settings);
    CHECK(choice.ribs == 4);
    CHECK(choice.reason.find("no number brings") != std::string::npos);
    CHECK(test::count_of(choice.reason, " ribs: ") == 6);  // 3 for comparison, 4 to 8
}

TEST_CASE("a told number of ribs is left alone", "[stages][strength]") {
    const PosedPlug posed = test::posed_plug(test::make_elliptic_cylinder(60, 15, 600, 96, 20));
    Settings settings;
    settings.cradle.ribs = 3;
    CHECK(choose_ribs(posed, settings).ribs == 3);
    CHECK(choose_ribs(posed, settings).reason.empty());
    CHECK(choose_ribs(posed, settings).trials.empty());
}

// A panel 400 x 60 held on two lines 5 and 55 mm from the plug; squeegee at the edge beside the plug. The overhang is
// small, so nearly all of the dip is that of the far field; against the long overhanging strip it is less, as the sheet
// spreads the load.
TEST_CASE("a panel dips less than its worst strip", "[stages][strength]") {
    FlangePanel panel;
    panel.width_mm = 60;
    panel.part.stock = "pvc-3";
    panel.part.thickness_mm = 3;
    panel.part.frame = {{0, 0, 100}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    panel.part.outline.outer = make_rectangle({0, 0}, {400, 60}, CutKind::fit);
    std::vector<Vec3> line;
    std::vector<Vec2> supports;
    for (int i = 0; i <= 100; ++i) {
        line.push_back({4.0 * i, 0, 100});
        supports.push_back({4.0 * i, 15});
        supports.push_back({4.0 * i, 55});
    }
    const Settings settings;
    const auto dips = panel_dips(panel, line, supports, settings);
    REQUIRE(dips);
    const double d = 2760 * 27 / (12 * (1 - 0.38 * 0.38)), q = 30.0 / 50;
    const double strip = q * 15 * 15 * (40 + 15) / (3 * d);  // trade data T4.10's formula
    CHECK(dips->near_plug_mm < 1.02 * strip);
    CHECK(dips->near_plug_mm > 0.2 * strip);
    CHECK(dips->near_plug_at.y == Approx(0).margin(8));
    CHECK(dips->away_mm > 0);
    CHECK_FALSE(panel_dips(panel, line, {}, settings));
}
