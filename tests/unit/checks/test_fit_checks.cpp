// SPDX-License-Identifier: GPL-3.0-or-later
// Checks of scan, stand, gap and tools on shapes whose answer is known on paper.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <regex>

#include "checks/families.hpp"
#include "support/plugs.hpp"
#include "support/sample_design.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using S = test::SampleSizes;

namespace {

constexpr double pi = std::numbers::pi;

double number_in(const std::string& text, const std::string& pattern) {
    std::smatch match;
    CAPTURE(text, pattern);
    REQUIRE(std::regex_search(text, match, std::regex(pattern)));
    return std::stod(match[1]);
}

/// An L of sheet whose inside corner is a quarter circle, cut to fit, in `pieces` arcs.
Design inside_corner(int pieces, double r = 5) {
    PlatePart part;
    part.id = "rib-1";
    part.kind = PartKind::rib;
    part.outline.outer.vertices = {{{0, 0}}, {{40, 0}}, {{40, 20}}};
    for (int i = 0; i < pieces; ++i) {
        const double a = 1.5 * pi - 0.5 * pi * i / pieces;
        part.outline.outer.vertices.push_back(
            {{20 + r + r * std::cos(a), 20 + r + r * std::sin(a)}, -std::tan(pi / 8 / pieces), CutKind::fit});
    }
    for (const Vec2 p : {Vec2{20, 20 + r}, Vec2{20, 40}, Vec2{0, 40}}) part.outline.outer.vertices.push_back({p});
    Design d;
    Rib rib;
    rib.part = part;
    d.cradle.ribs = {rib};
    d.settings.cut_by = CutMethod::router;
    return d;
}

CaliperCheck span_of(const std::string& name, double mm) {
    CaliperCheck caliper;
    caliper.name = name;
    caliper.axis = "span";
    caliper.measured = Length::mm(mm);
    return caliper;
}

}  // namespace

TEST_CASE("scan.caliper finds the one scale that suits all calipers", "[checks][scan]") {
    Design d;
    d.posed = test::posed_plug(test::make_box({240, 100, 50}));
    d.settings.calipers = {span_of("long", 243)};
    const Check c = check_scan_caliper(d).front();
    CHECK(c.verdict == Verdict::fail);
    CHECK(c.value.value == Approx(3));
    CHECK(number_in(c.advice, "plug.known to \"([\\d.]+) mm") == Approx(243).margin(0.01));
    // 243 allows 242.27 to 243.73, and 242.2 allows 241.47 to 242.93: both hold from 242.27 to 242.93.
    d.settings.calipers.push_back(span_of("again", 242.2));
    CHECK(number_in(check_scan_caliper(d).front().advice, "plug.known to \"([\\d.]+) mm") ==
          Approx(242.6).margin(0.02));
    d.settings.calipers.push_back(span_of("odd", 250));
    CHECK(check_scan_caliper(d).front().advice.find("no one scale") != std::string::npos);
}

TEST_CASE("scan.caliper names the unit that was meant", "[checks][scan]") {
    Design d;
    d.posed = test::posed_plug(test::make_box({240, 100, 50}));
    d.settings.plug.unit = "mm";
    d.settings.calipers = {span_of("long", 240 * 25.4)};
    CHECK(check_scan_caliper(d).front().advice.ends_with("set plug.unit to in"));
}

TEST_CASE("a curve fitted as several arcs is as tight as one", "[checks][tool]") {
    Design d = inside_corner(GENERATE(1, 3, 6));
    // Tangent to both sides, a tool of radius R leaves (R - 5)(sqrt 2 - 1); 0.2 mm of it is a stroke of the file.
    d.settings.router.cutter = Length::mm(2 * (5 + 0.19 / (std::numbers::sqrt2 - 1)));
    CHECK(check_tool_inside_radius(d).front().verdict == Verdict::not_applicable);
    d.settings.router.cutter = Length::mm(2 * (5 + 0.21 / (std::numbers::sqrt2 - 1)));
    const Check c = check_tool_inside_radius(d).front();
    CHECK(c.verdict == Verdict::fail);
    CHECK(c.value.value == Approx(5));
    d.settings.router.cutter = Length::mm(number_in(c.advice, "cutter of ([\\d.]+) mm"));
    CHECK(check_tool_inside_radius(d).front().verdict == Verdict::pass);
}

