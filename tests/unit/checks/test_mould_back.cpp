// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "checks/families.hpp"

namespace cradlewright {
namespace {

/// A half on a stand of 200 x 100 mm whose centre of mass is `height` up over its middle.
Design standing(double height, double plug_kg = std::numeric_limits<double>::quiet_NaN()) {
    Design design;
    design.posed.plug.mass_kg = plug_kg;
    BackHalf half;
    half.footprint = {{-100, -50}, {100, -50}, {100, 50}, {-100, 50}};
    half.centre = {0, 0, height};
    half.laminate_kg = 1;
    half.plates.emplace_back();
    design.back.halves.push_back(half);
    return design;
}

}  // namespace

// A body tips over an edge of its support when its centre of mass stands over it: tan a = b / h. Source: statics.
TEST_CASE("mould.stand-tip: inside and outside ten degrees", "[checks][mould-back]") {
    const double limit = Angle::deg(10).rad();
    // 2 % of 100 mm is in doubt either way.
    const double safe = 48 / std::tan(limit), unsafe = 50 / std::tan(limit);
    const auto check = [](double height) { return check_mould_stand_tip(standing(height)).front(); };
    CHECK(check(safe - 1).verdict == Verdict::pass);
    CHECK(check(safe + 1).verdict == Verdict::marginal);
    CHECK(check(unsafe + 1).verdict == Verdict::fail);
    CHECK(check(unsafe).value.value == Approx(limit));
    CHECK(check(safe).low.value == Approx(limit));
}

TEST_CASE("mould.stand-tip counts the plug while half 2 is laid on half 1", "[checks][mould-back]") {
    Design design = standing(100, 3);
    design.posed.plug.mass_properties.centroid = {0, 0, 500};
    CHECK(check_mould_stand_tip(design).size() == 2);  // a single mould is never laid on; and its rim
    design.back.halves.push_back(design.back.halves.front());
    const std::vector<Check> checks = check_mould_stand_tip(design);
    REQUIRE(checks.size() == 5);
    // (1 x 100 + 3 x 500) / 4 = 400 mm up.
    CHECK(checks[2].value.value == Approx(std::atan2(50, 400)));
    CHECK(checks[2].verdict == Verdict::fail);
}

// Moments about the footprint's edge: a rim 30 mm outside it, the centre 50 mm inside. Source: statics.
TEST_CASE("mould.stand-tip tells of a hand on the rim, and of the clamp that cures it", "[checks][mould-back]") {
    Design design = standing(40);
    BackHalf& half = design.back.halves.front();
    half.rim = {{-100, -80}, {100, -80}, {100, 80}, {-100, 80}};
    const auto rim = [&] { return check_mould_stand_tip(design).back(); };
    const double tips_n = 9.80665 * 50 / 30;
    CHECK(rim().subject == "half 1, a hand on its rim");
    CHECK(rim().value.value == Approx(tips_n));
    CHECK(rim().low.value == Approx(9.80665 * 48 / 30));  // 2 % of 100 mm off
    CHECK(rim().high.value <= tips_n);                    // whichever way the centre lies, one edge is nearer
    CHECK(rim().verdict == Verdict::marginal);
    CHECK_THAT(rim().advice, Catch::Contains("mould.stand-clamp to yes"));
    design.settings.limits.hand_load = Force::n(9.80665 * 48 / 30 - 0.1);
    CHECK(rim().verdict == Verdict::pass);
    design.settings.limits.hand_load = Force::n(50);
    half.laminate_kg = 50 * 30 / 48.0 / 9.80665 + 0.01;  // heavy enough
    CHECK(rim().verdict == Verdict::pass);
    half.laminate_kg = 1;
    design.settings.mould.stand_clamp = "yes";
    CHECK(rim().verdict == Verdict::not_applicable);
}

TEST_CASE("mould.stand-tip says why it cannot tell", "[checks][mould-back]") {
    Design design = standing(100);
    design.back.halves.front().trouble = "no clean surface";
    CHECK(check_mould_stand_tip(design).front().verdict == Verdict::unknown);
    design.back.halves.clear();
    design.back.reason = "mould.back is no";
    const Check none = check_mould_stand_tip(design).front();
    CHECK(none.verdict == Verdict::not_applicable);
    CHECK(none.advice == "mould.back is no");
}

// Long plate between simple supports: dip goes with the square of its width. Source: key "timoshenko-plates", Table 23.
TEST_CASE("mould.stiffness judges the shell between the plates as they stand", "[checks][mould-back]") {
    Design design = standing(50);
    design.posed.box_fixture = {{0, 0, 0}, {900, 600, 80}};
    const auto dip = [&](double free_width) {
        design.back.halves.front().free_width_mm = free_width;
        return check_mould_stiffness(design).back().value.value;
    };
    CHECK(dip(200) == Approx(4 * dip(100)));
    design.back = {};
    design.settings.mould.back = "no";
    const double whole = check_mould_stiffness(design).back().value.value;
    design.back = standing(50).back;
    CHECK(whole == Approx(36 * dip(100)));  // 600 mm
}

}  // namespace cradlewright
