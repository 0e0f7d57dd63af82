// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace cradlewright {

enum class Zeros { counted, passed_over };

/// Each value's neighbours round the closed chain, it included, stand for it: the first, second or third quarter of
/// their sorted list, 0 where none is left.
std::vector<double> steadied(const std::vector<double>& values, std::size_t quarter, Zeros zeros);

/// Smooths values round a closed chain by least squares of ((value - told) / doubt)^2 + (second difference / bend)^2;
/// at kinks the bend is free, so a chain whose first and last values are kinks is an open one. Source: key "whittaker"
/// [from memory]; weights by the doubt of each value.
class ChainSmoother {
public:
    ChainSmoother(const std::vector<double>& doubt, std::vector<std::uint8_t> is_kink);

    /// As stiff as the doubts allow, each place by itself: the stiffest chain whose misfit stays within
    /// one doubt along every few samples and within four at each (discrepancy principle, key "morozov"). All columns
    /// share one stiffness. Cost: O(n) a stiffness.
    [[nodiscard]] Eigen::MatrixXd smooth(const Eigen::MatrixXd& told, double step) const;

    /// The same, with what the smoothing took off smoothed and put back ("twicing", J. W. Tukey, Exploratory Data
    /// Analysis, 1977 [from memory]): a curve keeps its size, which a stiff chain would draw in by up to one doubt.
    [[nodiscard]] Eigen::MatrixXd smooth_curve(const Eigen::MatrixXd& told, double step) const;

private:
    /// Per value, the radius that bends there are expected to have.
    [[nodiscard]] std::vector<double> stiffest(const Eigen::MatrixXd& told, double step) const;
    [[nodiscard]] std::size_t reach_of(std::size_t place, double radius_mm, double step) const;
    void settle(std::size_t place, double radius_mm, double step, std::vector<std::uint8_t>& is_settled,
                std::vector<double>& radius) const;
    [[nodiscard]] Eigen::MatrixXd smooth_with(const Eigen::MatrixXd& told, double step,
                                              const std::vector<double>& radius) const;

    Eigen::VectorXd weight_;
    std::vector<std::uint8_t> is_kink_;
};

}  // namespace cradlewright