TEST_CASE("a corner is no curve", "[checks][tool]") {
    CHECK(check_tool_inside_radius(inside_corner(1, 0.9)).front().verdict == Verdict::not_applicable);
    CHECK(check_tool_inside_radius(inside_corner(1, 1.1)).front().verdict == Verdict::fail);
}

TEST_CASE("a cutter must get into the slots that parts are to fit", "[checks][tool]") {
    Design d = inside_corner(1, 50);
    d.cradle.ribs[0].part.outline.outer =
        make_loop({{0, 0}, {80, 0}, {80, 25}, {89.2, 25}, {89.2, 0}, {200, 0}, {200, 100}, {0, 100}}, CutKind::rough);
    for (const std::size_t i : {1u, 2u, 3u}) d.cradle.ribs[0].part.outline.outer.vertices[i].cut = CutKind::fit;
    d.settings.router.cutter = Length::mm(9);
    CHECK(check_tool_inside_radius(d).front().verdict == Verdict::not_applicable);
    d.settings.router.cutter = Length::mm(9.6);
    const Check c = check_tool_inside_radius(d).front();
    CHECK(c.verdict == Verdict::fail);
    CHECK(c.value.value == Approx(4.6).margin(0.02));  // half the slot
    d.settings.router.cutter = Length::mm(number_in(c.advice, "cutter of ([\\d.]+) mm"));
    CHECK(check_tool_inside_radius(d).front().verdict == Verdict::not_applicable);
    // Nothing has to fit: no matter. By saw: the file does it.
    d.settings.router.cutter = Length::mm(9.6);
    d.settings.cut_by = CutMethod::saw;
    CHECK(check_tool_inside_radius(d).front().verdict == Verdict::not_applicable);
    d.settings.cut_by = CutMethod::router;
    for (PathVertex& v : d.cradle.ribs[0].part.outline.outer.vertices) v.cut = CutKind::rough;
    CHECK(check_tool_inside_radius(d).front().verdict == Verdict::not_applicable);
}

// Blade 1/8 in turns in 3/16 in = 4.76 mm. Source: bandsaw charts, as in the catalog.
TEST_CASE("a tight curve takes a narrow blade or a drum", "[checks][tool]") {
    Design d = inside_corner(1);
    d.settings.cut_by = CutMethod::saw;
    const Check by_blade = check_tool_inside_radius(d).front();
    CHECK(by_blade.verdict == Verdict::fail);  // drum of 12.7 mm
    CHECK(by_blade.advice.find("blade of 1/8 in") != std::string::npos);
    d.settings.saw.blade = Length::inch(0.125);
    CHECK(check_tool_inside_radius(d).front().verdict == Verdict::pass);
    d.settings.saw.blade = Length::inch(0.5);
    d.settings.saw.drum = Length::mm(10);
    const Check by_drum = check_tool_inside_radius(d).front();
    CHECK(by_drum.verdict == Verdict::pass);
    CHECK(by_drum.advice.find("drum of 10") != std::string::npos);
}

