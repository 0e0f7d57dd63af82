// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/stages/plug.hpp"

namespace cradlewright {

/// A place of the plug's surface. Scan frame, mm.
struct PlugPlace {
    Vec3 at;
    Vec3 normal;  ///< outward, unit, of the face
    Vec3 smooth;  ///< the same as a mean over the face and its neighbours, not across a crease
    FaceId face = 0;
};

/// Places `spacing_mm` apart, each standing for the same area: about area / spacing^2 of them, at least 2000 and at
/// most 20000, on assumed closings too. Same plug, same places. Cost: O(F).
std::vector<PlugPlace> even_places(const Plug& plug, double spacing_mm);

}  // namespace cradlewright
