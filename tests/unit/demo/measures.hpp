// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

/// Plain measurements of a mesh, independent of the library's own.
namespace cradlewright::demo::measure {

/// Divergence theorem, tetrahedra on the origin.
inline double volume(const TriMesh& mesh) {
    double sum = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(f);
        sum += dot(c[0], cross(c[1], c[2])) / 6;
    }
    return sum;
}

struct Edges {
    long count = 0, open = 0, wrong = 0;  ///< wrong: more than two faces, or two that run the same way
};
inline Edges edges(const TriMesh& mesh) {
    std::map<std::pair<VertexId, VertexId>, std::pair<int, int>> uses;
    for (const Triangle& t : mesh.triangles)
        for (std::size_t k = 0; k < 3; ++k) {
            const VertexId a = t[k], b = t[(k + 1) % 3];
            auto& [forward, backward] = uses[std::minmax(a, b)];
            ++(a < b ? forward : backward);
        }
    Edges result;
    for (const auto& [edge, use] : uses) {
        ++result.count;
        if (use.first > 1 || use.second > 1) ++result.wrong;
        if (use.first + use.second == 1) ++result.open;
    }
    return result;
}
/// V - E + F.
inline long euler(const TriMesh& mesh) {
    return static_cast<long>(mesh.vertices.size()) - edges(mesh).count + static_cast<long>(mesh.face_count());
}

inline Box3 box(const TriMesh& mesh) {
    Box3 result;
    for (const Vec3 p : mesh.vertices) result.add(p);
    return result;
}

/// Heights at which the vertical through (x, y) meets the mesh, with the sign of the normal's z.
inline std::vector<std::pair<double, double>> vertical_hits(const TriMesh& mesh, double x, double y) {
    std::vector<std::pair<double, double>> hits;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(f);
        const Vec3 n = area_vector(c);
        const Vec2 p{x, y};
        const auto side = [&](Vec3 a, Vec3 b) { return cross(Vec2{b.x - a.x, b.y - a.y}, p - Vec2{a.x, a.y}); };
        const double s0 = side(c[0], c[1]), s1 = side(c[1], c[2]), s2 = side(c[2], c[0]);
        const bool is_inside = (s0 > 0 && s1 > 0 && s2 > 0) || (s0 < 0 && s1 < 0 && s2 < 0);
        if (is_inside) hits.emplace_back(c[0].z - (n.x * (x - c[0].x) + n.y * (y - c[0].y)) / n.z, n.z);
    }
    std::sort(hits.begin(), hits.end());
    return hits;
}

}  // namespace cradlewright::demo::measure
