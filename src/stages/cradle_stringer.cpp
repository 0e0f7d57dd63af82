// SPDX-License-Identifier: GPL-3.0-or-later
// Lines under a set of points: the lower hull holds them all, and the one that stays nearest to every point lies along
// an edge of the hull (linear programming in the plane, M. de Berg et al., Computational Geometry, ch. 4).
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>

#include "cradlewright/geom/polyline.hpp"
#include "stages/cradle_parts.hpp"

namespace cradlewright {
namespace {

constexpr double sample_mm = 4;         // along the span
constexpr double behind_edge_mm = 2;    // strip behind the inner edge, besides the free distance
constexpr double outer_inset_mm = 12;   // strip to the panel's outer edge: leaves 8 mm of rib beside its notch
constexpr double most_glue_mm = 1.5;    // filled glue between a straight strip and panels that do not lie in one plane
constexpr double least_length_mm = 60;  // a shorter strip stiffens nothing
constexpr double clear_of_others_mm = 1;
constexpr double wall_mm = 8;              // of rib between the notches of two strips
constexpr double full_width_share = 0.92;  // of a panel's usual width: narrower places are mitred corners
constexpr double joint_mm = 0.6;           // saw cuts between neighbours that a strip may cross

/// The line a + b x under (side +1) or over (side -1) all points that stays nearest to them.
struct Line {
    double at_zero = 0, slope = 0, worst_gap = 0;
    [[nodiscard]] double at(double x) const { return at_zero + slope * x; }
};
std::optional<Line> bound_line(std::vector<Vec2> points, double side) {
    for (Vec2& p : points) p.y *= side;
    std::sort(points.begin(), points.end());
    std::vector<Vec2> hull;
    for (const Vec2& p : points) {
        if (!hull.empty() && hull.back().x == p.x) continue;  // sorted: the lowest of equal x came first
        while (hull.size() > 1 && cross(hull.back() - hull[hull.size() - 2], p - hull.back()) <= 0) hull.pop_back();
        hull.push_back(p);
    }
    std::optional<Line> best;
    for (std::size_t i = 0; i + 1 < hull.size(); ++i) {
        Line line;
        line.slope = (hull[i + 1].y - hull[i].y) / (hull[i + 1].x - hull[i].x);
        line.at_zero = hull[i].y - line.slope * hull[i].x;
        for (const Vec2& p : points) line.worst_gap = std::max(line.worst_gap, p.y - line.at(p.x));
        if (!best || line.worst_gap < best->worst_gap) best = line;
    }
    if (best) {
        best->at_zero *= side;
        best->slope *= side;
    }
    return best;
}

/// A panel that runs along the span, in plan. `out` = +1 when the plug lies toward -y.
struct Candidate {
    std::size_t index = 0;
    double out = 1;
    Polygons plan;
    struct Sample {
        double x, inner, outer;  // y times out
    };
    std::vector<Sample> samples;  // only where the panel has its width
};

enum class Row { inner, outer };

class StringerPlacer {
public:
    StringerPlacer(const Flange& flange, const Settings& settings, const std::vector<double>& stations, double slab)
        : flange_(flange),
          settings_(settings),
          stations_(stations),
          slab_(slab),
          half_(settings.cradle.stringer_width.mm() / 2),
          height_(settings.cradle.stringer_height.mm()) {
        for (std::size_t i = 0; i < flange.panels.size(); ++i) candidates_.push_back(candidate(i));
    }

