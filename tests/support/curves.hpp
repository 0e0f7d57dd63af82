// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>

#include "cradlewright/geom/region.hpp"

namespace cradlewright::test {

/// Sum of the absolute turning angles at the corners, rad; doubled points are passed over.
double total_turning(std::span<const Vec3> points, bool is_closed);

/// Lines and arcs of all loops of an outline.
inline std::size_t edge_count(const Region& region) {
    std::size_t count = region.outer.vertices.size();
    for (const Loop& hole : region.holes) count += hole.vertices.size();
    return count;
}

}  // namespace cradlewright::test
