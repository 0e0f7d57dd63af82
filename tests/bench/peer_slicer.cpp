// SPDX-License-Identifier: GPL-3.0-or-later
#include <CGAL/AABB_face_graph_triangle_primitive.h>
#include <CGAL/AABB_halfedge_graph_segment_primitive.h>
#include <CGAL/AABB_traits.h>
#include <CGAL/AABB_tree.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_slicer.h>
#include <CGAL/Surface_mesh.h>

#include <chrono>
#include <iterator>

#include "peers.hpp"

namespace cradlewright::bench {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Mesh = CGAL::Surface_mesh<Kernel::Point_3>;
using Primitive = CGAL::AABB_halfedge_graph_segment_primitive<Mesh>;
using Tree = CGAL::AABB_tree<CGAL::AABB_traits<Kernel, Primitive>>;
using Chain = std::vector<Kernel::Point_3>;

Mesh to_surface_mesh(const TriMesh& mesh) {
    Mesh result;
    std::vector<Mesh::Vertex_index> ids;
    for (const Vec3 p : mesh.vertices) ids.push_back(result.add_vertex({p.x, p.y, p.z}));
    for (const Triangle& t : mesh.triangles) result.add_face(ids[t[0]], ids[t[1]], ids[t[2]]);
    return result;
}

double length_of(const std::vector<Chain>& chains) {
    double sum = 0;
    for (const Chain& chain : chains)
        for (std::size_t i = 1; i < chain.size(); ++i) sum += std::sqrt(CGAL::squared_distance(chain[i - 1], chain[i]));
    return sum;
}

}  // namespace

SlicerRun slice_with_cgal(const TriMesh& mesh, const std::vector<double>& stations) {
    using Clock = std::chrono::steady_clock;
    using Seconds = std::chrono::duration<double>;
    const Mesh surface = to_surface_mesh(mesh);
    const auto start = Clock::now();
    Tree tree(edges(surface).first, edges(surface).second, surface);
    tree.build();
    const auto built = Clock::now();
    CGAL::Polygon_mesh_slicer<Mesh, Kernel> slicer(surface, tree);
    std::vector<Chain> chains;
    for (const double x : stations) slicer(Kernel::Plane_3(1, 0, 0, -x), std::back_inserter(chains));
    const auto end = Clock::now();
    return {Seconds(built - start).count(), Seconds(end - built).count(), length_of(chains)};
}

}  // namespace cradlewright::bench
