// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <utility>

#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/stages/panel_support.hpp"
#include "stages/bound_line.hpp"
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
constexpr double butt_mm = 0.25;           // from a strip's end to the middle of the upright where two strips meet
constexpr double meet_step_mm = 1;         // between the tops of two strips that lie in one notch; glue fills it
constexpr double meet_aside_mm = 4;        // between their middles, across
constexpr double stray_share = 0.15;       // of the width: so far a straight strip strays from a curved panel's edge;
                                           // inner and outer one then still pass each other. Assumed

/// A flat of a panel that runs along the span, in plan, or one bay of it. `out` = +1 when the plug lies toward -y.
struct Candidate {
    std::size_t panel = 0, flat = 0;  // flat: index among all
    FlangePanel::Top top{};
    double sheet_mm = 0;
    double out = 1;
    Polygons plan;  // of the whole flat; empty of a bay
    struct Sample {
        double x, inner, outer;  // y times out
    };
    std::vector<Sample> samples;  // only where the panel has its width, by rising x
    // Where a bay ends within its flat: middles of uprights.
    double low = -std::numeric_limits<double>::infinity(), high = std::numeric_limits<double>::infinity();
};

/// Bays side by side, by rising x.
using Chain = std::vector<Candidate>;

/// What a strip must serve: samples of these panels between two abscissae.
struct Window {
    std::size_t first = 0, last = 0;  // of a chain
    double low = -std::numeric_limits<double>::infinity(), high = std::numeric_limits<double>::infinity();
    double low_gap = 0, high_gap = 0;  // a strip's end stays so far from these
};
struct Fit {
    Window window;
    StringerLine line;
};

/// Place of a row between the inner one (0) and the outer one (1).
double row_share(int row, int rows) {
    if (row < 2) return row;
    return static_cast<double>(row - 1) / (rows - 1);
}

class StringerPlacer {
public:
    StringerPlacer(const Flange& flange, const Settings& settings, const std::vector<double>& stations, double slab,
                   const StripRows& rows)
        : flange_(flange),
          settings_(settings),
          stations_(stations),
          rows_(rows),
          slab_(slab),
          half_(settings.cradle.stringer_width.mm() / 2),
          height_(settings.cradle.stringer_height.mm()) {
        for (std::size_t i = 0; i < flange.panels.size(); ++i)
            for (const PlatePart& flat : flats_of(flange.panels[i].part)) candidates_.push_back(candidate(i, flat));
        for (std::size_t i = 0; i < candidates_.size(); ++i) {
            if (candidates_[i].samples.empty()) continue;
            if (i == 0 || !are_neighbours(i - 1, i)) chains_.emplace_back();
            for (Candidate& bay : bays_of(candidates_[i])) chains_.back().push_back(std::move(bay));
        }
        const auto middle = [](const Candidate& c) { return c.samples.front().x + c.samples.back().x; };
        for (Chain& chain : chains_)
            std::stable_sort(chain.begin(), chain.end(),
                             [&](const Candidate& a, const Candidate& b) { return middle(a) < middle(b); });
    }

