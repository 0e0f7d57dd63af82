// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/surface_curve.hpp"

#include "cradlewright/base/error.hpp"
#include "geom/edge_chains.hpp"

namespace cradlewright {

namespace {

/// Exact zeros belong to the positive side, so every face is crossed on two edges or none.
bool is_positive(double value) { return value >= 0; }

/// The field at the corners of one crossed face.
class CrossedFace {
public:
    CrossedFace(const TriMesh& mesh, const std::vector<double>& field, FaceId face)
        : face_(face), corners_(mesh.triangles[face]) {
        for (std::size_t k = 0; k < 3; ++k) {
            value_[k] = field[corners_[k]];
            is_positive_[k] = is_positive(value_[k]);
        }
    }

    [[nodiscard]] EdgeStep step() const {
        return {edge_from(crossing_corner(is_positive_, true)), edge_from(crossing_corner(is_positive_, false))};
    }
    [[nodiscard]] SurfacePoint entry() const {
        const std::size_t positive = crossing_corner(is_positive_, true);
        return zero_between(positive, next_corner(positive));
    }
    [[nodiscard]] SurfacePoint exit() const {
        const std::size_t negative = crossing_corner(is_positive_, false);
        return zero_between(next_corner(negative), negative);
    }

private:
    [[nodiscard]] EdgeKey edge_from(std::size_t k) const { return edge_key(corners_[k], corners_[next_corner(k)]); }

    /// Zero of the linear interpolation along an edge.
    [[nodiscard]] SurfacePoint zero_between(std::size_t positive, std::size_t negative) const {
        SurfacePoint p{.face = face_, .weight = {0, 0, 0}};
        p.weight[negative] = value_[positive] / (value_[positive] - value_[negative]);
        p.weight[positive] = 1 - p.weight[negative];
        return p;
    }

    FaceId face_;
    Triangle corners_;
    std::array<double, 3> value_{};
    std::array<bool, 3> is_positive_{};
};

std::vector<FaceId> crossed_faces(const TriMesh& mesh, const std::vector<double>& field) {
    std::vector<FaceId> faces;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const Triangle& t = mesh.triangles[f];
        const bool first = is_positive(field[t[0]]);
        if (first != is_positive(field[t[1]]) || first != is_positive(field[t[2]])) faces.push_back(f);
    }
    return faces;
}

}  // namespace

std::vector<Vec3> positions(const TriMesh& mesh, const SurfaceCurve& curve) {
    std::vector<Vec3> result;
    result.reserve(curve.points.size());
    for (const SurfacePoint& p : curve.points) result.push_back(position(mesh, p));
    return result;
}

std::vector<SurfaceCurve> zero_curves(const TriMesh& mesh, const std::vector<double>& field) {
    CRADLEWRIGHT_PRECONDITION(field.size() == mesh.vertices.size());
    const std::vector<FaceId> faces = crossed_faces(mesh, field);
    std::vector<EdgeStep> steps;
    steps.reserve(faces.size());
    for (const FaceId f : faces) steps.push_back(CrossedFace(mesh, field, f).step());

    std::vector<SurfaceCurve> curves;
    for (const EdgeChain& chain : chain_steps(steps)) {
        SurfaceCurve& curve = curves.emplace_back();
        curve.is_closed = chain.is_closed;
        curve.points.reserve(chain.steps.size() + 1);
        for (const std::uint32_t i : chain.steps) curve.points.push_back(CrossedFace(mesh, field, faces[i]).entry());
        if (!chain.is_closed) curve.points.push_back(CrossedFace(mesh, field, faces[chain.steps.back()]).exit());
    }
    return curves;
}

}  // namespace cradlewright
