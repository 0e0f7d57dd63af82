// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/boundary_loops.hpp"

#include <algorithm>
#include <utility>

#include "geom/degenerate_faces.hpp"
#include "geom/fair_patch.hpp"
#include "geom/loop_patch.hpp"

namespace cradlewright {

namespace {

PointLoop points_of(const TriMesh& mesh, const BoundaryLoop& loop) {
    PointLoop points;
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

/// Triangles whose corners are places in `vertices`, or past them in `added`.
void append_triangles(TriMesh& mesh, const std::vector<Triangle>& triangles, const std::vector<VertexId>& vertices,
                      const std::vector<Vec3>& added, const std::vector<EdgeKey>& taken) {
    const std::size_t first = mesh.triangles.size();
    const auto first_added = static_cast<VertexId>(mesh.vertices.size());
    mesh.vertices.insert(mesh.vertices.end(), added.begin(), added.end());
    std::vector<EdgeKey> doubled;
    for (const Triangle& t : triangles) {
        Triangle& face = mesh.triangles.emplace_back();
        for (unsigned k = 0; k < 3; ++k)
            face[k] =
                t[k] < vertices.size() ? vertices[t[k]] : first_added + t[k] - static_cast<VertexId>(vertices.size());
        for (unsigned k = 0; k < 3; ++k) {
            const EdgeKey key = edge_key(face[k], face[(k + 1) % 3]);
            if (face[k] < face[(k + 1) % 3] && std::binary_search(taken.begin(), taken.end(), key))
                doubled.push_back(key);
        }
    }
    for (const EdgeKey key : doubled) split_patch_edge(mesh, first, key);
}

void append_patch(TriMesh& mesh, const LoopPatch& patch, const std::vector<VertexId>& vertices,
                  const std::vector<EdgeKey>& taken) {
    append_triangles(mesh, patch.triangles, vertices,
                     patch.uses_middle ? std::vector<Vec3>{patch.middle} : std::vector<Vec3>{}, taken);
}

/// The faces that touch each loop; loops share no vertex.
std::vector<Surroundings> find_surroundings(const TriMesh& mesh, const std::vector<LoopGroup>& groups) {
    std::vector<std::uint32_t> loop_of(mesh.vertices.size(), no_id), place_of(loop_of);
    for (std::uint32_t g = 0; g < groups.size(); ++g)
        for (VertexId i = 0; i < groups[g].front().vertices.size(); ++i) {
            loop_of[groups[g].front().vertices[i]] = g;
            place_of[groups[g].front().vertices[i]] = i;
        }
    std::vector<Surroundings> around(groups.size());
    for (const Triangle& t : mesh.triangles)
        for (unsigned k = 0; k < 3; ++k) {
            const std::uint32_t g = loop_of[t[k]];
            if (g == no_id || (k > 0 && loop_of[t[0]] == g) || (k > 1 && loop_of[t[1]] == g)) continue;
            Triangle& own = around[g].triangles.emplace_back();
            for (unsigned j = 0; j < 3; ++j) {
                if (loop_of[t[j]] == g) {
                    own[j] = place_of[t[j]];
                    continue;
                }
                // Points are not shared between faces: only their places matter to a patch.
                own[j] = static_cast<VertexId>(groups[g].front().vertices.size() + around[g].points.size());
                around[g].points.push_back(mesh.vertices[t[j]]);
            }
        }
    return around;
}

void close_fair(TriMesh& mesh, const BoundaryLoop& loop, const Surroundings& around,
                const std::vector<EdgeKey>& taken) {
    const PointLoop points = points_of(mesh, loop);
    const LoopPatch flat = patch_loop(points);
    if (const auto fair = fair_patch(points, flat, around))
        append_triangles(mesh, fair->triangles, loop.vertices, fair->added, taken);
    else
        append_patch(mesh, flat, loop.vertices, taken);
}

void close_group(TriMesh& mesh, const LoopGroup& group, const std::vector<EdgeKey>& taken) {
    if (group.size() > 1) {
        std::vector<PointLoop> loops;
        std::vector<VertexId> vertices;
        for (const BoundaryLoop& loop : group) {
            loops.push_back(points_of(mesh, loop));
            vertices.insert(vertices.end(), loop.vertices.begin(), loop.vertices.end());
        }
        if (const auto patch = patch_between_loops(loops)) return append_patch(mesh, *patch, vertices, taken);
    }
    for (const BoundaryLoop& loop : group) append_patch(mesh, patch_loop(points_of(mesh, loop)), loop.vertices, taken);
}

/// By the number of edges that a ray to the right crosses.
bool encloses(const std::vector<Vec2>& polygon, Vec2 p) {
    bool inside = false;
    for (std::size_t i = 0; i < polygon.size(); ++i) {
        const Vec2 a = polygon[i], b = polygon[(i + 1) % polygon.size()];
        if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)) inside = !inside;
    }
    return inside;
}

/// A table is flat; scans of its edge are not quite. Source: assumed.
constexpr double opposite_cosine = -0.97;  // 14 deg
constexpr double off_plane_share = 0.01;   // of the outer loop's length

bool lies_within(const TriMesh& mesh, const BoundaryLoop& loop, const Opening& inner, const BoundaryLoop& around,
                 const Opening& outer) {
    const double off_plane = std::abs(dot(inner.center - outer.center, outer.normal));
    if (dot(inner.normal, outer.normal) > opposite_cosine || off_plane > off_plane_share * outer.perimeter_mm)
        return false;
    const std::vector<Vec2> polygon = project_loop(points_of(mesh, around), outer.normal, outer.center);
    const std::vector<Vec2> points = project_loop(points_of(mesh, loop), outer.normal, outer.center);
    const std::size_t stride = 1 + points.size() / 16;  // whether loops cross shows when they are covered
    for (std::size_t i = 0; i < points.size(); i += stride)
        if (!encloses(polygon, points[i])) return false;
    return true;
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
    const PointLoop points = points_of(mesh, loop);
    Opening opening;
    opening.loop = loop.vertices;
    opening.perimeter_mm = loop.perimeter_mm;
    for (const Vec3 p : points) opening.center += p / static_cast<double>(points.size());
    opening.normal = normalized(loop_area_vector(points));
    for (const Vec3 p : points)
        opening.flatness_mm = std::max(opening.flatness_mm, std::abs(dot(p - opening.center, opening.normal)));
    return opening;
}

std::vector<LoopGroup> group_openings(const TriMesh& mesh, const std::vector<BoundaryLoop>& loops,
                                      std::vector<Opening>& openings) {
    std::vector<LoopGroup> groups;
    std::vector<std::size_t> outer_of_group;
    for (std::size_t i = 0; i < loops.size(); ++i) {
        std::size_t g = 0;
        while (g < groups.size() &&
               !lies_within(mesh, loops[i], openings[i], loops[outer_of_group[g]], openings[outer_of_group[g]]))
            ++g;
        if (g == groups.size()) {
            groups.emplace_back();
            outer_of_group.push_back(i);
        } else {
            openings[i].normal = -openings[i].normal;
        }
        groups[g].push_back(loops[i]);
    }
    return groups;
}

bool close_loops(TriMesh& mesh, const std::vector<SideId>& mate, const std::vector<LoopGroup>& groups,
                 FaceOrigin origin, PatchKind kind) {
    if (groups.empty()) return false;
    const std::vector<EdgeKey> taken = inner_edges_between_boundaries(mesh, mate);
    const std::size_t first = mesh.face_count();
    if (kind == PatchKind::fair) {
        const std::vector<Surroundings> around = find_surroundings(mesh, groups);
        for (std::size_t g = 0; g < groups.size(); ++g) close_fair(mesh, groups[g].front(), around[g], taken);
    } else {
        for (const LoopGroup& group : groups) close_group(mesh, group, taken);
    }
    mesh.face_origin.resize(first, FaceOrigin::scanned);
    mesh.face_origin.resize(mesh.face_count(), origin);
    for (auto f = static_cast<FaceId>(first); f < mesh.face_count(); ++f)
        if (is_degenerate(mesh.corners(f))) return true;
    return false;
}

}  // namespace cradlewright
