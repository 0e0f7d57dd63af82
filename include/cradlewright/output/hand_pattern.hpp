// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/base/units.hpp"
#include "cradlewright/stages/plate.hpp"

/// \file A pattern as figures, for drawing it by hand on wrapping paper: points by offsets from a base line.
namespace cradlewright {

/// One point to mark. Both figures are whole millimetres, or whole 1/16 in.
struct HandPoint {
    Vec2 at;                  ///< x along the base line from its left end, y square to it
    bool is_station = false;  ///< x is one of the regular stations
};

/// The base line is the paper's straight edge: it runs with the pattern's x, the warp of cloth, under its lowest point.
struct HandPattern {
    std::string id, note;
    Vec2 origin;                                ///< left end of the base line, part frame
    double length_mm = 0, width_mm = 0;         ///< of paper, rounded up
    double station_mm = 0;                      ///< between stations
    std::vector<std::vector<HandPoint>> loops;  ///< the outline counter-clockwise from its leftmost point, then holes
    struct Cross {
        Vec2 at;           ///< as HandPoint::at
        std::string name;  ///< "start" for what is laid first, else the number of a match mark
    };
    std::vector<Cross> crosses;  ///< marks to copy, the start first
    double miss_mm = 0;          ///< greatest distance of straight lines from point to point from the cut line
};

/// How far hand-drawn lines may miss the cut line. Source: assumed, a tenth of a usual margin.
inline constexpr double hand_miss_mm = 3;

/// Points on the outline at regular stations, and between them as many as it takes to keep within hand_miss_mm, none
/// where a straight line does without. Cost: O(points of the outline squared) at worst. Precondition: the part has an
/// outline.
HandPattern hand_pattern(const PlatePart& part, UnitSystem units);

}  // namespace cradlewright