    std::vector<StringerLine> place() {
        for (int row = 0; row < most_rows; ++row)
            for (std::size_t c = 0; c < chains_.size(); ++c) {
                const int rows = rows_of(chains_[c]);
                if (row >= rows) continue;
                for (Fit& fit : split(chains_[c], row_share(row, rows))) {
                    fit.line.chain = c;
                    fit.line.row = row;
                    if (std::optional<StringerLine> line = clipped(fit)) add(std::move(*line));
                }
            }
        return std::move(lines_);
    }

private:
    [[nodiscard]] Candidate candidate(std::size_t index, const PlatePart& flat) const {
        const FlangePanel& panel = flange_.panels[index];
        Candidate c;
        c.panel = index;
        c.flat = candidates_.size();
        c.top = panel.is_curved() ? FlangePanel::Top{flat.frame.origin, flat.frame.z}
                                  : FlangePanel::Top{panel.point, panel.normal};
        c.sheet_mm = flat.thickness_mm;
        c.plan.emplace_back();
        for (const Vec2& p : flatten(flat.outline.outer, Tolerances{}.chord_mm)) {
            const Vec3 q = flat.frame.to_parent(p);
            c.plan.back().push_back({q.x, q.y});
        }
        const bool runs_along = std::abs(flat.frame.x.x) >= std::abs(flat.frame.y.x);
        const bool is_ring = !panel.part.outline.holes.empty();
        if (panel.is_inner || is_ring || !runs_along || c.top.normal.z < 0.5) return c;
        c.out = flat.frame.y.y > 0 ? 1 : -1;
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

    /// From upright to upright, where a strip may end and the next begin: a straight one cannot serve all of a panel
    /// that curves in plan.
    [[nodiscard]] std::vector<Candidate> bays_of(const Candidate& whole) const {
        const auto bay_from = [&] {
            Candidate bay = whole;
            bay.plan.clear();
            bay.samples.clear();
            return bay;
        };
        std::vector<double> cuts;
        double last = whole.samples.front().x;
        for (const double x : stations_) {
            if (x - last < least_length_mm || whole.samples.back().x - x < least_length_mm) continue;
            cuts.push_back(x);
            last = x;
        }
        std::vector<Candidate> bays{bay_from()};
        for (const Candidate::Sample& s : whole.samples) {
            if (bays.size() <= cuts.size() && s.x >= cuts[bays.size() - 1]) {
                const double cut = bays.back().high = cuts[bays.size() - 1];
                bays.push_back(bay_from());
                bays.back().low = cut;
            }
            bays.back().samples.push_back(s);
        }
        return bays;
    }

    [[nodiscard]] bool are_neighbours(std::size_t a, std::size_t b) const {
        const FlangePanel &p = flange_.panels[candidates_[a].panel], &q = flange_.panels[candidates_[b].panel];
        return p.edge == q.edge && p.loop == q.loop && !candidates_[a].samples.empty() &&
               candidates_[a].out == candidates_[b].out;
    }

    [[nodiscard]] int rows_of(const Chain& chain) const {
        const auto told = rows_.find(flange_.panels[chain.front().panel].edge);
        return told == rows_.end() ? usual_rows : told->second;
    }

    /// Height of a flat's underside, less the glue.
    [[nodiscard]] double underside(const Candidate& c, double x, double y) const {
        return c.top.height_at(x, y) - (c.sheet_mm + settings_.flange.glue.mm()) / c.top.normal.z;
    }

    /// Strips of one row, by rising x: each under as many panels as it can serve, then brought onto uprights where two
    /// meet.
    [[nodiscard]] std::vector<Fit> split(const Chain& chain, double share) const {
        std::vector<Fit> fits;
        for (std::size_t first = 0; first < chain.size();) {
            Window window{first, first, chain[first].low, chain[first].high, butt_mm, butt_mm};
            std::optional<StringerLine> line = try_window(chain, window, share);
            while (line && window.last + 1 < chain.size()) {
                Window longer = window;
                longer.high = chain[++longer.last].high;
                std::optional<StringerLine> more = try_window(chain, longer, share);
                if (!more) break;
                line = std::move(more);
                window = longer;
            }
            first = window.last + 1;
            if (!line) continue;
            fits.push_back({window, std::move(*line)});
            if (fits.size() > 1 && fits[fits.size() - 2].window.last + 1 == window.first)
                meet_on_upright(chain, share, fits[fits.size() - 2], fits.back());
        }
        return fits;
    }

    /// Two strips that meet between uprights hang free there; on an upright both bear.
    void meet_on_upright(const Chain& chain, double share, Fit& left, Fit& right) const {
        const double joint = 0.5 * (left.line.to.x + right.line.from.x);
        std::vector<double> near = stations_;
        std::stable_sort(near.begin(), near.end(),
                         [&](double a, double b) { return std::abs(a - joint) < std::abs(b - joint); });
        constexpr std::size_t most_tried = 3;
        near.resize(std::min(near.size(), most_tried));
        for (const double x : near) {
            Fit a = left, b = right;
            a.window.high = b.window.low = x;
            if (x < joint)
                b.window.first = panel_at(chain, left.window, x);
            else
                a.window.last = panel_at(chain, right.window, x);
            const std::optional<StringerLine> to = try_window(chain, a.window, share),
                                              from = try_window(chain, b.window, share);
            if (!to || !from) continue;
            const Vec3 apart = on(*to, x) - on(*from, x);
            const double gap = end_gap(*to, *from);
            // A strip that runs downhill reaches less far at its foot than at its top.
            const double lag = height_ * std::max(std::abs(to->up.x), std::abs(from->up.x));
            if (std::abs(apart.z) > meet_step_mm || std::abs(apart.y) > meet_aside_mm ||
                slab_ / 2 - gap - lag < least_strip_bearing_mm)
                continue;
            a.window.high_gap = b.window.low_gap = gap;
            a.line = *to;
            b.line = *from;
            left = std::move(a);
            right = std::move(b);
            return;
        }
    }

    /// A panel's samples in a window, with one at each end where the window cuts the panel.
    [[nodiscard]] static std::vector<Candidate::Sample> samples_within(const Candidate& panel, bool is_first,
                                                                       bool is_last, const Window& window) {
        const auto at = [&](double x) {
            Candidate::Sample nearest = panel.samples.front();
            for (const Candidate::Sample& s : panel.samples)
                if (std::abs(s.x - x) < std::abs(nearest.x - x)) nearest = s;
            nearest.x = x;
            return nearest;
        };
        std::vector<Candidate::Sample> within;
        if (is_first && std::isfinite(window.low)) within.push_back(at(window.low));
        for (const Candidate::Sample& s : panel.samples)
            if (s.x > window.low && s.x < window.high) within.push_back(s);
        if (is_last && std::isfinite(window.high)) within.push_back(at(window.high));
        return within;
    }

    /// First of a window's bays that reaches to x, as near as its samples tell.
    [[nodiscard]] static std::size_t panel_at(const Chain& chain, const Window& window, double x) {
        std::size_t i = window.first;
        while (i < window.last && chain[i].samples.back().x < x - sample_mm) ++i;
        return i;
    }

    [[nodiscard]] static Vec3 on(const StringerLine& line, double x) {
        return line.from + (line.to - line.from) * ((x - line.from.x) / (line.to.x - line.from.x));
    }

    /// From the middle of an upright on which two strips meet to the square end of either: their corners stay apart.
    [[nodiscard]] double end_gap(const StringerLine& a, const StringerLine& b) const {
        const auto aside = [](const StringerLine& l) { return (l.to.y - l.from.y) / (l.to.x - l.from.x); };
        return butt_mm + 0.5 * (half_ * std::abs(aside(a) - aside(b)) + height_ * std::abs(a.up.x - b.up.x));
    }

    /// One straight strip for a window, in the row told; none if its middle would have to leave a panel, or its top
    /// stay below the undersides by more than glue fills.
    [[nodiscard]] std::optional<StringerLine> try_window(const Chain& chain, const Window& window, double share) const {
        struct Served {
            const Candidate* flat;
            Candidate::Sample at;
        };
        std::vector<Served> served;
        std::vector<Vec2> inner, outer;
        StringerLine line;
        Vec3 up;
        for (std::size_t i = window.first; i <= window.last; ++i) {
            const std::size_t before = served.size();
            for (const Candidate::Sample& s : samples_within(chain[i], i == window.first, i == window.last, window)) {
                served.push_back({&chain[i], s});
                inner.push_back({s.x, s.inner});
                outer.push_back({s.x, s.outer});
            }
            if (served.size() == before) continue;
            up += chain[i].top.normal;
            if (std::ranges::find(line.flats, chain[i].flat) == line.flats.end()) line.flats.push_back(chain[i].flat);
            if (std::ranges::find(line.panels, chain[i].panel) == line.panels.end())
                line.panels.push_back(chain[i].panel);
        }
        const std::optional<BoundLine> behind = bound_line(inner, -1), before = bound_line(outer, 1);
        if (!behind || !before) return std::nullopt;
        const double stray = (1 - share) * behind->worst_gap + share * before->worst_gap;
        if (window.first != window.last && stray > stray_share * flange_.panels[chain.front().panel].width_mm)
            return std::nullopt;
        const double out = chain.front().out;
        line.edge = flange_.panels[chain.front().panel].edge;
        const auto inset_line = [](const BoundLine& bound, double inset) {
            return BoundLine{bound.at_zero + inset * std::sqrt(1 + bound.slope * bound.slope), bound.slope, 0};
        };
        const BoundLine first = inset_line(*behind, half_ + settings_.cradle.free.mm() + behind_edge_mm),
                        last = inset_line(*before, -(half_ + outer_inset_mm));
        const double slope = first.slope + share * (last.slope - first.slope);
        const auto y_at = [&](double x) { return out * (first.at(x) + share * (last.at(x) - first.at(x))); };
        // The strip leans with its panels; its top is as high as both its corners may go.
        const Vec3 across = normalized(cross(up, Vec3{1, out * slope, 0}));
        std::vector<Vec2> tops;
        for (const auto& [flat, s] : served) {
            const double y = y_at(s.x);
            if (out * y < s.inner + half_ || out * y > s.outer - half_) return std::nullopt;
            const auto room = [&, top = flat, x = s.x](double side) {
                return underside(*top, x + side * across.x, y + side * across.y) - side * across.z;
            };
            tops.push_back({s.x, std::min(room(-half_), room(half_))});
        }
        const std::optional<BoundLine> top = bound_line(tops, 1);
        if (!top || top->worst_gap > most_glue_mm) return std::nullopt;
        const auto at = [&](double x) { return Vec3{x, y_at(x), top->at(x)}; };
        const auto [low, high] = std::minmax_element(tops.begin(), tops.end());
        line.from = at(low->x);
        line.to = at(high->x);
        const Vec3 along = normalized(line.to - line.from);
        line.up = normalized(up - along * dot(up, along));
        line.most_gap_mm = top->worst_gap;
        return line;
    }

    /// As far as the strip lies wholly under its own panels and clear of all others and of other strips.
    [[nodiscard]] std::optional<StringerLine> clipped(const Fit& fit) const {
        StringerLine line = fit.line;
        Polygons own, others;
        for (std::size_t i = 0; i < candidates_.size(); ++i) {
            const Candidate& c = candidates_[i];
            const bool is_own = std::ranges::find(line.flats, i) != line.flats.end();
            Polygons& list = is_own ? own : others;
            list.insert(list.end(), c.plan.begin(), c.plan.end());
        }
        const double lean = height_ * std::hypot(line.up.x, line.up.y) / line.up.z;
        Polygons taken = offset(unite(others), clear_of_others_mm);
        for (const StringerLine& l : lines_)
            taken.push_back(footprint(l, l.chain == line.chain && l.row == line.row ? butt_mm : wall_mm));
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
        // Where it meets another strip on an upright it ends there.
        const auto along_at = [&](double x) { return std::clamp((x - start.x) / along.x, 0.0, 3 * reach); };
        const Stretch whole{along_at(fit.window.low + fit.window.low_gap),
                            along_at(fit.window.high - fit.window.high_gap)};
        Stretch longest;
        for (const Stretch& s : free_stretches(whole, taken_along))
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
            return std::min(x + slab_ / 2, line.to.x) - std::max(x - slab_ / 2, line.from.x) >= least_strip_bearing_mm;
        });
        if (carriers < 2) return std::nullopt;
        return line;
    }

    /// Plan of a strip and of the room its lower edge leans into.
    [[nodiscard]] std::vector<Vec2> footprint(const StringerLine& l, double end_mm) const {
        const Vec2 a{l.from.x, l.from.y}, b{l.to.x, l.to.y}, along = normalized(b - a);
        const double wide = half_ + height_ * std::hypot(l.up.x, l.up.y) / l.up.z + wall_mm;
        const double beyond = end_mm < wall_mm ? end_mm : wide;
        const Vec2 side = perp(along) * wide, end = along * beyond;
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
    const StripRows& rows_;
    double slab_, half_, height_;
    std::vector<Candidate> candidates_;
    std::vector<Chain> chains_;
    std::vector<StringerLine> lines_;
    std::map<std::string, int> count_;
};

}  // namespace

