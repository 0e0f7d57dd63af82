// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// A region where the scan is worse than elsewhere.
struct WeakPlace {
    Vec3 center;
    double reach_mm = 0;  ///< from the center to its furthest piece
    double value_mm = 0;  ///< what is bad there: noise, or length of the triangles' edges; the mean over its pieces
    double chord_mm = 0;  ///< of thin places: how far such triangles may cut a corner off the real surface
};

/// Regions with over 2.5 times the noise of the whole, the largest first. Looked at in cells of a sixteenth of the
/// scan's longest side; where the surface bends too sharply for its triangles nothing is said. In: `noise_mm` of the
/// whole, as estimate_noise gives it; 0 = a drawn shape: nothing. Limits: assumed.
std::vector<WeakPlace> noisy_places(const TriMesh& mesh, double noise_mm);

/// Regions where the scanned triangles are over 2.5 times as large as in the whole, the largest first, in the same
/// cells. On a flat that costs nothing: chord_mm is an eighth of edge times turn to the next triangle, the rise of an
/// arc (derived), the mean over the edges. Limits: assumed.
std::vector<WeakPlace> thin_places(const TriMesh& mesh);

}  // namespace cradlewright
