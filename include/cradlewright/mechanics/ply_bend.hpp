// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/catalog/options.hpp"

namespace cradlewright {

/// Thickness of one ply, mm: w/rho_f + w (1 - Wf) / (Wf rho_m). Source: key "daniel-ishai", ch. 3.
/// Precondition: both densities > 0, 0 < fibre mass fraction <= 1.
double ply_thickness_mm(const Cloth& cloth, double resin_density_kg_mm3);

/// Bending rigidity B = w g (L/2)^3 of a cloth strip that overhangs by L when its tip meets 41.5 deg.
/// In: overhang mm, areal mass kg/mm2. Out: N mm (per unit width: N mm2/mm = N mm). Source: key "peirce-cantilever".
/// Accurate to 0.05 % of the heavy elastica; the test itself to about 20 %.
double cantilever_rigidity_n_mm(double overhang_mm, double areal_mass_kg_mm2);
/// Bending rigidity of free filaments: f w E d^2 / (16 rho), N mm. Source: derived: w / (rho pi d^2 / 4) filaments a
/// width, each E pi d^4 / 64, of which the share f crosses the corner.
double filament_rigidity_n_mm(const Cloth& cloth);
/// Radius that wet cloth can hold by adhesion: sqrt(B / (2 G)), mm; G in N/mm. For information and for scaling between
/// cloths (R2 = R1 sqrt(B2 / B1)); it never decides a verdict. Source: key "bico-roman".
double adhesion_radius_mm(double rigidity_n_mm, double work_n_per_mm);
inline constexpr double wetted_work_n_per_mm = 2 * 0.045e-3;  ///< two new resin surfaces, 0.045 N/m each [from memory]

/// Radius that a cloth follows in wet layup, from its overhang test: reference radius x sqrt(B / reference B), at least
/// `least_tested_radius_mm`. Dry cloth is stiffer than wet cloth whose filaments slip, by a factor that no test on dry
/// cloth knows, so the test is held against a cloth of known radius: glass of 320 g/m2 with a bending length of 50 mm,
/// 12.7 mm. Low and high: 20 % of B for the test, 10 % of bending length for the reference.
/// Source: derived (adhesion_radius_mm at one work of adhesion); test's accuracy key "peirce-cantilever"; reference's
/// bending length from memory (35 to 60 mm for such cloths), its spread assumed. Precondition: both arguments > 0.
Spread tested_radius_mm(double overhang_mm, double areal_mass_kg_mm2);
inline constexpr double least_tested_radius_mm = 6;  ///< Source: common practice

/// Side of the surface the plies lie on.
enum class Curvature { concave, convex };

/// Smallest radius that a cloth follows on this side, mm, low and high as its sources differ. Concave: that of the
/// cloth's own overhang test where one was made, else its class radius by trade practice. Convex: a third of it, at
/// least 3 mm, since over an outside edge the cloth is pulled onto the surface instead of off it.
/// Source: common practice; the share is derived from the pairs 3.2 mm outside against 9.5 to 12.7 mm inside for cloth
/// of about 200 g/m2. Precondition: the cloth has a class radius, or an overhang and a weight.
Spread class_radius_mm(const Cloth& cloth, Curvature curvature);

/// Verdict of one run of equal plies at a radius.
struct PlyFit {
    std::string cloth;
    int first_ply = 1, last_ply = 1;                 ///< numbered through the laminate
    double first_radius_mm = 0, last_radius_mm = 0;  ///< met by its first and last ply
    Spread class_radius_mm;                          ///< of this side
    double first_ratio = 0, last_ratio = 0;          ///< rho1 and rho2 of the rule, with the class radius' value
    enum class Result { pass, marginal, fail } result = Result::fail;
};
struct Laminate {
    std::vector<PlyRun> plies;  ///< first on the surface
    double gel_coat_mm = 0, veil_mm = 0, resin_density_kg_mm3 = 1.15e-6;
};
Laminate make_laminate(const Settings& settings, const LaminateOptions& options, std::string_view place);
/// Gel coat, veil and all plies.
double laminate_thickness_mm(const Laminate& laminate);

/// The rule, one PlyFit a run: fail if r_n < 3 mm (concave only) or rho1 < 0.75 or rho2 < 0.60; pass if rho1 >= 1 and
/// rho2 >= 0.75 with the high end of the class radius too; else marginal; each compared with a slack of 1e-9. R_class
/// is class_radius_mm.
/// rho1 = R / R_class with R the radius of the bead or edge itself, also for cloth further up the stack: a trade radius
/// is the radius of the bead under a usual stack. rho2 = r_n / R_class with r_n the tightest radius the run meets:
/// under its last ply on a concave bead, where radii shrink by gel coat, veil and every ply below; under its first on a
/// convex edge, where they grow. Each run is judged by its own cloth; bias-cut plies by giving the cloth 0.7071 times
/// its class radius. Source: common practice.
std::vector<PlyFit> judge_plies(const Laminate& laminate, double radius_mm, Curvature curvature);
/// The worst of the runs; pass when there are none.
PlyFit::Result worst_result(std::span<const PlyFit> fits);
std::string_view ply_result_name(PlyFit::Result result);  ///< "pass" "marginal" "fail"

/// Least radius, mm, at which run number `run` of the laminate is no worse than `wanted` by the rule's ratios, over the
/// spread of the class radius; by bisection to 1e-10 mm. Value and high are what judge_plies fails below and passes
/// from. Precondition: run < plies.size(), wanted is pass or marginal.
Spread least_radius_mm(const Laminate& laminate, std::size_t run, Curvature curvature, PlyFit::Result wanted);

/// A laminate and the side of the bead it lies on.
struct PlyCase {
    Laminate laminate;
    Curvature curvature = Curvature::concave;
};
/// Smallest bead radius at which every case passes, mm, found by bisection and rounded up to `step_mm`; 0 without
/// plies. Precondition: step_mm > 0.
double smallest_passing_radius_mm(std::span<const PlyCase> cases, double step_mm = 0.5);
/// The same for one bead: the first laminate is the mould's, laid into the bead (concave); any further ones are of
/// parts, laid over the lip that the bead leaves on the mould (convex).
double smallest_passing_radius_mm(std::span<const Laminate> laminates, double step_mm = 0.5);

}  // namespace cradlewright
