// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cradlewright/geom/surface_curve.hpp"
#include "stages/parting_labels.hpp"

namespace cradlewright {

/// One closed cut between the halves as it lies on the scan, half 1 on the left seen from outside.
struct RawLoop {
    SurfaceCurve curve;
    std::vector<double> height_doubt_mm;  ///< per point: how far it may be off along the pull (one standard deviation)
    std::vector<double> wall_mm;          ///< per point: about how high the wall is on which it lies; 0 = none
    std::vector<std::uint8_t> is_bridge;  ///< per point: both sides lean the same way, so neither half frees the line
};

/// Follows the cut from face to face. Every loop is closed, whatever the mesh; loops that touch at a vertex are kept
/// apart. Where the halves meet at a crease the line runs along its edges, elsewhere where the slope passes through
/// zero between the two faces. Cost: O(F).
std::vector<RawLoop> trace_cut(const PosedPlug& posed, const ReleaseMap& map, const Halves& halves);

}  // namespace cradlewright
