// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/stages/bead.hpp"

namespace cradlewright {

/// The settings with those that nobody told set by what the mould is for. Now the flange's width: a single mould's
/// flange only stiffens and holds the vacuum or the trim, halves that are joined in the closed mould are bolted through
/// theirs. Widths: within the 40 to 75 mm of common practice.
Settings settings_for_use(Settings settings);

/// A bolt that holds both moulds' flanges together. Fixture frame, mm.
struct FlangeBolt {
    std::string panel;  ///< under whose mould flange it goes through
    Vec3 at, axis;      ///< on the panel's top face; unit, square to it
};

/// How two moulds, or a mould and nothing, meet.
struct MouldJoint {
    double bolt_mm = 0, spacing_mm = 0;  ///< 0 = no bolts
    std::vector<FlangeBolt> bolts;       ///< loop by loop along the line
    std::string trim;                    ///< where the part is trimmed, one sentence
};

/// Bolts at about equal steps along each outer loop, in the middle of what the bead leaves of the flange, at least two
/// diameters inside the panel; where it does not fit (a mitre, a narrow panel) the next place along takes it.
/// Spacing and diameter: common practice, M6 at 250 mm to hold halves that are taken apart for the part, at 150 mm
/// where the part is joined under pressure inside. None for a single mould or without panels. Cost: O(line x outline).
MouldJoint plan_mould_joint(const Parting& parting, const Flange& flange, const Beads& beads, const Settings& settings);

}  // namespace cradlewright
