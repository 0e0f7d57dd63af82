// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/stages/scraper.hpp"

namespace cradlewright {

/// What one run of the groove that half 1's clay leaves takes before half 2 is laid, and half 2's bead over it.
struct GrooveFill {
    std::string run, edge;              ///< "bead-front-1", "front"
    double length_mm = 0;               ///< along the plug
    double width_mm = 0, depth_mm = 0;  ///< widest at the flange's face; longest along the plug
    double fill_mm3 = 0, fill_kg = 0;   ///< all half 1's clay there: less what stays in place
    double bead_mm3 = 0, bead_kg = 0;   ///< half 2's own bead
    /// Cards of that edge: their panel edge strikes the filling flush, their nose draws half 2's bead.
    std::vector<std::string> cards;
    Vec3 at;  ///< on the panel line where it is widest, fixture frame
};
/// Run by run in the order of Beads::runs; empty without a groove. Sums are those of the groove. Cost: O(sections).
std::vector<GrooveFill> groove_fills(const Beads& beads, const std::vector<ScraperCard>& cards);

}  // namespace cradlewright
