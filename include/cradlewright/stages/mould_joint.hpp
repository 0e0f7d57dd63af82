// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/stages/bead.hpp"

namespace cradlewright {

/// The settings with those that nobody told set by what the mould is for. Now the flange's width: a single mould's
/// flange only stiffens and holds the vacuum or the trim, halves that are joined in the closed mould are bolted through
/// theirs. Widths: within the 40 to 75 mm of common practice.
Settings settings_for_use(Settings settings);

/// How two moulds, or a mould and nothing, meet.
struct MouldJoint {
    double bolt_spacing_mm = 0;  ///< 0 = no bolts: nothing meets
    std::string trim;            ///< where the part is trimmed, one sentence
};

/// Bolts every 250 mm hold halves that are taken apart for the part, every 150 mm where the part is joined under
/// pressure inside. Source: common practice. Empty without a parting line.
MouldJoint plan_mould_joint(const Parting& parting, const Beads& beads, const Settings& settings);

}  // namespace cradlewright
