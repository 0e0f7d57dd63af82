// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: parting.md beside this file.
#include "stages/parting_smooth.hpp"

#include <Eigen/SparseCholesky>
#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace cradlewright {
namespace {

constexpr std::size_t doubt_window = 8;      // values on either side that steady one
constexpr Eigen::Index stretch_samples = 9;  // along which the smoothing stays within the doubt
constexpr int most_loosenings = 12;
constexpr double loosest_radius_mm = 20, stiffest_radius_mm = 40000;  // bends that the smoothing expects

bool is_within_doubt(const Eigen::VectorXd& misfit, Eigen::Index i) {
    const Eigen::Index n = misfit.size(), reach = std::min<Eigen::Index>(stretch_samples / 2, (n - 1) / 2);
    double sum = 0;
    for (Eigen::Index d = -reach; d <= reach; ++d) sum += misfit((i + n + d) % n);
    return misfit(i) <= 16 && sum <= static_cast<double>(2 * reach + 1);
}

}  // namespace

std::vector<double> steadied(const std::vector<double>& values, std::size_t quarter, Zeros zeros) {
    const std::size_t n = values.size(), reach = std::min(doubt_window, n / 2);
    std::vector<double> steady(n, 0), window;
    for (std::size_t i = 0; i < n; ++i) {
        window.clear();
        for (std::size_t d = 0; d < 2 * reach + 1; ++d)
            if (const double v = values[(i + n - reach + d) % n]; v != 0 || zeros == Zeros::counted)
                window.push_back(v);
        if (window.empty()) continue;
        const auto place = window.begin() + static_cast<std::ptrdiff_t>(quarter * window.size() / 4);
        std::nth_element(window.begin(), place, window.end());
        steady[i] = *place;
    }
    return steady;
}

ChainSmoother::ChainSmoother(const std::vector<double>& doubt, std::vector<std::uint8_t> is_kink)
    : weight_(static_cast<Eigen::Index>(doubt.size())), is_kink_(std::move(is_kink)) {
    for (std::size_t i = 0; i < doubt.size(); ++i) weight_(static_cast<Eigen::Index>(i)) = 1 / (doubt[i] * doubt[i]);
}

std::vector<double> ChainSmoother::stiffest(const Eigen::MatrixXd& told, double step) const {
    const std::size_t n = is_kink_.size();
    std::vector<double> radius(n, loosest_radius_mm);
    std::vector<std::uint8_t> is_settled(n, 0);
    for (double next = 2 * loosest_radius_mm; next <= stiffest_radius_mm; next *= 2) {
        for (std::size_t i = 0; i < n; ++i)
            if (!is_settled[i]) radius[i] = next;
        const Eigen::MatrixXd stiffer = smooth_with(told, step, radius);
        const Eigen::VectorXd misfit = weight_.cwiseProduct((stiffer - told).rowwise().squaredNorm());
        for (std::size_t i = 0; i < n; ++i)
            if (!is_within_doubt(misfit, static_cast<Eigen::Index>(i))) settle(i, next / 2, step, is_settled, radius);
        if (std::find(is_settled.begin(), is_settled.end(), 0) == is_settled.end()) break;
    }
    // A place that held by itself may give way to what grew stiffer beside it.
    for (int round = 0; round < most_loosenings; ++round) {
        const Eigen::VectorXd misfit =
            weight_.cwiseProduct((smooth_with(told, step, radius) - told).rowwise().squaredNorm());
        std::vector<double> looser = radius;
        for (std::size_t i = 0; i < n; ++i) {
            if (is_within_doubt(misfit, static_cast<Eigen::Index>(i))) continue;
            const std::size_t reach = reach_of(i, radius[i], step);
            for (std::size_t d = 0; d <= 2 * reach; ++d) {
                const std::size_t k = (i + n - reach % n + d) % n;
                looser[k] = std::max(loosest_radius_mm, std::min(looser[k], radius[i] / 2));
            }
        }
        if (looser == radius) break;
        radius = std::move(looser);
    }
    return radius;
}

std::size_t ChainSmoother::reach_of(std::size_t place, double radius_mm, double step) const {
    // A load on a beam on springs dies out along (bending stiffness / spring)^(1/4): sqrt(radius * doubt) (derived).
    const double doubt = 1 / std::sqrt(weight_(static_cast<Eigen::Index>(place)));
    return static_cast<std::size_t>(stretch_samples / 2) +
           static_cast<std::size_t>(std::ceil(std::sqrt(2 * radius_mm * doubt) / step));
}

/// Holds the stiffness about a place as far as a stiffer chain there would draw on it, but not across kinks.
void ChainSmoother::settle(std::size_t place, double radius_mm, double step, std::vector<std::uint8_t>& is_settled,
                           std::vector<double>& radius) const {
    const std::size_t n = is_kink_.size();
    const std::size_t reach = reach_of(place, radius_mm, step);
    const auto hold = [&](std::size_t i) {
        if (!is_settled[i]) radius[i] = radius_mm;
        is_settled[i] = 1;
        return !is_kink_[i];
    };
    hold(place);
    for (std::size_t d = 1; d <= std::min(reach, n - 1) && hold((place + d) % n);) ++d;
    for (std::size_t d = 1; d <= std::min(reach, n - 1) && hold((place + n - d) % n);) ++d;
}

Eigen::MatrixXd ChainSmoother::smooth(const Eigen::MatrixXd& told, double step) const {
    return smooth_with(told, step, stiffest(told, step));
}

Eigen::MatrixXd ChainSmoother::smooth_curve(const Eigen::MatrixXd& told, double step) const {
    const std::vector<double> radius = stiffest(told, step);
    const Eigen::MatrixXd once = smooth_with(told, step, radius);
    return once + smooth_with(told - once, step, radius);
}

Eigen::MatrixXd ChainSmoother::smooth_with(const Eigen::MatrixXd& told, double step,
                                           const std::vector<double>& radius) const {
    const Eigen::Index n = weight_.size();
    std::vector<Eigen::Triplet<double>> entries;
    for (Eigen::Index i = 0; i < n; ++i) {
        entries.emplace_back(i, i, weight_(i));
        if (is_kink_[static_cast<std::size_t>(i)]) continue;
        const double bend = step * step / radius[static_cast<std::size_t>(i)];
        const std::array<Eigen::Index, 3> at{(i + n - 1) % n, i, (i + 1) % n};
        constexpr std::array<double, 3> factor{1, -2, 1};
        for (std::size_t a = 0; a < 3; ++a)
            for (std::size_t b = 0; b < 3; ++b)
                entries.emplace_back(at[a], at[b], factor[a] * factor[b] / (bend * bend));
    }
    Eigen::SparseMatrix<double> matrix(n, n);
    matrix.setFromTriplets(entries.begin(), entries.end());
    const Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> solver(matrix);
    return solver.solve(weight_.asDiagonal() * told);
}

}  // namespace cradlewright
