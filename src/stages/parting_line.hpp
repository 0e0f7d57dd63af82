// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/stages/parting.hpp"
#include "stages/parting_trace.hpp"

namespace cradlewright {

/// What follows from a loop's panel_line: length, outward, and the surface line by nearest points. `near`: the scan
/// about the line.
void settle_line(const PosedPlug& posed, const MeshIndex& near, PartingLoop& loop);

/// Smoothed loop with its corners. Fills all of `loop` but `edges` and `is_inner`.
struct StraightLoop {
    PartingLoop loop;
    std::vector<std::size_t> corners;  ///< indices into panel_line, sorted
    std::vector<double> wall_mm;       ///< per point of panel_line, as of the raw loop
};

/// Smooths a raw loop as far as its points are in doubt, and no further: corners and creases stay, the outline seen
/// along the pull stays, heights on walls run straight. `near`: the scan about the cut.
StraightLoop straighten(const PosedPlug& posed, const ReleaseMap& map, const RawLoop& raw, const MeshIndex& near,
                        const Tolerances& tolerances);

}  // namespace cradlewright
