// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/stages/flange.hpp"

namespace cradlewright {

/// An upright plate under the plug. Across the span it is drawn in (y, z) of the fixture: +y right, seen from end-b;
/// along the span in (x, z): +x right, seen from the back.
struct Rib {
    PlatePart part;
    double station_mm = 0;     ///< mid-thickness plane, fixture x; of one along the span fixture y
    std::vector<Vec2> saddle;  ///< finished cut edge under the plug, as drawn, left to right; empty = none
    std::vector<std::vector<Vec2>> more_saddles;  ///< further ones, where the plug stands on several feet
    std::vector<std::vector<Vec2>> seats;         ///< edges that carry panels or stringers, as drawn
    double min_inside_radius_mm = 0;
    std::vector<Vec2> envelope;  ///< lower envelope of the plug over the slab, without pad, as drawn
};

struct Stringer {
    PlatePart part;    ///< side view: the strip's broad or narrow face
    std::string edge;  ///< parting edge it lies under
    double width_mm = 0, height_mm = 0;
    Vec3 from, to;                    ///< middle of the top face, fixture frame
    std::vector<std::string> panels;  ///< that it carries
};

/// One of the alternatives that the mechanics tried before they chose.
struct Trial {
    std::string what;   ///< "ribs" "end plates" "strips" "strip section" "stops"
    std::string tried;  ///< "5 ribs", "front: 2 rows of pine-20x40", "pine-20x40", "stop-end-a: 60 x 9 mm"
    double value_mm = 0, limit_mm = 0;  ///< infinite where a panel is not held
    bool is_enough = false;
};

struct Cradle {
    std::vector<Rib> ribs;  ///< by station
    std::vector<Stringer> stringers;
    std::vector<PlatePart> ties;
    std::vector<Rib> long_ribs;  ///< in place of ties, where they carry the plug as well; across y
    std::vector<PlatePart> stops;
    PlatePart base;
    std::vector<Joint> joints;
    std::string count_reason;   ///< why this many ribs
    std::string tie_reason;     ///< why there are neither ties nor long ribs, or empty
    double tie_room_mm = 0;     ///< height that ties may have under plug and strips
    std::vector<Trial> trials;  ///< in the order tried; those of told settings are missing
};

/// Plates that stand on the base: ribs, long ribs, ties, stops.
std::vector<const PlatePart*> standing_plates(const Cradle& cradle);

/// Builds the cradle under a posed plug whose height is final. What is not told is chosen by the functions that the
/// checks judge with: ribs by the plug's sag, rows of strips by the panels' dips, the strips' section by their own dip,
/// stops by what saddles leave free. Panels whose run is not in `parting` get rows as usual.
Cradle build_cradle(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Settings& settings);

/// Stations in fixture x for a plug spanning [low, high]: told ones, else both ends inset by half a thickness and equal
/// spacing of at most `spacing_mm` (or `count` of them).
std::vector<double> rib_stations(double low_mm, double high_mm, double thickness_mm, const CradleOptions& options);

}  // namespace cradlewright
