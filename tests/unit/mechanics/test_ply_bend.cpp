// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/mechanics/ply_bend.hpp"

// Numbers labelled T are check values of the project's trade data, computed there from the formula named beside them;
// the tag in brackets is the standing of that formula. Tolerances are for the arithmetic, not for the physical world.

using namespace cradlewright;
using Result = PlyFit::Result;

namespace {

constexpr double newton_metre = 1e3;  // 1 N m in N mm

Cloth cloth_of(double g_m2, double fibre_kg_m3, double mass_fraction, double class_radius_mm = 12.7) {
    Cloth cloth;
    cloth.name = "test cloth";
    cloth.areal_mass_kg_mm2 = ArealMass::g_m2(g_m2).kg_mm2();
    cloth.fibre_density_kg_mm3 = Density::kg_m3(fibre_kg_m3).kg_mm3();
    cloth.fibre_mass_fraction = mass_fraction;
    cloth.class_radius_mm = class_radius_mm;
    return cloth;
}
Cloth fibre_cloth(double g_m2, double fibre_kg_m3, double e_gpa, double diameter_um, double share) {
    Cloth cloth = cloth_of(g_m2, fibre_kg_m3, 0.5);
    cloth.fibre_e_mpa = Pressure::gpa(e_gpa).mpa();
    cloth.fibre_diameter_mm = diameter_um * 1e-3;
    cloth.filament_share = share;
    return cloth;
}
const double epoxy = Density::kg_m3(1150).kg_mm3();
Cloth glass_320() { return cloth_of(320, 2540, 0.5, 12.7); }
Cloth carbon_200() { return cloth_of(200, 1770, 0.5, 9.5); }

Laminate stack_of(const Cloth& cloth, int count) {
    return {.plies = {{cloth, count}}, .gel_coat_mm = 0.5, .veil_mm = 0.1, .resin_density_kg_mm3 = epoxy};
}

/// (chord angle, overhang^3 w g / B) of the heavy elastica clamped level at the table's edge, tip curvature zero:
/// solved backwards from the tip, where the angle is `tip_rad` and the load parameter is found by bisection so that the
/// root is level.
struct Elastica {
    double chord_rad, load;
};
struct State {
    double angle, curvature, x, y;
};
State integrate(double tip_rad, double load) {
    // theta'' = load s cos(theta), s from the tip in units of the length; fourth-order Runge-Kutta.
    const auto slope = [load](double s, const State& v) {
        return State{v.curvature, -load * s * std::cos(v.angle), std::cos(v.angle), std::sin(v.angle)};
    };
    const auto add = [](const State& a, const State& b, double h) {
        return State{a.angle + h * b.angle, a.curvature + h * b.curvature, a.x + h * b.x, a.y + h * b.y};
    };
    constexpr int steps = 2000;
    const double h = 1.0 / steps;
    State v{tip_rad, 0, 0, 0};
    for (int k = 0; k < steps; ++k) {
        const double s = k * h;
        const State a = slope(s, v), b = slope(s + h / 2, add(v, a, h / 2)), c = slope(s + h / 2, add(v, b, h / 2)),
                    d = slope(s + h, add(v, c, h));
        v = add(add(add(add(v, a, h / 6), b, h / 3), c, h / 3), d, h / 6);
    }
    return v;
}
Elastica hanging_strip(double tip_rad) {
    double low = 0, high = 60;
    for (int k = 0; k < 80; ++k) {
        const double middle = (low + high) / 2;
        (integrate(tip_rad, middle).angle > 0 ? low : high) = middle;
    }
    const State root = integrate(tip_rad, low);
    return {std::atan2(root.y, root.x), low};
}

}  // namespace

TEST_CASE("ply thickness is fibre plus resin", "[mechanics][ply_bend]") {
    // T6.1-T6.4 [published, from memory]: Daniel & Ishai ch. 3.
    const double polyester = Density::kg_m3(1200).kg_mm3();
    CHECK(ply_thickness_mm(cloth_of(320, 2540, 0.5), epoxy) == Approx(0.404245).epsilon(1e-5));
    CHECK(ply_thickness_mm(cloth_of(320, 2540, 0.45), epoxy) == Approx(0.466081).epsilon(1e-5));
    CHECK(ply_thickness_mm(cloth_of(450, 2540, 0.30), polyester) == Approx(1.05217).epsilon(1e-5));
    CHECK(ply_thickness_mm(cloth_of(200, 1770, 0.50), epoxy) == Approx(0.286907).epsilon(1e-5));
}

