// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <limits>
#include <random>
#include <vector>

#include "geom/point_index.hpp"

using namespace cradlewright;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

std::vector<Vec3> random_points(std::size_t count, unsigned seed, double grain) {
    std::mt19937 random(seed);
    std::vector<Vec3> points(count);
    const auto next = [&] { return grain * static_cast<double>(random() % 1000); };
    for (Vec3& p : points) p = {next(), next() / 7, next() / 50};
    return points;
}

}  // namespace

TEST_CASE("the nearest of many points is the one that looking at each finds", "[geom][point_index]") {
    std::vector<Vec3> points = random_points(700, 1, 0.1);
    points.insert(points.end(), points.begin(), points.begin() + 50);  // doubled: the first counts
    const PointIndex index(points);
    for (const Vec3 query : random_points(300, 2, 0.11)) {
        std::size_t best = 0;
        for (std::size_t i = 1; i < points.size(); ++i)
            if (dot(points[i] - query, points[i] - query) < dot(points[best] - query, points[best] - query)) best = i;
        const auto found = index.nearest(query, infinity);
        REQUIRE(found.has_value());
        CHECK(found->index == best);
        CHECK(found->distance_mm == norm(points[best] - query));
    }
}

TEST_CASE("nothing is nearest beyond the range", "[geom][point_index]") {
    const std::vector<Vec3> points{{0, 0, 0}, {10, 0, 0}};
    const PointIndex index(points);
    CHECK_FALSE(index.nearest({4, 0, 0}, 3.9).has_value());
    CHECK(index.nearest({4, 0, 0}, 4)->index == 0);
    CHECK(index.nearest({5, 0, 0}, 100)->index == 0);
    CHECK(index.nearest({6, 0, 0}, 100)->index == 1);
    CHECK_FALSE(PointIndex({}).nearest({}, infinity).has_value());
}
