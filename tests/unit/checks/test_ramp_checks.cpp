// SPDX-License-Identifier: GPL-3.0-or-later
// Plies at ramps, and the spread of cloth, on designs whose radii are known on paper.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <regex>

#include "checks/families.hpp"
#include "cradlewright/mechanics/ramp_bend.hpp"
#include "support/sample_design.hpp"

using namespace cradlewright;

namespace {

/// The sample design with a ramp of 45 deg up its upright back wall, this high.
Design with_ramp(double height) {
    Design d = test::sample_design();
    d.settings.laminate_mould = {.plies = "glass-300 x1", .gel_coat = Length::mm(0.5)};
    BeadRun run;
    run.edge = "back";
    run.kind = BeadKind::ramp;
    BeadSection section;
    section.joint = {0, -100, 100};
    section.on_panel = section.joint + Vec3{0, -height, 0};
    section.on_plug = section.joint + Vec3{0, 0, height};
    section.corner_rad = std::numbers::pi / 2;
    run.sections = {section};
    d.beads.runs.push_back(run);
    return d;
}

Check ramp_check(const Design& design, bool is_mould) {
    const auto checks = is_mould ? check_bead_mould_plies(design) : check_bead_part_plies(design);
    const auto found = std::ranges::find_if(
        checks, [](const Check& c) { return c.subject.find("ramp of back") != std::string::npos; });
    REQUIRE(found != checks.end());
    return *found;
}

double number_in(const std::string& text, const std::string& pattern) {
    std::smatch match;
    CAPTURE(text, pattern);
    REQUIRE(std::regex_search(text, match, std::regex(pattern)));
    return std::stod(match[1]);
}

}  // namespace

TEST_CASE("unfilled bends of a ramp are judged as the radius that leaves half a millimetre", "[checks][ramp]") {
    const double height = GENERATE(2.0, 4.0, 12.0);
    Design d = with_ramp(height);
    d.settings.bead.corner_fill = "0 mm";
    const double wanted = valley_radius_mm({height * std::numbers::sqrt2, std::numbers::pi / 4, std::numbers::pi / 4});
    const Check fails = ramp_check(d, true);
    CHECK(fails.value.value == Approx(wanted));
    CHECK(fails.verdict == Verdict::fail);  // at most 6.1 mm, of the 9.5 that 0.75 x 12.7 asks for
    CHECK(fails.at->y == Approx(-100));
    const double fill = number_in(fails.advice, "bead.corner-fill to ([\\d.]+) mm");
    d.settings.bead.corner_fill = std::to_string(fill) + " mm";
    const Check passes = ramp_check(d, true);
    CHECK(passes.value.value == Approx(fill));
    CHECK(passes.verdict == Verdict::pass);
}

TEST_CASE("auto fills a ramp's bends as far as the mould's plies ask, and not where they follow", "[checks][ramp]") {
    Design d = with_ramp(4);
    const Check filled = ramp_check(d, true);
    CHECK(filled.verdict == Verdict::pass);
    CHECK(filled.value.value == Approx(13));  // glass-300: 12.7, to the next half millimetre
    CHECK(filled.advice.find("resin paste") != std::string::npos);
    set_setting(d.settings, "cloth.glass-300.class-radius", "4 mm", Origin::job, "test");
    const Check bare = ramp_check(d, true);
    CHECK(bare.verdict == Verdict::pass);
    CHECK(bare.value.value < 6.1);
    CHECK(bare.advice.find("paste") == std::string::npos);
}

TEST_CASE("part plies over a ramp's ridges need a third of the class radius", "[checks][ramp]") {
    Design d = with_ramp(12);
    d.settings.laminate_part.plies = "glass-300 x1";
    const Check passes = ramp_check(d, false);
    CHECK(passes.value.value == Approx(0.5 / (1 - std::cos(std::numbers::pi / 8))));
    CHECK(passes.verdict == Verdict::pass);  // 6.57 of 4.23 mm
    d.settings.laminate_part.plies = "roving-600 x1";
    const Check roving = ramp_check(d, false);
    CHECK(roving.verdict == Verdict::marginal);  // 25 / 3 = 8.33 mm to pass, 6.25 not to fail
    CHECK(roving.advice.find("edge.back.bead to round") != std::string::npos);
}

TEST_CASE("low and high of a ply check hold the spread of the class radius", "[checks][bead]") {
    Design d = test::sample_design();
    d.beads.radius_mm = 13;
    d.settings.laminate_mould = {.plies = "glass-300 x1"};
    Cloth& cloth = d.settings.cloths.at("glass-300");
    cloth.class_radius_low_mm = 10;
    cloth.class_radius_mm = 12;
    cloth.class_radius_high_mm = 14;
    const Check c = check_bead_mould_plies(d).front();
    CHECK(c.value.value == 13);
    CHECK(c.low.value == Approx(13 * 12.0 / 14));
    CHECK(c.high.value == Approx(13 * 12.0 / 10));
    CHECK(c.verdict == Verdict::marginal);
    CHECK(c.advice.find("overhang test") != std::string::npos);
    d.beads.radius_mm = number_in(c.advice, "bead.radius to ([\\d.]+) mm");
    CHECK(d.beads.radius_mm == Approx(14));
    CHECK(check_bead_mould_plies(d).front().verdict == Verdict::pass);
    // The builder's own test decides in its place, either way.
    d.beads.radius_mm = 13;
    set_setting(d.settings, "cloth.glass-300.overhang", "80 mm", Origin::job, "test");
    CHECK(check_bead_mould_plies(d).front().verdict == Verdict::pass);
    set_setting(d.settings, "cloth.glass-300.overhang", "150 mm", Origin::job, "test");
    CHECK(check_bead_mould_plies(d).front().verdict == Verdict::fail);
}
