// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/catalog/cutting.hpp"
#include "cradlewright/geom/cutter_reach.hpp"
#include "cradlewright/output/layout.hpp"

/// \file Sheets to moves of a router's cutter; no file format. Sheet frame: x along the sheet, y across, origin its
/// lower left corner, z = 0 its top face, up positive; mm. Positions are of the cutter's tip centre.
namespace cradlewright {

/// A cut edge lies within this of its outline wherever the cutter reaches it, and the cutter never enters a part by
/// more. Source: derived, sum of what flattening (0.004), offset (0.004) and arc fit (0.02) may be off.
inline constexpr double router_tolerance_mm = 0.03;

enum class MoveKind {
    rapid,   ///< in air: level at safe height, or straight up or down above the sheet
    plunge,  ///< straight down in material, at half the plunge feed: only where a cut is too short to lead in
    ramp,    ///< down along the cut
    cut,     ///< along the cut, level or upward
};
/// From where the move before ended to `to`; an arc in plan when `bulge` is not 0 (as PathVertex), z rising evenly.
struct ToolMove {
    MoveKind kind = MoveKind::rapid;
    Vec3 to;
    double bulge = 0;
};

enum class RunKind { mark, inside, outside };
/// One closed cut down to its full depth, or one mark: from safe height to safe height.
struct ToolRun {
    RunKind kind = RunKind::outside;
    std::string parts;  ///< ids of what it cuts, by blanks
    int tabs = 0;
    double skin_mm = 0;  ///< left under it: onion skin, or instead of tabs where it is too short for one
    std::vector<ToolMove> moves;
};

/// A place that the cutter does not clear. Sheet frame.
struct UnreachedCut {
    std::string part;
    UnreachedPlace place;
    CutKind cut = CutKind::rough;  ///< fit where an edge beside it is
};

struct SheetPath {
    std::string stock, material;
    int number = 1;
    double length_mm = 0, width_mm = 0, thickness_mm = 0;
    double cutter_mm = 0;
    int flutes = 2;
    CutDirection direction = CutDirection::conventional;
    CuttingValues values;
    double ramp_feed_mm_min = 0;  ///< keeps the downward part within values.plunge_mm_min
    double safe_mm = 0;           ///< height of level travel
    double depth_mm = 0;          ///< of the deepest cut below the top face
    int passes = 0;               ///< to that depth
    double tab_width_mm = 0, tab_height_mm = 0;
    int part_count = 0;
    std::vector<ToolRun> runs;  ///< in the order of cutting
    std::vector<UnreachedCut> unreached;
    double cut_length_mm = 0, time_s = 0;  ///< all moves in material; time by feeds, travel as at 3 m/min (assumed)
};

/// Moves for every sheet; strips (of stringers) are cut to length by saw and left out. Of cuts one inside the other the
/// inner one comes first, so that nothing moves before it is finished; else the nearest next. Each is led in along
/// itself at the slope of RouterOptions::ramp and goes down in passes of equal depth, on to the next without lifting.
/// Tabs stand on straight rough edges where there are any, on fit edges only where a cut has no two others. A hole
/// whose waste would be narrower than the cutter is cleared. Parts too near each other for the cutter stay together,
/// which `unreached` says. Deterministic. Cost: a Clipper offset a sheet. Errors: those of stock().
std::vector<SheetPath> plan_router(const Design& design, const Layout& layout);

}  // namespace cradlewright
