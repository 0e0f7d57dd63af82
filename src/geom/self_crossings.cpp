// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/self_crossings.hpp"

#include <CGAL/Box_intersection_d/Box_with_info_d.h>
#include <CGAL/box_intersection_d.h>
#include <CGAL/intersections.h>

#include <algorithm>
#include <array>
#include <numeric>
#include <utility>

#include "geom/cgal.hpp"
#include "geom/point_clusters.hpp"

namespace cradlewright {

namespace {

using Kernel = cgal::Kernel;
using FaceBox = CGAL::Box_intersection_d::Box_with_info_d<double, 3, FaceId>;

cgal::Triangle triangle_of(const TriMesh& mesh, FaceId f) {
    const auto c = mesh.corners(f);
    return {cgal::to_cgal(c[0]), cgal::to_cgal(c[1]), cgal::to_cgal(c[2])};
}

/// Corners of both faces, the shared ones first and in the same places.
struct Pair {
    std::array<cgal::Point, 3> a, b;
    unsigned shared = 0;
};

Pair line_up(const TriMesh& mesh, FaceId f, FaceId g) {
    Triangle s = mesh.triangles[f], t = mesh.triangles[g];
    Pair pair;
    for (unsigned i = 0; i < 3; ++i)
        for (unsigned j = pair.shared; j < 3; ++j)
            if (s[i] == t[j]) {
                std::swap(s[pair.shared], s[i]);
                std::swap(t[pair.shared], t[j]);
                ++pair.shared;
                break;
            }
    for (unsigned k = 0; k < 3; ++k) {
        pair.a[k] = cgal::to_cgal(mesh.vertices[s[k]]);
        pair.b[k] = cgal::to_cgal(mesh.vertices[t[k]]);
    }
    return pair;
}

/// Faces at one edge overlap only when the one is folded back on to the other, in its plane.
bool is_folded_back(const Pair& p) {
    return CGAL::coplanar(p.a[0], p.a[1], p.a[2], p.b[2]) &&
           CGAL::coplanar_orientation(p.a[0], p.a[1], p.a[2], p.b[2]) == CGAL::POSITIVE;
}

/// Faces at one corner cross when the far side of one meets the other.
bool cross_beyond_corner(const Pair& p) {
    const auto meets = [](const std::array<cgal::Point, 3>& from, const std::array<cgal::Point, 3>& to) {
        return CGAL::do_intersect(Kernel::Segment_3(from[1], from[2]), cgal::Triangle(to[0], to[1], to[2]));
    };
    return meets(p.a, p.b) || meets(p.b, p.a);
}

bool do_cross(const TriMesh& mesh, FaceId f, FaceId g) {
    const Pair pair = line_up(mesh, f, g);
    switch (pair.shared) {
        case 0:
            return CGAL::do_intersect(triangle_of(mesh, f), triangle_of(mesh, g));
        case 1:
            return cross_beyond_corner(pair);
        case 2:
            return is_folded_back(pair);
        default:
            return true;
    }
}

Vec3 middle_of(const TriMesh& mesh, std::pair<FaceId, FaceId> pair) {
    const auto a = mesh.corners(pair.first), b = mesh.corners(pair.second);
    return (a[0] + a[1] + a[2] + b[0] + b[1] + b[2]) / 6;
}

}  // namespace

std::vector<std::pair<FaceId, FaceId>> crossing_faces(const TriMesh& mesh, std::span<const FaceId> faces) {
    std::vector<FaceId> all;
    if (faces.empty()) {
        all.resize(mesh.face_count());
        std::iota(all.begin(), all.end(), FaceId{0});
        faces = all;
    }
    std::vector<FaceBox> boxes;
    boxes.reserve(faces.size());
    for (const FaceId f : faces)
        if (const cgal::Triangle t = triangle_of(mesh, f); !t.is_degenerate()) boxes.emplace_back(t.bbox(), f);
    std::vector<std::pair<FaceId, FaceId>> found;
    CGAL::box_self_intersection_d(boxes.begin(), boxes.end(), [&](const FaceBox& a, const FaceBox& b) {
        const FaceId f = std::min(a.info(), b.info()), g = std::max(a.info(), b.info());
        if (do_cross(mesh, f, g)) found.emplace_back(f, g);
    });
    std::sort(found.begin(), found.end());
    return found;
}

std::vector<Crossing> crossing_places(const TriMesh& mesh, std::span<const std::pair<FaceId, FaceId>> pairs,
                                      double apart_mm) {
    std::vector<Vec3> middles;
    for (const auto& pair : pairs) middles.push_back(middle_of(mesh, pair));
    std::vector<Crossing> places;
    for (const PointCluster& cluster : cluster_points(middles, apart_mm))
        places.push_back({cluster.center, cluster.reach_mm, cluster.members.size()});
    return places;
}

}  // namespace cradlewright
