// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstdint>
#include <span>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// An undirected mesh edge by its vertices, smaller first; ordered as the pair.
using EdgeKey = std::uint64_t;

constexpr EdgeKey edge_key(VertexId a, VertexId b) {
    const auto [smaller, larger] = std::minmax(a, b);
    return (EdgeKey{smaller} << 32) | larger;
}

constexpr std::size_t next_corner(std::size_t k) { return k == 2 ? 0 : k + 1; }

/// Corner k of a triangle whose half-edge k -> k + 1 runs from a corner on the side `from_above` to one on the other.
/// A curve that keeps "above" to its left, seen from outside, enters the face over the half-edge from above to below
/// and leaves it over the one back; the neighbour sees that half-edge reversed, hence as its entry.
/// Precondition: the corners are not all on one side.
constexpr std::size_t crossing_corner(const std::array<bool, 3>& is_above, bool from_above) {
    std::size_t k = 0;
    while (is_above[k] != from_above || is_above[next_corner(k)] == from_above) ++k;
    return k;
}

/// A curve's way through one face.
struct EdgeStep {
    EdgeKey entry, exit;
};

/// Steps in walking order, by index.
struct EdgeChain {
    std::vector<std::uint32_t> steps;
    bool is_closed = true;
};

/// Joins steps into chains: each exit is the next step's entry.
/// Out: closed chains start at their smallest entry, open ones where nothing leads in; chains sorted by first entry.
/// Where a mesh has an edge with more than two faces, chains end there.
/// Guarantees: the order of the steps decides nothing but ties on such edges.
/// Cost: O(steps) expected, O(chains log chains).
std::vector<EdgeChain> chain_steps(std::span<const EdgeStep> steps);

}  // namespace cradlewright
