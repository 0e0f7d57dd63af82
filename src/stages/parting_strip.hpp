// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "stages/parting_sections.hpp"

namespace cradlewright {

/// The strip of a cut-off edge in one section: straight between two corners.
struct Strip {
    Vec2 upper, lower;                 ///< corners, half 1's and half 2's: where the three fitted lines meet
    std::size_t triangles_across = 0;  ///< faces that the section crosses on the strip
    [[nodiscard]] double width_mm() const { return norm(lower - upper); }
};

inline constexpr double widest_strip_mm = 24;  ///< wider ones are walls. Source: assumed
inline constexpr double strip_reach_mm = 2 * widest_strip_mm;

/// Fits upper side, strip and lower side about the section's origin by three straight lines (total least squares, the
/// two breaks by trying all; the closest view that shows both corners). Empty: no such strip here.
/// Cost: O(64^2) a view.
std::optional<Strip> fit_strip(const EdgeSection& section, double noise_mm);

}  // namespace cradlewright
