// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/point_clusters.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

std::vector<PointCluster> cluster_points(std::span<const Vec3> points, double apart_mm) {
    CRADLEWRIGHT_PRECONDITION(apart_mm > 0);
    using Cell = std::array<double, 3>;  // whole numbers
    const auto along = [&](double x) { return std::floor(x / apart_mm); };
    std::map<Cell, std::vector<std::size_t>> cells;
    for (std::size_t i = 0; i < points.size(); ++i)
        cells[{along(points[i].x), along(points[i].y), along(points[i].z)}].push_back(i);

    std::vector<PointCluster> clusters;
    while (!cells.empty()) {
        PointCluster& cluster = clusters.emplace_back();
        std::vector<Cell> queue{cells.begin()->first};
        for (std::size_t next = 0; next < queue.size(); ++next) {
            const Cell c = queue[next];
            for (int i = 0; i < 27; ++i) {
                const auto near = cells.find({c[0] + i % 3 - 1, c[1] + i / 3 % 3 - 1, c[2] + i / 9 - 1});
                if (near == cells.end()) continue;
                queue.push_back(near->first);
                cluster.members.insert(cluster.members.end(), near->second.begin(), near->second.end());
                cells.erase(near);
            }
        }
        std::sort(cluster.members.begin(), cluster.members.end());
        for (const std::size_t i : cluster.members)
            cluster.center += points[i] / static_cast<double>(cluster.members.size());
        for (const std::size_t i : cluster.members)
            cluster.reach_mm = std::max(cluster.reach_mm, norm(points[i] - cluster.center));
    }
    std::stable_sort(clusters.begin(), clusters.end(),
                     [](const PointCluster& a, const PointCluster& b) { return a.members.size() > b.members.size(); });
    return clusters;
}

}  // namespace cradlewright