TEST_CASE("ply thickness agrees with the marine rule's formula", "[mechanics][ply_bend]") {
    // T6.5 [published, from memory]: ISO 12215-5, t/w = (2.56/psi - 1.36) / 3.072 mm per kg/m2, glass 2.56, resin 1.20.
    const double psi = GENERATE(0.25, 0.30, 0.40, 0.50, 0.60);
    const double expected_mm = (2.56 / psi - 1.36) / 3.072;
    CHECK(ply_thickness_mm(cloth_of(1000, 2560, psi), Density::kg_m3(1200).kg_mm3()) ==
          Approx(expected_mm).epsilon(1e-9));
}

TEST_CASE("rigidity of an overhanging strip", "[mechanics][ply_bend]") {
    // T7.1-T7.3 [published]: Peirce's cantilever test, B = w g (L/2)^3.
    const auto micro = [](double overhang_mm, double g_m2) {
        return cantilever_rigidity_n_mm(overhang_mm, ArealMass::g_m2(g_m2).kg_mm2()) / newton_metre * 1e6;
    };
    CHECK(micro(100, 320) == Approx(392.27).epsilon(1e-3));
    CHECK(micro(120, 200) == Approx(423.65).epsilon(1e-3));
    CHECK(micro(80, 160) == Approx(100.42).epsilon(1e-3));
}

TEST_CASE("half the overhang is the bending length of the heavy elastica at 41.5 deg", "[mechanics][ply_bend]") {
    // Independent of the code's formula: the large-deflection strip is solved here. Expected w g L^3 / B = 8.0042
    // [derived].
    double low = 0.1, high = 1.5;
    for (int k = 0; k < 60; ++k) {
        const double middle = (low + high) / 2;
        (hanging_strip(middle).chord_rad < Angle::deg(41.5).rad() ? low : high) = middle;
    }
    const double load = hanging_strip(low).load;
    CHECK(load == Approx(8.0042).epsilon(1e-4));
    const double overhang_mm = 100, areal = ArealMass::g_m2(320).kg_mm2();
    const double exact = areal * standard_gravity * std::pow(overhang_mm, 3) / load;
    CHECK(cantilever_rigidity_n_mm(overhang_mm, areal) == Approx(exact).epsilon(1e-3));
}

TEST_CASE("free filaments and wet adhesion", "[mechanics][ply_bend]") {
    // T7.4-T7.7 [published, from memory]: Bico & Roman, R = sqrt(B / 2G), G = 2 x 0.045 N/m; B_slip derived.
    struct Row {
        Cloth cloth;
        double micro_n_m, radius_mm;
    };
    const Row rows[] = {{fibre_cloth(320, 2540, 72.4, 9, 0.5), 23.088, 11.326},
                        {fibre_cloth(93, 1770, 230, 7, 0.5), 18.505, 10.139},
                        {fibre_cloth(200, 1770, 230, 7, 0.5), 39.795, 14.869},
                        {fibre_cloth(600, 2540, 72.4, 17, 0.5), 154.46, 29.293}};
    for (const Row& row : rows) {
        const double b = filament_rigidity_n_mm(row.cloth);
        CHECK(b / newton_metre * 1e6 == Approx(row.micro_n_m).epsilon(1e-3));
        CHECK(adhesion_radius_mm(b, wetted_work_n_per_mm) == Approx(row.radius_mm).epsilon(1e-3));
    }
    // Bias-cut: a quarter of the filaments' stiffness counts (T7.4, T7.6).
    CHECK(adhesion_radius_mm(filament_rigidity_n_mm(fibre_cloth(320, 2540, 72.4, 9, 0.25)), wetted_work_n_per_mm) ==
          Approx(8.008).epsilon(1e-3));
    CHECK(adhesion_radius_mm(filament_rigidity_n_mm(fibre_cloth(200, 1770, 230, 7, 0.25)), wetted_work_n_per_mm) ==
          Approx(10.514).epsilon(1e-3));
    // T7.8: the dry test's rigidity of T7.1 instead.
    const double dry = cantilever_rigidity_n_mm(100, ArealMass::g_m2(320).kg_mm2());
    CHECK(adhesion_radius_mm(dry, wetted_work_n_per_mm) == Approx(46.685).epsilon(1e-3));
}

