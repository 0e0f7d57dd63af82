// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/mesh_shells.hpp"

#include <algorithm>
#include <numeric>
#include <span>
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

/// Turns faces so that neighbours run the same way round. Faces that do already form runs, which stay whole; runs that
/// meet the wrong way round are joined by one of them turning, those with the longest common seam first. A seam that
/// then still disagrees is cut: a one-sided surface, or a wrong mate at a crowded edge, is opened there and nowhere
/// else.
class ShellSearch {
public:
    ShellSearch(const std::vector<Triangle>& triangles, std::vector<SideId>& mate)
        : triangles_(triangles), mate_(mate), run_of_(triangles.size(), no_id) {}

    Shells find() {
        find_runs();
        join_runs();
        return number_shells();
    }

private:
    /// Mates that run the wrong way round, between two runs or within one.
    struct Seam {
        std::uint32_t low, high;  ///< runs
        SideId side;
        friend auto operator<=>(const Seam&, const Seam&) = default;
    };
    struct Root {
        std::uint32_t run;
        bool is_turned;
    };

    [[nodiscard]] bool agree(SideId s) const { return from_of(triangles_, s) != from_of(triangles_, mate_[s]); }

    void find_runs() {
        std::vector<FaceId> queue;
        queue.reserve(triangles_.size());
        std::uint32_t count = 0;
        for (FaceId seed = 0; seed < triangles_.size(); ++seed) {
            if (run_of_[seed] != no_id) continue;
            queue.assign(1, seed);
            run_of_[seed] = count;
            for (std::size_t i = 0; i < queue.size(); ++i)
                for (SideId s = 3 * queue[i]; s < 3 * queue[i] + 3; ++s) {
                    if (mate_[s] == no_id || !agree(s) || run_of_[face_of(mate_[s])] != no_id) continue;
                    run_of_[face_of(mate_[s])] = count;
                    queue.push_back(face_of(mate_[s]));
                }
            ++count;
        }
        parent_.resize(count);
        std::iota(parent_.begin(), parent_.end(), 0u);
        is_turned_.assign(count, 0);
    }

    void join_runs() {
        const std::vector<Seam> seams = find_seams();
        std::vector<std::span<const Seam>> groups;  // seams between the same two runs
        for (std::size_t i = 0; i < seams.size();) {
            std::size_t end = i + 1;
            while (end < seams.size() && seams[end].low == seams[i].low && seams[end].high == seams[i].high) ++end;
            groups.emplace_back(seams.data() + i, end - i);
            i = end;
        }
        std::stable_sort(groups.begin(), groups.end(),
                         [](const auto& a, const auto& b) { return a.size() > b.size(); });
        for (const std::span<const Seam> group : groups)
            if (!join(group.front().low, group.front().high)) cut(group);
    }
    [[nodiscard]] std::vector<Seam> find_seams() const {
        std::vector<Seam> seams;
        for (SideId s = 0; s < mate_.size(); ++s) {
            if (mate_[s] == no_id || mate_[s] < s || agree(s)) continue;
            const auto [low, high] = std::minmax(run_of_[face_of(s)], run_of_[face_of(mate_[s])]);
            seams.push_back({low, high, s});
        }
        std::sort(seams.begin(), seams.end());
        return seams;
    }

    void cut(std::span<const Seam> seams) {
        for (const Seam& seam : seams) {
            mate_[mate_[seam.side]] = no_id;
            mate_[seam.side] = no_id;
        }
    }

    /// False when the two are joined already, the other way round.
    bool join(std::uint32_t a, std::uint32_t b) {
        const Root ra = root_of(a), rb = root_of(b);
        if (ra.run == rb.run) return ra.is_turned != rb.is_turned;
        const auto [low, high] = std::minmax(ra.run, rb.run);
        parent_[high] = low;
        is_turned_[high] = ra.is_turned == rb.is_turned ? 1 : 0;
        return true;
    }
    /// With is_turned_ against the root; shortens the way there.
    Root root_of(std::uint32_t run) {
        std::uint32_t root = run;
        bool turned = false;
        for (; parent_[root] != root; root = parent_[root]) turned = turned != (is_turned_[root] != 0);
        bool rest = turned;
        while (parent_[run] != root && run != root) {
            const std::uint32_t next = parent_[run];
            const bool own = is_turned_[run] != 0;
            parent_[run] = root;
            is_turned_[run] = rest ? 1 : 0;
            rest = rest != own;
            run = next;
        }
        return {root, turned};
    }

