// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/point_index.hpp"

#include <algorithm>
#include <cmath>

namespace cradlewright {

namespace {

double along(Vec3 p, std::uint8_t axis) { return axis == 0 ? p.x : axis == 1 ? p.y : p.z; }

std::uint8_t longest_axis(Vec3 size) {
    if (size.x >= size.y && size.x >= size.z) return 0;
    return size.y >= size.z ? 1 : 2;
}

}  // namespace

struct PointIndex::Search {
    Vec3 query;
    double least_square;
    std::uint32_t index = 0;
    bool is_found = false;

    void offer(const Node& node) {
        const Vec3 d = query - node.at;
        const double square = dot(d, d);
        if (square > least_square || (square == least_square && is_found && node.index > index)) return;
        least_square = square;
        index = node.index;
        is_found = true;
    }
};

PointIndex::PointIndex(std::span<const Vec3> points) : split_axis_(points.size()) {
    nodes_.reserve(points.size());
    for (const Vec3 p : points) nodes_.push_back({p, static_cast<std::uint32_t>(nodes_.size())});
    build(0, nodes_.size());
}

void PointIndex::build(std::size_t first, std::size_t last) {
    if (first == last) return;
    const auto from = nodes_.begin() + static_cast<std::ptrdiff_t>(first);
    const auto to = nodes_.begin() + static_cast<std::ptrdiff_t>(last);
    Box3 box;
    for (auto node = from; node != to; ++node) box.add(node->at);
    const std::uint8_t axis = longest_axis(box.size());
    const std::size_t middle = first + (last - first) / 2;
    std::nth_element(from, nodes_.begin() + static_cast<std::ptrdiff_t>(middle), to,
                     [axis](const Node& a, const Node& b) { return along(a.at, axis) < along(b.at, axis); });
    split_axis_[middle] = axis;
    build(first, middle);
    build(middle + 1, last);
}

void PointIndex::search(Search& search, std::size_t first, std::size_t last) const {
    if (first == last) return;
    const std::size_t middle = first + (last - first) / 2;
    const Node& node = nodes_[middle];
    search.offer(node);
    const double beyond = along(search.query, split_axis_[middle]) - along(node.at, split_axis_[middle]);
    const bool is_low_near = beyond < 0;
    this->search(search, is_low_near ? first : middle + 1, is_low_near ? middle : last);
    if (beyond * beyond <= search.least_square)
        this->search(search, is_low_near ? middle + 1 : first, is_low_near ? last : middle);
}

std::optional<PointIndex::Nearest> PointIndex::nearest(Vec3 query, double range_mm) const {
    Search found{query, range_mm * range_mm};
    search(found, 0, nodes_.size());
    if (!found.is_found) return std::nullopt;
    return Nearest{found.index, std::sqrt(found.least_square)};
}

}  // namespace cradlewright
