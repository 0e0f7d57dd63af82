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
struct Sheet {
    std::string stock;
    int number = 1;  ///< from 1, per stock
    double length_mm = 0, width_mm = 0;
    std::vector<Placement> placements;
    double use = 0;  ///< share of the sheet covered by parts
};
struct Layout {
    std::vector<Sheet> sheets;
    std::vector<std::string> too_large;  ///< parts that fit on no sheet of their stock
};

struct LayoutOptions {
    double margin_mm = 10;
    double gap_mm = 8;
};
/// Shelf layout by decreasing height of each part's box, turned when that saves height; stringers always lie along
/// their stock. Sheets come stock by stock in the order in which parts first name them. Boxes keep `gap_mm` from each
/// other and `margin_mm` from the edges; strips (up to 100 mm wide) only from the ends. Deterministic. Cost: O(n log n
/// + n sheets). Errors: Error(bad_input) for a stock that the settings do not have.
Layout lay_out(const Design& design, const LayoutOptions& options = {});

}  // namespace cradlewright
