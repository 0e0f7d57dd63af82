// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/stages/layup.hpp"

namespace cradlewright {

/// Cuts the cloth of a surface: lays a net from the middle of what is not yet covered, keeps it as far as its threads
/// do not lock, and goes on with what is left. Fills pieces, pieces_needed and cell_mm; in: all else. `warp`: fixture
/// frame, where the warp runs as near as the surface lets.
void cut_pieces(LaidSurface& surface, Vec3 warp, const Settings& settings);

}  // namespace cradlewright
