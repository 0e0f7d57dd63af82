// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/register_scan.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "cradlewright/base/error.hpp"
#include "geom/scan_overlap.hpp"

namespace cradlewright {

namespace {

constexpr std::size_t most_samples = 5000;
constexpr std::size_t fewest_matches = 30;  // six unknowns and room for outliers
constexpr int most_rounds = 60;
constexpr double settled = 1e-7;       // of the scan's size
constexpr double match_cosine = 0.5;   // 60 deg: faces that look further apart are no pair
constexpr double outlier_medians = 3;  // usual in robust fitting
constexpr double open_motion = 1e-4;   // of the best fixed motion's weight; below, noise would steer it

struct Match {
    Vec3 from, to, normal;
    [[nodiscard]] double gap() const { return dot(from - to, normal); }
};

Eigen::Vector3d eigen(Vec3 v) { return {v.x, v.y, v.z}; }

double root_mean_square(const std::vector<Match>& matches) {
    double sum = 0;
    for (const Match& m : matches) sum += m.gap() * m.gap();
    return matches.empty() ? 0 : std::sqrt(sum / static_cast<double>(matches.size()));
}

Vec3 mean_of(const std::vector<Match>& matches) {
    Vec3 sum;
    for (const Match& m : matches) sum += m.from / static_cast<double>(matches.size());
    return sum;
}

/// Drops matches further apart than some medians, but none within rounding of each other.
void drop_outliers(std::vector<Match>& matches, double least_mm) {
    std::vector<double> gaps;
    for (const Match& m : matches) gaps.push_back(norm(m.from - m.to));
    const auto middle = gaps.begin() + static_cast<std::ptrdiff_t>(gaps.size() / 2);
    std::nth_element(gaps.begin(), middle, gaps.end());
    const double limit = std::max(outlier_medians * *middle, least_mm);
    std::erase_if(matches, [&](const Match& m) { return norm(m.from - m.to) > limit; });
}

/// A small motion: turn about `center`, then shift.
struct Step {
    Frame3 motion;
    double size_mm = 0;
    bool slides = false;
};

/// Least squares of the normal gaps for a small turn and shift; open motions are left at zero.
Step best_step(const std::vector<Match>& matches) {
    const Vec3 center = mean_of(matches);
    double radius = 0;
    for (const Match& m : matches) radius = std::max(radius, norm(m.from - center));
    Eigen::Matrix<double, 6, 6> squares = Eigen::Matrix<double, 6, 6>::Zero();
    Eigen::Matrix<double, 6, 1> right = Eigen::Matrix<double, 6, 1>::Zero();
    for (const Match& m : matches) {
        Eigen::Matrix<double, 6, 1> row;
        row << eigen(cross((m.from - center) / radius, m.normal)), eigen(m.normal);
        squares += row * row.transpose();
        right -= row * m.gap();
    }
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, 6, 6>> solver(squares);
    Eigen::Matrix<double, 6, 1> x = Eigen::Matrix<double, 6, 1>::Zero();
    Step step;
    for (int i = 0; i < 6; ++i) {
        const double weight = solver.eigenvalues()[i];
        if (weight <= open_motion * solver.eigenvalues()[5]) {
            step.slides = true;
            continue;
        }
        const auto direction = solver.eigenvectors().col(i);
        x += direction * (direction.dot(right) / weight);
    }
    const Vec3 turn = Vec3{x[0], x[1], x[2]} / radius, shift{x[3], x[4], x[5]};
    const double angle = norm(turn);
    Frame3 rotation = angle > 0 ? rotation_about(turn, angle) : Frame3{};
    rotation.origin = center + shift - rotation.direction_to_parent(center);
    step.motion = rotation;
    step.size_mm = norm(shift) + angle * radius;
    return step;
}

class Fit {
public:
    Fit(const TriMesh& first, const TriMesh& second, double reach_mm)
        : cover_(first), second_(second), normals_(vertex_normals(second)), reach_mm_(reach_mm) {
        const std::size_t stride = 1 + second.vertices.size() / most_samples;
        for (std::size_t v = 0; v < second.vertices.size(); v += stride) samples_.push_back(static_cast<VertexId>(v));
        size_mm_ = norm(bounding_box(first).size());
    }

