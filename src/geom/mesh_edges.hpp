// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cradlewright/geom/mesh.hpp"
#include "geom/edge_chains.hpp"

namespace cradlewright {

/// Side 3 f + k of the mesh: side k of face f, from corner k to corner k + 1.
using SideId = std::uint32_t;

inline FaceId face_of(SideId s) { return s / 3; }
inline SideId next_side(SideId s) { return s % 3 == 2 ? s - 2 : s + 1; }
inline SideId previous_side(SideId s) { return s % 3 == 0 ? s + 2 : s - 1; }
inline VertexId from_of(const std::vector<Triangle>& t, SideId s) { return t[s / 3][s % 3]; }
inline VertexId to_of(const std::vector<Triangle>& t, SideId s) { return from_of(t, next_side(s)); }

/// Which sides lie on the same edge.
struct SideMates {
    std::vector<SideId> mate;  ///< the one other side on the same edge, or no_id: none, or more than one
    std::vector<std::vector<SideId>> crowded;  ///< edges with three sides or more; edges and sides in ascending order
    bool is_one_way = true;                    ///< every pair of mates runs in opposite directions
};

/// Precondition: no face repeats a corner, fewer than 2^32 / 3 faces. Cost: O(F) for bounded valence.
SideMates match_sides(const std::vector<Triangle>& triangles, std::size_t vertex_count);

}  // namespace cradlewright
