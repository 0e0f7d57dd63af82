// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/flatten_patch.hpp"

#include <CGAL/Surface_mesh.h>
#include <CGAL/Surface_mesh_parameterization/LSCM_parameterizer_3.h>
#include <CGAL/Surface_mesh_parameterization/parameterize.h>

#include <Eigen/SparseCholesky>
#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "cradlewright/geom/polyline.hpp"
#include "geom/cgal.hpp"

namespace cradlewright {
namespace {

namespace smp = CGAL::Surface_mesh_parameterization;
using SurfaceMesh = CGAL::Surface_mesh<cgal::Point>;

constexpr double quantile_share = 0.01;
constexpr int most_rounds = 60;
constexpr double still_share = 1e-7;        // of the patch's size: a round that moves no vertex further is the last
constexpr double least_cotangent = 1e-3;    // of obtuse corners: keeps the system definite
constexpr double most_folded_share = 0.01;  // of the area: specks at sharp edges; the outline does not feel them

/// Turns each face to where it fits best, then all vertices to where they fit the turned faces best, and so on.
class Relaxation {
public:
    Relaxation(const TriMesh& patch, std::vector<Vec2>& at) : patch_(patch), at_(at) {
        const auto n = static_cast<Eigen::Index>(at.size());
        std::vector<Eigen::Triplet<double>> entries;
        for (FaceId f = 0; f < patch.face_count(); ++f) {
            const std::array<Vec3, 3> c = patch.corners(f);
            const double twice = norm(area_vector(c));
            Face& face = faces_.emplace_back();
            const Vec3 u = c[1] - c[0], v = c[2] - c[0];
            const double side = norm(u);
            face.at = {Vec2{0, 0}, Vec2{side, 0}, Vec2{dot(u, v) / side, twice / side}};
            for (std::size_t k = 0; k < 3; ++k) {  // side k lies opposite corner k + 2
                const Vec3 apex = c[(k + 2) % 3];
                face.weight[k] = std::max(least_cotangent, dot(c[k] - apex, c[(k + 1) % 3] - apex) / twice);
                const Eigen::Index a = patch.triangles[f][k], b = patch.triangles[f][(k + 1) % 3];
                entries.emplace_back(a, a, face.weight[k]);
                entries.emplace_back(b, b, face.weight[k]);
                entries.emplace_back(a, b, -face.weight[k]);
                entries.emplace_back(b, a, -face.weight[k]);
            }
        }
        entries.emplace_back(0, 0, 1);  // one vertex keeps its place
        Eigen::SparseMatrix<double> matrix(n, n);
        matrix.setFromTriplets(entries.begin(), entries.end());
        solver_.compute(matrix);
    }
    [[nodiscard]] bool can_solve() const { return solver_.info() == Eigen::Success; }

