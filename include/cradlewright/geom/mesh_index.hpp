// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>
#include <optional>
#include <span>

#include "cradlewright/geom/surface_curve.hpp"

namespace cradlewright {

/// Nearest-point and ray queries on a set of faces. Meant for the pieces that need it, not for a whole large scan.
/// Nearest points by a tree of boxes over the faces in an order along a space-filling curve, which costs one pass to
/// build; rays, which must not slip through a seam, by the CGAL AABB tree (P. Alliez, S. Tayeb, C. Wormser), built when
/// the first ray asks. Cost: build O(n), with rays O(n log n); query O(log n) expected.
/// Source: C. Lauterbach et al., "Fast BVH construction on GPUs" (2009) [from memory].
class MeshIndex {
public:
    /// In: `faces` empty = all faces. Faces without area or with a corner that is not finite are left out. The corners
    /// are copied: `mesh` need not outlive the index. Queries may run in several threads.
    explicit MeshIndex(const TriMesh& mesh, std::span<const FaceId> faces = {});
    ~MeshIndex();
    MeshIndex(MeshIndex&&) noexcept;
    MeshIndex& operator=(MeshIndex&&) noexcept;

    struct Nearest {
        FaceId face = no_id;
        Vec3 point;
        double distance_mm = 0;
    };
    /// Nearest point, of equally near faces on the one with the lowest number; no_id at infinite distance when the
    /// index is empty.
    [[nodiscard]] Nearest nearest(Vec3 query) const;
    /// First hit of the ray from `origin` along `direction` (any length but 0); empty when it misses. A face through
    /// `origin` is hit at distance 0.
    struct Hit {
        FaceId face = no_id;
        Vec3 point;
        double distance_mm = 0;
    };
    [[nodiscard]] std::optional<Hit> first_hit(Vec3 origin, Vec3 direction) const;
    [[nodiscard]] bool is_empty() const;

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace cradlewright
