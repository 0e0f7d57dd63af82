// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/plate.hpp"

/// \file From what a pattern covers to where it is cut, for laid and for flattened patterns. Private to the stages.
namespace cradlewright {

inline constexpr double cloth_fit_mm = 0.5;  ///< of cut lines in cloth

/// What is covered, with kit.overlap at seams and kit.cloth_margin past the surface's rim. `is_seam`: of the middle of
/// an edge of `net`.
Polygons with_margins(const Polygons& net, const std::function<bool(Vec2)>& is_seam, const KitOptions& kit);
/// The largest loop, with the holes that overlaps leave open.
Region cut_region(const Polygons& loops, const KitOptions& kit, OutlineFit& fit);
/// The edge of what is covered, a cross where it is laid first, the warp's arrow.
void add_cloth_marks(PlatePart& part, const Polygons& net);

}  // namespace cradlewright
