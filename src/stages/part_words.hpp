// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/stages/plate.hpp"

namespace cradlewright {

/// Writes words on a part, as large as there is room, 6 to 3 mm high: on material, clear of its edge and of its marks,
/// nearest to beside `near`. Marks that are lines must run level or upright, or be short. Returns whether there was
/// room.
bool write_words(PlatePart& part, const std::string& words, Vec2 near);

}  // namespace cradlewright
