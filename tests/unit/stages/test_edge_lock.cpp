// SPDX-License-Identifier: GPL-3.0-or-later
// Locks of a mould's edge whose depth is known on paper. Derivations: src/stages/edge_lock.md.
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "support/edge_rig.hpp"

using namespace cradlewright;
using test::EdgeRig;

namespace {

constexpr double r = 50;
constexpr double degree = std::numbers::pi / 180;
// 720 flats round r = 50 lie 0.0005 mm inside it; heights tried every quarter millimetre miss the widest by 1/8.
constexpr double exact_mm = 0.0005 + 0.125 * 0.125 / (2 * r);

TriMesh cylinder() { return test::make_elliptic_cylinder(r, r, 300, 720, 4); }

EdgeLock only(const EdgeRig& rig) {
    const auto locks = rig.locks();
    REQUIRE(locks.size() == 1);
    return locks.front();
}

/// What a mould that shrinks most still grips with after the wedges' lift, on a place of the cylinder with this draft.
double most_grip_mm(const EdgeRig& rig, double draft_rad) {
    const double shrunk = rig.shrinkage().high * r * std::cos(draft_rad);
    return std::max(0.0, shrunk - rig.settings.release.wedge_lift.mm() * std::tan(draft_rad));
}

}  // namespace

TEST_CASE("a bare line past the widest place is locked by r (1 - cos u / r)", "[edge-lock]") {
    const double angle = GENERATE(3.0, 6.0, 10.0) * degree;
    EdgeRig rig(cylinder());
    rig.settings.edges["front"].overrun = Length::mm(r * angle);
    rig.add_straight("front", EdgeRule::overrun, {r * std::cos(angle), -r * std::sin(angle)});
    const EdgeLock lock = only(rig);
    CHECK(lock.overrun_mm == Approx(r * (1 - std::cos(angle))).margin(exact_mm));
    CHECK(lock.bead_mm == 0);
    CHECK(lock.split_mm == 0);
    // Below the widest line the wall reaches out as the mould rises: the whole shrinkage holds.
    CHECK(lock.shrinkage_mm == Approx(rig.shrinkage().value * r * std::cos(angle)).epsilon(1e-4));
    CHECK(lock.depth_mm.value == Approx(lock.overrun_mm + lock.shrinkage_mm));
    CHECK(lock.depth_mm.high - lock.depth_mm.low ==
          Approx((rig.shrinkage().high - rig.shrinkage().low) * r * std::cos(angle)).epsilon(1e-4));
    CHECK(lock.holds == LockCause::overrun);
    // With nothing left to pass, the whole overrun must go.
    rig.settings.release.undercut_limit = Length::mm(0);
    CHECK(only(rig).arc_back_mm == Approx(r * angle).margin(0.3));
}

TEST_CASE("half 2 keeps what half 1 overruns, and is free there", "[edge-lock]") {
    const double angle = 6 * degree;
    EdgeRig rig(cylinder());
    rig.settings.mould.use = MouldUse::trim_and_bond;
    rig.add_straight("front", EdgeRule::overrun, {r * std::cos(angle), -r * std::sin(angle)});
    const auto locks = rig.locks();
    REQUIRE(locks.size() == 2);
    CHECK(locks[1].half == 2);
    CHECK(locks[1].overrun_mm == 0);
    CHECK(locks[1].depth_mm.value == 0);
    // Over a millimetre of lift the draft of a round wall grows by 1 mm / r = 1.1 deg: 0.02 mm more is drawn in.
    CHECK(locks[1].depth_mm.high == Approx(most_grip_mm(rig, angle)).margin(0.02));
    CHECK(locks[1].holds == LockCause::none);
}

TEST_CASE("a bead hides part of the arc: (r + R)(1 - cos d) is left", "[edge-lock]") {
    const double below = GENERATE(2.0, 5.0) * degree, ball = GENERATE(2.0, 10.0);
    CAPTURE(below, ball);
    EdgeRig rig(cylinder());
    rig.add_bead_on_cylinder("front", r, ball, below, 4);
    const EdgeLock lock = only(rig);
    const double panel = std::asin(((r + ball) * std::sin(below) + ball) / r);
    const double left = (r + ball) * (1 - std::cos(below));
    CHECK(lock.overrun_mm == Approx(r * (1 - std::cos(panel))).margin(exact_mm));
    CHECK(lock.bead_mm == Approx(left - r * (1 - std::cos(panel))).margin(2 * exact_mm));
    CHECK(lock.overhang_mm() == Approx(left).margin(exact_mm));
    CHECK(lock.rise_mm == Approx(r * std::sin(below)).margin(0.25));
}

