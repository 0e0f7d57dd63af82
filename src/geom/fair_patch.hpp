// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "geom/loop_patch.hpp"

namespace cradlewright {

/// The faces of the surface that touch a loop: corners below the loop's length are places in the loop, the others
/// count on through `points`.
struct Surroundings {
    std::vector<Vec3> points;
    std::vector<Triangle> triangles;
};

/// A patch with inner points; corners past the loop's length count on through `added`.
struct FairPatch {
    std::vector<Vec3> added;
    std::vector<Triangle> triangles;
};

/// Bends a flat patch on as the surface round it bends: triangles as small as those at the loop, and inner points where
/// the squared mean curvature over the patch and the loop is least, so the patch leaves along the surface's tangents.
/// The loop's own points stay. In: loop, a patch_loop of it without a middle, the faces that touch the loop. Nothing
/// when there is nothing to bend (no inner point), when the surface round the loop stands steeper than 60 deg to the
/// loop's plane, as at a tube's end, where bending on would make a dome, or when the patch has faces without area.
/// Cost: O(k^2) triangles for k points of the loop, held to about 20000. Sources: P. Liepa, "Filling holes in meshes"
/// (2003), for the triangles (CGAL's refine); M. Botsch, L. Kobbelt, "An intuitive framework for real-time freeform
/// modeling" (2004), for the fairing; cotangent weights: U. Pinkall, K. Polthier (1993).
std::optional<FairPatch> fair_patch(const PointLoop& loop, const LoopPatch& flat, const Surroundings& around);

}  // namespace cradlewright
