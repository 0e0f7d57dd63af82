// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/checks/design.hpp"

namespace cradlewright {

/// A part laid on a sheet: turned by `angle_rad`, then shifted.
struct Placement {
    std::string part;
    double angle_rad = 0;
    Vec2 shift;
};
/// A sheet, strip or offcut. Frame: mm, lower left corner 0, length along x; a grained sheet's grain runs along x.
struct Sheet {
    std::string stock;
    int number = 1;  ///< from 1, per stock
    double length_mm = 0, width_mm = 0;
    bool is_offcut = false;
    std::vector<Placement> placements;
    double use = 0;  ///< share of the sheet covered by parts
    Vec2 needed;     ///< length and width of a piece, margins included, that would do for the same places
};
struct Layout {
    std::vector<Sheet> sheets;
    std::vector<std::string> too_large;  ///< parts that fit on no sheet of their stock
};

/// Puts parts, largest first, where they end soonest along the sheet, by their shape: one may lie in the hollow of
/// another, never in its holes. Turned by half and quarter turns; on grained stock the long side of a part's box lies
/// along the grain, unless only the other way fits; stringers always lie along their strip. Offcuts are used before
/// sheets, the smallest that takes the part first. Sheets come stock by stock in the order in which parts first name
/// them. Parts keep the gap of room_on() from each other (to 0.05 mm round arcs) and their boxes its margins from the
/// edges. Deterministic.
/// Errors: Error(bad_input) for a stock that the settings do not have.
/// Cost: n places of at most O(columns x rows x width of the part), in cells of 2 mm; far less where there is room.
Layout lay_out(const Design& design);

}  // namespace cradlewright
