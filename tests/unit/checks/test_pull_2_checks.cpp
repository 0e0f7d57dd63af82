// SPDX-License-Identifier: GPL-3.0-or-later
// Flange, pegs and advice where half 2 has a pull of its own.
#include <catch2/catch.hpp>
#include <cmath>
#include <regex>

#include "checks/families.hpp"
#include "support/sample_design.hpp"

namespace cradlewright {
namespace {

/// Down, leaning by `deg` toward +y.
void lean(Design& design, double deg) {
    const double a = Angle::deg(deg).rad();
    Pose& pose = design.posed.pose;
    pose.pull2_fixture = pose.pull2_plug = pose.pull2_scan = {0, std::sin(a), -std::cos(a)};
}

/// One panel that falls by `slope_deg` toward -y, so that its normal leans there.
Design with_panel(double slope_deg) {
    Design design = test::sample_design();
    const double a = Angle::deg(slope_deg).rad();
    design.flange.panels.resize(1);
    design.flange.panels.front().normal = {0, -std::sin(a), std::cos(a)};
    design.hardware.items.clear();
    return design;
}

Check flange(const Design& design) { return check_release_flange(design).front(); }

}  // namespace

// Angle of a plane to a direction is 90 deg less that of its normal; all lie in one plane here. Source: derived.
TEST_CASE("release.flange is judged along both pulls and their difference", "[checks][pull-2]") {
    Design design = with_panel(0);
    CHECK(Angle::rad(flange(design).value.value).deg() == Approx(90));
    lean(design, 30);
    CHECK(Angle::rad(flange(design).value.value).deg() == Approx(60));
    // Leaning the way the panel's normal leans away from: the angles add for half 2's pull.
    design = with_panel(20);
    CHECK(Angle::rad(flange(design).value.value).deg() == Approx(70));
    lean(design, 30);
    // -(pull 2) leans 30 deg toward -y, the normal 20 deg: 10 deg apart, so half 1's pull binds.
    CHECK(Angle::rad(flange(design).value.value).deg() == Approx(70));
    lean(design, -30);
    CHECK(Angle::rad(flange(design).value.value).deg() == Approx(40));
    CHECK(flange(design).verdict == Verdict::pass);
    // The difference lies between the two, so it never binds alone: 20 + 15 deg here.
    CHECK(std::asin(dot(design.flange.panels.front().normal, design.posed.pose.opening_fixture())) ==
          Approx(Angle::deg(55).rad()));
}

TEST_CASE("release.flange names a pull 2 that lets the flange go", "[checks][pull-2]") {
    Design design = with_panel(20);
    lean(design, -68);  // 2 deg left
    const Check failed = flange(design);
    CHECK(Angle::rad(failed.value.value).deg() == Approx(2));
    CHECK(failed.verdict == Verdict::fail);
    std::smatch found;
    const std::regex words("set pose\\.pull-2 to (-?[\\d.]+),(-?[\\d.]+),(-?[\\d.]+)");
    REQUIRE(std::regex_search(failed.advice, found, words));
    const Vec3 pull = normalized(Vec3{std::stod(found[1]), std::stod(found[2]), std::stod(found[3])});
    design.posed.pose.pull2_fixture = pull;
    CHECK(flange(design).verdict == Verdict::pass);
    CHECK(pull.y < 0);  // it leans the same way, less
    CHECK(Angle::rad(design.posed.pose.pulls_lean_rad()).deg() > 60);
}

TEST_CASE("locators' axes halve the pulls, and their flanks must draft toward both", "[checks][pull-2]") {
    Design design = test::sample_design();
    const auto place = [&] {
        design.hardware = place_hardware(design.posed, design.parting, design.flange, design.cradle, design.beads,
                                         design.joint, design.settings);
    };
    const auto pegs = [&] { return check_release_flange(design).back(); };
    place();
    CHECK(pegs().subject == "pegs in their sockets");
    CHECK(pegs().value.value == Approx(design.settings.mould.locator_draft.rad()));
    lean(design, 7);
    place();
    std::size_t locators = 0;
    for (const HardwareItem& item : design.hardware.items) {
        if (item.kind != HardwareKind::locator) continue;
        ++locators;
        CHECK(angle_between(item.axis, design.posed.pose.pull_fixture) == Approx(Angle::deg(3.5).rad()));
        CHECK(angle_between(item.axis, -design.posed.pose.pull2_fixture) == Approx(Angle::deg(3.5).rad()));
    }
    CHECK(locators >= 3);
    // 5 deg of flank, half of 7 deg off either way: 1.5 deg left of the 1 deg that release.min-draft asks.
    CHECK(Angle::rad(pegs().value.value).deg() == Approx(1.5));
    CHECK(pegs().verdict == Verdict::pass);
    lean(design, 9);
    CHECK(Angle::rad(pegs().value.value).deg() == Approx(0.5));
    CHECK(pegs().verdict == Verdict::fail);
    CHECK_THAT(pegs().advice, Catch::Contains("set mould.locator-draft to 5.5 deg") && Catch::Contains("pose.pull-2"));
    design.settings.mould.locator_draft = Angle::deg(5.5);
    place();
    CHECK(pegs().verdict == Verdict::pass);
}

TEST_CASE("release.draft of half 2 names the pull that would give it enough", "[checks][pull-2]") {
    Design design = test::sample_design();
    design.release.half2.draft_p01_deg = 0.5;
    design.release.best2 = {{0, 0.1, -0.995}, 11.2, true, 0.5, {}};
    const auto advice = [&] { return check_release_draft(design).back().advice; };
    CHECK_THAT(advice(), Catch::Contains("set pose.pull-2 to 0.000,0.100,-0.995") && Catch::Contains("11.2 deg"));
    design.release.best2.draft_deg = 2.9;  // not enough to pass: not worth naming
    CHECK_THAT(advice(), !Catch::Contains("pose.pull-2"));
    design.release.best2 = {{0, 1, 0}, 11.2, true, 0.5, {}};  // half 1 is in its way
    CHECK_THAT(advice(), !Catch::Contains("pose.pull-2"));
}

}  // namespace cradlewright