    std::vector<StringerLine> place() {
        for (const Row row : {Row::inner, Row::outer})
            for (std::size_t first = 0; first < candidates_.size();) {
                std::size_t last = first;
                std::optional<StringerLine> line = try_row(first, last, row);
                while (line && last + 1 < candidates_.size() && are_neighbours(last, last + 1)) {
                    std::optional<StringerLine> longer = try_row(first, last + 1, row);
                    if (!longer) break;
                    line = std::move(longer);
                    ++last;
                }
                if (line) line = clipped(*line);
                if (line) add(*line);
                first = last + 1;
            }
        return std::move(lines_);
    }

private:
    [[nodiscard]] Candidate candidate(std::size_t index) const {
        const FlangePanel& panel = flange_.panels[index];
        Candidate c;
        c.index = index;
        c.plan.emplace_back();
        for (const Vec2& p : flatten(panel.part.outline.outer, Tolerances{}.chord_mm)) {
            const Vec3 q = panel.part.frame.to_parent(p);
            c.plan.back().push_back({q.x, q.y});
        }
        const bool runs_along = std::abs(panel.part.frame.x.x) >= std::abs(panel.part.frame.y.x);
        const bool is_ring = !panel.part.outline.holes.empty();
        if (panel.is_inner || is_ring || !runs_along || panel.normal.z < 0.5) return c;
        c.out = panel.part.frame.y.y > 0 ? 1 : -1;
        Box2 box;
        for (const Vec2& p : c.plan.front()) box.add(p);
        const int n = std::max(2, static_cast<int>(std::ceil(box.size().x / sample_mm)));
        std::vector<double> widths;
        for (int i = 0; i < n; ++i) {
            const double x = box.low.x + box.size().x * (i + 0.5) / n;
            std::vector<double> ys;
            const std::vector<Vec2>& chain = c.plan.front();
            for (std::size_t k = 0; k < chain.size(); ++k) {
                const Vec2 a = chain[k], b = chain[(k + 1) % chain.size()];
                if ((a.x < x) != (b.x < x)) ys.push_back(c.out * (a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x)));
            }
            if (ys.size() < 2) continue;
            const auto [low, high] = std::minmax_element(ys.begin(), ys.end());
            c.samples.push_back({x, *low, *high});
            widths.push_back(*high - *low);
        }
        if (widths.empty()) return c;
        std::nth_element(widths.begin(), widths.begin() + static_cast<std::ptrdiff_t>(widths.size() / 2), widths.end());
        const double usual = widths[widths.size() / 2];
        std::erase_if(c.samples,
                      [&](const Candidate::Sample& s) { return s.outer - s.inner < full_width_share * usual; });
        return c;
    }

    [[nodiscard]] bool are_neighbours(std::size_t a, std::size_t b) const {
        const FlangePanel &p = flange_.panels[a], &q = flange_.panels[b];
        return p.edge == q.edge && p.loop == q.loop && !candidates_[b].samples.empty() &&
               candidates_[a].out == candidates_[b].out;
    }

    /// Height of a panel's underside, less the glue.
    [[nodiscard]] double underside(std::size_t panel, double x, double y) const {
        const FlangePanel& p = flange_.panels[panel];
        const double top = p.point.z - (p.normal.x * (x - p.point.x) + p.normal.y * (y - p.point.y)) / p.normal.z;
        return top - (p.part.thickness_mm + settings_.flange.glue.mm()) / p.normal.z;
    }

    /// One straight strip for the panels first..last, in the row told; none if its middle would have to leave a panel,
    /// or its top stay below the undersides by more than glue fills.
    [[nodiscard]] std::optional<StringerLine> try_row(std::size_t first, std::size_t last, Row row) const {
        if (candidates_[first].samples.empty()) return std::nullopt;
        const double out = candidates_[first].out;
        std::vector<Vec2> edge;
        for (std::size_t i = first; i <= last; ++i)
            for (const Candidate::Sample& s : candidates_[i].samples)
                edge.push_back({s.x, row == Row::inner ? s.inner : s.outer});
        const std::optional<Line> bound = bound_line(edge, row == Row::inner ? -1 : 1);
        if (!bound) return std::nullopt;
        const double lean = std::sqrt(1 + bound->slope * bound->slope);
        const double inset =
            row == Row::inner ? half_ + settings_.cradle.free.mm() + behind_edge_mm : -(half_ + outer_inset_mm);
        const auto y_at = [&](double x) { return out * (bound->at(x) + inset * lean); };
        StringerLine line;
        line.edge = flange_.panels[first].edge;
        Vec3 up;
        for (std::size_t i = first; i <= last; ++i) {
            up += flange_.panels[i].normal;
            line.panels.push_back(i);
        }
        // The strip leans with its panels; its top is as high as both its corners may go.
        const Vec3 across = normalized(cross(up, Vec3{1, out * bound->slope, 0}));
        std::vector<Vec2> tops;
        for (std::size_t i = first; i <= last; ++i)
            for (const Candidate::Sample& s : candidates_[i].samples) {
                const double y = y_at(s.x);
                if (out * y < s.inner + half_ || out * y > s.outer - half_) return std::nullopt;
                const auto room = [&](double side) {
                    return underside(i, s.x + side * across.x, y + side * across.y) - side * across.z;
                };
                tops.push_back({s.x, std::min(room(-half_), room(half_))});
            }
        const std::optional<Line> top = bound_line(tops, 1);
        if (!top || top->worst_gap > most_glue_mm) return std::nullopt;
        const auto at = [&](double x) { return Vec3{x, y_at(x), top->at(x)}; };
        const auto [low, high] = std::minmax_element(tops.begin(), tops.end());  // panels run either way along x
        line.from = at(low->x);
        line.to = at(high->x);
        const Vec3 along = normalized(line.to - line.from);
        line.up = normalized(up - along * dot(up, along));
        line.most_gap_mm = top->worst_gap;
        return line;
    }