// Saddles of 180 mm under a box whose middle stands 23 mm over them; the end ribs reach further out.
TEST_CASE("pose.tip is atan(b / h), and marginal when uneven mass may tip it", "[checks][stand]") {
    Design d = test::sample_design();
    const Check c = check_pose_tip(d).front();
    const double h = S::line_z - 77, doubt = 0.02 * 2 * S::half_width;
    CHECK(c.value.value == Approx(std::atan(90 / h)));
    CHECK(c.low.value == Approx(std::atan((90 - doubt) / h)));
    CHECK(c.high.value == Approx(std::atan((90 + doubt) / h)));
    constexpr double off_level = 5 * pi / 180;
    d.settings.limits.tip_factor = 0.999 * c.low.value / off_level;
    CHECK(check_pose_tip(d).front().verdict == Verdict::pass);
    d.settings.limits.tip_factor = 0.999 * c.value.value / off_level;
    CHECK(check_pose_tip(d).front().verdict == Verdict::marginal);
    d.settings.limits.tip_factor = 1.001 * c.value.value / off_level;
    CHECK(check_pose_tip(d).front().verdict == Verdict::fail);
}

TEST_CASE("cradle.seat says what the pad must take up", "[checks][cradle]") {
    Design d = test::sample_design();  // saddles 3 mm below the box, as the pad wants them
    d.posed.plug.noise_mm = 0;
    for (const Check& c : check_cradle_seat(d)) CHECK(c.value.value == 1);
    // A fifth of the saddle's length sinks away to 1 mm too low.
    for (Rib& rib : d.cradle.ribs) rib.saddle = {{-90, 76}, {-54, 77}, {90, 77}};
    const double share = 1 - 0.1;  // half of that fifth is within half a millimetre
    for (const Check& c : check_cradle_seat(d)) CHECK(c.value.value == Approx(share).margin(0.02));
    d.settings.limits.seat_share = 0.95;
    const Check fails = check_cradle_seat(d).front();
    CHECK(fails.verdict == Verdict::fail);
    const double taken = number_in(fails.advice, "takes up ([\\d.]+) mm");
    CHECK(taken == Approx(0.75).margin(0.06));
    d.settings.limits.seat_deviation = Length::mm(taken);
    for (const Check& c : check_cradle_seat(d)) CHECK(c.verdict == Verdict::pass);
}

TEST_CASE("panel.gap asks for a gap that closes by what the panel opens", "[checks][panel]") {
    Design d = test::sample_design();  // gaps of 0.75 mm where 0.5 were planned, noise 1/32
    CHECK(check_panel_gap(d).front().verdict == Verdict::pass);
    d.settings.flange.gap_limit = Length::mm(0.76);
    CHECK(check_panel_gap(d).front().verdict == Verdict::marginal);
    d.settings.flange.gap_limit = Length::mm(0.74);
    const Check fails = check_panel_gap(d).front();
    CHECK(fails.verdict == Verdict::fail);
    const double gap = number_in(fails.advice, "flange.gap to ([\\d.]+) mm");
    CHECK(gap <= 0.74 - 0.25 - 1.0 / 32 + 1e-9);
    CHECK(gap > 0.44);
}

TEST_CASE("panel.bend holds the radius against thickness over twice the strain", "[checks][panel]") {
    Design d = test::sample_design();
    CHECK(check_panel_bend(d).front().verdict == Verdict::not_applicable);
    FlangePanel& panel = d.flange.panels.front();
    panel.part.bend.emplace();
    panel.part.bend->flats = {panel.part.frame};
    // 3 mm on 250 mm, 6 mm on 500 mm: common practice for 0.6 % of strain.
    for (const double thickness : {3.0, 6.0}) {
        d.settings.stocks.at(panel.part.stock).thickness_mm = thickness;
        panel.bend_radius_mm = thickness / 3 * 250 + 0.1;
        CHECK(check_panel_bend(d).front().verdict == Verdict::pass);
        panel.bend_radius_mm = thickness / 3 * 250 - 0.1;
        const Check fails = check_panel_bend(d).front();
        CHECK(fails.verdict == Verdict::fail);
        d.settings.stocks.at(panel.part.stock).thickness_mm = number_in(fails.advice, "at most ([\\d.]+) mm");
        CHECK(check_panel_bend(d).front().verdict == Verdict::pass);
    }
}
