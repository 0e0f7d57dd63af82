// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/fair_patch.hpp"

#include <CGAL/Polygon_mesh_processing/refine.h>
#include <CGAL/Surface_mesh.h>

#include <Eigen/SparseCholesky>
#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

#include "geom/cgal.hpp"
#include "geom/degenerate_faces.hpp"

namespace cradlewright {

namespace {

constexpr double least_cosine = 0.5;       // of the faces round the loop to its plane, see header
constexpr double most_rise = 0.5;          // of the loop's width: a half sphere
constexpr double fine_loop = 300;          // points; longer loops get coarser triangles
constexpr int rounds = 3;                  // weights follow the shape they made
constexpr double most_cotangent = 1e3;     // slivers would make the system useless
constexpr double least_area_share = 1e-6;  // of the mean, for the same reason

using SurfaceMesh = CGAL::Surface_mesh<cgal::Point>;

/// Triangles as small as those at the loop.
std::optional<FairPatch> refined(const PointLoop& loop, const LoopPatch& flat) {
    SurfaceMesh mesh;
    for (const Vec3 p : loop) mesh.add_vertex(cgal::to_cgal(p));
    using Vertex = SurfaceMesh::Vertex_index;
    for (const Triangle& t : flat.triangles)
        if (mesh.add_face(Vertex(t[0]), Vertex(t[1]), Vertex(t[2])) == SurfaceMesh::null_face()) return std::nullopt;
    const std::vector<SurfaceMesh::Face_index> faces(mesh.faces().begin(), mesh.faces().end());
    std::vector<SurfaceMesh::Face_index> new_faces;
    std::vector<Vertex> new_vertices;
    const double density = std::sqrt(2.0) * std::min(1.0, fine_loop / static_cast<double>(loop.size()));
    CGAL::Polygon_mesh_processing::refine(mesh, faces, std::back_inserter(new_faces), std::back_inserter(new_vertices),
                                          CGAL::parameters::density_control_factor(density));
    FairPatch patch;
    for (const Vertex v : mesh.vertices())
        if (v.idx() >= loop.size()) patch.added.push_back(cgal::from_cgal(mesh.point(v)));
    for (const SurfaceMesh::Face_index f : mesh.faces()) {
        Triangle& t = patch.triangles.emplace_back();
        unsigned k = 0;
        for (const Vertex v : mesh.vertices_around_face(mesh.halfedge(f))) t[k++] = v.idx();
    }
    if (patch.added.empty()) return std::nullopt;
    return patch;
}

/// Least squared mean curvature over the inner points and the loop, the inner points free.
class Fairing {
public:
    Fairing(const PointLoop& loop, FairPatch& patch, const Surroundings& around)
        : loop_size_(loop.size()), patch_(patch), points_(loop) {
        points_.insert(points_.end(), patch.added.begin(), patch.added.end());
        points_.insert(points_.end(), around.points.begin(), around.points.end());
        faces_ = patch.triangles;
        const auto shift = static_cast<VertexId>(patch.added.size());
        for (Triangle t : around.triangles) {
            for (VertexId& v : t)
                if (v >= loop_size_) v += shift;
            faces_.push_back(t);
        }
    }

    bool run() {
        for (int round = 0; round < rounds; ++round)
            if (!solve()) return false;
        return true;
    }

private:
    using Matrix = Eigen::SparseMatrix<double>;

    [[nodiscard]] std::size_t rows() const { return loop_size_ + patch_.added.size(); }

    void weigh(std::vector<Eigen::Triplet<double>>& entries, std::vector<double>& area) const {
        const auto add = [&](VertexId i, VertexId j, double w) {
            if (i >= rows()) return;
            entries.emplace_back(static_cast<int>(i), static_cast<int>(j), w);
            entries.emplace_back(static_cast<int>(i), static_cast<int>(i), -w);
        };
        for (const Triangle& t : faces_)
            for (unsigned k = 0; k < 3; ++k) {
                const VertexId apex = t[k], i = t[(k + 1) % 3], j = t[(k + 2) % 3];
                const Vec3 a = points_[i] - points_[apex], b = points_[j] - points_[apex];
                const double twice = norm(cross(a, b));
                const double cotangent = twice > 0 ? std::clamp(dot(a, b) / twice, -most_cotangent, most_cotangent) : 0;
                add(i, j, cotangent / 2);
                add(j, i, cotangent / 2);
                if (apex < rows()) area[apex] += twice / 6;
            }
    }

