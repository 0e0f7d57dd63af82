// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/stages/plug.hpp"

namespace cradlewright::app {

/// A place of the scan that a builder should look at, worst kinds first, within a kind the largest first.
struct ScanPlace {
    std::string kind;       ///< "opening" "crossing" "edge" "noise" "coverage" "hole" "piece"
    Vec3 at_scan, at_plug;  ///< mm
    std::string where;      ///< "near end-a, front, underside"
    double size_mm = 0;     ///< of openings and holes round, else across
    std::string what;       ///< with its size, to be read before `where`
    std::string advice;
    bool asks_for_scan = false;  ///< worse than the job can bear: scan that place again
};

/// Everything about the scan that has a place: openings, the surface through itself, edges with more than two faces,
/// noisy regions, thin coverage, closed holes, loose pieces. Cost: see crossing_faces; seconds on a large scan.
std::vector<ScanPlace> find_scan_places(const Plug& plug, const Settings& settings);

/// Where a point of the plug frame lies, in the builder's words; `box` is the plug's, plug frame.
std::string where_on_plug(Vec3 point, const Box3& box);

}  // namespace cradlewright::app
