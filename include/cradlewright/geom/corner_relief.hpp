// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/geom/region.hpp"

namespace cradlewright {

/// The outline with its sharp inside corners beside fit edges opened, so that a round cutter reaches into them and the
/// other part sits home: between straight edges an arc of the cutter's radius and relief_over_mm passes through the
/// corner. Its centre lies on the bisector (at cutter / (2 sqrt 2) off either edge of a square corner) where that
/// leaves half of both edges standing; else, in a square corner, on the longer edge, so that the shorter keeps its full
/// length; else the corner stays as it is. `cutter_mm` is the diameter. Out: arcs are rough edges, all else is kept.
/// Cost: linear. Source: common practice, the centre's offset; derived, the rest.
Region with_corner_relief(const Region& region, double cutter_mm);

/// Arcs of exactly the cutter's radius would leave its centre no way in.
inline constexpr double relief_over_mm = 0.1;

}  // namespace cradlewright
