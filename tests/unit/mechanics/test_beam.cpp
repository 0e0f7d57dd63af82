// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <limits>
#include <numeric>

#include "cradlewright/base/error.hpp"
#include "cradlewright/mechanics/beam.hpp"

using namespace cradlewright;

namespace {

// The independent method: no elements and no stiffness. Moments and shears by statics on the two outer supports; the
// middle support's force from the condition that it stays level; dips from virtual work, all by Simpson's rule on a
// fine grid.
class ForceMethod {
public:
    using Function = std::function<double(double)>;
    ForceMethod(double length, double left, double right, Function ei, Function ga, Function load, PointLoad point)
        : length_(length), left_(left), right_(right), ei_(std::move(ei)), ga_(std::move(ga)) {
        // Resultant of the line load beyond x, and its moment about x, tabulated once.
        const double h = length_ / steps;
        beyond_.assign(steps + 1, 0);
        moment_.assign(steps + 1, 0);
        for (int i = steps - 1; i >= 0; --i) {
            const double a = h * i, q0 = load(a), q1 = load(a + h);
            beyond_[at(i)] = beyond_[at(i + 1)] + h * (q0 + q1) / 2;
            moment_[at(i)] = moment_[at(i + 1)] + h * beyond_[at(i + 1)] + h * h * (q0 + 2 * q1) / 6;
        }
        point_ = point;
    }

    struct Forces {
        std::vector<double> moment, shear;
        double left_force = 0, right_force = 0;
    };
    /// Statics of a unit force down at x on the two supports.
    [[nodiscard]] Forces unit(double x) const { return on_two_supports({x, 1}, 0); }
    [[nodiscard]] Forces all_loads() const { return on_two_supports(point_, 1); }

    /// Virtual work: dip where `unit` stands under the forces `real`.
    [[nodiscard]] double work(const Forces& real, const Forces& unit) const {
        const double h = length_ / steps;
        double sum = 0;
        for (int i = 0; i <= steps; ++i) {
            const double x = h * i, w = i == 0 || i == steps ? 1 : i % 2 == 1 ? 4 : 2;
            sum +=
                w * (real.moment[at(i)] * unit.moment[at(i)] / ei_(x) + real.shear[at(i)] * unit.shear[at(i)] / ga_(x));
        }
        return sum * h / 3;
    }

    struct Answer {
        double middle_force = 0, left_force = 0, right_force = 0;
        Forces forces;
    };
    [[nodiscard]] Answer with_middle_support(double x) const {
        const Forces loads = all_loads(), one = unit(x);
        Answer answer;
        answer.middle_force = work(loads, one) / work(one, one);
        answer.forces = loads;
        for (std::size_t i = 0; i < loads.moment.size(); ++i) {
            answer.forces.moment[i] -= answer.middle_force * one.moment[i];
            answer.forces.shear[i] -= answer.middle_force * one.shear[i];
        }
        answer.left_force = loads.left_force - answer.middle_force * one.left_force;
        answer.right_force = loads.right_force - answer.middle_force * one.right_force;
        return answer;
    }

private:
    static constexpr int steps = 20000;
    static std::size_t at(int i) { return static_cast<std::size_t>(i); }

    [[nodiscard]] Forces on_two_supports(PointLoad point, double own) const {
        Forces f;
        const double about_left = own * (moment_[0] - left_ * beyond_[0]) + point.force_n * (point.x_mm - left_);
        f.right_force = about_left / (right_ - left_);
        f.left_force = own * beyond_[0] + point.force_n - f.right_force;
        const double h = length_ / steps;
        for (int i = 0; i <= steps; ++i) {
            const double x = h * i;
            const auto add = [&](double& moment, double& shear, double place, double force) {
                if (place < x) return;
                moment += force * (place - x);
                shear += place > x ? force : force / 2;
            };
            double moment = own * moment_[at(i)], shear = own * beyond_[at(i)];
            add(moment, shear, point.x_mm, point.force_n);
            add(moment, shear, left_, -f.left_force);
            add(moment, shear, right_, -f.right_force);
            f.moment.push_back(moment);
            f.shear.push_back(shear);
        }
        return f;
    }