TEST_CASE("where the bead's tangent has draft nothing is left of an overrun", "[edge-lock]") {
    EdgeRig rig(cylinder());
    rig.add_bead_on_cylinder("front", r, 10, -0.05, 12);
    const EdgeLock lock = only(rig);
    CHECK(lock.overrun_mm > 0.4);
    CHECK(lock.bead_mm == Approx(-lock.overrun_mm));
    CHECK(lock.depth_mm.value == 0);
    CHECK(lock.depth_mm.high == Approx(most_grip_mm(rig, 0.05)).margin(0.02));
    CHECK(lock.holds == LockCause::none);
}

TEST_CASE("a split strip that leans against a half locks it by its share", "[edge-lock]") {
    test::CutOffPlate plate;
    plate.strip = 6;
    plate.lean_rad = -GENERATE(4.0, 12.0) * degree;
    const double share = GENERATE(0.3, 0.5, 0.8);
    CAPTURE(plate.lean_rad, share);
    EdgeRig rig(test::make_cut_off_plate(plate));
    rig.settings.mould.use = MouldUse::trim_and_bond;
    const double z = plate.strip * (0.5 - share), tangent = std::tan(plate.lean_rad);
    rig.add_straight("back", EdgeRule::split, {-plate.chord / 2 + z * tangent, z},
                     plate.strip / std::cos(plate.lean_rad));
    const auto locks = rig.locks();
    REQUIRE(locks.size() == 2);
    const double depth = share * plate.strip * -tangent;
    // The upper corner lies between two heights; there the outline turns by nearly a right angle.
    CHECK(locks[0].split_mm == Approx(depth).margin(0.25 * std::abs(tangent) + 1e-6));
    CHECK(locks[0].overrun_mm == 0);
    CHECK(locks[0].holds == LockCause::split);
    CHECK(locks[1].split_mm == Approx(0).margin(1e-9));
    CHECK(locks[1].holds != LockCause::split);
}

TEST_CASE("upright walls are gripped by shrinkage times half the width", "[edge-lock]") {
    EdgeRig rig(test::make_box({240, 100, 50}));
    rig.add_straight("front", EdgeRule::silhouette, {50, 0});
    const EdgeLock lock = only(rig);
    CHECK(lock.overhang_mm() == Approx(0).margin(1e-9));
    CHECK(lock.shrinkage_mm == Approx(50 * rig.shrinkage().value));
    CHECK(lock.depth_mm.low == Approx(50 * rig.shrinkage().low));
    CHECK(lock.depth_mm.high == Approx(50 * rig.shrinkage().high));
    CHECK(lock.holds == LockCause::shrinkage);
    rig.settings.mould.resin_shrinkage = 0.01;
    const double calmer = only(rig).depth_mm.value;
    rig.settings.mould.resin_shrinkage = 0.05;
    CHECK(only(rig).depth_mm.value > 4.9 * calmer);
}

TEST_CASE("a cone frees itself within the wedges' lift", "[edge-lock]") {
    const double draft = GENERATE(0.5, 3.0, 11.3) * degree, base = 60, height = 80;
    EdgeRig rig(test::make_cone(base, base - height * std::tan(draft), height, 720));
    rig.settings.mould.resin_shrinkage = 0.13;  // polyester at its worst
    const double at = 20, radius = base - at * std::tan(draft);
    rig.add_circle(radius, at);
    const double lift = GENERATE(0.5, 1.0, 8.0);
    rig.settings.release.wedge_lift = Length::mm(lift);
    CAPTURE(draft, lift);
    const EdgeLock lock = only(rig);
    const double left = rig.shrinkage().value * radius - lift * std::tan(draft);
    CHECK(lock.drop_mm == Approx(lift * std::tan(draft)).epsilon(1e-3));
    CHECK(lock.depth_mm.value == Approx(std::max(0.0, left)).margin(2e-3));
    CHECK((lock.holds == LockCause::shrinkage) == (left > 0));
}

TEST_CASE("a mould in a hole shrinks off the plug, which takes from an overrun", "[edge-lock]") {
    const double major = 100, tube = 30, below = 8 * degree;
    EdgeRig rig(test::make_torus(major, tube, 720, 720));
    rig.add_circle(major - tube * std::cos(below), -tube * std::sin(below), -1);
    const EdgeLock lock = only(rig);
    const double out = tube * (1 - std::cos(below)), off = rig.shrinkage().value * (major - tube * std::cos(below));
    CHECK(lock.overrun_mm == Approx(out).margin(2e-3));
    CHECK(lock.shrinkage_mm == Approx(-std::min(out, off)).margin(2e-3));
    CHECK(lock.depth_mm.value == Approx(out - off).margin(4e-3));
    CHECK(lock.depth_mm.low <= lock.depth_mm.value);
    CHECK(lock.depth_mm.value <= lock.depth_mm.high);
}