    /// Rows: Laplacian of each patch and loop point; columns: all points. Also one over the area of each row's point.
    std::pair<Matrix, Eigen::VectorXd> laplacian() const {
        std::vector<Eigen::Triplet<double>> entries;
        std::vector<double> area(rows(), 0);
        weigh(entries, area);
        double mean = 0;
        for (const double a : area) mean += a / static_cast<double>(rows());
        Matrix matrix(static_cast<int>(rows()), static_cast<int>(points_.size()));
        matrix.setFromTriplets(entries.begin(), entries.end());
        Eigen::VectorXd by_area(matrix.rows());
        for (std::size_t i = 0; i < rows(); ++i)
            by_area[static_cast<int>(i)] = 1 / std::max(area[i], least_area_share * mean);
        return {std::move(matrix), std::move(by_area)};
    }

    bool solve() {
        const auto [matrix, by_area] = laplacian();
        const auto first = static_cast<int>(loop_size_), count = static_cast<int>(patch_.added.size());
        Eigen::MatrixX3d fixed = Eigen::MatrixX3d::Zero(static_cast<int>(points_.size()), 3);
        for (int i = 0; i < fixed.rows(); ++i) {
            if (i >= first && i < first + count) continue;
            const Vec3 p = points_[static_cast<std::size_t>(i)] - points_[0];
            fixed.row(i) << p.x, p.y, p.z;
        }
        const Matrix free = matrix.middleCols(first, count);
        const Matrix weighed = free.transpose() * by_area.asDiagonal();
        const Eigen::SimplicialLDLT<Matrix> solver(Matrix(weighed * free));
        if (solver.info() != Eigen::Success) return false;
        const Eigen::MatrixX3d right = -(weighed * (matrix * fixed));
        const Eigen::MatrixX3d found = solver.solve(right);
        if (solver.info() != Eigen::Success || !found.allFinite()) return false;
        for (int i = 0; i < count; ++i) {
            const Vec3 p = points_[0] + Vec3{found(i, 0), found(i, 1), found(i, 2)};
            patch_.added[static_cast<std::size_t>(i)] = points_[loop_size_ + static_cast<std::size_t>(i)] = p;
        }
        return true;
    }

    std::size_t loop_size_;
    FairPatch& patch_;
    std::vector<Vec3> points_;  // of the loop, added, around
    std::vector<Triangle> faces_;
};

double width_of(const PointLoop& loop) {
    Box3 box;
    for (const Vec3 p : loop) box.add(p);
    return std::max({box.size().x, box.size().y, box.size().z});
}

/// Mean cosine between the faces round the loop and its plane, by area.
double mean_cosine(const PointLoop& loop, const Surroundings& around) {
    const Vec3 up = normalized(loop_area_vector(loop));
    double along = 0, area = 0;
    for (const Triangle& t : around.triangles) {
        std::array<Vec3, 3> c;
        for (unsigned k = 0; k < 3; ++k) c[k] = t[k] < loop.size() ? loop[t[k]] : around.points[t[k] - loop.size()];
        const Vec3 a = area_vector(c);
        along += dot(a, up);
        area += norm(a);
    }
    return area > 0 ? along / area : 0;
}

bool has_flat_face(const PointLoop& loop, const FairPatch& patch) {
    const auto at = [&](VertexId v) { return v < loop.size() ? loop[v] : patch.added[v - loop.size()]; };
    return std::any_of(patch.triangles.begin(), patch.triangles.end(), [&](const Triangle& t) {
        return is_degenerate({at(t[0]), at(t[1]), at(t[2])});
    });
}

}  // namespace

std::optional<FairPatch> fair_patch(const PointLoop& loop, const LoopPatch& flat, const Surroundings& around) {
    if (flat.uses_middle || !(mean_cosine(loop, around) >= least_cosine)) return std::nullopt;
    std::optional<FairPatch> patch = refined(loop, flat);
    if (!patch || has_flat_face(loop, *patch)) return std::nullopt;
    const std::vector<Vec3> before = patch->added;
    if (!Fairing(loop, *patch, around).run() || has_flat_face(loop, *patch)) return std::nullopt;
    const double limit = most_rise * width_of(loop);
    for (std::size_t i = 0; i < before.size(); ++i)
        if (!(norm(patch->added[i] - before[i]) <= limit)) return std::nullopt;
    return patch;
}

}  // namespace cradlewright
