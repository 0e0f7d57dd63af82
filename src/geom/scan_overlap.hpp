// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cradlewright/geom/mesh.hpp"
#include "cradlewright/geom/mesh_index.hpp"

namespace cradlewright {

/// Area-weighted vertex normals, unit length; zero where a vertex has no face.
std::vector<Vec3> vertex_normals(const TriMesh& mesh);

/// Tells whether a point of another scan lies on this one: near its faces, looking the same way, and not beyond its
/// rim. Precondition: oriented.
class ScanCover {
public:
    explicit ScanCover(const TriMesh& mesh);

    struct Place {
        Vec3 point, normal;
        double distance_mm = 0;
    };
    /// The nearest place, or nothing: further than `reach_mm`, on the rim, or looking another way, that is with a
    /// cosine between the normals below `least_cosine`. A thin plug's two sides differ by -1; at an arris noise turns a
    /// vertex normal by up to 90 deg from the faces'.
    [[nodiscard]] std::optional<Place> find(Vec3 point, Vec3 normal, double reach_mm, double least_cosine) const;

private:
    [[nodiscard]] bool is_on_rim(FaceId f, Vec3 point) const;

    TriMesh mesh_;
    std::vector<FaceId> adjacency_;
    std::vector<char> is_rim_vertex_;
    MeshIndex index_;
};

}  // namespace cradlewright
