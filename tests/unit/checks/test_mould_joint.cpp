// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/mould_joint.hpp"
#include "support/sample_design.hpp"

using namespace cradlewright;

namespace {

MouldJoint joint_of(Design d, MouldUse use) {
    d.settings.mould.use = use;
    return plan_mould_joint(d.parting, d.flange, d.beads, d.settings);
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

TEST_CASE("bolts stand on the flange, clear of clay and rim, no further apart than said", "[checks][mould]") {
    const Design d = test::sample_design();  // a rectangle of 600 x 200: 1600 mm of line, panels 60 wide
    for (const MouldUse use : {MouldUse::trim_and_bond, MouldUse::join_in_mould}) {
        const MouldJoint joint = joint_of(d, use);
        const double spacing = use == MouldUse::trim_and_bond ? 250 : 150;
        CHECK(joint.spacing_mm == spacing);
        CHECK(joint.bolts.size() == static_cast<std::size_t>(std::ceil(1600 / spacing)));
        for (const FlangeBolt& bolt : joint.bolts) {
            const FlangePanel& panel = *std::ranges::find(d.flange.panels, bolt.panel, &FlangePanel::id);
            const Vec3 flat = panel.part.frame.to_local(bolt.at);
            CHECK(flat.z == Approx(0).margin(1e-9));
            // The bead's foot is 10 mm out, the rim 60: the middle of what is left.
            CHECK(flat.y == Approx(35));
            CHECK(contains(offset(to_polygons(panel.part.outline), -12), Vec2{flat.x, flat.y}));
            CHECK(norm(bolt.axis - panel.normal) < 1e-12);
        }
    }
    CHECK(joint_of(d, MouldUse::single).bolts.empty());
}

TEST_CASE("each use says where the part ends", "[checks][mould]") {
    const Design d = test::sample_design();
    CHECK_THAT(joint_of(d, MouldUse::single).trim, Catch::Contains("trim line"));
    CHECK_THAT(joint_of(d, MouldUse::trim_and_bond).trim, Catch::Contains("20 mm"));
    CHECK_THAT(joint_of(d, MouldUse::join_in_mould).trim, Catch::Contains("groove"));  // the bead is told
    CHECK(joint_of(test::unparted_design(), MouldUse::single).trim.empty());
}
