// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// A patch of surface spread out on a table: what sheet that neither shears nor slips would have to give.
struct FlatPatch {
    std::vector<Vec2> at;  ///< a vertex each; seen from the side the normals point to, arbitrary place and turn
    /// Principal stretches from flat to surface less 1, by area: least at the 1 % quantile, most at the 99 %.
    double least_strain = 0, most_strain = 0;
    double area_mm2 = 0;  ///< flat
    /// Sum over faces of area times the squares of both stretches from surface to flat less 1, mm2: what was minimised.
    double distortion_mm2 = 0;
};

/// As rigid as possible: from CGAL's least squares conformal map on, each face is turned to where it fits best and the
/// vertices are solved for, in turn, until nothing moves.
/// In: an oriented patch, connected, with a rim. Out: nothing where more than 1 % of it folds over itself or no map is
/// found, as for a closed surface; vertices of faces that fold lie off by the size of a face. Cost: two sparse
/// factorisations of its vertices and at most 60 substitutions.
/// Source: L. Liu, L. Zhang, Y. Xu, C. Gotsman, S. Gortler, "A Local/Global Approach to Mesh Parameterization",
/// Computer Graphics Forum 27 (2008), sections 3 and 4, from memory.
std::optional<FlatPatch> flatten_patch(const TriMesh& patch);

}  // namespace cradlewright
