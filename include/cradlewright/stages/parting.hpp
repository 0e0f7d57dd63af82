// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "cradlewright/geom/surface_curve.hpp"
#include "cradlewright/stages/release_map.hpp"

namespace cradlewright {

/// A stretch of one loop with one treatment: points first .. last of panel_line, both included; wraps past the end when
/// last < first. Neighbouring edges share their end point.
struct PartingEdge {
    std::string id;  ///< front back end-a end-b rim inner-1 ...
    EdgeRule rule = EdgeRule::silhouette;
    std::size_t first = 0, last = 0;
    std::string finding;     ///< what came of a told rule ("not resolvable: ..."); empty = nothing to say
    double strip_mm = 0;     ///< split edges: least width of the strip; 0 = not split
    double strip_up_mm = 0;  ///< of that, what lies between half 1's corner and the line
    /// Greatest width, and the share of the strip that half 1 has: what it lies over where the strip is wider.
    double strip_most_mm = 0, strip_share = 0;
};

/// A stretch of the line across surface that neither half frees: the outline jumps there in height, from one body to
/// another behind it. Points first .. last of panel_line as in PartingEdge.
struct PartingBridge {
    std::size_t first = 0, last = 0;
    double length_mm = 0;
};

/// One closed parting curve. All positions in the fixture frame, mm.
struct PartingLoop {
    SurfaceCurve surface_line;     ///< the straightened line as points on the surface, same order as panel_line
    std::vector<Vec3> panel_line;  ///< about evenly spaced; first not repeated; where told rules put it
    std::vector<Vec3> silhouette;  ///< the cut between the halves before straightening and before told rules
    std::vector<Vec3> outward;     ///< per panel_line point: unit, square to line and pull, away from the plug
    std::vector<PartingEdge> edges;
    std::vector<PartingBridge> bridges;  ///< in order of `first`
    double length_mm = 0;
    bool is_inner = false;
};

struct Parting {
    std::vector<PartingLoop>
        loops;  ///< outer ones counter-clockwise seen against the pull (from above), inner clockwise; outer first
    std::string reason;              ///< why there is none, or what was decided; empty = nothing to say
    std::vector<std::uint8_t> half;  ///< per face: 1 or 2
    double out_of_plane_mm = 0;      ///< largest distance of a panel_line point from its loop's best plane
    double band_deg = 0;             ///< half-width of the undecided band in draft angle
    std::size_t tiny_loops_dropped = 0;
    double tiny_area_mm2 = 0;  ///< of the patches handed to the other half
    [[nodiscard]] bool is_found() const { return !loops.empty(); }
};

struct PartingOptions {
    Tolerances tolerances;
    std::map<std::string, EdgeOptions> edges;
};

/// Finds where the halves meet. See src/stages/parting.md for the method and its limits.
/// In: plug with pose and pull, and its release map. Out: closed simple loops; or none with a reason.
/// Guarantees: same input gives same bytes; loops are simple; each face has a half.
/// Cost: O(F) plus a minimum cut over the undecided band.
Parting find_parting(const PosedPlug& posed, const ReleaseMap& map, const PartingOptions& options = {});

}  // namespace cradlewright
