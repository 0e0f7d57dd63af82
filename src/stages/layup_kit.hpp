// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>

#include "cradlewright/stages/layup.hpp"

namespace cradlewright {

/// Length of roll that pieces take when laid in rows across it, longest first, warp along the roll, mm. Pieces wider
/// than the roll take their length each. Source: next-fit decreasing height, E. Coffman et al. (1980) [from memory].
double roll_length_mm(std::vector<Vec2> sizes, double roll_mm, double gap_mm);

/// Clay of each half's own beads.
struct BeadClay {
    double half1_kg = 0, half2_kg = 0;
};
/// What the cloth that was cut takes of everything, surface by surface and in all.
LayupKit make_kit(std::span<const LaidSurface> surfaces, BeadClay clay, const Settings& settings);

}  // namespace cradlewright
