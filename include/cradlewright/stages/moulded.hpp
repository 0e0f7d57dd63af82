// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cradlewright/stages/bead.hpp"
#include "cradlewright/stages/release.hpp"

namespace cradlewright {

struct MouldedDraft {
    double rad = 0;
    FaceId face = no_id;  ///< a face with that draft
};
/// Draft of half `half`'s mould at the quantile `share` of the plug's area on it: the faces of the half without the
/// `hidden` ones. Bead and flange belong to the mould as well, but the bead's draft is nowhere below that of the plug
/// at its foot and the flange is judged by itself; to count their area would only thin out a wall that binds. In:
/// `draft_rad` per face along the half's own pull, signed toward half 1; `hidden` in face order. NaN when no measured
/// face is moulded. Assumed closings do not count. Cost: O(F).
MouldedDraft moulded_draft(const PosedPlug& posed, const Parting& parting, const std::vector<float>& draft_rad,
                           std::uint8_t half, const std::vector<FaceId>& hidden, double share);

/// Faces of either half, in face order, that a ball of this radius hides, rolled between the plug and flanges that
/// stand square to the pull: with z the height of the face over the nearest place of the panel line, on its own half's
/// side, and d its draft toward half 1's pull, those with z < r (1 - sin d). The ball's centre is at height r over the
/// flange and at distance r from the plug. For a flange that slopes see lay_beads. Source: derived. Cost: O(F) to find
/// the faces near the line.
std::vector<FaceId> faces_under_ball(const PosedPlug& posed, const Parting& parting,
                                     const std::vector<float>& draft_rad, double radius_mm);

/// What the beads hide of each half, in face order. Half 1's beads are those laid; half 2's are rolled on the other
/// side of the same flange, where the plug has another slope.
struct HiddenFaces {
    std::vector<FaceId> half1, half2;
};
/// Cost: O(F), and a look-up for each face near the line.
HiddenFaces hidden_by_beads(const PosedPlug& posed, const Parting& parting, const Beads& beads,
                            const std::vector<float>& draft_rad);

/// Sets draft and undercut of both halves to those of the surface that their moulds take, the plug less what is hidden,
/// so that report, sweep and checks tell one figure. Whether the edge itself lets go, bead, split and overrun together,
/// is judged by release.lock. Cost: O(F).
void leave_out_hidden(const PosedPlug& posed, const ReleaseMap& map, const Parting& parting, const HiddenFaces& hidden,
                      const ReleaseOptions& options, Release& release);

}  // namespace cradlewright
