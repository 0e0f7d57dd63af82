// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>

#include "cradlewright/catalog/materials.hpp"
#include "cradlewright/mechanics/ply_bend.hpp"

/// \file What a cured laminate weighs and how stiff it is. kg, mm, MPa.
namespace cradlewright {

/// Volume share of fibre: (Wf/rf) / (Wf/rf + (1 - Wf)/rm). Source: key "daniel-ishai", ch. 3, from memory.
/// Precondition: as ply_thickness_mm.
double fibre_volume_share(const Cloth& cloth, double resin_density_kg_mm3);
/// Resin in a unit area of one ply: w (1 - Wf) / Wf, kg/mm2. Same source.
double ply_resin_kg_mm2(const Cloth& cloth);
/// Modulus of a ply on its axis: share Ef Vf + Em (1 - Vf). `share` is the fibre directions' efficiency: 1/2 for 0/90,
/// 3/8 for random mat, 1/4 for 0/90 loaded at 45 deg; the same mean of cos^4 as Cloth::filament_share.
/// Source: key "krenchel", from memory.
double ply_modulus_mpa(double share, double fibre_e_mpa, double resin_e_mpa, double fibre_share);
/// Loss of a woven cloth's stiffness by its waves. Source: common practice.
inline constexpr double crimp_factor = 0.9;
/// Marine rule for glass and polyester: E = (37 psi - 4.75) GPa, psi = glass share by mass. A second opinion, and for
/// mat the lower one. Source: key "iso-12215-5", from memory.
double glass_rule_modulus_mpa(double glass_mass_share);

/// One layer of a stack, first on the surface.
struct StackLayer {
    double thickness_mm = 0, e_mpa = 0;
};
/// Bending stiffness of the stack about its own neutral plane, N mm (per width): sum of E_i times the integral of
/// (z - z0)^2; for one material E t^3 / 12. Source: key "timoshenko-plates", eq. (3) with nu = 0.
double stack_stiffness_n_mm(std::span<const StackLayer> layers);

/// A cured laminate. Low and high: hand layup misses the mass share of fibre by 0.05 either way, resin modulus over its
/// spread, crimp taken in full or not at all. Glass mat is no stiffer than glass_rule_modulus_mpa.
struct CuredLaminate {
    double thickness_mm = 0;
    double fibre_kg_mm2 = 0, resin_kg_mm2 = 0, gel_coat_kg_mm2 = 0;  ///< veil counts as resin
    double fibre_share = 0;                                          ///< by volume, of the plies
    Spread e_mpa;                                                    ///< of the plies in their plane
    Spread d_n_mm;                                                   ///< bending stiffness of everything
    [[nodiscard]] double mass_kg_mm2() const { return fibre_kg_mm2 + resin_kg_mm2 + gel_coat_kg_mm2; }
};
/// In: plies, coats, and the resin's modulus. Out: zeros without plies. Cost: O(plies).
CuredLaminate cure(const Laminate& laminate, const Spread& resin_e_mpa);

}  // namespace cradlewright