TEST_CASE("adhesion scales a known radius to another cloth", "[mechanics][ply_bend]") {
    // T7.16 [common practice]: R2 = R1 sqrt(B2/B1), 200 g/m2 carbon holds 9.5 mm.
    const double b1 = filament_rigidity_n_mm(fibre_cloth(200, 1770, 230, 7, 0.5));
    const auto scaled = [&](const Cloth& cloth) {
        return 9.5 * adhesion_radius_mm(filament_rigidity_n_mm(cloth), wetted_work_n_per_mm) /
               adhesion_radius_mm(b1, wetted_work_n_per_mm);
    };
    CHECK(scaled(fibre_cloth(300, 1770, 230, 7, 0.5)) == Approx(11.635).margin(1e-3));
    CHECK(scaled(fibre_cloth(600, 2540, 72.4, 17, 0.5)) == Approx(18.716).margin(1e-3));
}

TEST_CASE("adhesion's radius is where the stored energy equals the work of separation", "[mechanics][ply_bend]") {
    const double b = 0.04, g = 9e-5, r = adhesion_radius_mm(b, g);
    CHECK(b / (2 * r * r) == Approx(g).epsilon(1e-12));
}

TEST_CASE("fibres do not break at any radius the rule knows", "[mechanics][ply_bend]") {
    // T7.9 [published, from memory]: R = d / (2 strain): 0.225 mm for 9 um glass at 2 %, 0.350 mm for 7 um carbon at 1
    // %.
    constexpr double breaking_mm = 0.350;
    for (const double class_mm : {0.1, 1.0, 6.0}) {
        const Laminate ply{.plies = {{cloth_of(93, 1770, 0.5, class_mm), 1}}, .resin_density_kg_mm3 = epoxy};
        for (const Curvature side : {Curvature::concave, Curvature::convex})
            CHECK(least_radius_mm(ply, 0, side, Result::marginal).low > 5 * breaking_mm);
    }
}

TEST_CASE("radii shrink through the stack on a bead", "[mechanics][ply_bend]") {
    // T7.10, T7.11 [common practice, derived]: r_k = R - gel - veil - plies below.
    const double expected_mm[] = {12.1000, 11.6958, 11.2915, 10.8873};
    for (int plies = 1; plies <= 4; ++plies) {
        const auto fits = judge_plies(stack_of(glass_320(), plies), 12.7, Curvature::concave);
        REQUIRE(fits.size() == 1);
        CHECK(fits[0].first_radius_mm == Approx(12.1).margin(1e-3));
        CHECK(fits[0].last_radius_mm == Approx(expected_mm[plies - 1]).margin(1e-3));
    }
    CHECK(judge_plies(stack_of(glass_320(), 4), 9.525, Curvature::concave)[0].last_radius_mm ==
          Approx(7.7123).margin(1e-3));
}

TEST_CASE("radii grow through the stack on an outside edge", "[mechanics][ply_bend]") {
    const auto fits = judge_plies(stack_of(glass_320(), 4), 5, Curvature::convex);
    CHECK(fits[0].first_radius_mm == Approx(5.6));
    CHECK(fits[0].last_radius_mm == Approx(5.6 + 3 * 0.404245).epsilon(1e-5));
    // The tightest place of the run is its first ply.
    CHECK(fits[0].last_ratio == Approx(5.6 / (12.7 / 3)));
}

TEST_CASE("the rule's four cases", "[mechanics][ply_bend]") {
    // T7.12-T7.15 [common practice].
    const auto carbon = judge_plies(stack_of(carbon_200(), 4), 9.525, Curvature::concave);
    CHECK(carbon[0].first_ratio == Approx(1.003).margin(5e-4));
    CHECK(carbon[0].last_radius_mm == Approx(8.0643).margin(1e-4));
    CHECK(carbon[0].last_ratio == Approx(0.849).margin(5e-4));
    CHECK(carbon[0].result == Result::pass);

    const auto tight = judge_plies(stack_of(glass_320(), 4), 9.525, Curvature::concave);
    CHECK(tight[0].first_ratio == Approx(0.75).epsilon(1e-12));
    CHECK(tight[0].last_ratio == Approx(0.607).margin(5e-4));
    CHECK(tight[0].result == Result::marginal);

    const auto usual = judge_plies(stack_of(glass_320(), 4), 12.7, Curvature::concave);
    CHECK(usual[0].first_ratio == Approx(1.0).epsilon(1e-12));
    CHECK(usual[0].last_ratio == Approx(0.857).margin(5e-4));
    CHECK(usual[0].result == Result::pass);

    const auto roving = judge_plies(stack_of(cloth_of(600, 2540, 0.45, 25), 1), 12.7, Curvature::concave);
    CHECK(roving[0].first_ratio == Approx(0.508));
    CHECK(roving[0].result == Result::fail);
}

