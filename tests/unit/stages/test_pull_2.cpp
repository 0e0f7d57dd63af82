// SPDX-License-Identifier: GPL-3.0-or-later
// Half 2 along a pull of its own: drafts, best pull and locks whose values are known on paper.
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "support/edge_rig.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using Catch::Detail::Approx;

namespace {

constexpr double degree = std::numbers::pi / 180;
constexpr double big = 100, small = 80, height = 50;  // of the block
const double flank_deg = std::atan((big - small) / 2 / height) / degree;

/// A square block that hangs under its large face, which is half 1's: the four flanks and the small face are half 2's.
/// `lean`: how far its middle moves toward +y for each mm down, so that its flanks there and opposite differ.
TriMesh hanging_block(double lean = 0) {
    TriMesh mesh = test::make_pyramid(big, small, height);
    for (Vec3& p : mesh.vertices) p = {p.x, -p.y + lean * p.z, -p.z};  // half a turn about x, then sheared
    return mesh;
}
/// Every face in four: so few as a block has are taken for noise where they lock.
TriMesh in_four(const TriMesh& mesh) {
    TriMesh finer;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(f);
        const std::array<Vec3, 3> middle{(c[0] + c[1]) * 0.5, (c[1] + c[2]) * 0.5, (c[2] + c[0]) * 0.5};
        const std::array<std::array<Vec3, 3>, 4> faces{{{c[0], middle[0], middle[2]},
                                                        {middle[0], c[1], middle[1]},
                                                        {middle[2], middle[1], c[2]},
                                                        {middle[0], middle[1], middle[2]}}};
        for (const auto& face : faces) {
            const auto first = static_cast<VertexId>(finer.vertices.size());
            finer.vertices.insert(finer.vertices.end(), face.begin(), face.end());
            finer.triangles.push_back({first, first + 1, first + 2});
        }
    }
    return finer;
}

struct Half2 {
    PosedPlug posed;
    ReleaseMap map;
    Parting parting;
    Release release;
    explicit Half2(TriMesh mesh, const std::string& pull_2) {
        PoseOptions options;
        options.up = "z", options.span = "x", options.pull_2 = pull_2;
        posed = pose_plug(test::plug_of(std::move(mesh)), options, 70);
        map = map_release(posed);
        parting = find_parting(posed, map);
        release = measure_release(posed, map, parting, {});
    }
};

/// Down, leaning toward +y.
std::string leaning(double deg) {
    return "0," + std::to_string(std::sin(deg * degree)) + "," + std::to_string(-std::cos(deg * degree));
}

}  // namespace

TEST_CASE("pull 2 is the opposite unless told, and never within 90 deg of the pull", "[stages][pull-2]") {
    const Plug plug = test::plug_of(hanging_block());
    PoseOptions options;
    options.up = "z", options.span = "x";
    const Pose plain = pose_plug(plug, options, 70).pose;
    CHECK(norm(plain.pull2_fixture + plain.pull_fixture) < 1e-12);
    CHECK_FALSE(plain.has_own_pull_2());
    CHECK(norm(plain.opening_fixture() - plain.pull_fixture) < 1e-12);
    // The opening is the difference of the pulls: it halves the angle between them.
    options.pull_2 = leaning(8);
    const Pose told = pose_plug(plug, options, 70).pose;
    CHECK(told.has_own_pull_2());
    CHECK(told.pulls_lean_rad() == Approx(8 * degree).margin(1e-6));
    CHECK(angle_between(told.opening_fixture(), told.pull_fixture) == Approx(4 * degree).margin(1e-6));
    CHECK(angle_between(told.opening_fixture(), -told.pull2_fixture) == Approx(4 * degree).margin(1e-6));
    // Told in the plug frame, it is carried by the tilt; `vertical` is not.
    options.tilt = Angle::deg(10);
    CHECK(pose_plug(plug, options, 70).pose.pull2_fixture.y == Approx(std::sin(18 * degree)).margin(1e-6));
    options.pull_2 = "vertical";
    CHECK(pose_plug(plug, options, 70).pose.pull2_fixture.z == -1);
    options.pull_2 = "plug-down";
    CHECK(pose_plug(plug, options, 70).pose.pulls_lean_rad() == Approx(10 * degree));
    options.tilt = {};
    for (const std::string& within :
         {std::string("0,0,1"), leaning(91), std::string("0,1,0"), std::string("1,0,0.2")}) {
        CAPTURE(within);
        options.pull_2 = within;
        CHECK_THROWS_AS(pose_plug(plug, options, 70), Error);
    }
    options.pull_2 = leaning(89);
    CHECK_NOTHROW(pose_plug(plug, options, 70));
}

