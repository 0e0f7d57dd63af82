// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/stages/flange.hpp"

namespace cradlewright {

/// An upright plate across the span. Drawn in (y, z) of the fixture: +y right, seen from end-b (from +x).
struct Rib {
    PlatePart part;
    double station_mm = 0;     ///< mid-thickness plane, fixture x
    std::vector<Vec2> saddle;  ///< finished cut edge under the plug, (y, z), left to right; empty = none
    std::vector<std::vector<Vec2>> more_saddles;  ///< further ones, where the plug stands on several feet
    std::vector<std::vector<Vec2>> seats;         ///< edges that carry panels or stringers, (y, z)
    double min_inside_radius_mm = 0;
    std::vector<Vec2> envelope;  ///< lower envelope of the plug over the slab, without pad, (y, z)
};

struct Stringer {
    PlatePart part;    ///< side view: the strip's broad or narrow face
    std::string edge;  ///< parting edge it lies under
    double width_mm = 0, height_mm = 0;
    Vec3 from, to;                    ///< middle of the top face, fixture frame
    std::vector<std::string> panels;  ///< that it carries
};

struct Cradle {
    std::vector<Rib> ribs;  ///< by station
    std::vector<Stringer> stringers;
    std::vector<PlatePart> ties;
    std::vector<PlatePart> stops;
    PlatePart base;
    std::vector<Joint> joints;
    std::string count_reason;  ///< why this many ribs
    std::string tie_reason;    ///< why there are no ties, or empty
    double tie_room_mm = 0;    ///< height that ties may have under plug and strips
};

/// Builds the cradle under a posed plug whose height is final.
Cradle build_cradle(const PosedPlug& posed, const Flange& flange, const Settings& settings);

/// Stations in fixture x for a plug spanning [low, high]: told ones, else both ends inset by half a thickness and equal
/// spacing of at most `spacing_mm` (or `count` of them).
std::vector<double> rib_stations(double low_mm, double high_mm, double thickness_mm, const CradleOptions& options);

}  // namespace cradlewright