    /// By their first faces. The majority keeps its direction; on a tie the first face does.
    Shells number_shells() {
        Shells shells;
        std::vector<std::uint32_t> shell_of_root(parent_.size(), no_id);
        std::vector<std::size_t> faces, turned;
        shells.shell_of.resize(triangles_.size());
        for (FaceId f = 0; f < triangles_.size(); ++f) {
            const Root root = root_of(run_of_[f]);
            std::uint32_t& shell = shell_of_root[root.run];
            if (shell == no_id) {
                shell = static_cast<std::uint32_t>(shells.count++);
                faces.push_back(0);
                turned.push_back(0);
            }
            shells.shell_of[f] = shell;
            ++faces[shell];
            turned[shell] += root.is_turned ? 1u : 0u;
        }
        // A root is the run with the shell's first face, so that an even split leaves that face as it is.
        std::vector<char> is_turned(triangles_.size(), 0);
        for (FaceId f = 0; f < triangles_.size(); ++f) {
            const std::uint32_t shell = shells.shell_of[f];
            const bool is_minority = 2 * turned[shell] <= faces[shell];
            is_turned[f] = root_of(run_of_[f]).is_turned == is_minority ? 1 : 0;
            shells.turned += is_turned[f] != 0 ? 1u : 0u;
        }
        if (shells.turned > 0) shells.is_turned = std::move(is_turned);
        return shells;
    }

    const std::vector<Triangle>& triangles_;
    std::vector<SideId>& mate_;
    std::vector<std::uint32_t> run_of_, parent_;
    std::vector<char> is_turned_;  ///< of a run, against its parent
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

/// Halves the face of side (from, to) into (from, middle, apex), which keeps its number, and a new (middle, to, apex).
/// Mates are renamed to match; those of the two halves of the side itself are left to the caller.
void split_side(TriMesh& mesh, std::vector<SideId>& mate, SideId s, VertexId middle) {
    const FaceId f = face_of(s), g = static_cast<FaceId>(mesh.face_count());
    const VertexId from = from_of(mesh.triangles, s), to = to_of(mesh.triangles, s);
    const VertexId apex = from_of(mesh.triangles, previous_side(s));
    const SideId to_apex = mate[next_side(s)], apex_from = mate[previous_side(s)];
    mesh.triangles[f] = {from, middle, apex};
    mesh.triangles.push_back({middle, to, apex});
    if (!mesh.face_origin.empty()) mesh.face_origin.push_back(mesh.face_origin[f]);
    mate.resize(mate.size() + 3, no_id);
    const auto pair_up = [&](SideId a, SideId b) {
        mate[a] = b;
        if (b != no_id) mate[b] = a;
    };
    pair_up(3 * f + 1, 3 * g + 2);
    pair_up(3 * f + 2, apex_from);
    pair_up(3 * g + 1, to_apex);
}

/// Gives the edge of a side and its mate a vertex in its middle.
void split_edge(TriMesh& mesh, std::vector<SideId>& mate, SideId s) {
    const SideId m = mate[s];
    const auto middle = static_cast<VertexId>(mesh.vertices.size());
    mesh.vertices.push_back((mesh.vertices[from_of(mesh.triangles, s)] + mesh.vertices[to_of(mesh.triangles, s)]) *
                            0.5);
    const SideId first = 3 * face_of(s), second = static_cast<SideId>(3 * mesh.face_count());
    split_side(mesh, mate, s, middle);
    mate[first] = mate[second] = no_id;
    if (m == no_id) return;
    const SideId first_m = 3 * face_of(m), second_m = static_cast<SideId>(3 * mesh.face_count());
    split_side(mesh, mate, m, middle);
    mate[first] = second_m;
    mate[second_m] = first;
    mate[second] = first_m;
    mate[first_m] = second;
}

}  // namespace

Shells orient_shells(std::vector<Triangle>& triangles, std::vector<SideId>& mate) {
    Shells shells = ShellSearch(triangles, mate).find();
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

SideMates separate_double_edges(TriMesh& mesh, std::vector<SideId> mate) {
    constexpr int most_rounds = 20;  // each face is split once a round, and no face has more than three double edges
    SideMates matched = match_sides(mesh.triangles, mesh.vertices.size());
    for (int round = 0; round < most_rounds && !matched.crowded.empty(); ++round) {
        std::vector<char> is_split(mesh.face_count(), 0);
        const auto is_done = [&](SideId s) { return face_of(s) >= is_split.size() || is_split[face_of(s)] != 0; };
        for (const std::vector<SideId>& sides : matched.crowded) {
            const SideId first = sides.front(), mate_of_first = mate[first];
            for (const SideId s : sides) {
                if (is_done(s)) continue;
                const SideId m = mate[s];
                if (s == first || s == mate_of_first || (m != no_id && (m < s || is_done(m)))) continue;
                is_split[face_of(s)] = 1;
                if (m != no_id) is_split[face_of(m)] = 1;
                split_edge(mesh, mate, s);
            }
        }
        matched = match_sides(mesh.triangles, mesh.vertices.size());
    }
    return matched;
}

}  // namespace cradlewright
