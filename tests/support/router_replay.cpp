// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/router_replay.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace cradlewright::test {

namespace {

constexpr double chord_off_mm = 0.01;

/// Outline of a disc that moves from a to b: two half circles.
std::vector<Vec2> stadium(Vec2 a, Vec2 b, double radius) {
    const int half = static_cast<int>(std::ceil(std::numbers::pi / (2 * std::acos(1 - chord_off_mm / radius)))) + 1;
    const Vec2 along = b == a ? Vec2{1, 0} : normalized(b - a);
    const double first = std::atan2(along.y, along.x) - std::numbers::pi / 2;
    std::vector<Vec2> outline;
    for (const Vec2 end : {b, a}) {
        const double turn = end == b && outline.empty() ? first : first + std::numbers::pi;
        for (int i = 0; i <= half; ++i) {
            const double angle = turn + std::numbers::pi * i / half;
            outline.push_back(end + Vec2{std::cos(angle), std::sin(angle)} * radius);
        }
    }
    return outline;
}

Vec2 plan(Vec3 p) { return {p.x, p.y}; }

int pieces_of(const Motion& m, double radius) {
    if (m.turn == 0) return 1;
    const double bend = std::max(norm(plan(m.from) - m.center), radius);
    return std::max(1, static_cast<int>(std::ceil(m.sweep_rad() / (2 * std::acos(1 - chord_off_mm / bend)))));
}

}  // namespace

Polygons swept_below(const std::vector<Motion>& motions, double radius_mm, double z_mm) {
    Polygons swept;
    Polygons discs;
    for (const Motion& m : motions) {
        if (std::min(m.from.z, m.to.z) >= z_mm) continue;
        // z goes evenly, so what lies below is one stretch.
        double low = 0, high = 1;
        if (m.from.z > z_mm) low = (m.from.z - z_mm) / (m.from.z - m.to.z);
        if (m.to.z > z_mm) high = (z_mm - m.from.z) / (m.to.z - m.from.z);
        const int pieces = pieces_of(m, radius_mm);
        for (int i = 0; i < pieces; ++i) {
            const Vec3 a = m.at(low + (high - low) * i / pieces), b = m.at(low + (high - low) * (i + 1) / pieces);
            discs.push_back(stadium(plan(a), plan(b), radius_mm));
        }
        constexpr std::size_t heap = 200;  // many at once cost more than few heaps
        if (discs.size() < heap) continue;
        swept = unite(swept, unite(discs));
        discs.clear();
    }
    return unite(swept, unite(discs));
}

std::vector<TipPoint> tip_points(const std::vector<Motion>& motions, double step_mm) {
    std::vector<TipPoint> points;
    for (const Motion& m : motions) {
        const int count = std::max(1, static_cast<int>(std::ceil(m.length() / step_mm)));
        for (int i = 0; i <= count; ++i) points.push_back({&m, m.at(static_cast<double>(i) / count)});
    }
    return points;
}

}  // namespace cradlewright::test
