// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/degenerate_faces.hpp"

#include <algorithm>
#include <cstdint>
#include <utility>

#include "geom/mesh_edges.hpp"

namespace cradlewright {

namespace {

constexpr double flat_ratio = 1e-8;  // see is_degenerate
constexpr int most_rounds = 20;

bool repeats_a_corner(const Triangle& t) { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0]; }

std::array<double, 3> squared_edges(const std::array<Vec3, 3>& c) {
    const Vec3 a = c[1] - c[0], b = c[2] - c[1], d = c[0] - c[2];
    return {dot(a, a), dot(b, b), dot(d, d)};
}

/// A face whose corner lies on its longest edge.
struct Cap {
    EdgeKey edge;  ///< of the longest edge
    FaceId face;
    VertexId corner;  ///< that lies on it
    friend auto operator<=>(const Cap&, const Cap&) = default;
};

struct Found {
    std::vector<FaceId> repeated;
    std::vector<std::pair<VertexId, VertexId>> needles;  ///< short edges, lower number first
    std::vector<Cap> caps;
    [[nodiscard]] bool is_empty() const { return repeated.empty() && needles.empty() && caps.empty(); }
};

Found find_degenerate(const TriMesh& mesh) {
    Found found;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const Triangle& t = mesh.triangles[f];
        if (repeats_a_corner(t)) {
            found.repeated.push_back(f);
            continue;
        }
        const std::array<Vec3, 3> c = mesh.corners(f);
        if (!is_degenerate(c)) continue;
        const std::array<double, 3> e = squared_edges(c);
        const auto longest = static_cast<unsigned>(std::max_element(e.begin(), e.end()) - e.begin());
        const auto shortest = static_cast<unsigned>(std::min_element(e.begin(), e.end()) - e.begin());
        if (e[shortest] <= flat_ratio * flat_ratio * e[longest])
            found.needles.push_back(std::minmax(t[shortest], t[(shortest + 1) % 3]));
        else
            found.caps.push_back({edge_key(t[longest], t[(longest + 1) % 3]), f, t[(longest + 2) % 3]});
    }
    return found;
}

void join_needles(TriMesh& mesh, const std::vector<std::pair<VertexId, VertexId>>& needles) {
    std::vector<VertexId> stands_for(mesh.vertices.size());
    for (VertexId v = 0; v < stands_for.size(); ++v) stands_for[v] = v;
    const auto root = [&](VertexId v) {
        while (stands_for[v] != v) v = stands_for[v] = stands_for[stands_for[v]];
        return v;
    };
    for (const auto& [a, b] : needles) {
        const VertexId ra = root(a), rb = root(b);
        stands_for[std::max(ra, rb)] = std::min(ra, rb);
    }
    for (Triangle& t : mesh.triangles)
        for (VertexId& v : t) v = root(v);
}

/// Drops each cap and splits the faces beyond its longest edge at the cap's corner. A face is touched once a round.
void split_beyond_caps(TriMesh& mesh, std::vector<Cap> caps, std::vector<char>& drop) {
    std::sort(caps.begin(), caps.end());
    struct Beyond {
        EdgeKey edge;
        FaceId face;
        unsigned k;
    };
    std::vector<Beyond> beyond;
    const auto before = [](const Cap& cap, EdgeKey key) { return cap.edge < key; };
    for (FaceId f = 0; f < mesh.face_count(); ++f)
        for (unsigned k = 0; k < 3; ++k) {
            const EdgeKey key = edge_key(mesh.triangles[f][k], mesh.triangles[f][(k + 1) % 3]);
            const auto at = std::lower_bound(caps.begin(), caps.end(), key, before);
            if (at != caps.end() && at->edge == key) beyond.push_back({key, f, k});
        }
    std::stable_sort(beyond.begin(), beyond.end(), [](const Beyond& a, const Beyond& b) { return a.edge < b.edge; });

    std::vector<char> touched(mesh.face_count(), 0);
    auto next = beyond.begin();
    for (const Cap& cap : caps) {
        next = std::find_if(next, beyond.end(), [&](const Beyond& b) { return b.edge >= cap.edge; });
        const auto last = std::find_if(next, beyond.end(), [&](const Beyond& b) { return b.edge > cap.edge; });
        if (std::any_of(next, last, [&](const Beyond& b) { return touched[b.face] != 0; })) continue;
        for (auto b = next; b != last; ++b) touched[b->face] = 1;
        drop[cap.face] = 1;
        for (auto b = next; b != last; ++b) {
            if (b->face == cap.face) continue;
            const Triangle t = mesh.triangles[b->face];
            const VertexId from = t[b->k], to = t[(b->k + 1) % 3], apex = t[(b->k + 2) % 3];
            mesh.triangles[b->face] = {from, cap.corner, apex};
            mesh.triangles.push_back({cap.corner, to, apex});
            if (!mesh.face_origin.empty()) mesh.face_origin.push_back(mesh.face_origin[b->face]);
        }
    }
    drop.resize(mesh.face_count(), 0);
}

}  // namespace

bool is_degenerate(const std::array<Vec3, 3>& corners) {
    const std::array<double, 3> e = squared_edges(corners);
    const double longest = std::max({e[0], e[1], e[2]});
    const Vec3 n = area_vector(corners);
    const double limit = flat_ratio * longest;
    return dot(n, n) <= limit * limit;
}

void drop_faces(TriMesh& mesh, const std::vector<char>& drop) {
    std::size_t kept = 0;
    for (std::size_t f = 0; f < mesh.triangles.size(); ++f) {
        if (drop[f] != 0) continue;
        mesh.triangles[kept] = mesh.triangles[f];
        if (!mesh.face_origin.empty()) mesh.face_origin[kept] = mesh.face_origin[f];
        ++kept;
    }
    mesh.triangles.resize(kept);
    if (!mesh.face_origin.empty()) mesh.face_origin.resize(kept);
}

std::size_t remove_degenerate_faces(TriMesh& mesh) {
    std::size_t dropped = 0;
    for (int round = 0; round <= most_rounds; ++round) {
        const Found found = find_degenerate(mesh);
        if (found.is_empty()) break;
        std::vector<char> drop(mesh.face_count(), 0);
        for (const FaceId f : found.repeated) drop[f] = 1;
        if (round == most_rounds)
            for (FaceId f = 0; f < mesh.face_count(); ++f) drop[f] = is_degenerate(mesh.corners(f)) ? 1 : 0;
        else if (!found.needles.empty())
            join_needles(mesh, found.needles);  // their faces now repeat a corner: the next round drops them
        else if (!found.caps.empty())
            split_beyond_caps(mesh, found.caps, drop);
        dropped += static_cast<std::size_t>(std::count(drop.begin(), drop.end(), char{1}));
        drop_faces(mesh, drop);
    }
    return dropped;
}

}  // namespace cradlewright
