// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

struct MirroredHalf {
    TriMesh mesh;                ///< both halves, closed at the plane, the second one's faces marked `mirrored`
    Vec3 on_plane, normal;       ///< the mirror plane; the normal points out of the scanned half
    double largest_move_mm = 0;  ///< how far a point of the rim, or beyond the plane, was brought on to it
};

/// Completes a half by its mirror image in the plane of its longest opening: points of its rim, and what little reaches
/// beyond, are brought on to that plane. In: mended, its openings left open. Errors: Error(bad_input, place) when it
/// has no opening, or when a point would have to move by more than `most_move_mm`: then the rim is not flat or the scan
/// reaches past it, so it is not half a body; the message names distance and place.
MirroredHalf mirror_half(const TriMesh& half, double most_move_mm, const std::string& place);

}  // namespace cradlewright
