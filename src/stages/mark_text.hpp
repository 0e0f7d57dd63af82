// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/base/vec.hpp"

/// \file Room that words take on a pattern. Private to the stages.
namespace cradlewright {

/// Width and height, mm, as drawings count them.
inline Vec2 mark_text_size(const std::string& text, double height_mm) {
    constexpr double width_per_height = 0.85;  // of a character
    return {width_per_height * height_mm * static_cast<double>(text.size()), height_mm};
}

}  // namespace cradlewright