    double length_, left_, right_;
    Function ei_, ga_;
    std::vector<double> beyond_, moment_;
    PointLoad point_;
};

double dip_at(const BentBeam& bent, double x) {
    for (std::size_t i = 0; i < bent.x_mm.size(); ++i)
        if (std::abs(bent.x_mm[i] - x) < 1e-6) return bent.dip_mm[i];
    FAIL("no node at " << x);
    return 0;
}

Beam even(double length, std::vector<double> supports, Hold hold, double load) {
    constexpr double ei = 1e8, ga = 1e5;
    return {{{0, ei, ga, load}, {length, ei, ga, load}}, std::move(supports), hold};
}

}  // namespace

// A foam plug 800 mm long, round, tapering from 60 to 20 mm radius; supports 40, 450 and 740 mm; overhangs both ends.
// Exact section laws go to the force method, 80 slices with straight pieces between to the beam, so they differ by the
// slicing alone: pieces of 10 mm miss EI ~ r^4 by 12 (h r'/r)^2 / 8 < 0.1 %.
TEST_CASE("tapered plug on three ribs agrees with the force method", "[mechanics][beam]") {
    constexpr double length = 800, pi = 3.14159265358979323846;
    const auto radius = [](double x) { return 60 - 40 * x / length; };
    const auto ei = [&](double x) { return 12 * pi * std::pow(radius(x), 4) / 4; };
    const auto ga = [&](double x) { return 0.9 * 4.6 * pi * radius(x) * radius(x); };
    const auto load = [&](double x) { return 35e-9 * 9.80665 * pi * radius(x) * radius(x); };
    for (const double at : {20.0, 250.0, 620.0, 790.0}) {
        CAPTURE(at);
        const PointLoad hand{at, 50};
        Beam beam{{}, {40, 450, 740}, Hold::both_ways};
        for (int i = 0; i <= 80; ++i) beam.points.push_back({10.0 * i, ei(10.0 * i), ga(10.0 * i), load(10.0 * i)});
        const BentBeam bent = bend_beam(beam, {&hand, 1});

        const ForceMethod other(length, 40, 740, ei, ga, load, hand);
        const auto answer = other.with_middle_support(450);
        CHECK(bent.reaction_n[0] == Approx(answer.left_force).epsilon(2e-3).margin(0.02));
        CHECK(bent.reaction_n[1] == Approx(answer.middle_force).epsilon(2e-3).margin(0.02));
        CHECK(bent.reaction_n[2] == Approx(answer.right_force).epsilon(2e-3).margin(0.02));
        for (const double x : {0.0, 130.0, 250.0, 620.0, 800.0}) {
            CAPTURE(x);
            const double expected = other.work(answer.forces, other.unit(x)) - 0;
            CHECK(dip_at(bent, x) == Approx(expected).epsilon(2e-3).margin(2e-3));
        }
    }
}

// Tip of a clamped cone under a tip force: exact, P L^3 / (3 E I_root) x (r_root / r_tip). The clamp is two supports
// close together with the beam far stiffer between them. Source: derived by integrating x^2 / r^4.
TEST_CASE("cone clamped at its thick end", "[mechanics][beam]") {
    const auto ei = [](double r) { return 1000 * 3.14159265358979 * std::pow(r, 4) / 4; };
    constexpr double shear_free = std::numeric_limits<double>::infinity();
    Beam beam{{{-10, 1e6 * ei(30), shear_free, 0}, {0, 1e6 * ei(30), shear_free, 0}}, {-10, 0}, Hold::both_ways};
    constexpr int pieces = 400;
    for (int i = 0; i <= pieces; ++i)
        beam.points.push_back({300.0 * i / pieces + 1e-6, ei(30 - 20.0 * i / pieces), shear_free, 0});
    const PointLoad tip{beam.points.back().x_mm, 7};
    const double exact = 7 * std::pow(300.0, 3) / (3 * ei(30)) * (30.0 / 10);
    CHECK(bend_beam(beam, {&tip, 1}).dip_mm.back() == Approx(exact).epsilon(1e-3));
}

