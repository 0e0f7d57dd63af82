// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/region_ops.hpp"
#include "stages/flange_run.hpp"

/// \file Panels in plan: strips along the runs, cut at mitres, before the plug is cut out of them. See flange.md.
namespace cradlewright {

/// The raw panel starts this far inside the plug.
inline constexpr double panel_inward_mm = 2;

/// Where two neighbouring runs meet, in plan.
struct Mitre {
    Vec2 joint;              ///< their common point of the line
    Vec2 at, direction;      ///< the cut; points away from the plug
    Vec2 bisector;           ///< away from the plug, halving the corner
    double turn_rad = 0;     ///< positive at a corner that sticks out
    double set_back_mm = 0;  ///< of either panel in plan: on a ridge the square-cut edges would meet below the tops
    double step_mm = 0;      ///< largest difference in height of the tops along the cut
    /// Where a panel's edge passes: of the one behind the mitre (side +1) or of the one ahead (-1).
    [[nodiscard]] Vec2 edge(double side) const { return at - perp(direction) * (side * set_back_mm); }
};

/// The runs of one loop in plan. Shapes do not overlap; together they have neither notch nor hole but the plug, apart
/// from set-backs, as far as the line's own turns leave them room.
struct LoopPlan {
    std::vector<Polygons> shapes;
    std::vector<Mitre> mitres;  ///< [r] lies between run r - 1 and run r; empty for a loop of one run
};
LoopPlan plan_panels(const std::vector<Run>& runs, double thickness_mm, bool is_inner);

}  // namespace cradlewright