TEST_CASE("what the trade knows of thin carbon comes out of the rule and the table", "[mechanics][ply_bend]") {
    // Thin plain-weave carbon follows 3/8 in (9.5 mm) without voids and not a sharp corner [common practice, no
    // source].
    const Settings settings;
    for (const char* plies : {"carbon-93 x1", "carbon-200 x1", "carbon-93 x1, carbon-200 x3"}) {
        CAPTURE(plies);
        const LaminateOptions options{.plies = plies, .gel_coat = Length::mm(0.5), .veil = Length::mm(0.1)};
        const Laminate laminate = make_laminate(settings, options, "test");
        const double three_eighths = Length::inch(0.375).mm();
        CHECK(worst_result(judge_plies(laminate, three_eighths, Curvature::concave)) == Result::pass);
        CHECK(worst_result(judge_plies(laminate, 0, Curvature::concave)) == Result::fail);
        CHECK(worst_result(judge_plies(laminate, three_eighths / 2, Curvature::concave)) == Result::fail);
        const Laminate cases[] = {laminate};
        CHECK(smallest_passing_radius_mm(cases) == Approx(9.5));
    }
}

TEST_CASE("the builder's own cloth overrides the table's of that name", "[mechanics][ply_bend]") {
    Settings settings;
    const LaminateOptions options{.plies = "carbon-200 x1"};
    set_setting(settings, "cloth.carbon-200.class-radius", "6mm", Origin::job, "test");
    const Laminate own[] = {make_laminate(settings, options, "test")};
    CHECK(smallest_passing_radius_mm(own) == Approx(6));
}

// By hand: B = w g c^3 with c = L / 2, so at one weight R goes as L^1.5 and at one overhang as the root of the weight.
TEST_CASE("an overhang test scales the radius by the root of the rigidity", "[mechanics][ply_bend]") {
    CHECK(tested_radius_mm(100, 320e-9).value == Approx(12.7));
    CHECK(tested_radius_mm(150, 320e-9).value == Approx(12.7 * std::pow(1.5, 1.5)));
    CHECK(tested_radius_mm(100, 640e-9).value == Approx(12.7 * std::sqrt(2.0)));
    CHECK(tested_radius_mm(100, 320e-9).low == Approx(12.7 * std::sqrt(0.8 / std::pow(1.1, 3))));
    CHECK(tested_radius_mm(100, 320e-9).high == Approx(12.7 * std::sqrt(1.2 / std::pow(0.9, 3))));
    CHECK(tested_radius_mm(30, 50e-9).value == 6);  // floor: no cloth without a coupon is trusted below
}

TEST_CASE("an overhang test overrides the class radius and changes the verdict", "[mechanics][ply_bend]") {
    Settings settings;
    const LaminateOptions options{.plies = "glass-300 x1"};
    const auto result = [&] {
        return worst_result(judge_plies(make_laminate(settings, options, "test"), 12.7, Curvature::concave));
    };
    CHECK(result() == Result::pass);
    set_setting(settings, "cloth.glass-300.overhang", "160mm", Origin::job, "test");
    CHECK(class_radius_mm(settings.cloths.at("glass-300"), Curvature::concave).value ==
          Approx(12.7 * std::sqrt(300.0 / 320) * std::pow(1.6, 1.5)));
    CHECK(result() == Result::fail);
    set_setting(settings, "cloth.glass-300.overhang", "80mm", Origin::job, "test");
    CHECK(result() == Result::pass);
    // A new cloth needs its weight and one of the two.
    set_setting(settings, "cloth.mine.areal-mass", "200g/m2", Origin::job, "test");
    set_setting(settings, "cloth.mine.overhang", "90mm", Origin::job, "test");
    CHECK(class_radius_mm(parse_plies(settings, "mine x1", "test")[0].cloth, Curvature::concave).value ==
          Approx(tested_radius_mm(90, 200e-9).value));
}

