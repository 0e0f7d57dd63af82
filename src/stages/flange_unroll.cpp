// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/flange_unroll.hpp"

#include <algorithm>
#include <cmath>

namespace cradlewright {
namespace {

constexpr double hair_mm = 0.01;  // far above the snapping of polygons, far below what a saw follows

Vec3 in_fixture(const PlanPlane& top, const Frame3& plan, Vec2 p) {
    return plan.to_parent(Vec3{p.x, p.y, top.height(p)});
}

/// The part of a line through two points of the pattern that lies on the sheet: the longest such stretch.
BendMap::Ruling within(BendMap::Ruling ruling, const Polygons& outline) {
    const Vec2 along = ruling.to - ruling.from;
    std::vector<double> crossings;
    for (const std::vector<Vec2>& chain : outline)
        for (std::size_t i = 0; i < chain.size(); ++i) {
            const Vec2 a = chain[i] - ruling.from, edge = chain[(i + 1) % chain.size()] - chain[i];
            const double side = cross(along, a), next = cross(along, a + edge);
            if ((side < 0) == (next < 0)) continue;
            crossings.push_back(dot(a + edge * (side / (side - next)), along) / dot(along, along));
        }
    std::sort(crossings.begin(), crossings.end());
    double from = 0, to = 0;
    for (std::size_t i = 0; i + 1 < crossings.size(); i += 2)
        if (crossings[i + 1] - crossings[i] > to - from) {
            from = crossings[i];
            to = crossings[i + 1];
        }
    if (to > from) return {ruling.from + along * from, ruling.from + along * to, ruling.angle_rad};
    return ruling;
}

}  // namespace

std::vector<Frame3> flat_frames(const Run& run, const Frame3& plan) {
    const std::size_t count = run.flats.size(), base = count / 2;
    const Vec2 middle = run.points[run.points.size() / 2].at, chord = run.points.back().at - run.points.front().at;
    const Vec2 travel = run.is_whole_loop ? run.points[1].at - run.points[0].at : chord;
    std::vector<Frame3> frames(count);
    frames[base] = frame_from_normal(in_fixture(run.plane_at(middle), plan, middle),
                                     plan.direction_to_parent(run.flats[base].normal()),
                                     plan.direction_to_parent(Vec3{-travel.x, -travel.y, 0}));
    const auto turn_on = [&](std::size_t from, std::size_t to) {
        const Vec2 at = run.rulings[std::min(from, to)].at;
        const Vec3 pivot = in_fixture(run.flats[from], plan, at), before = frames[from].z,
                   after = plan.direction_to_parent(run.flats[to].normal());
        Frame3 turn;
        if (const Vec3 axis = cross(before, after); norm(axis) > 0)
            turn = rotation_about(axis, angle_between(before, after));
        turn.origin = pivot - turn.direction_to_parent(pivot);
        frames[to] = compose(turn, frames[from]);
    };
    for (std::size_t k = base; k + 1 < count; ++k) turn_on(k, k + 1);
    for (std::size_t k = base; k > 0; --k) turn_on(k, k - 1);
    return frames;
}

Vec2 to_pattern(const Run& run, const Frame3& plan, const Frame3& flat_frame, std::size_t flat, Vec2 place) {
    const Vec3 q = flat_frame.to_local(in_fixture(run.flats[flat], plan, place));
    return {q.x, q.y};
}

Polygons on_flat(const Run& run, std::size_t flat, const Polygons& plan_shape) {
    Polygons kept = plan_shape;
    Box2 box;
    for (const std::vector<Vec2>& chain : plan_shape)
        for (const Vec2& p : chain) box.add(p);
    const double far = 2 * norm(box.size()) + 1;
    const auto cut = [&](const PlanRuling& ruling, double side) {
        const Vec2 beyond = perp(ruling.direction) * side, at = ruling.at + beyond * hair_mm;
        const Vec2 a = at - ruling.direction * far, b = at + ruling.direction * far;
        std::vector<Vec2> away{a, b, b + beyond * far, a + beyond * far};
        if (side < 0) std::reverse(away.begin(), away.end());
        kept = subtract(kept, {away});
    };
    if (flat > 0) cut(run.rulings[flat - 1], -1);
    if (flat < run.rulings.size()) cut(run.rulings[flat], 1);
    return kept;
}

std::optional<BendMap> bend_map(const Run& run, const Frame3& plan, const std::vector<Frame3>& flats,
                                const Polygons& outline) {
    if (run.rulings.empty()) return std::nullopt;
    BendMap bend;
    bend.flats = flats;
    for (std::size_t k = 0; k < run.rulings.size(); ++k) {
        const PlanRuling& ruling = run.rulings[k];
        const Vec2 from = to_pattern(run, plan, flats[k], k, ruling.at),
                   to = to_pattern(run, plan, flats[k], k, ruling.at + ruling.direction * run.width_mm);
        // Bent toward the drawn face where the next flat rises above this one's plane.
        const Vec3 ahead = flats[k + 1].direction_to_parent(Vec3{-1, 0, 0});
        const double angle = std::copysign(angle_between(flats[k].z, flats[k + 1].z), dot(ahead, flats[k].z));
        bend.rulings.push_back(within({from, to, angle}, outline));
    }
    return bend;
}

}  // namespace cradlewright
