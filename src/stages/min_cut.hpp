// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

namespace cradlewright {

/// A graph for a two-way split: every node ends on side 1 or 2, at the least total cost of the links that are cut.
/// Costs are whole numbers so that the result does not depend on rounding.
class MinCut {
public:
    explicit MinCut(std::size_t nodes) : to_one_(nodes, 0), to_two_(nodes, 0) {}
    void link(std::uint32_t a, std::uint32_t b, std::int64_t cost) { links_.push_back({a, b, cost}); }
    /// Cost of taking a node away from a side it is tied to; adds up.
    void tie_to_one(std::uint32_t node, std::int64_t cost) { to_one_[node] += cost; }
    void tie_to_two(std::uint32_t node, std::int64_t cost) { to_two_[node] += cost; }
    /// Side of each node; free nodes (no tie, no path) go to side 2.
    /// Source: key "boykov-kolmogorov", as implemented in the Boost Graph Library.
    [[nodiscard]] std::vector<std::uint8_t> solve() const;

private:
    struct Link {
        std::uint32_t a, b;
        std::int64_t cost;
    };
    std::vector<Link> links_;
    std::vector<std::int64_t> to_one_, to_two_;
};

}  // namespace cradlewright
