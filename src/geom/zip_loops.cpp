// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/zip_loops.hpp"

#include <algorithm>
#include <limits>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "geom/point_index.hpp"

namespace cradlewright {

namespace {

/// Where the strip starts: the pair of points that are nearest, the first of equal ones.
std::pair<std::size_t, std::size_t> nearest_pair(const PointLoop& first, const PointLoop& second) {
    const PointIndex index(second);
    std::pair<std::size_t, std::size_t> best{0, 0};
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < first.size(); ++i) {
        const auto near = index.nearest(first[i], least);
        if (!near) continue;
        least = near->distance_mm;
        best = {i, near->index};
    }
    return best;
}

/// Paths over the grid of rungs (i, j) from (0, 0) to (n, m); a step along either loop is a triangle.
class Strip {
public:
    Strip(const PointLoop& first, const PointLoop& second, std::pair<std::size_t, std::size_t> start)
        : first_(first), second_(second), start_(start), n_(first.size()), m_(second.size()) {}

    std::vector<Triangle> triangles() {
        choose_steps();
        std::vector<Triangle> out;
        out.reserve(n_ + m_);
        for (std::size_t i = n_, j = m_; i > 0 || j > 0;) {
            const bool along_first = j == 0 || (i > 0 && came_along_first_[i * (m_ + 1) + j] != 0);
            if (along_first) {
                out.push_back({on_first(i - 1), on_first(i), on_second(j)});
                --i;
            } else {
                // The second loop is walked against its direction; its triangle runs along it.
                out.push_back({on_second(j), on_second(j - 1), on_first(i)});
                --j;
            }
        }
        std::reverse(out.begin(), out.end());
        return out;
    }

private:
    [[nodiscard]] VertexId on_first(std::size_t i) const { return static_cast<VertexId>((start_.first + i) % n_); }
    [[nodiscard]] VertexId on_second(std::size_t j) const {
        return static_cast<VertexId>(n_ + (start_.second + m_ - j % m_) % m_);
    }
    [[nodiscard]] double rung(std::size_t i, std::size_t j) const {
        return norm(first_[on_first(i)] - second_[on_second(j) - n_]);
    }
    void choose_steps() {
        came_along_first_.assign((n_ + 1) * (m_ + 1), 0);
        std::vector<double> cost(m_ + 1, 0);
        for (std::size_t j = 1; j <= m_; ++j) cost[j] = cost[j - 1] + rung(0, j);
        for (std::size_t i = 1; i <= n_; ++i) {
            cost[0] += rung(i, 0);
            came_along_first_[i * (m_ + 1)] = 1;
            for (std::size_t j = 1; j <= m_; ++j) {
                const bool along_first = cost[j] <= cost[j - 1];
                came_along_first_[i * (m_ + 1) + j] = along_first ? 1 : 0;
                cost[j] = (along_first ? cost[j] : cost[j - 1]) + rung(i, j);
            }
        }
    }

    const PointLoop &first_, &second_;
    std::pair<std::size_t, std::size_t> start_;
    std::size_t n_, m_;
    std::vector<char> came_along_first_;
};

void widen(LoopGap& gap, const PointLoop& points, const PointLoop& other) {
    for (const Vec3 p : points) {
        const double distance = distance_to_polyline(p, other, true);
        gap.nearest_mm = std::min(gap.nearest_mm, distance);
        if (distance <= gap.widest_mm) continue;
        gap.widest_mm = distance;
        gap.at = p;
    }
}

}  // namespace

std::vector<Triangle> zip_loops(const PointLoop& first, const PointLoop& second) {
    CRADLEWRIGHT_PRECONDITION(first.size() >= 3 && second.size() >= 3);
    return Strip(first, second, nearest_pair(first, second)).triangles();
}

LoopGap gap_between(const PointLoop& first, const PointLoop& second) {
    LoopGap gap;
    gap.nearest_mm = std::numeric_limits<double>::infinity();
    widen(gap, first, second);
    widen(gap, second, first);
    return gap;
}

}  // namespace cradlewright