std::vector<StringerLine> place_stringers(const Flange& flange, const Settings& settings,
                                          const std::vector<double>& stations, double thickness_mm,
                                          const StripRows& rows) {
    return StringerPlacer(flange, settings, stations, thickness_mm, rows).place();
}

std::optional<Notch> notch_for(const StringerLine& line, double x, double plate_mm, const CradleOptions& options) {
    const Vec3 d = (line.to - line.from) / (line.to.x - line.from.x);  // per mm of x
    const double height = options.stringer_height.mm(), width = options.stringer_width.mm();
    const double end = 0.5 * width * std::abs(d.y) + height * std::abs(line.up.x);  // its end's corners
    if (x + plate_mm / 2 < line.from.x - end || x - plate_mm / 2 > line.to.x + end) return std::nullopt;
    const double lean = line.up.y / line.up.z;
    // The strip leans with its panels: its lower corners move by height times the slope.
    const double y = line.from.y + d.y * (x - line.from.x) - 0.5 * lean * height;
    const double half = 0.5 * (width * std::sqrt(1 + d.y * d.y) + plate_mm * std::abs(d.y) +
                               options.slot_clearance.mm() + std::abs(lean) * height);
    const double depth = height / line.up.z + 0.5 * plate_mm * std::abs(d.z) + 0.5 * width * std::abs(lean);
    return Notch{y - half, y + half, line.from.z + d.z * (x - line.from.x) - depth, line.id};
}

