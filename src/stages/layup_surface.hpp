// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/stages/layup.hpp"
#include "geom/surface_clusters.hpp"

namespace cradlewright {

/// What lies under the plies of one surface.
struct LaidOn {
    int half = 1;
    bool has_flange = true;                       ///< mould: with beads and panels; part: the plug alone
    const std::vector<BeadRun>* runs = nullptr;   ///< the half's own beads
    const std::vector<FaceId>* hidden = nullptr;  ///< under them, in face order
    const std::vector<std::vector<Vec3>>* trim_lines = nullptr;
};

/// Side of the cells by which a surface is made clean and its cloth is laid: some 4000 on the surface.
double layup_cell_mm(const PosedPlug& posed, const Parting& parting, const Flange& flange, const LaidOn& on);

/// Plug, arcs of the beads and top faces of the panels as one coarse mesh without noise and cracks, its edges no longer
/// than two cells; see SurfaceClusters. `up`: side of the plies on the whole. Fixture frame. Cost: O(F).
SurfaceClusters::Result clean_surface(const PosedPlug& posed, const Parting& parting, const Flange& flange,
                                      const LaidOn& on, double cell_mm, Vec3 up);

}  // namespace cradlewright
