// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

/// Symmetric matrix whose entries lie within `reach` of the diagonal, and its factors L D L^T. Only the lower half is
/// kept, row by row. Sums run in a fixed order. Source: R. S. Martin, J. H. Wilkinson, Symmetric decomposition of
/// positive definite band matrices (1965), from memory.
class BandMatrix {
public:
    BandMatrix(std::size_t size, std::size_t reach) : size_(size), reach_(reach), entries_(size * (reach + 1), 0.0) {}

    [[nodiscard]] std::size_t size() const { return size_; }
    /// Adds to (row, column) and, being symmetric, (column, row). Precondition: |row - column| <= reach.
    void add(std::size_t row, std::size_t column, double value) {
        if (row >= column) at(row, column) += value;
    }
    [[nodiscard]] double entry(std::size_t row, std::size_t column) const {
        const std::size_t low = std::min(row, column), high = std::max(row, column);
        return high - low > reach_ ? 0 : entries_[high * (reach_ + 1) + reach_ + low - high];
    }
    /// Unknown `row` becomes 0: its row and column go, 1 stands on the diagonal.
    void hold(std::size_t row) {
        const std::size_t low = row > reach_ ? row - reach_ : 0, high = std::min(size_ - 1, row + reach_);
        for (std::size_t c = low; c <= row; ++c) at(row, c) = 0;
        for (std::size_t r = row; r <= high; ++r) at(r, row) = 0;
        at(row, row) = 1;
    }
    /// Row times vector.
    [[nodiscard]] double row_times(std::size_t row, const std::vector<double>& x) const {
        const std::size_t low = row > reach_ ? row - reach_ : 0, high = std::min(size_ - 1, row + reach_);
        double sum = 0;
        for (std::size_t c = low; c <= high; ++c) sum += entry(row, c) * x[c];
        return sum;
    }

    /// Turns the matrix into its factors. Precondition: positive definite.
    void factor() {
        for (std::size_t i = 0; i < size_; ++i) {
            const std::size_t low = i > reach_ ? i - reach_ : 0;
            double diagonal = at(i, i);
            for (std::size_t j = low; j < i; ++j) {
                double sum = at(i, j);
                const std::size_t from = std::max(low, j > reach_ ? j - reach_ : 0);
                for (std::size_t k = from; k < j; ++k) sum -= at(i, k) * at(j, k);
                at(i, j) = sum;
            }
            // Until here row i holds L D; now L.
            for (std::size_t j = low; j < i; ++j) {
                const double scaled = at(i, j) / at(j, j);
                diagonal -= scaled * at(i, j);
                at(i, j) = scaled;
            }
            at(i, i) = diagonal;
            CRADLEWRIGHT_PRECONDITION(diagonal > 0 && std::isfinite(diagonal));
        }
    }
    /// Solves with the factors. Precondition: factor() has run.
    [[nodiscard]] std::vector<double> solve(std::vector<double> x) const {
        for (std::size_t i = 0; i < size_; ++i)
            for (std::size_t j = i > reach_ ? i - reach_ : 0; j < i; ++j) x[i] -= factor_at(i, j) * x[j];
        for (std::size_t i = 0; i < size_; ++i) x[i] /= factor_at(i, i);
        for (std::size_t i = size_; i-- > 0;)
            for (std::size_t j = i > reach_ ? i - reach_ : 0; j < i; ++j) x[j] -= factor_at(i, j) * x[i];
        return x;
    }

private:
    [[nodiscard]] double& at(std::size_t row, std::size_t column) {
        return entries_[row * (reach_ + 1) + reach_ + column - row];
    }
    [[nodiscard]] double factor_at(std::size_t row, std::size_t column) const {
        return entries_[row * (reach_ + 1) + reach_ + column - row];
    }

    std::size_t size_, reach_;
    std::vector<double> entries_;
};

}  // namespace cradlewright
