// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/crowded_edges.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "geom/mesh_shells.hpp"

namespace cradlewright {

namespace {

struct CornerSet {
    Triangle sorted;
    FaceId face;
    friend auto operator<=>(const CornerSet&, const CornerSet&) = default;
};

/// Faces that share two edges with one neighbour, or lie on a crowded edge: only these can be duplicates.
std::vector<CornerSet> suspects(const TriMesh& mesh, const SideMates& sides) {
    std::vector<char> is_suspect;
    const auto suspect = [&](FaceId f) {
        if (is_suspect.empty()) is_suspect.assign(mesh.face_count(), 0);
        is_suspect[f] = 1;
    };
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const SideId* m = sides.mate.data() + 3 * std::size_t{f};
        if (m[0] != no_id && m[1] != no_id && face_of(m[0]) == face_of(m[1])) suspect(f);
    }
    for (const auto& crowd : sides.crowded)
        for (const SideId s : crowd) suspect(face_of(s));

    std::vector<CornerSet> out;
    for (FaceId f = 0; f < is_suspect.size(); ++f) {
        if (is_suspect[f] == 0) continue;
        Triangle t = mesh.triangles[f];
        std::sort(t.begin(), t.end());
        out.push_back({t, f});
    }
    return out;
}

/// A piece of surface whose faces are connected by edges of two faces.
struct Piece {
    double area = 0;
    double volume = 0;  ///< signed, of the cone from a common point over the piece in its own direction
    bool has_free_edge = false;
    std::vector<std::size_t> crowds;  ///< crowded edges at its rim, with repetition
};

class Membranes {
public:
    Membranes(const TriMesh& mesh, const SideMates& sides) : crowded_(sides.crowded) {
        std::vector<Triangle> triangles = mesh.triangles;
        std::vector<SideId> mate = sides.mate;
        shells_ = orient_shells(triangles, mate);
        pieces_.resize(shells_.count);
        alive_.assign(shells_.count, 1);
        measure(mesh, triangles);
        find_rims(mesh, sides);
    }

    std::vector<char> drop_flags() {
        std::vector<std::size_t> order;
        for (std::size_t p = 0; p < pieces_.size(); ++p)
            if (!pieces_[p].crowds.empty()) order.push_back(p);
        std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            const Piece &pa = pieces_[a], &pb = pieces_[b];
            if (pa.has_free_edge != pb.has_free_edge) return pa.has_free_edge;
            return std::pair(pa.area, a) < std::pair(pb.area, b);
        });
        bool any = false;
        for (const std::size_t p : order)
            if (leaves_whole_edges(p) && is_membrane(p)) {
                alive_[p] = 0;
                any = true;
            }
        std::vector<char> drop;
        if (!any) return drop;
        drop.resize(shells_.shell_of.size());
        for (std::size_t f = 0; f < drop.size(); ++f) drop[f] = alive_[shells_.shell_of[f]] != 0 ? 0 : 1;
        return drop;
    }

