// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/curves.hpp"

#include <vector>

namespace cradlewright::test {

double total_turning(std::span<const Vec3> points, bool is_closed) {
    std::vector<Vec3> directions;
    const std::size_t n = points.size();
    for (std::size_t i = 0; i + (is_closed ? 0 : 1) < n; ++i) {
        const Vec3 d = points[(i + 1) % n] - points[i];
        if (norm(d) > 0) directions.push_back(d);  // a doubled point has no direction and turns nothing
    }
    double sum = 0;
    for (std::size_t i = 1; i < directions.size(); ++i) sum += angle_between(directions[i - 1], directions[i]);
    if (is_closed && directions.size() > 1) sum += angle_between(directions.back(), directions.front());
    return sum;
}

}  // namespace cradlewright::test
