// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/mesh_shells.hpp"

#include <algorithm>
#include <utility>

namespace cradlewright {

namespace {

/// A loop may pass both copies of a split vertex; a patch between two equal points would have no area. Any share that
/// is far above degenerate (1e-8) and far below noise will do.
constexpr double draw_apart = 1e-3;

/// Name of a side after its face (a, b, c) has become (a, c, b).
SideId turned_name(SideId s) { return s - s % 3 + (2 - s % 3); }

void turn_faces(std::vector<Triangle>& triangles, std::vector<SideId>& mate, const std::vector<char>& is_turned) {
    const auto name = [&](SideId s) { return s != no_id && is_turned[face_of(s)] != 0 ? turned_name(s) : s; };
    for (SideId& m : mate) m = name(m);
    for (std::size_t f = 0; f < triangles.size(); ++f) {
        if (is_turned[f] == 0) continue;
        std::swap(triangles[f][1], triangles[f][2]);
        std::swap(mate[3 * f], mate[3 * f + 2]);
    }
}

/// Walks over mates from one face; `is_turned` holds for faces already in a shell.
class ShellWalk {
public:
    ShellWalk(const std::vector<Triangle>& triangles, std::vector<SideId>& mate)
        : triangles_(triangles), mate_(mate), shell_of_(triangles.size(), no_id), is_turned_(triangles.size(), 0) {
        queue_.reserve(triangles.size());
    }

    Shells walk_all() {
        Shells shells;
        for (FaceId f = 0; f < triangles_.size(); ++f) {
            if (shell_of_[f] != no_id) continue;
            walk_from(f, static_cast<std::uint32_t>(shells.count++));
            shells.turned += turn_minority();
        }
        shells.shell_of = std::move(shell_of_);
        if (shells.turned > 0) shells.is_turned = std::move(is_turned_);
        return shells;
    }

private:
    void walk_from(FaceId seed, std::uint32_t shell) {
        queue_.assign(1, seed);
        shell_of_[seed] = shell;
        for (std::size_t i = 0; i < queue_.size(); ++i)
            for (SideId s = 3 * queue_[i]; s < 3 * queue_[i] + 3; ++s) {
                const SideId m = mate_[s];
                if (m == no_id) continue;
                const FaceId beyond = face_of(m);
                const bool same_way = from_of(triangles_, s) == from_of(triangles_, m);
                const char turned = static_cast<char>((is_turned_[face_of(s)] != 0) != same_way);
                if (shell_of_[beyond] == no_id) {
                    shell_of_[beyond] = shell;
                    is_turned_[beyond] = turned;
                    queue_.push_back(beyond);
                } else if (is_turned_[beyond] != turned) {
                    mate_[s] = mate_[m] = no_id;  // one-sided
                }
            }
    }
    /// The faces of the last walk: the majority keeps its direction; on a tie the first face does.
    std::size_t turn_minority() {
        std::size_t turned = 0;
        for (const FaceId f : queue_) turned += is_turned_[f] != 0 ? 1u : 0u;
        if (2 * turned <= queue_.size()) return turned;
        for (const FaceId f : queue_) is_turned_[f] = is_turned_[f] != 0 ? 0 : 1;
        return queue_.size() - turned;
    }