Stringer make_stringer(const StringerLine& line, const Flange& flange, const Settings& settings) {
    const double width = settings.cradle.stringer_width.mm(), height = settings.cradle.stringer_height.mm();
    Stringer stringer;
    stringer.edge = line.edge;
    stringer.width_mm = width;
    stringer.height_mm = height;
    stringer.from = line.from;
    stringer.to = line.to;
    PlatePart& part = stringer.part;
    part.id = line.id;
    part.kind = PartKind::stringer;
    part.thickness_mm = width;
    part.stock = settings.cradle.stringer_stock;
    part.outline.outer = make_rectangle({0, 0}, {norm(line.to - line.from), height}, CutKind::rough);
    part.outline.outer.vertices[2].cut = CutKind::fit;  // the edge under the panels
    part.frame.x = normalized(line.to - line.from);
    part.frame.y = line.up;
    part.frame.z = cross(part.frame.x, part.frame.y);
    part.frame.origin = line.from - line.up * height + part.frame.z * (width / 2);
    part.note = "strip " + fixed(width, 1) + " x " + fixed(height, 1) + " mm, on edge";
    if (line.most_gap_mm > settings.flange.glue.mm())
        part.note += ", up to " + fixed(line.most_gap_mm, 1) + " mm of filled glue on top";
    for (const std::size_t p : line.panels) stringer.panels.push_back(flange.panels[p].id);
    return stringer;
}

}  // namespace cradlewright
