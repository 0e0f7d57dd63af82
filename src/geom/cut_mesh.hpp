// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// What a plane leaves of a mesh.
struct CutMesh {
    TriMesh mesh;
    /// Rims that the cut made, as closed chains in the direction of the faces beside them, each from its lowest number
    /// on, in order of it. Empty, with `is_clean` false, where the plane meets a vertex from two sides or runs into an
    /// opening.
    std::vector<std::vector<VertexId>> rims;
    bool is_clean = true;
};

/// Takes away what lies above the plane through `at` square to the unit `normal`. Vertices closer to the plane than
/// `snap_mm` are put into it, so that no new face is thinner than that. Faces and vertices keep their order, new
/// vertices come last; origins are carried along; an opening above the plane goes. Cost: O(F).
CutMesh cut_mesh(const TriMesh& mesh, Vec3 at, Vec3 normal, double snap_mm);

}  // namespace cradlewright
