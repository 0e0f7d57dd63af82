// SPDX-License-Identifier: GPL-3.0-or-later
#include "output/saw_relief.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "cradlewright/catalog/materials.hpp"
#include "cradlewright/geom/region_ops.hpp"

namespace cradlewright {
namespace {

constexpr double off_line_mm = 1;    // a relief cut ends so far from the line
constexpr double left_mm = 1;        // what a straight cut between two of them may leave for drum and file
constexpr double beyond_mm = 3;      // past the outermost points of the part
constexpr double corner_mm = 1;      // tighter is a corner, sawn from both sides
constexpr double least_turn = 0.35;  // rad; a flatter stretch is nibbled without

/// Concave arcs one after the other that a blade does not turn in.
struct Bend {
    std::vector<Vec2> chain;
    double length_mm = 0, turn_rad = 0;
    [[nodiscard]] double radius_mm() const { return length_mm / turn_rad; }
};

std::vector<Bend> tight_bends(const Loop& loop, double blade_radius_mm) {
    const std::size_t n = loop.vertices.size();
    const auto is_tight = [&](std::size_t i) {
        const PathVertex& v = loop.vertices[i % n];
        return v.bulge < 0 && arc_of(v.at, loop.vertices[(i + 1) % n].at, v.bulge).radius < blade_radius_mm;
    };
    std::size_t start = 0;
    while (start < n && is_tight(start)) ++start;
    std::vector<Bend> bends;
    bool goes_on = false;
    for (std::size_t k = start; k < start + n; ++k) {
        if (!is_tight(k)) {
            goes_on = false;
            continue;
        }
        const PathVertex& v = loop.vertices[k % n];
        const Vec2 to = loop.vertices[(k + 1) % n].at;
        if (!goes_on) bends.push_back({{v.at}, 0, 0});
        goes_on = true;
        Bend& bend = bends.back();
        for (const Vec2 p : flatten_edge(v.at, to, v.bulge, 0.01)) bend.chain.push_back(p);
        const double turn = 4 * std::atan(-v.bulge);
        bend.turn_rad += turn;
        bend.length_mm += turn * arc_of(v.at, to, v.bulge).radius;
    }
    std::erase_if(bends, [](const Bend& b) { return b.turn_rad < least_turn || b.radius_mm() < corner_mm; });
    return bends;
}

/// How far a saw may come in along a line from outside the part: until it is out of the box, unless the part is in the
/// way.
std::optional<double> way_out(const std::vector<Vec2>& outline, const Box2& box, Vec2 from, Vec2 direction) {
    double far = std::numeric_limits<double>::infinity();  // where the line leaves the box
    if (direction.x != 0) far = std::min(far, ((direction.x > 0 ? box.high.x : box.low.x) - from.x) / direction.x);
    if (direction.y != 0) far = std::min(far, ((direction.y > 0 ? box.high.y : box.low.y) - from.y) / direction.y);
    far = std::max(far, off_line_mm) + beyond_mm;
    const Vec2 to = from + direction * far;
    for (std::size_t i = 0; i < outline.size(); ++i) {
        const Vec2 a = outline[i], b = outline[(i + 1) % outline.size()];
        const double sa = cross(direction, a - from), sb = cross(direction, b - from);
        if ((sa < 0) == (sb < 0)) continue;
        const Vec2 hit = a + (b - a) * (sa / (sa - sb));
        const double t = dot(hit - from, direction);
        if (t > 0 && t < dot(to - from, direction)) return std::nullopt;
    }
    return far;
}

}  // namespace

std::vector<Mark> relief_cuts(const PlatePart& part, const SawOptions& saw) {
    const Loop& loop = part.outline.outer;
    const std::vector<Vec2> outline = flatten(loop, 0.01);
    const Box2 box = bounding_box(part.outline);
    std::vector<Mark> cuts;
    for (const Bend& bend : tight_bends(loop, bandsaw_min_radius_mm(saw.blade.mm()))) {
        // Square to the bend's chord, so all of them lead out the same way; material is on the left.
        const Vec2 out = -perp(normalized(bend.chain.back() - bend.chain.front()));
        const double spacing = std::sqrt(8 * bend.radius_mm() * left_mm);  // chord whose sagitta is `left_mm`
        const int count = std::max(1, static_cast<int>(std::ceil(bend.length_mm / spacing)) - 1);
        double walked = 0, next = bend.length_mm / (count + 1);
        for (std::size_t i = 0; i + 1 < bend.chain.size(); ++i) {
            const double step = norm(bend.chain[i + 1] - bend.chain[i]);
            for (; walked + step >= next && next < bend.length_mm - 1e-9; next += bend.length_mm / (count + 1)) {
                const Vec2 at = bend.chain[i] + (bend.chain[i + 1] - bend.chain[i]) * ((next - walked) / step);
                const Vec2 from = at + out * off_line_mm;
                if (const auto far = way_out(outline, box, from, out))
                    cuts.push_back({MarkKind::line, {from + out * *far, from}, "", 0});
            }
            walked += step;
        }
    }
    return cuts;
}

}  // namespace cradlewright
