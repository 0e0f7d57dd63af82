// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

#include "cradlewright/stages/parting.hpp"

namespace cradlewright {

/// Indices of points at which a closed, evenly spaced chain turns more than `corner_rad` within `run_mm`; sorted.
std::vector<std::size_t> find_corners(std::span<const Vec3> points, double corner_rad, double run_mm);

/// Splits a loop into named edges. In: panel_line and outward filled; corner indices. A round loop is one edge, "rim".
/// `number` counts the inner loops from 1; 0 = outer.
std::vector<PartingEdge> name_edges(const PosedPlug& posed, const PartingLoop& loop,
                                    std::span<const std::size_t> corners, std::size_t number);

/// Cuts the edges that the user names between two points out of those found: from one to the other the shorter way.
/// What is left behind a told edge keeps its name with the next free number. Points further than `most_off_mm` from
/// this loop belong to another.
void cut_told_edges(const PosedPlug& posed, const std::map<std::string, EdgeOptions>& told, double most_off_mm,
                    PartingLoop& loop);

}  // namespace cradlewright
