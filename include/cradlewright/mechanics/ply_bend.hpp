// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string>
#include <vector>

#include "cradlewright/catalog/options.hpp"

namespace cradlewright {

/// Thickness of one ply, mm: w/rho_f + w (1 - Wf) / (Wf rho_m). Source: key "daniel-ishai", ch. 3.
double ply_thickness_mm(const Cloth& cloth, double resin_density_kg_mm3);

/// Bending length c = L/2 and rigidity B = w g (L/2)^3 of a cloth strip that overhangs by L when its tip meets 41.5 deg.
/// In: overhang mm, areal mass kg/mm2. Out: N mm (per unit width: N mm2/mm = N mm). Source: key "peirce-cantilever".
double cantilever_rigidity_n_mm(double overhang_mm, double areal_mass_kg_mm2);
/// Bending rigidity of free filaments: f w E d^2 / (16 rho), N mm. Source: derived (reference sheet of the project, 7.2).
double filament_rigidity_n_mm(const Cloth& cloth);
/// Radius that wet cloth can hold by adhesion: sqrt(B / (2 G)), mm; G in N/mm. Source: key "bico-roman".
double adhesion_radius_mm(double rigidity_n_mm, double work_n_per_mm);
inline constexpr double wetted_work_n_per_mm = 2 * 0.045e-3;   ///< two new resin surfaces, 0.045 N/m each [from memory]

/// Side of the surface the plies lie on.
enum class Curvature { concave, convex };

/// Verdict of one run of equal plies at a radius.
struct PlyFit {
    std::string cloth;
    int first_ply = 1, last_ply = 1;       ///< numbered through the laminate
    double first_radius_mm = 0, last_radius_mm = 0;   ///< met by its first and last ply
    double class_radius_mm = 0;
    double first_ratio = 0, last_ratio = 0;
    enum class Result { pass, marginal, fail } result = Result::fail;
};
struct Laminate {
    std::vector<PlyRun> plies;
    double gel_coat_mm = 0, veil_mm = 0, resin_density_kg_mm3 = 1.15e-6;
};
Laminate make_laminate(const Settings& settings, const LaminateOptions& options, std::string_view place);
double laminate_thickness_mm(const Laminate& laminate);

/// The rule: fail if r_n < 3 mm or rho1 < 0.75 or rho2 < 0.60; pass if rho1 >= 1 and rho2 >= 0.75; else marginal, with
/// rho1 = (surface radius met by the run's first ply) ... see the .cpp for the exact reading and the slack of 1e-9.
/// Source: common practice.
std::vector<PlyFit> judge_plies(const Laminate& laminate, double radius_mm, Curvature curvature);
PlyFit::Result worst_result(std::span<const PlyFit> fits);
/// Smallest bead radius at which every laminate passes, mm, found by bisection and rounded up to `step_mm`.
double smallest_passing_radius_mm(std::span<const Laminate> laminates, double step_mm = 0.5);

}  // namespace cradlewright
