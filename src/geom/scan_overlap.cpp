// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/scan_overlap.hpp"

#include <algorithm>
#include <cmath>

namespace cradlewright {

namespace {

constexpr double on_edge_share = 1e-6;  // of the edge: a point beyond the rim projects exactly on to it

double distance_to_segment(Vec3 p, Vec3 a, Vec3 b) {
    const Vec3 d = b - a;
    const double length2 = dot(d, d);
    const double t = length2 > 0 ? std::clamp(dot(p - a, d) / length2, 0.0, 1.0) : 0;
    return norm(p - (a + d * t));
}

}  // namespace

std::vector<Vec3> vertex_normals(const TriMesh& mesh) {
    std::vector<Vec3> normals(mesh.vertices.size());
    for (FaceId f = 0; f < mesh.face_count(); ++f)
        for (const VertexId v : mesh.triangles[f]) normals[v] += area_vector(mesh.corners(f));
    for (Vec3& n : normals) n = norm(n) > 0 ? normalized(n) : Vec3{};
    return normals;
}

ScanCover::ScanCover(const TriMesh& mesh)
    : mesh_{.vertices = mesh.vertices, .triangles = mesh.triangles, .face_origin = {}, .openings = {}},
      adjacency_(face_adjacency(mesh)),
      is_rim_vertex_(mesh.vertices.size(), 0),
      index_(mesh) {
    for (std::size_t side = 0; side < adjacency_.size(); ++side)
        if (adjacency_[side] == no_id)
            for (const std::size_t k : {side % 3, (side + 1) % 3}) is_rim_vertex_[mesh.triangles[side / 3][k]] = 1;
}

bool ScanCover::is_on_rim(FaceId f, Vec3 point) const {
    const auto c = mesh_.corners(f);
    for (std::size_t k = 0; k < 3; ++k) {
        const Vec3 a = c[k], b = c[(k + 1) % 3];
        const double slack = on_edge_share * norm(b - a);
        if (adjacency_[3 * f + k] == no_id && distance_to_segment(point, a, b) <= slack) return true;
        // At a corner on the rim the nearest face may be one without an open edge.
        if (is_rim_vertex_[mesh_.triangles[f][k]] != 0 && norm(point - a) <= slack) return true;
    }
    return false;
}

std::optional<ScanCover::Place> ScanCover::find(Vec3 point, Vec3 normal, double reach_mm, double least_cosine) const {
    const MeshIndex::Nearest near = index_.nearest(point);
    if (near.face == no_id || near.distance_mm > reach_mm || is_on_rim(near.face, near.point)) return std::nullopt;
    const Vec3 own = normalized(area_vector(mesh_.corners(near.face)));
    if (dot(own, normal) < least_cosine) return std::nullopt;
    return Place{near.point, own, near.distance_mm};
}

}  // namespace cradlewright
