// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>
#include <optional>
#include <span>

#include "cradlewright/geom/surface_curve.hpp"

namespace cradlewright {

/// Nearest-point and ray queries on a set of faces. Meant for the pieces that need it, not for a whole large scan.
/// Cost: build O(n log n), query O(log n) expected. Source: CGAL AABB tree (P. Alliez, S. Tayeb, C. Wormser).
class MeshIndex {
public:
    /// In: `mesh` must outlive the index; `faces` empty = all faces.
    explicit MeshIndex(const TriMesh& mesh, std::span<const FaceId> faces = {});
    ~MeshIndex();
    MeshIndex(MeshIndex&&) noexcept;
    MeshIndex& operator=(MeshIndex&&) noexcept;

    struct Nearest {
        FaceId face = no_id;
        Vec3 point;
        double distance_mm = 0;
    };
    [[nodiscard]] Nearest nearest(Vec3 query) const;
    /// First hit of the ray from `origin` along `direction` (any length); empty when it misses.
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
