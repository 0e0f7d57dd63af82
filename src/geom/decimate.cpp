// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/decimate.hpp"

// CGAL copies a default-constructed Eigen matrix before it is filled; gcc sees that when it inlines, headers or not.
#if defined(__GNUC__) && !defined(__clang__)
#pragma GCC diagnostic ignored "-Wmaybe-uninitialized"
#endif

#include <CGAL/Surface_mesh.h>
#include <CGAL/Surface_mesh_simplification/Policies/Edge_collapse/Bounded_normal_change_filter.h>
#include <CGAL/Surface_mesh_simplification/Policies/Edge_collapse/GarlandHeckbert_plane_policies.h>
#include <CGAL/Surface_mesh_simplification/edge_collapse.h>

#include <algorithm>
#include <optional>
#include <vector>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "geom/cgal.hpp"

namespace cradlewright {

namespace {

namespace simplification = CGAL::Surface_mesh_simplification;
using SurfaceMesh = CGAL::Surface_mesh<cgal::Point>;
using Policies = simplification::GarlandHeckbert_plane_policies<SurfaceMesh, cgal::Kernel>;

constexpr int most_trials = 8;
constexpr double step_down = 0.25;  // of the squared error: half the distance
constexpr double first_planes = 6;  // faces round a vertex: their squared distances add up in its quadric

/// Collapsing stops at the first edge whose error is larger.
struct StopAtError {
    double limit;
    template <typename Cost, typename Profile, typename Count>
    bool operator()(const Cost& cost, const Profile&, Count, Count) const {
        return cost > limit;
    }
};

SurfaceMesh to_surface_mesh(const TriMesh& mesh) {
    SurfaceMesh out;
    for (const Vec3 p : mesh.vertices) out.add_vertex(cgal::to_cgal(p));
    using Vertex = SurfaceMesh::Vertex_index;
    for (const Triangle& t : mesh.triangles)
        CRADLEWRIGHT_PRECONDITION(out.add_face(Vertex(t[0]), Vertex(t[1]), Vertex(t[2])) != SurfaceMesh::null_face());
    return out;
}

TriMesh to_tri_mesh(SurfaceMesh& mesh) {
    mesh.collect_garbage();
    TriMesh out;
    for (const auto v : mesh.vertices()) out.vertices.push_back(cgal::from_cgal(mesh.point(v)));
    for (const auto f : mesh.faces()) {
        Triangle& t = out.triangles.emplace_back();
        unsigned k = 0;
        for (const auto v : mesh.vertices_around_face(mesh.halfedge(f))) t[k++] = v.idx();
    }
    return out;
}

TriMesh collapsed(const TriMesh& mesh, double error) {
    SurfaceMesh surface = to_surface_mesh(mesh);
    const Policies policies(surface);
    simplification::edge_collapse(surface, StopAtError{error},
                                  CGAL::parameters::get_cost(policies.get_cost())
                                      .get_placement(policies.get_placement())
                                      .filter(simplification::Bounded_normal_change_filter<>()));
    return to_tri_mesh(surface);
}

double one_way(const TriMesh& from, const MeshIndex& to, double worst) {
    const auto look_at = [&](Vec3 p) { worst = std::max(worst, to.nearest(p).distance_mm); };
    for (const Vec3 p : from.vertices) look_at(p);
    for (FaceId f = 0; f < from.face_count(); ++f) {
        const auto c = from.corners(f);
        look_at((c[0] + c[1] + c[2]) / 3);
        for (unsigned k = 0; k < 3; ++k)
            if (from.triangles[f][k] < from.triangles[f][(k + 1) % 3]) look_at((c[k] + c[(k + 1) % 3]) * 0.5);
    }
    return worst;
}

}  // namespace

double surface_deviation(const TriMesh& a, const TriMesh& b) {
    return one_way(b, MeshIndex(a), one_way(a, MeshIndex(b), 0));
}

Decimated decimate(const TriMesh& mesh, double deviation_mm) {
    CRADLEWRIGHT_PRECONDITION(deviation_mm > 0);
    double error = first_planes * deviation_mm * deviation_mm;
    for (int trial = 0; trial < most_trials; ++trial, error *= step_down) {
        Decimated out{collapsed(mesh, error), 0};
        if (out.mesh.face_count() == mesh.face_count()) break;
        out.deviation_mm = surface_deviation(mesh, out.mesh);
        if (out.deviation_mm <= deviation_mm) return out;
    }
    return {TriMesh{.vertices = mesh.vertices, .triangles = mesh.triangles, .face_origin = {}, .openings = {}}, 0};
}

}  // namespace cradlewright
