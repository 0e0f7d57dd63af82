// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/region_ops.hpp"
#include "support/rs274.hpp"

/// What a cutter of given radius does to a sheet while it runs a program.
namespace cradlewright::test {

/// Plan view of everything the cutter takes while its tip is below `z_mm`; chords at most 0.01 mm off, inward.
Polygons swept_below(const std::vector<Motion>& motions, double radius_mm, double z_mm);
/// Points of the tip's way at most `step_mm` apart, with the motion each belongs to.
struct TipPoint {
    const Motion* motion = nullptr;
    Vec3 at;
};
std::vector<TipPoint> tip_points(const std::vector<Motion>& motions, double step_mm);

}  // namespace cradlewright::test