private:
    void measure(const TriMesh& mesh, const std::vector<Triangle>& oriented) {
        const Vec3 middle = bounding_box(mesh).center();
        for (std::size_t f = 0; f < oriented.size(); ++f) {
            const Triangle& t = oriented[f];
            const std::array<Vec3, 3> c{mesh.vertices[t[0]] - middle, mesh.vertices[t[1]] - middle,
                                        mesh.vertices[t[2]] - middle};
            Piece& piece = pieces_[shells_.shell_of[f]];
            piece.area += norm(area_vector(c)) / 2;
            piece.volume += dot(c[0], cross(c[1], c[2])) / 6;
        }
    }

    void find_rims(const TriMesh& mesh, const SideMates& sides) {
        std::vector<char> is_crowded(sides.mate.size(), 0);
        runs_up_.resize(crowded_.size());
        for (std::size_t e = 0; e < crowded_.size(); ++e)
            for (const SideId s : crowded_[e]) {
                is_crowded[s] = 1;
                pieces_[piece_of(s)].crowds.push_back(e);
                const bool turned = !shells_.is_turned.empty() && shells_.is_turned[face_of(s)] != 0;
                runs_up_[e].push_back((from_of(mesh.triangles, s) < to_of(mesh.triangles, s)) != turned ? 1 : 0);
            }
        for (SideId s = 0; s < sides.mate.size(); ++s)
            if (sides.mate[s] == no_id && is_crowded[s] == 0) pieces_[piece_of(s)].has_free_edge = true;
    }

    [[nodiscard]] std::size_t piece_of(SideId s) const { return shells_.shell_of[face_of(s)]; }

    /// Places in crowd `e` of sides whose piece is still there.
    [[nodiscard]] std::vector<std::size_t> living(std::size_t e) const {
        std::vector<std::size_t> out;
        for (std::size_t i = 0; i < crowded_[e].size(); ++i)
            if (alive_[piece_of(crowded_[e][i])] != 0) out.push_back(i);
        return out;
    }

    /// Without the piece each of its crowded edges has an even number of faces left; at least one had an odd number.
    [[nodiscard]] bool leaves_whole_edges(std::size_t p) const {
        bool mends_one = false;
        for (const std::size_t e : pieces_[p].crowds) {
            const std::vector<std::size_t> there = living(e);
            const auto own = static_cast<std::size_t>(std::count_if(
                there.begin(), there.end(), [&](std::size_t i) { return piece_of(crowded_[e][i]) == p; }));
            const std::size_t left = there.size() - own;
            if (left < 2 || left % 2 != 0) return false;
            mends_one = mends_one || there.size() % 2 != 0;
        }
        return mends_one;
    }

    [[nodiscard]] bool is_membrane(std::size_t p) const {
        for (const std::size_t e : pieces_[p].crowds) {
            const std::vector<std::size_t> there = living(e);
            if (there.size() != 3) continue;
            if (pieces_[p].has_free_edge) return is_smallest(p, e, there);
            return leaves_most_volume(p, e, there);
        }
        return false;
    }

    [[nodiscard]] bool is_smallest(std::size_t p, std::size_t e, const std::vector<std::size_t>& there) const {
        return std::all_of(there.begin(), there.end(), [&](std::size_t i) {
            const std::size_t q = piece_of(crowded_[e][i]);
            return q == p || pieces_[p].area < pieces_[q].area;
        });
    }

    [[nodiscard]] bool leaves_most_volume(std::size_t p, std::size_t e, const std::vector<std::size_t>& there) const {
        double without_p = 0, without_other = 0;
        for (std::size_t k = 0; k < 3; ++k) {
            const std::size_t i = there[(k + 1) % 3], j = there[(k + 2) % 3];
            const std::size_t a = piece_of(crowded_[e][i]), b = piece_of(crowded_[e][j]);
            const double sign = runs_up_[e][i] != runs_up_[e][j] ? 1 : -1;
            const double volume = std::abs(a == b ? pieces_[a].volume : pieces_[a].volume + sign * pieces_[b].volume);
            double& side = piece_of(crowded_[e][there[k]]) == p ? without_p : without_other;
            side = std::max(side, volume);
        }
        return without_p > without_other;
    }

    const std::vector<std::vector<SideId>>& crowded_;
    Shells shells_;
    std::vector<Piece> pieces_;
    std::vector<char> alive_;
    std::vector<std::vector<char>>
        runs_up_;  ///< per crowd and side: from the lower vertex, in the piece's own direction
};

/// A side of a crowded edge as a ray in the plane square to the edge.
struct Ray {
    double angle;  ///< of the face, counter-clockwise seen against the edge from lower to higher vertex
    SideId side;
    bool runs_up;  ///< the face lists the edge from lower to higher vertex: its outside is where angles grow
};