TEST_CASE("reactions carry the whole load", "[mechanics][beam]") {
    const std::vector<PointLoad> loads{{30, 12}, {610, 55}};
    for (const Hold hold : {Hold::both_ways, Hold::push_only}) {
        const BentBeam bent = bend_beam(even(1000, {100, 300, 450, 900}, hold, 0.02), loads);
        const double sum = std::accumulate(bent.reaction_n.begin(), bent.reaction_n.end(), 0.0);
        CHECK(sum == Approx(67 + 0.02 * 1000).epsilon(1e-8));
    }
}

TEST_CASE("mirrored in, mirrored out", "[mechanics][beam]") {
    const PointLoad load{130, 20}, mirrored{870, 20};
    const BentBeam a = bend_beam(even(1000, {100, 400, 900}, Hold::both_ways, 0.01), {&load, 1});
    const BentBeam b = bend_beam(even(1000, {100, 600, 900}, Hold::both_ways, 0.01), {&mirrored, 1});
    CHECK(a.reaction_n[0] == Approx(b.reaction_n[2]));
    CHECK(a.dip_mm.front() == Approx(b.dip_mm.back()));
    CHECK(a.dip_mm[a.deepest()] == Approx(b.dip_mm[b.deepest()]));
}

// A load in one of two spans lifts the far end off: then the beam hangs on two supports, P L^3 / (48 EI) + P L / (4
// GA).
TEST_CASE("a plug that only lies on its ribs lifts off", "[mechanics][beam]") {
    const PointLoad load{200, 100};
    const BentBeam glued = bend_beam(even(800, {0, 400, 800}, Hold::both_ways, 0), {&load, 1});
    CHECK(glued.reaction_n[2] < 0);
    const BentBeam lying = bend_beam(even(800, {0, 400, 800}, Hold::push_only, 0), {&load, 1});
    CHECK(lying.reaction_n[2] == 0);
    CHECK(lying.reaction_n[0] == Approx(50));
    CHECK(dip_at(lying, 200) == Approx(100 * std::pow(400.0, 3) / (48 * 1e8) + 100 * 400 / (4 * 1e5)).epsilon(1e-6));
    CHECK(lying.dip_mm.back() < 0);
    // Its own weight holds it down again.
    const BentBeam heavy = bend_beam(even(800, {0, 400, 800}, Hold::push_only, 1), {&load, 1});
    CHECK(heavy.reaction_n[2] > 0);
}

TEST_CASE("the worst place of a moving force", "[mechanics][beam]") {
    std::vector<double> places;
    for (int i = 0; i <= 80; ++i) places.push_back(10.0 * i);
    const WorstDip worst = worst_dip(even(800, {0, 500, 800}, Hold::both_ways, 0.01), 30, places);
    CHECK(worst.load_x_mm > 150);
    CHECK(worst.load_x_mm < 300);
    CHECK(worst.own_dip_mm < worst.dip_mm);
    // Over a support the whole force comes on it.
    CHECK(worst.reaction_n[1] > 30);
}

TEST_CASE("a beam that cannot be is refused", "[mechanics][beam]") {
    CHECK_THROWS_AS(bend_beam(even(800, {100}, Hold::both_ways, 0), {}), Error);
    CHECK_THROWS_AS(bend_beam(even(800, {100, 900}, Hold::both_ways, 0), {}), Error);
    const PointLoad beyond{801, 1};
    CHECK_THROWS_AS(bend_beam(even(800, {100, 700}, Hold::both_ways, 0), {&beyond, 1}), Error);
}