TEST_CASE("the spread of the class radius makes a verdict marginal, not failed", "[mechanics][ply_bend]") {
    Cloth cloth = cloth_of(20, 2540, 0.5, 10);
    cloth.class_radius_low_mm = 8;
    cloth.class_radius_high_mm = 12;
    const Laminate thin{.plies = {{cloth, 1}}, .resin_density_kg_mm3 = epoxy};
    const auto at = [&](double radius_mm) { return judge_plies(thin, radius_mm, Curvature::concave)[0].result; };
    CHECK(at(12) == Result::pass);
    CHECK(at(11.99) == Result::marginal);
    CHECK(at(7.5) == Result::marginal);
    CHECK(at(7.49) == Result::fail);
    const Spread least = least_radius_mm(thin, 0, Curvature::concave, Result::pass);
    CHECK(least.low == Approx(8));
    CHECK(least.value == Approx(10));
    CHECK(least.high == Approx(12));
    CHECK(smallest_passing_radius_mm(std::span(&thin, 1)) == Approx(12));
}

TEST_CASE("each limit of the rule bites on its own", "[mechanics][ply_bend]") {
    const auto result_at = [](const Laminate& laminate, double radius_mm) {
        return judge_plies(laminate, radius_mm, Curvature::concave)[0].result;
    };
    // rho1 alone: one thin ply.
    Laminate thin{.plies = {{cloth_of(20, 2540, 0.5, 20), 1}}, .resin_density_kg_mm3 = epoxy};
    CHECK(result_at(thin, 20) == Result::pass);
    CHECK(result_at(thin, 20 * (1 - 1e-12)) == Result::pass);  // within the slack
    CHECK(result_at(thin, 20 * (1 - 1e-6)) == Result::marginal);
    CHECK(result_at(thin, 15) == Result::marginal);
    CHECK(result_at(thin, 15 * (1 - 1e-6)) == Result::fail);
    // rho2 alone: what lies below the ply takes the radius away. R = 20: passes to 5 mm below, fails past 8.
    thin.gel_coat_mm = 5;
    CHECK(result_at(thin, 20) == Result::pass);
    thin.gel_coat_mm = 5.001;
    CHECK(result_at(thin, 20) == Result::marginal);
    thin.gel_coat_mm = 8.001;
    CHECK(result_at(thin, 20) == Result::fail);
    // Reach alone: class radius far below 3 mm.
    Laminate fine{.plies = {{cloth_of(20, 2540, 0.5, 1), 1}}, .gel_coat_mm = 0.5, .resin_density_kg_mm3 = epoxy};
    CHECK(result_at(fine, 3.5) == Result::pass);
    CHECK(result_at(fine, 3.499) == Result::fail);
}

TEST_CASE("an outside edge may be tighter than an inside corner", "[mechanics][ply_bend]") {
    // Published builders' values [S27, S28 of the trade data]: 3.2 mm at 45 deg, "3 mm is ample" for 200 g/m2 cloth.
    const Laminate light{.plies = {{cloth_of(200, 2540, 0.5, 9.5), 2}}, .resin_density_kg_mm3 = epoxy};
    CHECK(worst_result(judge_plies(light, 3.2, Curvature::convex)) == Result::pass);
    CHECK(worst_result(judge_plies(light, 3.2, Curvature::concave)) == Result::fail);
    CHECK(worst_result(judge_plies(light, 2.0, Curvature::convex)) == Result::fail);
}

TEST_CASE("several cloths are judged each by its own class, with everything below counted", "[mechanics][ply_bend]") {
    const Laminate mixed{.plies = {{carbon_200(), 2}, {glass_320(), 3}},
                         .gel_coat_mm = 0.5,
                         .veil_mm = 0.1,
                         .resin_density_kg_mm3 = epoxy};
    const auto fits = judge_plies(mixed, 12.0, Curvature::concave);
    REQUIRE(fits.size() == 2);
    CHECK(fits[0].last_ply == 2);
    CHECK(fits[1].first_ply == 3);
    CHECK(fits[1].last_ply == 5);
    CHECK(fits[1].last_radius_mm == Approx(12.0 - 0.6 - 2 * 0.286907 - 2 * 0.404245).epsilon(1e-5));
    CHECK(fits[0].result == Result::pass);
    CHECK(fits[1].result == Result::marginal);  // 12.0 / 12.7 < 1
    CHECK(worst_result(fits) == Result::marginal);
    CHECK(laminate_thickness_mm(mixed) == Approx(0.6 + 2 * 0.286907 + 3 * 0.404245).epsilon(1e-5));
    CHECK(worst_result({}) == Result::pass);
}

