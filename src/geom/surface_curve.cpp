// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/surface_curve.hpp"

#include <algorithm>
#include <limits>
#include <optional>
#include <utility>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

/// The section of a mesh by one plane, face by face.
class Section {
public:
    Section(const TriMesh& mesh, std::span<const FaceId> adjacency, Vec3 at, Vec3 across)
        : mesh_(mesh), adjacency_(adjacency), at_(at), across_(normalized(across)) {}

    [[nodiscard]] FaceId neighbour(FaceId f, std::size_t k) const { return adjacency_[3 * std::size_t{f} + k]; }

    /// Corners in the plane count as above it, so a face is crossed through no edge or through two.
    [[nodiscard]] bool is_cut(FaceId f, std::size_t k) const {
        const Triangle& t = mesh_.triangles[f];
        return (height(t[k]) >= 0) != (height(t[(k + 1) % 3]) >= 0);
    }

    /// Where the plane crosses edge k of a face; the same from either side.
    [[nodiscard]] Vec3 crossing(FaceId f, std::size_t k) const {
        const Triangle& t = mesh_.triangles[f];
        const auto [a, b] = std::minmax(t[k], t[(k + 1) % 3]);
        const double ha = height(a), hb = height(b);
        return mesh_.vertices[a] + (mesh_.vertices[b] - mesh_.vertices[a]) * (ha / (ha - hb));
    }

    struct Exit {
        FaceId face = no_id;
        std::size_t k = 0;
    };
    /// The way out of a cut face that leads further toward a direction.
    [[nodiscard]] std::optional<Exit> exit_toward(FaceId f, Vec3 toward) const {
        std::optional<Exit> best;
        double most = -std::numeric_limits<double>::infinity();
        for (std::size_t k = 0; k < 3; ++k) {
            if (!is_cut(f, k)) continue;
            const double far = dot(crossing(f, k) - at_, toward);
            if (best && far <= most) continue;
            best = Exit{f, k};
            most = far;
        }
        return best;
    }

    /// The face itself if the plane cuts it, else, of its neighbours and theirs, the cut one whose way out leads
    /// furthest: a point on an edge or corner belongs to any of them, and rounding may choose the wrong one.
    [[nodiscard]] std::optional<Exit> first_exit(FaceId f, Vec3 toward) const {
        if (const auto own = exit_toward(f, toward)) return own;
        std::optional<Exit> best;
        double most = -std::numeric_limits<double>::infinity();
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = neighbour(f, k);
            if (g == no_id) continue;
            for (const FaceId h : {g, neighbour(g, 0), neighbour(g, 1), neighbour(g, 2)}) {
                if (h == no_id) continue;
                const auto exit = exit_toward(h, toward);
                if (!exit) continue;
                const double far = dot(crossing(exit->face, exit->k) - at_, toward);
                if (far <= most) continue;
                best = exit;
                most = far;
            }
        }
        return best;
    }

    /// Over the edge and on to the other one of the next face.
    [[nodiscard]] std::optional<Exit> next(Exit exit) const {
        const FaceId g = neighbour(exit.face, exit.k);
        if (g == no_id) return {};
        for (std::size_t k = 0; k < 3; ++k)
            if (neighbour(g, k) != exit.face && is_cut(g, k)) return Exit{g, k};
        return {};
    }

private:
    [[nodiscard]] double height(VertexId v) const { return dot(across_, mesh_.vertices[v] - at_); }

    const TriMesh& mesh_;
    std::span<const FaceId> adjacency_;
    Vec3 at_, across_;
};

}  // namespace

std::vector<Vec3> positions(const TriMesh& mesh, const SurfaceCurve& curve) {
    std::vector<Vec3> result;
    result.reserve(curve.points.size());
    for (const SurfacePoint& p : curve.points) result.push_back(position(mesh, p));
    return result;
}

SurfaceWalk walk_section(const TriMesh& mesh, std::span<const FaceId> adjacency, const SurfacePoint& from, Vec3 across,
                         Vec3 toward, double length_mm) {
    CRADLEWRIGHT_PRECONDITION(adjacency.size() == 3 * mesh.face_count());
    CRADLEWRIGHT_PRECONDITION(norm(across) > 0 && length_mm >= 0);
    const Vec3 start = position(mesh, from);
    const Section section(mesh, adjacency, start, across);
    SurfaceWalk walk{{start}, {}};
    double left = length_mm;
    for (auto exit = section.first_exit(from.face, toward); exit && left > 0; exit = section.next(*exit)) {
        if (!walk.faces.empty() && exit->face == walk.faces.front()) break;
        const Vec3 to = section.crossing(exit->face, exit->k);
        const double run = norm(to - walk.points.back());
        if (run == 0) continue;
        walk.faces.push_back(exit->face);
        walk.points.push_back(run > left ? walk.points.back() + (to - walk.points.back()) * (left / run) : to);
        left -= run;
    }
    return walk;
}

}  // namespace cradlewright
