// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/stages/bead.hpp"

/// \file What the sharp bends of ramps ask of the plies, by the functions that choose the filling and judge it.
namespace cradlewright {

/// The sharpest place of an edge's ramps, both halves: as which radii its bends count (ramp_bend.hpp).
struct RampPlace {
    std::string edge;
    Vec3 valley_at, ridge_at;  ///< on the panel line, fixture frame
    double valley_mm = 0;      ///< what the mould's plies meet, unfilled
    double ridge_mm = 0;       ///< what the part's plies meet over the mould's ridges
};
/// Edges with a ramp, in the order of the runs. Cost: O(sections).
std::vector<RampPlace> ramp_places(const Beads& beads);

/// Radius to which the bends of every ramp are filled over the gel coat: as told (bead.corner-fill), or the smallest on
/// which the mould's plies pass where they do not pass without; 0 = nothing to fill. Errors: Error(bad_input).
double corner_fill_mm(const Settings& settings, const std::vector<RampPlace>& places);

}  // namespace cradlewright
