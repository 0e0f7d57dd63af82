// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

/// \file Things that stand, lie and lean: friction, tipping, bearing, slender plates. N, mm, MPa, rad.
namespace cradlewright {

/// Force a stop must take from a weight on a slope: W (sin a - mu cos a), 0 when friction holds it.
/// Source: Coulomb friction on an incline, from memory. Precondition: weight_n >= 0, friction >= 0.
double stop_force_n(double weight_n, double slope_rad, double friction);
/// Slope at which a weight begins to slide: atan(mu).
double slide_angle_rad(double friction);
/// Slope at which a body tips over the edge of its support: atan(b / h), b = centre of mass to that edge, level, h its
/// height over the support. Precondition: height_mm > 0.
double tip_angle_rad(double reach_mm, double height_mm);
/// How safely a body stands: slope at which it tips, and that slope over the doubt about its centre of mass.
struct StandTip {
    double margin_mm = 0;  ///< centre of mass to the nearest edge of the support, level; negative = outside
    double angle_rad = 0, low_rad = 0, high_rad = 0;
};
/// tip_angle_rad at the margin and `doubt_mm` to either side of it. Heights under 1 mm count as 1 mm.
StandTip stand_tip(double margin_mm, double doubt_mm, double height_mm);
/// Force on each side of a V of half-angle `half_angle_rad` under a weight, without friction: W / (2 sin b).
double v_saddle_force_n(double weight_n, double half_angle_rad);

/// Pressure of a saddle that carries `load_n`: even pressure on a curved saddle carries load by its level width alone.
/// Source: derived (resultant of an even pressure). Precondition: width_mm, thickness_mm > 0.
double saddle_pressure_mpa(double load_n, double width_mm, double thickness_mm);

/// Share of a strip's pressure that reaches soft ground through a plate: 1 - exp(-b w / 2) cos(b w / 2) under the
/// strip's middle, b = (k / (4 D))^(1/4). 1 without a plate. Source: key "hetenyi", infinite beam under an even load of
/// width w, from memory. In: strip width mm, plate stiffness N mm, ground k = E / depth, N/mm3. Precondition: k > 0.
double pressure_share_under_plate(double width_mm, double d_n_mm, double ground_n_mm3);

/// How far the top of a block stood on its base gives way to a level push there: F h^3 / (3 E I), I = b d^3 / 12, width
/// b across the push, depth d along it. Source: key "roark", Table 8.1, cantilever with end load, from memory.
/// Precondition: e_mpa, width_mm, depth_mm > 0.
double stood_block_dip_mm(double force_n, double height_mm, double e_mpa, double width_mm, double depth_mm);

/// Load at which an upright plate held at its foot and free at its top buckles: pi^2 E b t^3 / 12 / (2 h)^2.
/// The pads' side hold and ties are left out. Source: key "roark", Table 15.1 (one end fixed, other free), from memory.
/// Precondition: height_mm > 0.
double plate_buckling_load_n(double e_mpa, double width_mm, double thickness_mm, double height_mm);

}  // namespace cradlewright