    Registration run(const Frame3& start, int rounds) {
        Registration out;
        out.motion = start;
        out.samples = samples_.size();
        double reach = reach_mm_;
        for (out.rounds = 0; out.rounds < rounds; ++out.rounds) {
            std::vector<Match> matches = find_matches(out.motion, reach);
            if (matches.size() < fewest_matches) return lost(start, out);
            drop_outliers(matches, settled * size_mm_);
            const Step step = best_step(matches);
            out.slides = step.slides;
            out.motion = compose(step.motion, out.motion);
            reach = std::max(reach / 2, 2 * outlier_medians * root_mean_square(matches));
            reach = std::min(reach, reach_mm_);
            if (step.size_mm < settled * size_mm_) break;
        }
        std::vector<Match> matches = find_matches(out.motion, reach);
        if (matches.size() < fewest_matches) return lost(start, out);
        drop_outliers(matches, settled * size_mm_);
        out.residual_mm = root_mean_square(matches);
        out.overlap = static_cast<double>(matches.size()) / static_cast<double>(samples_.size());
        return out;
    }

private:
    static Registration lost(const Frame3& start, Registration out) {
        out.motion = start;
        out.overlap = 0;
        return out;
    }

    [[nodiscard]] std::vector<Match> find_matches(const Frame3& motion, double reach) const {
        std::vector<Match> matches;
        for (const VertexId v : samples_) {
            const Vec3 p = motion.to_parent(second_.vertices[v]);
            const auto place = cover_.find(p, motion.direction_to_parent(normals_[v]), reach, match_cosine);
            if (place) matches.push_back({p, place->point, place->normal});
        }
        return matches;
    }

    ScanCover cover_;
    const TriMesh& second_;
    std::vector<Vec3> normals_;
    std::vector<VertexId> samples_;
    double reach_mm_, size_mm_ = 0;
};

}  // namespace

PairFit fit_pairs(std::span<const std::pair<Vec3, Vec3>> pairs) {
    CRADLEWRIGHT_PRECONDITION(pairs.size() >= 3);
    const double n = static_cast<double>(pairs.size());
    Vec3 to, from;
    for (const auto& [first, second] : pairs) {
        to += first / n;
        from += second / n;
    }
    Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero(), spread = Eigen::Matrix3d::Zero();
    for (const auto& [first, second] : pairs) {
        covariance += eigen(second - from) * eigen(first - to).transpose();
        spread += eigen(first - to) * eigen(first - to).transpose();
    }
    const Eigen::JacobiSVD<Eigen::Matrix3d> svd(covariance, Eigen::ComputeFullU | Eigen::ComputeFullV);
    Eigen::Vector3d signs(1, 1, (svd.matrixV() * svd.matrixU().transpose()).determinant() < 0 ? -1 : 1);
    const Eigen::Matrix3d r = svd.matrixV() * signs.asDiagonal() * svd.matrixU().transpose();
    PairFit fit;
    fit.motion.x = {r(0, 0), r(1, 0), r(2, 0)};
    fit.motion.y = {r(0, 1), r(1, 1), r(2, 1)};
    fit.motion.z = {r(0, 2), r(1, 2), r(2, 2)};
    fit.motion.origin = to - fit.motion.direction_to_parent(from);
    double squares = 0;
    for (const auto& [first, second] : pairs) {
        const Vec3 d = fit.motion.to_parent(second) - first;
        squares += dot(d, d);
    }
    fit.rms_mm = std::sqrt(squares / n);
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> axes(spread);
    fit.spread_mm = std::sqrt(std::max(0.0, axes.eigenvalues()[1]) / n);
    return fit;
}

Registration register_scan(const TriMesh& first, const TriMesh& second, const Frame3& start, double reach_mm) {
    CRADLEWRIGHT_PRECONDITION(reach_mm > 0);
    return Fit(first, second, reach_mm).run(start, most_rounds);
}

Registration compare_scans(const TriMesh& first, const TriMesh& second, const Frame3& motion, double reach_mm) {
    CRADLEWRIGHT_PRECONDITION(reach_mm > 0);
    return Fit(first, second, reach_mm).run(motion, 0);
}

}  // namespace cradlewright
