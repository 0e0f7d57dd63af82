// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <bit>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// Gives equal points the same number, in order of first use. Equal means equal coordinates, with -0 equal to 0; points
/// are finite. Open addressing with linear probing over a flat table that is never walked, so no order of hashing
/// shows.
class PointWelder {
public:
    /// In: `expected` number of different points; only a hint.
    explicit PointWelder(std::size_t expected);
    /// Number of `p`; a new one when `p` has not been seen.
    VertexId add(Vec3 p);
    /// Adds many points in their order. Memory is asked for some points ahead, which halves the time on a large scan.
    /// Precondition: as many ids as points.
    void add_all(std::span<const Vec3> points, std::span<VertexId> ids);
    /// Number of `p`, or no_id when it has not been seen.
    [[nodiscard]] VertexId find(Vec3 p) const;
    [[nodiscard]] std::size_t size() const { return points_.size(); }
    /// The different points in order of first use; the welder is empty afterwards.
    [[nodiscard]] std::vector<Vec3> take() { return std::move(points_); }

private:
    [[nodiscard]] std::size_t slot_of(Vec3 p) const;
    void grow();

    std::vector<Vec3> points_;
    std::vector<VertexId> table_;
    int shift_ = 64;  ///< keeps the top bits of the hash
};

/// Joins vertices: exactly equal ones, or those within `distance_mm` of the first vertex that stands for their group.
/// Returns how many vertices were joined to another. Triangles are renumbered, not removed.
std::size_t weld_vertices(TriMesh& mesh, double distance_mm);

/// Joins the marked vertices that a writer split: each within a twentieth of the shortest edge at it, and of its
/// partner's, of the first vertex that stands for their group. A joint that close moves the surface by less than the
/// scan can show, and never joins the two ends of an edge. In: one flag a vertex, welded where equal. Returns how many
/// were joined. Cost: O(F), and O(1) expected a marked vertex. Source of the share: assumed.
std::size_t weld_split_vertices(TriMesh& mesh, const std::vector<char>& is_marked);

/// Renumbers vertices in order of first use by the triangles and drops those that nothing uses. Openings are renumbered
/// too.
void number_by_first_use(TriMesh& mesh);

inline std::size_t PointWelder::slot_of(Vec3 p) const {
    // Multiply and fold each coordinate in turn; the constants are odd 64-bit numbers without structure (from memory:
    // the splitmix64 finalizer and the golden ratio).
    std::uint64_t h = std::bit_cast<std::uint64_t>(p.x) * 0x9e3779b97f4a7c15u;
    h = (h ^ (h >> 32) ^ std::bit_cast<std::uint64_t>(p.y)) * 0xbf58476d1ce4e5b9u;
    h = (h ^ (h >> 32) ^ std::bit_cast<std::uint64_t>(p.z)) * 0x94d049bb133111ebu;
    return static_cast<std::size_t>((h ^ (h << 31)) >> shift_);
}

inline VertexId PointWelder::add(Vec3 p) {
    p = p + Vec3{};  // -0 + 0 = 0
    const std::size_t mask = table_.size() - 1;
    for (std::size_t s = slot_of(p);; s = (s + 1) & mask) {
        if (table_[s] == no_id) {
            const auto id = static_cast<VertexId>(points_.size());
            table_[s] = id;
            points_.push_back(p);
            if (2 * points_.size() > table_.size()) grow();
            return id;
        }
        if (points_[table_[s]] == p) return table_[s];
    }
}

}  // namespace cradlewright
