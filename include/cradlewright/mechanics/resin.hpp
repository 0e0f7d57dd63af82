// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

/// \file What resin does as it cures: shrinkage, and the time in which it must be used. s, deg C, kg.
namespace cradlewright {

/// Linear shrinkage of a resin that shrinks by `volume` of its volume, unhindered: 1 - (1 - v)^(1/3).
/// Source: geometry. Precondition: 0 <= volume < 1.
double free_shrinkage(double volume);
/// Shrinkage of a laminate in its plane: the resin's, held back by the laminate's stiffness, times the share of the
/// cure that comes after gel: lin Em (1 - Vf) / E x share. Only the order of magnitude can be trusted. Source: derived
/// (rule of mixtures); share 0.3 to 0.5, usually 0.4, from memory.
double laminate_shrinkage(double volume, double resin_e_mpa, double fibre_share, double laminate_e_mpa,
                          double after_gel_share);
/// Lift at which a mould half that has shrunk onto a drafted wall is free: the wall's shift inward, shrinkage times
/// half the width, over tan(draft). Infinite at no draft. Source: derived. Precondition: 0 <= draft_rad < pi/2.
double lift_to_free_mm(double shrinkage, double width_mm, double draft_rad);

/// Pot life at room temperature from the one on the data sheet: halves with every 10 deg C.
/// Source: common practice (rule of thumb after Arrhenius).
double pot_life_s(double told_s, double told_at_degc, double room_degc);
/// Largest batch that is spread within 0.7 of the pot life, kg. Source: common practice.
inline constexpr double usable_pot_life = 0.7;
double largest_batch_kg(double pot_life_seconds, double seconds_per_kg);
/// Mass of each component of `total_kg` mixed base : hardener as 100 : `hardener_parts` by mass.
struct Mix {
    double base_kg = 0, hardener_kg = 0;
};
Mix mix_by_mass(double total_kg, double hardener_parts);

}  // namespace cradlewright
