// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <vector>

#include "cradlewright/stages/layup.hpp"

namespace cradlewright {

/// Where a flattened pattern lies on its surface.
struct FlatPlace {
    std::vector<FaceId> faces;  ///< of the mesh; its largest connected place is taken
    Vec3 start, warp;           ///< what comes to lie at the origin, and along x there; fixture frame
};

/// Spreads a place of a surface out flat, as rigid as possible, with margins and overlaps as cloth has them. `mates`:
/// of the mesh's sides, no_id at the surface's rim. Out: a pattern, or why there is none.
FlatPiece flatten_piece(const TriMesh& mesh, std::span<const FaceId> mates, const FlatPlace& place,
                        const KitOptions& kit);

}  // namespace cradlewright