std::vector<Ray> rays_round_edge(const TriMesh& mesh, const std::vector<SideId>& sides) {
    const VertexId low = std::min(from_of(mesh.triangles, sides[0]), to_of(mesh.triangles, sides[0]));
    const VertexId high = std::max(from_of(mesh.triangles, sides[0]), to_of(mesh.triangles, sides[0]));
    const Vec3 axis = normalized(mesh.vertices[high] - mesh.vertices[low]);
    const auto spoke = [&](SideId s) {
        const Vec3 d = mesh.vertices[from_of(mesh.triangles, previous_side(s))] - mesh.vertices[low];
        return normalized(d - axis * dot(d, axis));
    };
    const Vec3 x = spoke(sides[0]), y = cross(axis, x);
    std::vector<Ray> rays;
    for (const SideId s : sides) {
        const Vec3 d = spoke(s);
        rays.push_back({std::atan2(dot(d, y), dot(d, x)), s, from_of(mesh.triangles, s) == low});
    }
    std::sort(rays.begin(), rays.end(),
              [](const Ray& a, const Ray& b) { return std::pair(a.angle, a.side) < std::pair(b.angle, b.side); });
    return rays;
}

double wedge(const Ray& from, const Ray& to) {
    const double d = to.angle - from.angle;
    return d < 0 ? d + 2 * std::numbers::pi : d;
}

void pair_up(SideMates& sides, SideId a, SideId b) {
    sides.mate[a] = b;
    sides.mate[b] = a;
}

void pair_round(SideMates& sides, const std::vector<Ray>& rays) {
    const std::size_t n = rays.size();
    bool alternates = true;
    double wedges[2] = {0, 0};  // of the pairings that start with ray 0 and with ray 1
    for (std::size_t i = 0; i < n; ++i) {
        const Ray& next = rays[(i + 1) % n];
        alternates = alternates && rays[i].runs_up != next.runs_up;
        wedges[i % 2] += wedge(rays[i], next);
    }
    // Solid lies at smaller angles than a face that runs up: the wedge before such a face is solid.
    const std::size_t first = alternates ? (rays[1].runs_up ? 0u : 1u) : (wedges[0] <= wedges[1] ? 0u : 1u);
    for (std::size_t i = first; i < n + first; i += 2) pair_up(sides, rays[i % n].side, rays[(i + 1) % n].side);
}

void pair_smoothest(SideMates& sides, std::vector<Ray> rays) {
    while (rays.size() > 1) {
        std::size_t best_i = 0, best_j = 1;
        double best = 10;
        for (std::size_t i = 0; i < rays.size(); ++i)
            for (std::size_t j = i + 1; j < rays.size(); ++j) {
                const double bend = std::abs(std::numbers::pi - wedge(rays[i], rays[j]));
                const double cost = rays[i].runs_up != rays[j].runs_up ? bend : bend + std::numbers::pi;
                if (cost < best) {
                    best = cost;
                    best_i = i;
                    best_j = j;
                }
            }
        pair_up(sides, rays[best_i].side, rays[best_j].side);
        rays.erase(rays.begin() + static_cast<std::ptrdiff_t>(best_j));
        rays.erase(rays.begin() + static_cast<std::ptrdiff_t>(best_i));
    }
}

}  // namespace

std::vector<char> find_duplicate_faces(const TriMesh& mesh, const SideMates& sides) {
    std::vector<CornerSet> sets = suspects(mesh, sides);
    std::sort(sets.begin(), sets.end());
    std::vector<char> drop;
    for (std::size_t i = 1; i < sets.size(); ++i) {
        if (sets[i].sorted != sets[i - 1].sorted) continue;
        if (drop.empty()) drop.assign(mesh.face_count(), 0);
        drop[sets[i].face] = 1;
    }
    return drop;
}

std::vector<char> find_membranes(const TriMesh& mesh, const SideMates& sides) {
    return Membranes(mesh, sides).drop_flags();
}

void pair_crowded_sides(const TriMesh& mesh, SideMates& sides) {
    constexpr std::size_t most_at_an_edge = 64;  // beyond is not a surface; its faces stay apart
    for (const std::vector<SideId>& crowd : sides.crowded) {
        if (crowd.size() > most_at_an_edge) continue;
        const std::vector<Ray> rays = rays_round_edge(mesh, crowd);
        if (crowd.size() % 2 == 0)
            pair_round(sides, rays);
        else
            pair_smoothest(sides, rays);
    }
}

}  // namespace cradlewright
