// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cradlewright/stages/pose.hpp"

namespace cradlewright {

/// What each face of the plug does along the pull, before anything is decided.
struct ReleaseMap {
    std::vector<float> slope;  ///< per face: smoothed normal . pull, in [-1, 1]; sine of the draft toward half 1
    std::vector<std::uint8_t> covered;  ///< per face: bit 0 = something lies above it along the pull, bit 1 = below it
    /// The same seen along half 2's pull, still signed toward half 1: smoothed normal . -(pull 2), and bit 1 =
    /// something lies in half 2's way out. Empty where the pulls are opposite.
    std::vector<float> slope2;
    std::vector<std::uint8_t> covered2;
    [[nodiscard]] const std::vector<float>& slope_of(int half) const {
        return half == 2 && !slope2.empty() ? slope2 : slope;
    }
    [[nodiscard]] const std::vector<std::uint8_t>& covered_of(int half) const {
        return half == 2 && !covered2.empty() ? covered2 : covered;
    }
    double normal_noise_rad = 0;  ///< angle by which scan noise tilts a raw face normal
    double band_rad = 0;          ///< |draft| below this cannot be told from zero
    double mean_edge_mm = 0;
};

inline constexpr std::uint8_t covered_above = 1, covered_below = 2;

/// Smooths face normals where it matters (crease-preserving, more passes for more noise) and looks along the pull both
/// ways, along half 2's as well where it is not the opposite. Cost: O(F) a pull. Source: derived; normal filtering
/// after G. Taubin (1995) [from memory], with a similarity cut-off.
ReleaseMap map_release(const PosedPlug& posed);

/// Unit normals of all faces, scan frame, smoothed as for the map but everywhere. Cost: O(F) a pass.
std::vector<Vec3> smoothed_normals(const PosedPlug& posed, const ReleaseMap& map);

}  // namespace cradlewright
