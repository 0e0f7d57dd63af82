// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "cradlewright/stages/release_map.hpp"

namespace cradlewright {

/// Which half moulds each face.
struct Halves {
    std::vector<std::uint8_t> label;  ///< per face: 1 or 2 (0 = undecided, only while there is no face of one half)
    std::vector<float> wall_faces;  ///< per face: how many faces lie across the stretch that cannot be told from a wall
    std::size_t islands_absorbed = 0;  ///< patches handed to the half around them
    double absorbed_area_mm2 = 0;

    [[nodiscard]] bool has(std::uint8_t half) const {
        return std::find(label.begin(), label.end(), half) != label.end();
    }
    [[nodiscard]] bool has_both() const { return has(1) && has(2); }
};

/// Faces that lean more than this (sine of the draft) cannot be taken for a wall.
double open_slope(const ReleaseMap& map);

/// Decides sure faces by slope and cover and splits the undecided band between them by a shortest cut (parting.md).
/// Cost: O(F) plus a minimum cut over the band.
Halves label_halves(const PosedPlug& posed, const ReleaseMap& map);

/// The face across edge k (corner k to k + 1) of a face, or no_id.
inline FaceId neighbour(const PosedPlug& posed, FaceId f, std::size_t k) {
    return (*posed.plug.adjacency)[3 * std::size_t{f} + k];
}

}  // namespace cradlewright
