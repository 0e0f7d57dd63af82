// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/region_ops.hpp"

namespace cradlewright {

/// A place beside solid shapes that a round cutter cannot clear without entering them: an inside corner, or a slot or
/// hole narrower than the cutter.
struct UnreachedPlace {
    Vec2 at;  ///< deepest point, within 3 sags of the outline
    /// From there to the nearest point that the cutter touches; infinite in a hole it cannot enter.
    double left_mm = 0;
};
/// Places where more than `least_mm` stays. Frame and unit those of `solids`; outlines may be many, they keep the
/// cutter out of each other. `sag_mm` as in offset. Sorted by place. In a corner of interior angle a the rest is r (1 /
/// sin(a / 2) - 1). Source: derived; the closing of the shapes by a disc, less the shapes (J. Serra, Image Analysis and
/// Mathematical Morphology, Academic Press 1982). Cost: three offsets of `solids`.
std::vector<UnreachedPlace> unreached_places(const Polygons& solids, double radius_mm, double least_mm,
                                             double sag_mm = 0.01);

}  // namespace cradlewright