    /// As far as the strip lies wholly under its own panels and clear of all others and of other strips.
    [[nodiscard]] std::optional<StringerLine> clipped(StringerLine line) const {
        Polygons own, others;
        for (const Candidate& c : candidates_) {
            const bool is_own = std::find(line.panels.begin(), line.panels.end(), c.index) != line.panels.end();
            Polygons& list = is_own ? own : others;
            list.insert(list.end(), c.plan.begin(), c.plan.end());
        }
        const double lean = height_ * std::hypot(line.up.x, line.up.y) / line.up.z;
        Polygons taken = offset(unite(others), clear_of_others_mm);
        for (const StringerLine& l : lines_) taken.push_back(footprint(l));
        const Polygons region =
            subtract(offset(offset(unite(own), joint_mm), -joint_mm - clear_of_others_mm), unite(taken));
        const Vec2 a{line.from.x, line.from.y}, b{line.to.x, line.to.y};
        const double slope = (b.y - a.y) / (b.x - a.x);
        const double reach = norm(b - a);  // corners at the ends may reach beyond the sampled stretch
        const Vec2 along = normalized(b - a), start = a - along * reach;
        std::vector<Stretch> taken_along;
        const Vec2 lean_to = -normalized(Vec2{line.up.x, line.up.y}) * lean;
        for (const Vec2 side : {perp(along) * half_, -perp(along) * half_, Vec2{}})
            for (const double share : {0.0, 1.0})
                for (const Stretch& gap : gaps(region, start + side + lean_to * share, along, 3 * reach))
                    taken_along.push_back(gap);
        Stretch longest;
        for (const Stretch& s : free_stretches({0, 3 * reach}, taken_along))
            if (s.width() > longest.width()) longest = s;
        const auto at = [&](double s) {
            const double x = start.x + along.x * s;
            return Vec3{x, a.y + slope * (x - a.x),
                        line.from.z + (line.to.z - line.from.z) * (x - line.from.x) / (line.to.x - line.from.x)};
        };
        if (longest.width() < least_length_mm) return std::nullopt;
        const Vec3 from = at(longest.low), to = at(longest.high);
        line.from = from;
        line.to = to;
        const auto carriers = std::count_if(stations_.begin(), stations_.end(), [&](double x) {
            return x - slab_ / 2 > line.from.x && x + slab_ / 2 < line.to.x;
        });
        if (carriers < 2) return std::nullopt;
        return line;
    }

    /// Plan of a strip and of the room its lower edge leans into.
    [[nodiscard]] std::vector<Vec2> footprint(const StringerLine& l) const {
        const Vec2 a{l.from.x, l.from.y}, b{l.to.x, l.to.y}, along = normalized(b - a);
        const double wide = half_ + height_ * std::hypot(l.up.x, l.up.y) / l.up.z + wall_mm;
        const Vec2 side = perp(along) * wide, end = along * wide;
        std::vector<Vec2> plan{a - side - end, b - side + end, b + side + end, a + side - end};
        if (signed_area(plan) < 0) std::reverse(plan.begin(), plan.end());
        return plan;
    }

    /// Stretches of a line that lie outside a region.
    [[nodiscard]] static std::vector<Stretch> gaps(const Polygons& region, Vec2 start, Vec2 along, double length) {
        std::vector<double> at;
        for (const std::vector<Vec2>& chain : region)
            for (std::size_t k = 0; k < chain.size(); ++k) {
                const Vec2 p = chain[k] - start, q = chain[(k + 1) % chain.size()] - start;
                const double hp = cross(along, p), hq = cross(along, q);
                if ((hp < 0) != (hq < 0)) at.push_back(dot(along, p + (q - p) * (hp / (hp - hq))));
            }
        std::sort(at.begin(), at.end());
        std::vector<Stretch> inside;
        for (std::size_t k = 0; k + 1 < at.size(); k += 2) inside.push_back({at[k], at[k + 1]});
        return free_stretches({-1, length + 1}, inside);
    }

    void add(StringerLine line) {
        line.id = "stringer-" + line.edge + "-" + std::to_string(++count_[line.edge]);
        lines_.push_back(std::move(line));
    }

    const Flange& flange_;
    const Settings& settings_;
    const std::vector<double>& stations_;
    double slab_, half_, height_;
    std::vector<Candidate> candidates_;
    std::vector<StringerLine> lines_;
    std::map<std::string, int> count_;
};

}  // namespace

std::vector<StringerLine> place_stringers(const Flange& flange, const Settings& settings,
                                          const std::vector<double>& stations, double thickness_mm) {
    return StringerPlacer(flange, settings, stations, thickness_mm).place();
}

}  // namespace cradlewright
