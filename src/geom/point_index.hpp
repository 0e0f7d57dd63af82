// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

/// Nearest of a set of points, by a k-d tree. Questions may be asked in several threads. Cost: build O(n log n),
/// question O(log n) expected. Source: J. L. Bentley (1975) [from memory].
class PointIndex {
public:
    explicit PointIndex(std::span<const Vec3> points);

    struct Nearest {
        std::uint32_t index = 0;  ///< in the order given; of equally near points the first
        double distance_mm = 0;
    };
    /// Empty when no point is as near as `range_mm`.
    [[nodiscard]] std::optional<Nearest> nearest(Vec3 query, double range_mm) const;

private:
    struct Node {
        Vec3 at;
        std::uint32_t index;
    };
    struct Search;
    void build(std::size_t first, std::size_t last);
    void search(Search& search, std::size_t first, std::size_t last) const;

    std::vector<Node> nodes_;               // the middle of each range splits it
    std::vector<std::uint8_t> split_axis_;  // by place in nodes_
};

}  // namespace cradlewright
