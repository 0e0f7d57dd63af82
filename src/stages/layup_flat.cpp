// SPDX-License-Identifier: GPL-3.0-or-later
// The second opinion beside the net: what does not shear, such as mat, peel ply or film, is cut by these.
#include "stages/layup_flat.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <unordered_map>
#include <utility>

#include "cradlewright/geom/polyline.hpp"
#include "geom/flatten_patch.hpp"
#include "geom/mesh_edges.hpp"
#include "geom/mesh_shells.hpp"
#include "stages/layup_outline.hpp"

namespace cradlewright {
namespace {

constexpr double smooth_mm = 6;  // seams run along faces; what is jagged by less is drawn straight

/// The faces of the largest connected place among those given.
std::vector<FaceId> largest_place(const TriMesh& mesh, std::span<const FaceId> mates,
                                  const std::vector<FaceId>& faces) {
    std::vector<std::uint8_t> is_open(mesh.face_count(), 0);
    for (const FaceId f : faces) is_open[f] = 1;
    std::vector<FaceId> best;
    double most = 0;
    for (const FaceId seed : faces) {
        if (is_open[seed] == 0) continue;
        is_open[seed] = 0;
        std::vector<FaceId> found{seed};
        double area = 0;
        for (std::size_t n = 0; n < found.size(); ++n) {
            area += norm(area_vector(mesh.corners(found[n])));
            for (unsigned k = 0; k < 3; ++k) {
                const FaceId next = mates[3 * found[n] + k];
                if (next == no_id || is_open[next] == 0) continue;
                is_open[next] = 0;
                found.push_back(next);
            }
        }
        if (area > most) most = area, best = std::move(found);
    }
    return best;
}

class Flattener {
public:
    Flattener(const TriMesh& mesh, std::span<const FaceId> mates, const FlatPlace& place, const KitOptions& kit)
        : mesh_(mesh), mates_(mates), place_(place), kit_(kit) {}

    FlatPiece flatten() {
        FlatPiece piece;
        piece.part.kind = PartKind::cloth;
        take_patch();
        for (FaceId f = 0; f < patch_.face_count(); ++f) piece.surface_mm2 += norm(area_vector(patch_.corners(f))) / 2;
        if (patch_.triangles.empty()) {
            piece.trouble = "it lies under its neighbours' overlaps";
            return piece;
        }
        const std::optional<FlatPatch> flat = flatten_patch(patch_);
        if (!flat) {
            piece.trouble = "it folds over itself: it takes more pieces or darts (kit.pieces)";
            return piece;
        }
        piece.flat_mm2 = flat->area_mm2;
        piece.least_strain = flat->least_strain;
        piece.most_strain = flat->most_strain;
        at_ = flat->at;
        turn();
        const Polygons net = edge();
        piece.part.outline = cut_region(with_margins(
                                            net, [&](Vec2 p) { return is_seam(p); }, kit_),
                                        kit_, piece.part.fit);
        if (piece.part.outline.outer.vertices.empty()) {
            piece.trouble = "it is too narrow for a pattern of its own";
            return piece;
        }
        add_cloth_marks(piece.part, net);
        return piece;
    }

private:
    /// The place as a mesh of its own, whose vertices have one fan of faces each.
    void take_patch() {
        const std::vector<FaceId> faces = largest_place(mesh_, mates_, place_.faces);
        std::unordered_map<VertexId, VertexId> name;
        for (const FaceId f : faces) {
            Triangle& t = patch_.triangles.emplace_back();
            for (std::size_t k = 0; k < 3; ++k) {
                const VertexId v = mesh_.triangles[f][k];
                const auto [at, is_new] = name.try_emplace(v, static_cast<VertexId>(patch_.vertices.size()));
                if (is_new) patch_.vertices.push_back(mesh_.vertices[v]);
                t[k] = at->second;
                on_rim_.push_back(mates_[3 * f + k] == no_id);
            }
        }
        mate_ = match_sides(patch_.triangles, patch_.vertices.size()).mate;
        split_touching_vertices(patch_, mate_);
    }

