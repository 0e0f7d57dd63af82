// SPDX-License-Identifier: GPL-3.0-or-later
// release.lock on edges whose lock is known on paper: verdicts, and advice that is enough when followed.
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <regex>

#include "checks/families.hpp"
#include "support/edge_rig.hpp"
#include "support/sample_design.hpp"

using namespace cradlewright;
using test::EdgeRig;

namespace {

constexpr double degree = std::numbers::pi / 180;

double number_in(const std::string& text, const std::string& pattern) {
    std::smatch match;
    CAPTURE(text, pattern);
    REQUIRE(std::regex_search(text, match, std::regex(pattern)));
    return std::stod(match[1]);
}

Design design_of(const EdgeRig& rig) {
    Design d;
    d.settings = rig.settings;
    d.posed = rig.posed;
    d.parting = rig.parting;
    d.flange = rig.flange;
    d.beads = rig.beads;
    d.locks = rig.locks();
    return d;
}

Check lock_of(const EdgeRig& rig) {
    const auto checks = check_release_lock(design_of(rig));
    REQUIRE(checks.size() == 1);
    return checks.front();
}

EdgeRig overrun_rig(double overrun_mm, double r = 50) {
    EdgeRig rig(test::make_elliptic_cylinder(r, r, 300, 720, 4));
    rig.settings.edges["front"].overrun = Length::mm(overrun_mm);
    rig.add_straight("front", EdgeRule::overrun, {r * std::cos(overrun_mm / r), -r * std::sin(overrun_mm / r)});
    return rig;
}

EdgeRig split_rig(double share) {
    test::CutOffPlate plate;
    plate.strip = 6;
    plate.lean_rad = -12 * degree;
    EdgeRig rig(test::make_cut_off_plate(plate));
    rig.settings.edges["back"].split = share;
    const double z = plate.strip * (0.5 - share), tangent = std::tan(plate.lean_rad);
    rig.add_straight("back", EdgeRule::split, {-plate.chord / 2 + z * tangent, z},
                     plate.strip / std::cos(plate.lean_rad));
    return rig;
}

}  // namespace

TEST_CASE("release.lock is judged just inside and just outside its limit", "[checks][lock]") {
    EdgeRig rig = overrun_rig(6);
    const Check c = lock_of(rig);
    CHECK(c.subject == "half 1, front");
    const double bare = 50 * (1 - std::cos(6.0 / 50));
    CHECK(c.value.value == Approx(bare + rig.shrinkage().value * 50 * std::cos(6.0 / 50)).margin(1e-3));
    rig.settings.release.undercut_limit = Length::mm(1.001 * c.high.value);
    CHECK(lock_of(rig).verdict == Verdict::pass);
    rig.settings.release.undercut_limit = Length::mm(0.999 * c.value.value);
    CHECK(lock_of(rig).verdict == Verdict::fail);
    rig.settings.release.undercut_limit = Length::mm((c.value.value + c.high.value) / 2);
    CHECK(lock_of(rig).verdict == Verdict::marginal);
}

TEST_CASE("release.lock names the overrun and how much is let pass", "[checks][lock]") {
    const Check fails = lock_of(overrun_rig(8));
    CHECK(fails.verdict == Verdict::fail);
    CHECK(fails.advice.starts_with("overrun holds it (overrun 0.64 mm"));
    const double overrun = number_in(fails.advice, "edge.front.overrun to ([\\d.]+) mm");
    CHECK(overrun > 3);
    CHECK(lock_of(overrun_rig(overrun)).verdict == Verdict::pass);
}

TEST_CASE("release.lock asks for a bead whose foot takes in the arc up to the widest line", "[checks][lock]") {
    const double below = GENERATE(8.0, 12.0) * degree, strip = 8;
    EdgeRig rig(test::make_elliptic_cylinder(50, 50, 300, 720, 4));
    rig.add_bead_on_cylinder("front", 50, 10, below, strip);
    const Check fails = lock_of(rig);
    CHECK(fails.verdict == Verdict::fail);
    const double radius = number_in(fails.advice, "bead.radius to ([\\d.]+) mm");
    CHECK(strip * (radius / 10 - 1) >= 50 * below);
}

TEST_CASE("release.lock names the split and the share that passes", "[checks][lock]") {
    const Check fails = lock_of(split_rig(0.7));
    CHECK(fails.verdict == Verdict::fail);
    CAPTURE(fails.advice);
    // Its share of the strip leans out by 0.7 x 6 mm tan 12 deg; the outline is met every quarter of a millimetre.
    CHECK(number_in(fails.advice, "split holds it \\(split ([\\d.]+) mm") ==
          Approx(0.7 * 6 * std::tan(12 * degree)).margin(0.25 * std::tan(12 * degree)));
    const double share = number_in(fails.advice, "edge.back.split to ([\\d.]+)");
    CHECK(share > 0.05);
    CHECK(lock_of(split_rig(share)).verdict == Verdict::pass);
}

TEST_CASE("release.lock names the shrinkage, the resin and the draft that pass", "[checks][lock]") {
    EdgeRig rig(test::make_box({240, 100, 50}));
    rig.settings.mould.resin_shrinkage = 0.1;
    rig.add_straight("front", EdgeRule::silhouette, {50, 0});
    rig.settings.release.undercut_limit = Length::mm(0.5 * 50 * rig.shrinkage().value);
    const Check fails = lock_of(rig);
    CHECK(fails.verdict == Verdict::fail);
    CHECK(fails.advice.starts_with("shrinkage holds it (shrinkage"));
    const double draft = number_in(fails.advice, "([\\d.]+) deg of draft") * degree;
    EdgeRig leaning(test::make_cone(50, 50 - 40 * std::tan(draft), 40, 720));
    leaning.settings = rig.settings;
    leaning.add_circle(50 - std::tan(draft), 1);
    CHECK(lock_of(leaning).verdict == Verdict::pass);
    rig.settings.mould.resin_shrinkage = number_in(fails.advice, "at most ([\\d.]+) %") / 100;
    CHECK(lock_of(rig).verdict == Verdict::pass);
}

TEST_CASE("release.lock is unknown without a line or a bead's place", "[checks][lock]") {
    CHECK(check_release_lock(test::unparted_design()).front().verdict == Verdict::unknown);
    Design d = test::sample_design();
    d.locks.clear();
    CHECK(check_release_lock(d).front().verdict == Verdict::unknown);
}
