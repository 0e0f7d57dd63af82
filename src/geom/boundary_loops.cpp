// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/boundary_loops.hpp"

#include <algorithm>
#include <utility>

#include "geom/degenerate_faces.hpp"
#include "geom/loop_patch.hpp"

namespace cradlewright {

namespace {

std::vector<Vec3> points_of(const TriMesh& mesh, const BoundaryLoop& loop) {
    std::vector<Vec3> points;
    points.reserve(loop.vertices.size());
    for (const VertexId v : loop.vertices) points.push_back(mesh.vertices[v]);
    return points;
}

BoundaryLoop make_loop(const TriMesh& mesh, std::vector<VertexId> along_faces) {
    std::reverse(along_faces.begin(), along_faces.end());
    const auto first = std::min_element(along_faces.begin(), along_faces.end(), [&](VertexId a, VertexId b) {
        return std::pair(mesh.vertices[a], a) < std::pair(mesh.vertices[b], b);
    });
    std::rotate(along_faces.begin(), first, along_faces.end());
    BoundaryLoop loop{std::move(along_faces), 0};
    for (std::size_t i = 0; i < loop.vertices.size(); ++i) {
        const VertexId next = loop.vertices[(i + 1) % loop.vertices.size()];
        loop.perimeter_mm += norm(mesh.vertices[next] - mesh.vertices[loop.vertices[i]]);
    }
    return loop;
}

/// Edges of the surface that join two boundary vertices through its inside: a patch must not use them again. Sorted.
std::vector<EdgeKey> inner_edges_between_boundaries(const TriMesh& mesh, const std::vector<SideId>& mate) {
    std::vector<char> is_boundary(mesh.vertices.size(), 0);
    for (SideId s = 0; s < mate.size(); ++s)
        if (mate[s] == no_id) is_boundary[from_of(mesh.triangles, s)] = 1;
    std::vector<EdgeKey> keys;
    for (SideId s = 0; s < mate.size(); ++s) {
        const VertexId a = from_of(mesh.triangles, s), b = to_of(mesh.triangles, s);
        if (a < b && mate[s] != no_id && is_boundary[a] != 0 && is_boundary[b] != 0) keys.push_back(edge_key(a, b));
    }
    std::sort(keys.begin(), keys.end());
    return keys;
}

/// Splits both triangles of the patch at an edge that the surface has already.
void split_patch_edge(TriMesh& mesh, std::size_t first_of_patch, EdgeKey key) {
    const auto a = static_cast<VertexId>(key >> 32), b = static_cast<VertexId>(key);
    const auto middle = static_cast<VertexId>(mesh.vertices.size());
    mesh.vertices.push_back((mesh.vertices[a] + mesh.vertices[b]) * 0.5);
    const std::size_t last = mesh.triangles.size();
    for (std::size_t f = first_of_patch; f < last; ++f)
        for (unsigned k = 0; k < 3; ++k) {
            const Triangle t = mesh.triangles[f];
            if (edge_key(t[k], t[(k + 1) % 3]) != key) continue;
            mesh.triangles[f] = {t[k], middle, t[(k + 2) % 3]};
            mesh.triangles.push_back({middle, t[(k + 1) % 3], t[(k + 2) % 3]});
            break;
        }
}

void append_patch(TriMesh& mesh, const BoundaryLoop& loop, const std::vector<EdgeKey>& taken) {
    const LoopPatch patch = patch_loop(points_of(mesh, loop));
    const std::size_t n = loop.vertices.size(), first = mesh.triangles.size();
    const auto middle = static_cast<VertexId>(mesh.vertices.size());
    if (patch.uses_middle) mesh.vertices.push_back(patch.middle);
    std::vector<EdgeKey> doubled;
    for (const Triangle& t : patch.triangles) {
        Triangle& face = mesh.triangles.emplace_back();
        for (unsigned k = 0; k < 3; ++k) face[k] = t[k] == n ? middle : loop.vertices[t[k]];
        for (unsigned k = 0; k < 3; ++k) {
            const EdgeKey key = edge_key(face[k], face[(k + 1) % 3]);
            if (face[k] < face[(k + 1) % 3] && std::binary_search(taken.begin(), taken.end(), key)) doubled.push_back(key);
        }
    }
    for (const EdgeKey key : doubled) split_patch_edge(mesh, first, key);
}

}  // namespace

std::vector<BoundaryLoop> find_boundary_loops(const TriMesh& mesh, const std::vector<SideId>& mate) {
    std::vector<SideId> leaving;  // boundary side that starts at each vertex
    for (SideId s = 0; s < mate.size(); ++s) {
        if (mate[s] != no_id) continue;
        if (leaving.empty()) leaving.assign(mesh.vertices.size(), no_id);
        leaving[from_of(mesh.triangles, s)] = s;
    }
    std::vector<BoundaryLoop> loops;
    for (VertexId v = 0; v < leaving.size(); ++v) {
        std::vector<VertexId> chain;
        for (VertexId w = v; leaving[w] != no_id;) {
            chain.push_back(w);
            const SideId s = std::exchange(leaving[w], no_id);
            w = to_of(mesh.triangles, s);
        }
        if (!chain.empty()) loops.push_back(make_loop(mesh, std::move(chain)));
    }
    std::stable_sort(loops.begin(), loops.end(),
                     [](const BoundaryLoop& a, const BoundaryLoop& b) { return a.perimeter_mm > b.perimeter_mm; });
    return loops;
}

Opening describe_opening(const TriMesh& mesh, const BoundaryLoop& loop) {
    const std::vector<Vec3> points = points_of(mesh, loop);
    Opening opening;
    opening.loop = loop.vertices;
    opening.perimeter_mm = loop.perimeter_mm;
    for (const Vec3 p : points) opening.center += p / static_cast<double>(points.size());
    opening.normal = normalized(loop_area_vector(points));
    for (const Vec3 p : points)
        opening.flatness_mm = std::max(opening.flatness_mm, std::abs(dot(p - opening.center, opening.normal)));
    return opening;
}

bool close_loops(TriMesh& mesh, const std::vector<SideId>& mate, const std::vector<BoundaryLoop>& loops,
                 FaceOrigin origin) {
    if (loops.empty()) return false;
    const std::vector<EdgeKey> taken = inner_edges_between_boundaries(mesh, mate);
    const std::size_t first = mesh.face_count();
    for (const BoundaryLoop& loop : loops) append_patch(mesh, loop, taken);
    mesh.face_origin.resize(first, FaceOrigin::scanned);
    mesh.face_origin.resize(mesh.face_count(), origin);
    for (FaceId f = static_cast<FaceId>(first); f < mesh.face_count(); ++f)
        if (is_degenerate(mesh.corners(f))) return true;
    return false;
}

}  // namespace cradlewright
