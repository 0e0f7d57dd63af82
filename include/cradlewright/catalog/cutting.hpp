// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string_view>

#include "cradlewright/base/source.hpp"
#include "cradlewright/base/vec.hpp"
#include "cradlewright/catalog/options.hpp"

namespace cradlewright {

/// How a material is usually cut by a router, for cutters of 1 to 12 mm.
struct CuttingRow {
    std::string_view material;      ///< key into materials()
    double tooth_per_diameter = 0;  ///< feed per tooth over cutter diameter, ratio
    double speed_rpm = 0;           ///< turns of the spindle a minute
    double depth_per_diameter = 0;  ///< of one pass in full width over cutter diameter, ratio
    Source source;
};
std::span<const CuttingRow> cutting_rows();

/// What a sheet is cut with: as told, the rest from the table. mm/min, turns a minute, mm. A start, not a promise: the
/// cutter maker's data and the machine's manual overrule it, and every file that uses it says so.
struct CuttingValues {
    double speed_rpm = 0;
    double feed_mm_min = 0;    ///< along the cut
    double plunge_mm_min = 0;  ///< largest downward part of any feed
    double pass_depth_mm = 0;
    Source source;  ///< of what was not told
};
/// feed = feed per tooth x teeth x speed. A material without a row is cut as the slowest row's. Guarantees: all > 0,
/// plunge at most the feed. Source: derived; the rows' own.
CuttingValues cutting_values(const RouterOptions& options, std::string_view material);

/// What stays free on a piece of stock, mm.
struct StockRoom {
    double end_mm = 0, side_mm = 0;  ///< along its short and its long edges
    double gap_mm = 0;               ///< between two parts
};
/// Edges: the stock's margin; a strip (up to 100 mm wide, planed to width) is used to its long edges.
/// Between parts: 8 mm along printed templates; on a saw its kerf and what stays beside either line until the true cut;
/// on a router two cutters and a web of 4 mm, so that tabs have something to hold to, and along edges a cutter and the
/// web at least. Strips are always sawn. Source: common practice; the web is assumed.
StockRoom room_on(const Settings& settings, const Stock& stock);

/// The larger share of the free length or width that a part takes, laid along or across, whichever is less; it fits
/// when at most 1. `box_mm`: the part's size.
double share_of_sheet(const Settings& settings, const Stock& stock, Vec2 box_mm);

}  // namespace cradlewright
