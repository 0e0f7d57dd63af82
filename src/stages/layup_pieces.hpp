// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/stages/layup.hpp"

namespace cradlewright {

/// Cuts the cloth of a surface: lays a net from the middle of what is not yet covered, keeps it as far as its threads
/// do not lock, and goes on with what is left. Fills pieces and pieces_needed; in: id, laminate, lock_rad and
/// cell_mm, and the clean surface as a mesh, fixture frame, its normals on the side of the plies. `warp`: where the
/// warp runs as near as the surface lets. Precondition: the laminate has plies.
void cut_pieces(LaidSurface& surface, const TriMesh& mesh, Vec3 warp, const Settings& settings);

}  // namespace cradlewright