    /// How far the vertex that moved furthest moved.
    double round() {
        Eigen::MatrixX2d right = Eigen::MatrixX2d::Zero(static_cast<Eigen::Index>(at_.size()), 2);
        right(0, 0) = at_[0].x, right(0, 1) = at_[0].y;
        for (FaceId f = 0; f < faces_.size(); ++f) {
            const Face& face = faces_[f];
            const Triangle& t = patch_.triangles[f];
            double same = 0, turned = 0;
            for (std::size_t k = 0; k < 3; ++k) {
                const Vec2 own = face.at[(k + 1) % 3] - face.at[k], now = at_[t[(k + 1) % 3]] - at_[t[k]];
                same += face.weight[k] * dot(own, now);
                turned += face.weight[k] * cross(own, now);
            }
            const double size = std::hypot(same, turned);
            const double c = size > 0 ? same / size : 1, s = size > 0 ? turned / size : 0;
            for (std::size_t k = 0; k < 3; ++k) {
                const Vec2 own = face.at[(k + 1) % 3] - face.at[k];
                const Vec2 pull = Vec2{c * own.x - s * own.y, s * own.x + c * own.y} * face.weight[k];
                const Eigen::Index a = t[k], b = t[(k + 1) % 3];
                right(b, 0) += pull.x, right(b, 1) += pull.y;
                right(a, 0) -= pull.x, right(a, 1) -= pull.y;
            }
        }
        const Eigen::MatrixX2d solved = solver_.solve(right);
        double moved = 0;
        for (std::size_t v = 0; v < at_.size(); ++v) {
            const auto row = static_cast<Eigen::Index>(v);
            const Vec2 to{solved(row, 0), solved(row, 1)};
            moved = std::max(moved, norm(to - at_[v]));
            at_[v] = to;
        }
        return moved;
    }

private:
    struct Face {
        std::array<Vec2, 3> at;  ///< as it is, in its own plane
        std::array<double, 3> weight{};
    };
    const TriMesh& patch_;
    std::vector<Vec2>& at_;
    std::vector<Face> faces_;
    Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> solver_;
};

/// Singular values, greater first, of the map of a face to the plane. Source: derived, from the trace and determinant.
std::pair<double, double> stretches(const std::array<Vec3, 3>& face, const std::array<Vec2, 3>& flat) {
    const Vec3 u = face[1] - face[0], v = face[2] - face[0];
    const double long_side = norm(u), along = dot(u, v) / long_side, up = norm(cross(u, v)) / long_side;
    const Vec2 a = (flat[1] - flat[0]) / long_side;         // image of the unit vector along u
    const Vec2 b = ((flat[2] - flat[0]) - a * along) / up;  // and of the one square to it
    const double sum = dot(a, a) + dot(b, b), product = std::abs(cross(a, b));
    const double root = std::sqrt(std::max(0.0, sum * sum / 4 - product * product));
    return {std::sqrt(sum / 2 + root), std::sqrt(std::max(0.0, sum / 2 - root))};
}

/// Value at a share of the whole weight, from below.
double weighted_quantile(std::vector<std::pair<double, double>>& value_weight, double share) {
    std::ranges::sort(value_weight);
    double whole = 0, so_far = 0;
    for (const auto& [value, weight] : value_weight) whole += weight;
    for (const auto& [value, weight] : value_weight)
        if ((so_far += weight) >= share * whole) return value;
    return value_weight.back().first;
}

/// Conformal, so with all turns right and sizes wrong; nothing where CGAL finds none.
std::optional<std::vector<Vec2>> conformal(const TriMesh& patch) {
    SurfaceMesh mesh;
    for (const Vec3 p : patch.vertices) mesh.add_vertex(cgal::to_cgal(p));
    using Vertex = SurfaceMesh::Vertex_index;
    for (const Triangle& t : patch.triangles)
        if (mesh.add_face(Vertex(t[0]), Vertex(t[1]), Vertex(t[2])) == SurfaceMesh::null_face()) return std::nullopt;
    auto rim = SurfaceMesh::null_halfedge();
    double longest = 0;
    std::vector<bool> is_seen(mesh.number_of_halfedges(), false);
    for (const auto h : mesh.halfedges()) {
        if (!mesh.is_border(h) || is_seen[h]) continue;
        double length = 0;
        for (auto k = h; !is_seen[k]; k = mesh.next(k)) {
            is_seen[k] = true;
            length += norm(patch.vertices[mesh.source(k).idx()] - patch.vertices[mesh.target(k).idx()]);
        }
        if (length > longest) longest = length, rim = h;
    }
    if (rim == SurfaceMesh::null_halfedge()) return std::nullopt;
    const auto uv = mesh.add_property_map<Vertex, cgal::Kernel::Point_2>("v:uv").first;
    if (smp::parameterize(mesh, smp::LSCM_parameterizer_3<SurfaceMesh>(), rim, uv) != smp::OK) return std::nullopt;
    std::vector<Vec2> at;
    for (const Vertex v : mesh.vertices()) at.push_back({uv[v].x(), uv[v].y()});
    double real = 0, flat = 0;
    for (FaceId f = 0; f < patch.face_count(); ++f) {
        const Triangle& t = patch.triangles[f];
        real += norm(area_vector(patch.corners(f))) / 2;
        flat += signed_area(std::array<Vec2, 3>{at[t[0]], at[t[1]], at[t[2]]});
    }
    if (!(flat > 0) || !std::isfinite(flat)) return std::nullopt;
    for (Vec2& p : at) p = p * std::sqrt(real / flat);
    return at;
}

}  // namespace

std::optional<FlatPatch> flatten_patch(const TriMesh& patch) {
    std::optional<std::vector<Vec2>> at = conformal(patch);
    if (!at) return std::nullopt;
    Relaxation relaxation(patch, *at);
    if (!relaxation.can_solve()) return std::nullopt;
    Box2 box;
    for (const Vec2 p : *at) box.add(p);
    for (int i = 0; i < most_rounds && relaxation.round() > still_share * norm(box.size()); ++i) {
    }
    FlatPatch flat;
    flat.at = std::move(*at);
    double folded_mm2 = 0;
    std::vector<std::pair<double, double>> least, most;
    for (FaceId f = 0; f < patch.face_count(); ++f) {
        const Triangle& t = patch.triangles[f];
        const std::array<Vec2, 3> on_table{flat.at[t[0]], flat.at[t[1]], flat.at[t[2]]};
        const std::array<Vec3, 3> on_surface = patch.corners(f);
        const double area = norm(area_vector(on_surface)) / 2, flat_area = signed_area(on_table);
        if (!(area > 0)) continue;
        if (!(flat_area > 0)) {
            folded_mm2 += area;
            continue;
        }
        const auto [great, small] = stretches(on_surface, on_table);
        flat.area_mm2 += flat_area;
        flat.distortion_mm2 += area * ((great - 1) * (great - 1) + (small - 1) * (small - 1));
        least.emplace_back(1 / great - 1, area);
        most.emplace_back(1 / small - 1, area);
    }
    if (flat.area_mm2 <= 0 || folded_mm2 > most_folded_share * flat.area_mm2) return std::nullopt;
    flat.least_strain = weighted_quantile(least, quantile_share);
    flat.most_strain = weighted_quantile(most, 1 - quantile_share);
    return flat;
}

}  // namespace cradlewright
