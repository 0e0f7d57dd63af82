// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/stages/bead.hpp"

namespace cradlewright {

/// A card that shapes the clay: drawn along the line by its handle, it rides on the panel with one edge, on the plug
/// with the other, and its nose leaves the bead behind. Part frame: origin where the two riding edges would meet, y up
/// the handle along their bisector, panel edge on the right.
struct ScraperCard {
    PlatePart part;                   ///< nose and riding edges are cut to fit; `frame` holds it in use at `at`
    BeadKind kind = BeadKind::round;  ///< round: a quarter or so of a disc; ramp: the stepped card
    std::vector<std::string> edges;   ///< that it serves
    double radius_mm = 0;             ///< of the nose; 0 on stepped cards
    double wedge_rad = 0;             ///< between the riding edges
    double corner_min_rad = 0, corner_max_rad = 0;  ///< of the beads it shapes, both halves
    double ramp_height_mm = 0;                      ///< stepped: clay on the strip, square to the panel
    double step_mm = 0;  ///< stepped: rides on so much of the strip above the clay, up to its corner
    double strip_least_mm = 0, strip_most_mm = 0;  ///< stepped: the half's part of the strip over the edge; 0 = unsplit
    Vec3 at;                                       ///< on the panel line, where the corner is sharpest
};

/// One radius card for the edges whose sharpest corners lie within the same five degrees, one stepped card for each
/// edge and half with a ramp, two or three where one would stand off the plug by more than 0.5 mm at its widest corner.
/// The riding edges of a radius card meet at that angle rounded down, so it goes into every corner of its edges and its
/// nose, an exact arc, touches panel and plug in all of them; where the corner is wider it rides on the panel alone.
/// Out: outlines simple and convex, ids unique; none without clay. Errors: none. Source: derived (a disc of radius r
/// leaves a bead of r when held square to the line).
std::vector<ScraperCard> make_scraper_cards(const Beads& beads, const Flange& flange, const Parting& parting,
                                            const Settings& settings);

}  // namespace cradlewright