TEST_CASE("draft of half 2 is its flanks' angle less the lean of its own pull", "[stages][pull-2]") {
    const Half2 plain(hanging_block(), "opposite");
    CHECK(plain.release.half2.draft_p01_deg == Approx(flank_deg).margin(1e-3));
    CHECK(plain.release.draft2_rad.empty());
    // Plane flanks: normal and pull lie in one plane, so angles add.
    const Half2 told(hanging_block(), leaning(5));
    CHECK(told.release.half2.draft_p01_deg == Approx(flank_deg - 5).margin(1e-3));
    CHECK(told.release.half2.undercut_area_mm2 == 0);
    CHECK(told.release.half1.draft_p01_deg == Approx(plain.release.half1.draft_p01_deg));
    CHECK(told.release.best2.told_draft_deg == Approx(flank_deg - 5).margin(1e-3));
    CHECK(told.parting.half == plain.parting.half);  // the line is half 1's
    // Told as the opposite, it is measured as the opposite.
    const Half2 same(hanging_block(), "0,0,-1");
    CHECK(same.release.draft2_rad.empty());
    CHECK(same.release.half2.draft_p01_deg == plain.release.half2.draft_p01_deg);
}

TEST_CASE("a pull 2 that leans more than the flanks is held by one of them", "[stages][pull-2]") {
    const double over_deg = 15 - flank_deg;
    const Half2 told(in_four(in_four(hanging_block())), leaning(15));
    const HalfRelease& half = told.release.half2;
    CHECK(half.draft_p01_deg == Approx(-over_deg).margin(1e-3));
    const double slant = height / std::cos(flank_deg * degree);
    CHECK(half.undercut_area_mm2 == Approx((big + small) / 2 * slant).epsilon(1e-6));
    // The flank leans back by that angle over its own length, which is what must be cleared square to the pull.
    CHECK(half.undercut_depth_mm == Approx(slant * std::sin(over_deg * degree)).margin(0.2));
    CHECK(told.release.half1.undercut_area_mm2 == 0);
}

TEST_CASE("best pull of half 2 halves the angle between the flanks of a leaning block", "[stages][pull-2]") {
    // Lean 0.1: flanks toward +y draw in by 0.1, those opposite by 0.3 for each mm down.
    const double steep = std::atan(0.1) / degree, flat = std::atan(0.3) / degree;
    const Half2 plain(hanging_block(0.1), "opposite");
    CHECK(plain.release.half2.draft_p01_deg == Approx(steep).margin(1e-3));
    const HalfPull& best = plain.release.best2;
    CHECK(best.is_feasible);
    CHECK(best.told_draft_deg == Approx(steep).margin(1e-3));
    CHECK(best.draft_deg == Approx((steep + flat) / 2).margin(1e-3));
    const double way = (flat - steep) / 2 * degree;
    CHECK(angle_between(best.direction_plug, {0, std::sin(way), -std::cos(way)}) < 1e-4);
    // Told so, that is what it has.
    const Half2 told(hanging_block(0.1), leaning(way / degree));
    CHECK(told.release.half2.draft_p01_deg == Approx(best.draft_deg).margin(1e-3));
}

TEST_CASE("half 2 is locked by r (1 - cos f) where its pull leans by f away from a bare silhouette",
          "[edge-lock][pull-2]") {
    constexpr double r = 50, lean = 5 * degree;
    // 720 flats round r = 50 lie 0.0005 mm inside it; heights tried every quarter millimetre miss the widest by 1/8.
    constexpr double exact_mm = 0.0005 + 0.125 * 0.125 / (2 * r);
    const bool is_toward = GENERATE(true, false);
    test::EdgeRig rig(test::make_elliptic_cylinder(r, r, 300, 720, 4));
    rig.settings.mould.use = MouldUse::trim_and_bond;
    rig.add_straight("front", EdgeRule::silhouette, {r, 0});
    CHECK(rig.locks()[1].overrun_mm == Approx(0).margin(exact_mm));
    rig.posed.pose.pull2_fixture = {0, (is_toward ? 1 : -1) * std::sin(lean), -std::cos(lean)};
    const auto locks = rig.locks();
    REQUIRE(locks.size() == 2);
    CHECK(locks[0].overrun_mm == Approx(0).margin(exact_mm));
    // Leaning toward the edge the wall has draft there; leaning away, half 2 must pass the widest place of its own
    // pull.
    CHECK(locks[1].overrun_mm == Approx(is_toward ? 0 : r * (1 - std::cos(lean))).margin(exact_mm));
}
