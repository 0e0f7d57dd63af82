// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <numbers>

#include "cradlewright/stages/groove_fill.hpp"

using namespace cradlewright;
using Catch::Detail::Approx;

namespace {

/// A straight bead of radius r in a square corner along x: r^2 (1 - pi / 4) of clay a mm. Source: flat_bead_area_mm2.
BeadRun straight_run(const std::string& edge, double r, double length) {
    BeadRun run;
    run.id = "bead-" + edge + "-1";
    run.edge = edge;
    run.radius_mm = r;
    run.length_mm = length;
    for (const double x : {0.0, length}) {
        BeadSection section;
        section.joint = {x, 0, 0};
        section.on_plug = {x, 0, r};
        section.on_panel = {x, r, 0};
        section.plug_strip_mm = r;
        section.area_mm2 = flat_bead_area_mm2(r, std::numbers::pi / 2);
        run.sections.push_back(section);
    }
    run.volume_mm3 = run.sections.front().area_mm2 * length;
    return run;
}

}  // namespace

TEST_CASE("the groove is filled run by run, and its runs add up", "[stages][bead]") {
    constexpr double density = 1.7e-6;
    Beads beads;
    beads.runs = {straight_run("front", 14, 500), straight_run("end-a", 14, 80)};
    CHECK(groove_fills(beads, {}).empty());  // no half 2, no groove
    Groove groove;
    groove.runs = {straight_run("front", 14, 490), straight_run("end-a", 14, 90)};
    for (const BeadRun& run : beads.runs) groove.fill_volume_mm3 += run.volume_mm3;
    for (const BeadRun& run : groove.runs) groove.clay_volume_mm3 += run.volume_mm3;
    groove.fill_mass_kg = density * groove.fill_volume_mm3;
    groove.clay_mass_kg = density * groove.clay_volume_mm3;
    beads.groove = groove;
    ScraperCard front, both;
    front.part.id = "card-round-1", front.edges = {"front"};
    both.part.id = "card-round-2", both.edges = {"front", "end-a"};

    const std::vector<GrooveFill> fills = groove_fills(beads, {front, both});
    REQUIRE(fills.size() == 2);
    const double area = 14 * 14 * (1 - std::numbers::pi / 4);
    CHECK(fills[0].run == "bead-front-1");
    CHECK(fills[0].fill_mm3 == Approx(area * 500));
    CHECK(fills[0].fill_kg == Approx(density * area * 500));
    CHECK(fills[0].bead_kg == Approx(density * area * 490));
    CHECK(fills[0].width_mm == Approx(14));
    CHECK(fills[0].depth_mm == Approx(14));
    CHECK(fills[0].cards == std::vector<std::string>{"card-round-1", "card-round-2"});
    CHECK(fills[1].cards == std::vector<std::string>{"card-round-2"});
    CHECK(fills[0].fill_kg + fills[1].fill_kg == Approx(groove.fill_mass_kg));
    CHECK(fills[0].bead_kg + fills[1].bead_kg == Approx(groove.clay_mass_kg));
}