    /// The start to the origin, the warp along x.
    void turn() {
        FaceId near = 0;
        double least = std::numeric_limits<double>::infinity();
        for (FaceId f = 0; f < patch_.face_count(); ++f) {
            const auto c = patch_.corners(f);
            if (const double d = norm((c[0] + c[1] + c[2]) / 3 - place_.start); d < least) least = d, near = f;
        }
        const Triangle& t = patch_.triangles[near];
        const Vec3 u = patch_.vertices[t[1]] - patch_.vertices[t[0]], v = patch_.vertices[t[2]] - patch_.vertices[t[0]];
        const Vec2 on_u = at_[t[1]] - at_[t[0]], on_v = at_[t[2]] - at_[t[0]];
        // Coordinates of the warp, as it lies in the face, on u and v.
        const double uu = dot(u, u), uv = dot(u, v), vv = dot(v, v), wu = dot(place_.warp, u), wv = dot(place_.warp, v);
        const double det = uu * vv - uv * uv;
        const Vec2 along = on_u * ((wu * vv - wv * uv) / det) + on_v * ((wv * uu - wu * uv) / det);
        const Vec2 x = norm(along) > 0 ? normalized(along) : Vec2{1, 0};
        const Vec2 origin = (at_[t[0]] + at_[t[1]] + at_[t[2]]) / 3;
        for (Vec2& p : at_) p = {dot(p - origin, x), cross(x, p - origin)};
    }

    /// The rim of the patch as laid out, jags of the seams taken off.
    Polygons edge() {
        std::map<VertexId, std::pair<VertexId, bool>> next;  // along the patch's border: to, whether a seam
        for (SideId s = 0; s < mate_.size(); ++s) {
            if (mate_[s] != no_id) continue;
            const VertexId from = from_of(patch_.triangles, s), to = to_of(patch_.triangles, s);
            next[from] = {to, !on_rim_[s]};
            (on_rim_[s] ? rim_ : seam_).push_back((at_[from] + at_[to]) * 0.5);
        }
        Polygons loops;
        while (!next.empty()) {
            std::vector<Vec2>& loop = loops.emplace_back();
            for (auto step = next.begin(); step != next.end();) {
                loop.push_back(at_[step->first]);
                const VertexId to = step->second.first;
                next.erase(step);
                step = next.find(to);
            }
        }
        const double d = seam_.empty() ? cloth_fit_mm : smooth_mm;
        Polygons smooth = offset(offset(offset(loops, d, cloth_fit_mm), -2 * d, cloth_fit_mm), d, cloth_fit_mm);
        for (auto& loop : smooth)
            if (std::vector<Vec2> few = thinned(loop, cloth_fit_mm); few.size() > 2) loop = std::move(few);
        return smooth;
    }

    [[nodiscard]] bool is_seam(Vec2 p) const {
        const auto nearest = [&](const std::vector<Vec2>& places) {
            double least = std::numeric_limits<double>::infinity();
            for (const Vec2 q : places) least = std::min(least, norm(p - q));
            return least;
        };
        return nearest(seam_) < nearest(rim_);
    }

    const TriMesh& mesh_;
    std::span<const FaceId> mates_;
    const FlatPlace& place_;
    const KitOptions& kit_;
    TriMesh patch_;
    std::vector<SideId> mate_;      // of the patch's sides
    std::vector<bool> on_rim_;      // a side each: whether it lies on the surface's rim
    std::vector<Vec2> at_;          // a vertex each, flat
    std::vector<Vec2> rim_, seam_;  // middles of border sides, flat
};

}  // namespace

FlatPiece flatten_piece(const TriMesh& mesh, std::span<const FaceId> mates, const FlatPlace& place,
                        const KitOptions& kit) {
    return Flattener(mesh, mates, place, kit).flatten();
}

}  // namespace cradlewright
