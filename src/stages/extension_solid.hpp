// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/stages/extension.hpp"
#include "stages/extension_end.hpp"

namespace cradlewright {

/// How a piece runs outward from its inner outline, and how its faces are divided.
struct PieceShape {
    std::vector<Vec2> speed;                   ///< of each point of the inner outline, for each mm outward
    std::vector<double> height_mm;             ///< of the outer face there
    std::size_t ridge_from = 0, ridge_to = 0;  ///< ends of its ridge in the outline; equal = the outer face is square
    double row_mm = 1;                         ///< length of the faces along the run
};

/// Cuts the end off `mesh` and sets the piece on to it: adds fill, step, walls and outer face, and writes first_face,
/// face_count and volume_mm3 into `extension`. In: `extension` with joint and outlines; `end` as found on this mesh.
/// Errors: Error(bad_input) where no clean cut is found. Cost: O(F).
TriMesh set_on(const TriMesh& mesh, const FlatEnd& end, const PieceShape& shape, Extension& extension);

}  // namespace cradlewright
