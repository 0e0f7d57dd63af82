// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>

#include "cradlewright/stages/mould_joint.hpp"
#include "support/sample_design.hpp"

using namespace cradlewright;

namespace {

MouldJoint joint_of(Design d, MouldUse use) {
    d.settings.mould.use = use;
    return plan_mould_joint(d.parting, d.beads, d.settings);
}

}  // namespace

TEST_CASE("what the mould is for sets the flange's width, unless told", "[checks][mould]") {
    const auto width = [](MouldUse use, bool is_told) {
        Settings settings;
        settings.mould.use = use;
        if (is_told) set_setting(settings, "flange.width", "51mm", Origin::job, "test");
        return settings_for_use(settings).flange.width.mm();
    };
    // Common practice: 40 to 75 mm.
    CHECK(width(MouldUse::single, false) == Approx(40));
    CHECK(width(MouldUse::trim_and_bond, false) == Approx(60));
    CHECK(width(MouldUse::join_in_mould, false) == Approx(75));
    for (const MouldUse use : {MouldUse::single, MouldUse::trim_and_bond, MouldUse::join_in_mould})
        CHECK(width(use, true) == Approx(51));
}

TEST_CASE("each use says how far bolts are apart and where the part ends", "[checks][mould]") {
    const Design d = test::sample_design();
    CHECK(joint_of(d, MouldUse::single).bolt_spacing_mm == 0);
    CHECK(joint_of(d, MouldUse::trim_and_bond).bolt_spacing_mm == 250);
    CHECK(joint_of(d, MouldUse::join_in_mould).bolt_spacing_mm == 150);
    CHECK_THAT(joint_of(d, MouldUse::single).trim, Catch::Contains("trim line"));
    CHECK_THAT(joint_of(d, MouldUse::trim_and_bond).trim, Catch::Contains("20 mm"));
    CHECK_THAT(joint_of(d, MouldUse::join_in_mould).trim, Catch::Contains("groove"));  // the bead is told
    CHECK(joint_of(test::unparted_design(), MouldUse::trim_and_bond).trim.empty());
}