    const std::vector<Triangle>& triangles_;
    std::vector<SideId>& mate_;
    std::vector<std::uint32_t> shell_of_;
    std::vector<char> is_turned_;
    std::vector<FaceId> queue_;
};

/// Calls `visit` with the side that leaves the fan's vertex in each face of the fan that `start` belongs to.
/// Returns true when the fan is closed.
template <class Visit>
bool for_fan(const std::vector<SideId>& mate, SideId start, Visit&& visit) {
    SideId s = start;
    do {
        visit(s);
        s = mate[previous_side(s)];
    } while (s != no_id && s != start);
    if (s == start) return true;
    for (SideId back = mate[start]; back != no_id; back = mate[s]) {
        s = next_side(back);
        visit(s);
    }
    return false;
}

void split_side(TriMesh& mesh, SideId s, VertexId middle) {
    const FaceId f = face_of(s);
    const VertexId from = from_of(mesh.triangles, s), to = to_of(mesh.triangles, s);
    const VertexId apex = from_of(mesh.triangles, previous_side(s));
    mesh.triangles[f] = {from, middle, apex};
    mesh.triangles.push_back({middle, to, apex});
    if (!mesh.face_origin.empty()) mesh.face_origin.push_back(mesh.face_origin[f]);
}

}  // namespace

Shells orient_shells(std::vector<Triangle>& triangles, std::vector<SideId>& mate) {
    Shells shells = ShellWalk(triangles, mate).walk_all();
    if (shells.turned > 0) turn_faces(triangles, mate, shells.is_turned);
    return shells;
}

void turn_over(std::vector<Triangle>& triangles, std::vector<SideId>& mate) {
    turn_faces(triangles, mate, std::vector<char>(triangles.size(), 1));
}

void keep_shell(TriMesh& mesh, std::vector<SideId>& mate, const Shells& shells, std::uint32_t shell) {
    std::vector<FaceId> new_id(mesh.face_count(), no_id);
    FaceId kept = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f)
        if (shells.shell_of[f] == shell) new_id[f] = kept++;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const FaceId g = new_id[f];
        if (g == no_id) continue;
        mesh.triangles[g] = mesh.triangles[f];
        if (!mesh.face_origin.empty()) mesh.face_origin[g] = mesh.face_origin[f];
        for (unsigned k = 0; k < 3; ++k) {
            const SideId m = mate[3 * std::size_t{f} + k];
            mate[3 * std::size_t{g} + k] = m == no_id ? no_id : 3 * new_id[face_of(m)] + m % 3;
        }
    }
    mesh.triangles.resize(kept);
    if (!mesh.face_origin.empty()) mesh.face_origin.resize(kept);
    mate.resize(3 * std::size_t{kept});
}

std::size_t split_touching_vertices(TriMesh& mesh, const std::vector<SideId>& mate) {
    const std::size_t before = mesh.vertices.size();
    std::vector<char> has_fan(before, 0), is_seen(mate.size(), 0);
    for (SideId s = 0; s < mate.size(); ++s) {
        if (is_seen[s] != 0) continue;
        VertexId v = from_of(mesh.triangles, s);
        if (has_fan[v] == 0) {
            has_fan[v] = 1;
            for_fan(mate, s, [&](SideId other) { is_seen[other] = 1; });
            continue;
        }
        const Vec3 p = mesh.vertices[v];
        v = static_cast<VertexId>(mesh.vertices.size());
        Vec3 rim;
        double faces = 0;
        const bool is_closed = for_fan(mate, s, [&](SideId other) {
            is_seen[other] = 1;
            mesh.triangles[face_of(other)][other % 3] = v;
            rim += mesh.vertices[to_of(mesh.triangles, other)] - p;
            ++faces;
        });
        mesh.vertices.push_back(is_closed ? p : p + rim * (draw_apart / faces));
    }
    return mesh.vertices.size() - before;
}

SideMates separate_double_edges(TriMesh& mesh, const std::vector<SideId>& mate) {
    SideMates matched = match_sides(mesh.triangles, mesh.vertices.size());
    if (matched.crowded.empty()) return matched;
    // A face is split on one side in one round; what is left shows as crowded again.
    std::vector<char> is_split(mesh.face_count(), 0);
    for (const std::vector<SideId>& sides : matched.crowded) {
        const SideId first = sides.front();
        for (const SideId s : sides) {
            const SideId m = mate[s];
            if (s == first || m == first || (m != no_id && m < s)) continue;
            if (is_split[face_of(s)] != 0 || (m != no_id && is_split[face_of(m)] != 0)) continue;
            const auto middle = static_cast<VertexId>(mesh.vertices.size());
            mesh.vertices.push_back(
                (mesh.vertices[from_of(mesh.triangles, s)] + mesh.vertices[to_of(mesh.triangles, s)]) * 0.5);
            is_split[face_of(s)] = 1;
            split_side(mesh, s, middle);
            if (m == no_id) continue;
            is_split[face_of(m)] = 1;
            split_side(mesh, m, middle);
        }
    }
    return match_sides(mesh.triangles, mesh.vertices.size());
}

}  // namespace cradlewright
