// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/stages/parting.hpp"
#include "stages/parting_labels.hpp"

namespace cradlewright {

/// One closed cut between the halves as it lies on the scan, half 1 on the left seen from outside.
struct RawLoop {
    SurfaceCurve curve;
    std::vector<double> height_doubt_mm;  ///< per point: how far it may be off along the pull (one standard deviation)
};

/// Follows the cut from face to face. Every loop is closed, whatever the mesh; loops that touch at a vertex are kept
/// apart. Where the halves meet at a crease the line runs along its edges, elsewhere where the slope passes through
/// zero between the two faces. Cost: O(F).
std::vector<RawLoop> trace_cut(const PosedPlug& posed, const ReleaseMap& map, const Halves& halves);

/// Smoothed loop with its corners. Fills all of `loop` but `edges` and `is_inner`.
struct StraightLoop {
    PartingLoop loop;
    std::vector<std::size_t> corners;  ///< indices into panel_line, sorted
};

/// Smooths a raw loop as far as its points are in doubt, and no further: corners and creases stay, the outline seen
/// along the pull stays, heights on walls run straight. `near`: the scan about the cut.
StraightLoop straighten(const PosedPlug& posed, const ReleaseMap& map, const RawLoop& raw, const MeshIndex& near,
                        const Tolerances& tolerances);

}  // namespace cradlewright
