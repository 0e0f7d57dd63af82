// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/parting_sections.hpp"

#include <algorithm>
#include <limits>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

Vec2 EdgeSection::at(double way_mm) const {
    if (way_mm <= arc.front()) return points.front();
    if (way_mm >= arc.back()) return points.back();
    const auto i = static_cast<std::size_t>(std::upper_bound(arc.begin(), arc.end(), way_mm) - arc.begin());
    const double share = (way_mm - arc[i - 1]) / (arc[i] - arc[i - 1]);
    return points[i - 1] * (1 - share) + points[i] * share;
}

EdgeSection::Nearest EdgeSection::nearest(Vec2 p) const {
    Nearest best{0, std::numeric_limits<double>::infinity()};
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
        const Vec2 d = points[i + 1] - points[i];
        const double square = dot(d, d);
        const double t = square > 0 ? std::clamp(dot(p - points[i], d) / square, 0.0, 1.0) : 0;
        const double off = norm(p - points[i] - d * t);
        if (off < best.distance_mm) best = {arc[i] + t * (arc[i + 1] - arc[i]), off};
    }
    return best;
}

EdgeSection cut_section(const PosedPlug& posed, const SurfacePoint& on_surface, Vec3 on_line, Vec3 tangent,
                        double reach_mm) {
    const Vec3 pull = posed.pose.pull_fixture, outward = normalized(cross(tangent, pull));
    CRADLEWRIGHT_PRECONDITION(norm(outward) > 0);
    const Vec3 along = normalized(tangent), up = cross(along, -outward);
    EdgeSection section{{on_line, outward, up, -along}, {}, {}};
    const auto walk = [&](Vec3 toward) {
        return walk_section(posed.mesh(), *posed.plug.adjacency, on_surface, posed.pose.direction_to_scan(along),
                            posed.pose.direction_to_scan(toward), reach_mm);
    };
    const SurfaceWalk above = walk(up), below = walk(-up);
    const auto add = [&](Vec3 scan_point) {
        const Vec3 q = section.frame.to_local(posed.pose.to_fixture(scan_point));
        section.points.push_back({q.x, q.y});
    };
    std::for_each(above.points.rbegin(), above.points.rend(), add);
    std::for_each(below.points.begin() + 1, below.points.end(), add);
    section.arc.assign(section.points.size(), 0);
    for (std::size_t i = 1; i < section.points.size(); ++i)
        section.arc[i] = section.arc[i - 1] + norm(section.points[i] - section.points[i - 1]);
    const double start = section.arc[above.points.size() - 1];
    for (double& a : section.arc) a -= start;
    return section;
}

}  // namespace cradlewright
