// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/stages/bead.hpp"

/// \file Whether a mould's edge lets go of the plug, and if not, what holds it. Formulas: src/stages/edge_lock.md.
namespace cradlewright {

enum class LockCause {
    none,
    overrun,    ///< the panel line lies off the silhouette, as told or by a bridge
    split,      ///< the half took part of a cut-off strip that leans against it
    shrinkage,  ///< the mould grips a wall with too little draft to come free as wedges open the joint
};
std::string_view lock_cause_name(LockCause cause);  ///< "nothing" "overrun" "split" "shrinkage"

/// One half's mould along one edge, at its worst place: by how much it must give way to leave the plug, in parts whose
/// signed sum that is, but for depths under 0, which are 0. Fixture frame, mm.
struct EdgeLock {
    std::string edge;  ///< PartingEdge::id
    int half = 1;
    Vec3 at;                  ///< of the mould's edge: the bead's foot, the panel line where no bead is
    double overrun_mm = 0;    ///< how far the plug reaches out over the panel line, on the half's own side
    double split_mm = 0;      ///< the same on a split edge, in place of overrun_mm
    double bead_mm = 0;       ///< what the bead takes off these two by hiding the foot; never above 0
    double shrinkage_mm = 0;  ///< grip still there after the wedges' lift; under 0 where the mould shrinks off
    Spread depth_mm;          ///< the sum, over noise and the spread of shrinkage
    LockCause holds = LockCause::none;  ///< the larger of the plug's overhang left by the bead and the grip

    double bead_radius_mm = 0, strip_mm = 0;  ///< there; 0 without a round bead
    double rise_mm = 0;                       ///< of the plug's widest place over the mould's edge
    double arc_back_mm = 0;    ///< along the plug from the mould's edge up to where the overhang left passes the limit
    double half_width_mm = 0;  ///< from the middle of the plug to the edge, square to the edge
    double drop_mm = 0;        ///< how far the wall over the edge draws in within the wedges' lift
    [[nodiscard]] double overhang_mm() const { return overrun_mm + split_mm + bead_mm; }
};

/// A row for each edge and half, half 1 first, edges in the order of the loops; none without a parting line, and none
/// for an edge whose bead finds no place. Half 2 has rows where its beads are known or there are no beads at all, and
/// none in a single mould.
/// In: beads of the parting. Cost: O(F) for the faces near doubtful places, then some 100 rays a doubtful place: where
/// the plug turns away over a bead's foot, where there is no bead, and at most 200 a told edge.
/// Accuracy: 1/4 mm of height at a sharp arris, half of that on round sides, and the scan's noise, which is in low and
/// high.
std::vector<EdgeLock> measure_edge_locks(const PosedPlug& posed, const Parting& parting, const Flange& flange,
                                         const Beads& beads, const Settings& settings);

}  // namespace cradlewright
