// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/mesh_edges.hpp"

#include <algorithm>
#include <utility>

namespace cradlewright {

namespace {

/// The far end of an edge in the high half, the side in the low half: ascending order groups the sides of an edge.
using Entry = std::uint64_t;

/// Entries of all sides, bucketed by the lower end of their edge; bucket v is [start[v], start[v + 1]).
struct Buckets {
    std::vector<std::uint32_t> start;
    std::vector<Entry> entries;
};

Buckets fill_buckets(const std::vector<Triangle>& triangles, std::size_t vertex_count) {
    Buckets b;
    b.start.assign(vertex_count + 2, 0);
    for (const Triangle& t : triangles)
        for (unsigned k = 0; k < 3; ++k) ++b.start[std::min(t[k], t[(k + 1) % 3]) + std::size_t{2}];
    for (std::size_t v = 2; v < b.start.size(); ++v) b.start[v] += b.start[v - 1];
    b.entries.resize(3 * triangles.size());
    for (std::size_t f = 0; f < triangles.size(); ++f)
        for (unsigned k = 0; k < 3; ++k) {
            const auto [low, high] = std::minmax(triangles[f][k], triangles[f][(k + 1) % 3]);
            b.entries[b.start[low + std::size_t{1}]++] = (Entry{high} << 32) | (3 * f + k);
        }
    return b;
}

SideId side_in(Entry e) { return static_cast<SideId>(e); }

void match_run(const std::vector<Triangle>& triangles, const Entry* first, const Entry* last, SideMates& out) {
    if (last - first == 2) {
        const SideId a = side_in(first[0]), b = side_in(first[1]);
        out.mate[a] = b;
        out.mate[b] = a;
        if (from_of(triangles, a) == from_of(triangles, b)) out.is_one_way = false;
    } else if (last - first > 2) {
        std::vector<SideId>& sides = out.crowded.emplace_back();
        for (; first != last; ++first) sides.push_back(side_in(*first));
    }
}

}  // namespace

SideMates match_sides(const std::vector<Triangle>& triangles, std::size_t vertex_count) {
    SideMates out;
    out.mate.assign(3 * triangles.size(), no_id);
    Buckets b = fill_buckets(triangles, vertex_count);
    for (std::size_t v = 0; v < vertex_count; ++v) {
        Entry* const begin = b.entries.data() + b.start[v];
        Entry* const end = b.entries.data() + b.start[v + 1];
        std::sort(begin, end);
        for (Entry* run = begin; run != end;) {
            Entry* last = run + 1;
            while (last != end && (*last >> 32) == (*run >> 32)) ++last;
            match_run(triangles, run, last, out);
            run = last;
        }
    }
    return out;
}

}  // namespace cradlewright
