// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/cutter_reach.hpp"

#include <algorithm>
#include <limits>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"

namespace cradlewright {

namespace {

/// Distance of a point from the nearest of the loops.
double distance_to(const Polygons& loops, Vec2 p) {
    double least = std::numeric_limits<double>::infinity();
    for (const std::vector<Vec2>& loop : loops) least = std::min(least, distance_to_polyline(p, loop, true));
    return least;
}

/// Of one connected piece, by its corners. A piece that the cutter touches nowhere is a hole it does not enter.
UnreachedPlace deepest_of(const std::vector<Vec2>& piece, const Polygons& centres, double radius_mm, double slack_mm) {
    UnreachedPlace place{piece.front(), 0};
    double nearest = std::numeric_limits<double>::infinity();
    for (const Vec2 p : piece) {
        const double left = distance_to(centres, p) - radius_mm;
        nearest = std::min(nearest, left);
        if (left > place.left_mm) place = {p, left};
    }
    if (nearest > slack_mm) place.left_mm = std::numeric_limits<double>::infinity();
    return place;
}

}  // namespace

std::vector<UnreachedPlace> unreached_places(const Polygons& solids, double radius_mm, double least_mm, double sag_mm) {
    CRADLEWRIGHT_PRECONDITION(radius_mm > 0 && least_mm > 0);
    const Polygons centres = offset(solids, radius_mm, sag_mm);
    // What is only as wide as the chords are off is no place.
    const double slack_mm = 2 * sag_mm;
    const Polygons rest = offset(subtract(offset(centres, -radius_mm, sag_mm), solids), -slack_mm, sag_mm);
    std::vector<UnreachedPlace> places;
    for (const std::vector<Vec2>& piece : rest) {
        if (signed_area(piece) <= 0) continue;
        UnreachedPlace place = deepest_of(piece, centres, radius_mm, 2 * slack_mm);
        place.left_mm += slack_mm;
        if (place.left_mm >= least_mm) places.push_back(place);
    }
    std::sort(places.begin(), places.end(), [](const UnreachedPlace& a, const UnreachedPlace& b) {
        return a.at < b.at || (a.at == b.at && a.left_mm < b.left_mm);
    });
    return places;
}

}  // namespace cradlewright
