// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/mechanics/ply_bend.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/base/error.hpp"

// Sources: F. T. Peirce (1930) as in ASTM D1388 for the overhang test; J. Bico, B. Roman et al. (2004, 2010) for
// adhesion against bending [from memory]; I. M. Daniel, O. Ishai, ch. 3, for ply thickness [from memory]. The decision
// rule and its numbers are common practice: the trade radius holds the tack that no formula knows, so formulas only
// inform.

namespace cradlewright {

namespace {

// Common practice: no roller or brush reaches into a tighter groove.
constexpr double least_reach_mm = 3.0;
constexpr double fail_first_ratio = 0.75, fail_last_ratio = 0.60;
constexpr double pass_first_ratio = 1.0, pass_last_ratio = 0.75;
constexpr double ratio_slack = 1e-9;
// See class_radius_mm in the header.
constexpr double convex_class_share = 1.0 / 3.0, convex_class_floor_mm = 3.0;

bool is_below(double value, double limit) { return value < limit - ratio_slack; }

/// The rule for one class radius.
PlyFit::Result judge_radius(double radius_mm, double tightest_mm, double class_mm, Curvature curvature) {
    const bool is_out_of_reach = curvature == Curvature::concave && is_below(tightest_mm, least_reach_mm);
    const double first_ratio = radius_mm / class_mm, last_ratio = tightest_mm / class_mm;
    if (is_out_of_reach || is_below(first_ratio, fail_first_ratio) || is_below(last_ratio, fail_last_ratio))
        return PlyFit::Result::fail;
    if (is_below(first_ratio, pass_first_ratio) || is_below(last_ratio, pass_last_ratio))
        return PlyFit::Result::marginal;
    return PlyFit::Result::pass;
}

// What tested_radius_mm holds a test against; see the header.
constexpr double reference_radius_mm = 12.7, reference_overhang_mm = 100, reference_kg_mm2 = 320e-9;
constexpr double test_spread = 0.2, reference_length_spread = 0.1;

// Least radius with `is_good`, which must be false at 0 side and true from some radius on.
template <class Predicate>
double bisect_radius_mm(const Predicate& is_good) {
    double low = 0, high = 1;
    while (!is_good(high)) high *= 2;
    constexpr double resolution_mm = 1e-10;
    while (high - low > resolution_mm) {
        const double middle = 0.5 * (low + high);
        (is_good(middle) ? high : low) = middle;
    }
    return high;
}

}  // namespace

double ply_thickness_mm(const Cloth& cloth, double resin_density_kg_mm3) {
    const double fraction = cloth.fibre_mass_fraction;
    CRADLEWRIGHT_PRECONDITION(cloth.fibre_density_kg_mm3 > 0 && resin_density_kg_mm3 > 0);
    CRADLEWRIGHT_PRECONDITION(fraction > 0 && fraction <= 1);
    const double mass = cloth.areal_mass_kg_mm2;
    return mass / cloth.fibre_density_kg_mm3 + mass * (1 - fraction) / (fraction * resin_density_kg_mm3);
}

double cantilever_rigidity_n_mm(double overhang_mm, double areal_mass_kg_mm2) {
    const double bending_length_mm = overhang_mm / 2;
    return areal_mass_kg_mm2 * standard_gravity * std::pow(bending_length_mm, 3);
}

double filament_rigidity_n_mm(const Cloth& cloth) {
    CRADLEWRIGHT_PRECONDITION(cloth.fibre_density_kg_mm3 > 0);
    return cloth.filament_share * cloth.areal_mass_kg_mm2 * cloth.fibre_e_mpa * cloth.fibre_diameter_mm *
           cloth.fibre_diameter_mm / (16 * cloth.fibre_density_kg_mm3);
}

double adhesion_radius_mm(double rigidity_n_mm, double work_n_per_mm) {
    CRADLEWRIGHT_PRECONDITION(work_n_per_mm > 0);
    return std::sqrt(rigidity_n_mm / (2 * work_n_per_mm));
}

Spread tested_radius_mm(double overhang_mm, double areal_mass_kg_mm2) {
    CRADLEWRIGHT_PRECONDITION(overhang_mm > 0 && areal_mass_kg_mm2 > 0);
    const double reference = cantilever_rigidity_n_mm(reference_overhang_mm, reference_kg_mm2);
    const double rigidity = cantilever_rigidity_n_mm(overhang_mm, areal_mass_kg_mm2);
    const auto radius = [&](double test, double length) {
        const double scaled = reference_radius_mm * std::sqrt(rigidity * test / (reference * std::pow(length, 3)));
        return std::max(least_tested_radius_mm, scaled);
    };
    return {radius(1 - test_spread, 1 + reference_length_spread), radius(1, 1),
            radius(1 + test_spread, 1 - reference_length_spread)};
}

Spread class_radius_mm(const Cloth& cloth, Curvature curvature) {
    const double told_mm = cloth.class_radius_mm;
    Spread radius{cloth.class_radius_low_mm > 0 ? cloth.class_radius_low_mm : told_mm, told_mm,
                  cloth.class_radius_high_mm > 0 ? cloth.class_radius_high_mm : told_mm};
    if (cloth.overhang_mm > 0) radius = tested_radius_mm(cloth.overhang_mm, cloth.areal_mass_kg_mm2);
    if (curvature == Curvature::concave) return radius;
    const auto convex = [](double mm) { return std::max(convex_class_floor_mm, mm * convex_class_share); };
    return {convex(radius.low), convex(radius.value), convex(radius.high)};
}

Laminate make_laminate(const Settings& settings, const LaminateOptions& options, std::string_view place) {
    return {.plies = parse_plies(settings, options.plies, place, options.auto_count),
            .gel_coat_mm = options.gel_coat.mm(),
            .veil_mm = options.veil.mm(),
            .resin_density_kg_mm3 = options.resin_density.kg_mm3()};
}

double laminate_thickness_mm(const Laminate& laminate) {
    double total_mm = laminate.gel_coat_mm + laminate.veil_mm;
    for (const PlyRun& run : laminate.plies)
        total_mm += run.count * ply_thickness_mm(run.cloth, laminate.resin_density_kg_mm3);
    return total_mm;
}

std::vector<PlyFit> judge_plies(const Laminate& laminate, double radius_mm, Curvature curvature) {
    const double sign = curvature == Curvature::concave ? -1 : 1;
    std::vector<PlyFit> fits;
    double below_mm = laminate.gel_coat_mm + laminate.veil_mm;
    int plies_below = 0;
    for (const PlyRun& run : laminate.plies) {
        CRADLEWRIGHT_PRECONDITION(run.count >= 1);
        const double ply_mm = ply_thickness_mm(run.cloth, laminate.resin_density_kg_mm3);
        PlyFit fit;
        fit.cloth = run.cloth.name;
        fit.first_ply = plies_below + 1;
        fit.last_ply = plies_below + run.count;
        fit.first_radius_mm = radius_mm + sign * below_mm;
        fit.last_radius_mm = radius_mm + sign * (below_mm + (run.count - 1) * ply_mm);
        fit.class_radius_mm = class_radius_mm(run.cloth, curvature);
        CRADLEWRIGHT_PRECONDITION(fit.class_radius_mm.low > 0);
        const double tightest_mm = std::min(fit.first_radius_mm, fit.last_radius_mm);
        fit.first_ratio = radius_mm / fit.class_radius_mm.value;
        fit.last_ratio = tightest_mm / fit.class_radius_mm.value;
        fit.result = judge_radius(radius_mm, tightest_mm, fit.class_radius_mm.value, curvature);
        const PlyFit::Result worst = judge_radius(radius_mm, tightest_mm, fit.class_radius_mm.high, curvature);
        if (fit.result == PlyFit::Result::pass && worst != PlyFit::Result::pass) fit.result = PlyFit::Result::marginal;
        fits.push_back(std::move(fit));
        below_mm += run.count * ply_mm;
        plies_below += run.count;
    }
    return fits;
}

PlyFit::Result worst_result(std::span<const PlyFit> fits) {
    PlyFit::Result worst = PlyFit::Result::pass;
    for (const PlyFit& fit : fits) worst = std::max(worst, fit.result);
    return worst;
}

std::string_view ply_result_name(PlyFit::Result result) {
    switch (result) {
        case PlyFit::Result::pass:
            return "pass";
        case PlyFit::Result::marginal:
            return "marginal";
        case PlyFit::Result::fail:
            break;
    }
    return "fail";
}

Spread least_radius_mm(const Laminate& laminate, std::size_t run, Curvature curvature, PlyFit::Result wanted) {
    CRADLEWRIGHT_PRECONDITION(run < laminate.plies.size() && wanted != PlyFit::Result::fail);
    const auto least = [&](double Spread::*end) {
        return bisect_radius_mm([&](double radius_mm) {
            const PlyFit fit = judge_plies(laminate, radius_mm, curvature)[run];
            const double tightest_mm = std::min(fit.first_radius_mm, fit.last_radius_mm);
            return judge_radius(radius_mm, tightest_mm, fit.class_radius_mm.*end, curvature) <= wanted;
        });
    };
    return {least(&Spread::low), least(&Spread::value), least(&Spread::high)};
}

double smallest_passing_radius_mm(std::span<const PlyCase> cases, double step_mm) {
    CRADLEWRIGHT_PRECONDITION(step_mm > 0);
    const auto passes = [&](double radius_mm) {
        return std::ranges::all_of(cases, [&](const PlyCase& c) {
            return worst_result(judge_plies(c.laminate, radius_mm, c.curvature)) == PlyFit::Result::pass;
        });
    };
    if (passes(0)) return 0;
    // A radius that sits on a step within the rule's own slack is not pushed to the next one.
    double radius_mm = std::ceil(bisect_radius_mm(passes) / step_mm - ratio_slack) * step_mm;
    if (!passes(radius_mm)) radius_mm += step_mm;
    return radius_mm;
}

double smallest_passing_radius_mm(std::span<const Laminate> laminates, double step_mm) {
    std::vector<PlyCase> cases;
    for (const Laminate& laminate : laminates)
        cases.push_back({laminate, cases.empty() ? Curvature::concave : Curvature::convex});
    return smallest_passing_radius_mm(cases, step_mm);
}

}  // namespace cradlewright
