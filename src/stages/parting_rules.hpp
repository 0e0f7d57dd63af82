// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cradlewright/stages/parting.hpp"

namespace cradlewright {

/// Moves the panel line of edges that are told a split, an overrun or a line of their own, and the border of the halves
/// with it; says on each edge what came of it. Near an edge's end the line passes to the next edge's place.
/// In: a loop with lines and edges, whose rules are still `silhouette`. Out: moved panel_line (settle_line is due where
/// true is returned), rules and findings of its edges, `half` of the faces between.
/// Errors: Error(bad_input, "edge.NAME.polyline") when a told point lies off the plug.
bool apply_edge_rules(const PosedPlug& posed, const ReleaseMap& map, const PartingOptions& options, PartingLoop& loop,
                      std::vector<std::uint8_t>& half);

}  // namespace cradlewright
