// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// Numbers of the points in the order in which a Morton curve through their box passes them, on a grid of 1024 cells
/// along the longest side; points in one cell keep their order. Precondition: points finite. Cost: O(n).
/// Source: G. M. Morton, "A computer oriented geodetic data base" (1966) [from memory].
std::vector<std::uint32_t> space_order(std::span<const Vec3> points);

/// Puts the faces in the space order of their middles and numbers the vertices by first use, dropping unused ones.
/// Neighbours in space become neighbours in memory; on a scan in no order, each later pass over the faces then takes a
/// fraction of its time. Precondition: vertices finite, corners within range. Cost: O(F).
void order_in_space(TriMesh& mesh);

}  // namespace cradlewright