TEST_CASE("least radii follow the rule solved on paper", "[mechanics][ply_bend]") {
    // Concave: pass at max(C, 0.75 C + below, 3 + below), not failing at max(0.75 C, 0.60 C + below, 3 + below).
    const double class_mm = GENERATE(2.0, 9.5, 12.7, 25.0);
    const int count = GENERATE(1, 4, 12);
    const Laminate stack = stack_of(cloth_of(320, 2540, 0.5, class_mm), count);
    const double below_mm = 0.6 + (count - 1) * ply_thickness_mm(stack.plies[0].cloth, epoxy);
    const double slack_mm = 2e-9 * std::max(3.0, class_mm);
    CHECK(least_radius_mm(stack, 0, Curvature::concave, Result::pass).value ==
          Approx(std::max({class_mm, 0.75 * class_mm + below_mm, 3 + below_mm})).margin(slack_mm));
    CHECK(least_radius_mm(stack, 0, Curvature::concave, Result::marginal).value ==
          Approx(std::max({0.75 * class_mm, 0.60 * class_mm + below_mm, 3 + below_mm})).margin(slack_mm));
}

TEST_CASE("the smallest passing radius passes and the step below does not", "[mechanics][ply_bend]") {
    const Laminate mould = stack_of(glass_320(), GENERATE(1, 4, 10));
    const Laminate part{.plies = {{cloth_of(600, 2540, 0.45, GENERATE(20.0, 60.0)), 2}}, .resin_density_kg_mm3 = epoxy};
    const double step_mm = GENERATE(0.1, 0.5, 1.0);
    const auto passes = [&](double radius_mm) {
        return worst_result(judge_plies(mould, radius_mm, Curvature::concave)) == Result::pass &&
               worst_result(judge_plies(part, radius_mm, Curvature::convex)) == Result::pass;
    };
    const Laminate both[] = {mould, part};
    const double radius_mm = smallest_passing_radius_mm(both, step_mm);
    CHECK(passes(radius_mm));
    CHECK_FALSE(passes(radius_mm - step_mm));
    CHECK(std::abs(std::remainder(radius_mm, step_mm)) < 1e-9);
}

TEST_CASE("a radius on a step is not rounded away", "[mechanics][ply_bend]") {
    const Laminate part = stack_of(cloth_of(50, 2540, 0.5, 12.5), 1);
    CHECK(smallest_passing_radius_mm(std::span(&part, 1), 0.5) == Approx(12.5).epsilon(1e-12));
    CHECK(smallest_passing_radius_mm(std::span<const Laminate>{}, 0.5) == 0);
    // A hair past the slack of the rule, within that of the step: the next step, and no further.
    const Laminate past = stack_of(cloth_of(50, 2540, 0.5, 12.5 * (1 + 1.02e-9)), 1);
    CHECK(smallest_passing_radius_mm(std::span(&past, 1), 0.5) == Approx(13).epsilon(1e-12));
}

TEST_CASE("a laminate takes plies and coats from the settings", "[mechanics][ply_bend]") {
    Settings settings;
    settings.laminate_mould = {
        .plies = "glass-160 x1, glass-300 x4", .gel_coat = Length::mm(0.4), .veil = Length::mm(0.2)};
    const Laminate laminate = make_laminate(settings, settings.laminate_mould, "laminate.mould.plies");
    REQUIRE(laminate.plies.size() == 2);
    CHECK(laminate.plies[1].count == 4);
    CHECK(laminate.gel_coat_mm == 0.4);
    CHECK(laminate.veil_mm == 0.2);
    settings.laminate_mould.plies = "no-such-cloth x2";
    CHECK_THROWS_AS(make_laminate(settings, settings.laminate_mould, "laminate.mould.plies"), Error);
}
