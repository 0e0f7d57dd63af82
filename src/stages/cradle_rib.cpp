// SPDX-License-Identifier: GPL-3.0-or-later
// Method and rejected ideas: cradle.md.
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "cradlewright/geom/polyline.hpp"
#include "stages/cradle_parts.hpp"

namespace cradlewright {
namespace {

constexpr double foot_relief_mm = 3;    // the base line between the feet stands clear by this
constexpr double proud_mm = 2;          // an upright ends this far inside its panels' outer edge
constexpr double least_saddle_mm = 15;  // below this the rule for the panel margin gives way, see find_saddles
constexpr double saddle_step_mm = 0.5;  // at which a saddle's ends are looked for
constexpr double slope_window_mm = 1;   // over which the plug's steepness is judged
constexpr double slope_dropout_mm = 2;  // a shorter stretch that looks too steep is noise
constexpr double seat_overlap_mm = 1;   // seats run past their panels, so that no spike stands in a mitre
constexpr double on_line_mm = 0.03;     // an outline edge this near a working line is a fit edge
constexpr double level_mm = 0.3;        // a plug that dips less beside a horn is level: noise
constexpr double above_all_mm = 50;

/// Part of a chain (by rising x) between two abscissae, ends interpolated.
std::vector<Vec2> piece_of(const std::vector<Vec2>& chain, double low, double high) {
    std::vector<Vec2> piece;
    if (high <= low) return piece;
    piece.push_back({low, height_on(chain, low)});
    for (const Vec2& p : chain)
        if (p.x > low && p.x < high) piece.push_back(p);
    piece.push_back({high, height_on(chain, high)});
    return piece;
}

std::vector<Vec2> area_above(std::vector<Vec2> chain, double top) {
    const double left = chain.front().x, right = chain.back().x;
    chain.push_back({right, top});
    chain.push_back({left, top});
    return chain;
}

std::vector<Vec2> box(double y_low, double y_high, double z_low, double z_high) {
    return {{y_low, z_low}, {y_high, z_low}, {y_high, z_high}, {y_low, z_high}};
}

class UprightShaper {
public:
    UprightShaper(const UprightRequest& request, const CradleOptions& options, const Tolerances& tolerances)
        : request_(request), options_(options), tolerances_(tolerances) {
        for (const PanelSpan& s : request.spans) {
            crest_ = std::max({crest_, s.z_at_low + s.sheet, s.z_at_high + s.sheet});
            if (!s.is_inner) outer_.push_back(s);
        }
        if (!request.under.is_empty()) {
            padded_ = lower_envelope(request.under.padded);
            freed_ = lower_envelope(request.under.freed);
            for (const std::vector<Vec2>& loop : request.under.padded) covered_.push_back(range_of(loop));
            if (request.spans.empty())
                for (const Vec2& p : padded_) crest_ = std::max(crest_, p.y);
        }
        find_columns();
        body_ = find_body();
        top_ = crest_ + above_all_mm;
        for (const Vec2& p : freed_) top_ = std::max(top_, p.y + above_all_mm);
    }

    Upright shape() {
        if (!(body_.width() > 0) || !std::isfinite(crest_)) return {};
        Polygons upper;
        cut_ceilings(upper);
        if (!padded_.empty()) cut_plug(upper);
        Polygons posts;
        for (const Stretch& c : columns_) posts.push_back(box(c.low, c.high, -above_all_mm, top_));
        Polygons cuts = subtract(unite(upper), posts);
        cut_seats(cuts);
        cut_notches(cuts);
        cut_below(cuts);
        const Polygons solid = subtract(unite({box(body_.low, body_.high, 0, crest_)}, foot()), unite(cuts));
        finish(without_thin(solid, options_.horn.mm()));
        return std::move(result_);
    }

private:
    [[nodiscard]] static Stretch range_of(const std::vector<Vec2>& loop) {
        const auto [low, high] =
            std::minmax_element(loop.begin(), loop.end(), [](Vec2 a, Vec2 b) { return a.x < b.x; });
        return {low->x, high->x};
    }

    /// Where an upright may rise past the plug to a panel: through an opening to the panel in it, or beside the plug.
    void find_columns() {
        for (const PanelSpan& s : request_.spans) {
            if (!s.is_own || (!s.is_inner && !request_.is_post)) continue;
            const Stretch under_panel{s.y_low + proud_mm, s.y_high - proud_mm};
            std::vector<Stretch> taken;
            const double seat = std::max(s.z_at_low, s.z_at_high);
            for (const std::vector<Vec2>& loop :
                 intersect(request_.under.freed, {box(s.y_low, s.y_high, -above_all_mm, seat)}))
                taken.push_back(range_of(loop));
            Stretch widest;
            for (const Stretch& f : free_stretches(under_panel, taken))
                if (f.width() > widest.width()) widest = f;
            if (widest.width() >= options_.horn.mm()) columns_.push_back(widest);
        }
    }

    [[nodiscard]] Stretch find_body() const {
        Stretch body{std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity()};
        const auto cover = [&](double low, double high) {
            body.low = std::min(body.low, low);
            body.high = std::max(body.high, high);
        };
        if (request_.is_post) {
            for (const Stretch& c : columns_) cover(c.low, c.high);
            return body;
        }
        for (const PanelSpan& s : request_.spans) cover(s.y_low + proud_mm, s.y_high - proud_mm);
        if (!freed_.empty()) cover(freed_.front().x - options_.horn.mm(), freed_.back().x + options_.horn.mm());
        return body;
    }

    [[nodiscard]] Polygons foot() const {
        if (request_.foot.width() <= 0) return {};
        return {box(std::min(body_.low, request_.foot.low), std::max(body_.high, request_.foot.high), 0,
                    request_.foot_height_mm)};
    }

    /// What nothing between the panels passes: the line from seat to seat, or under the plug from top to top, so that
    /// a plug whose underside is level with the panels still gets its saddle.
    [[nodiscard]] std::vector<Vec2> ceiling() const {
        std::vector<Vec2> line;
        double sheet_before = 0;
        for (const PanelSpan& s : outer_) {
            const double from = line.empty() ? -std::numeric_limits<double>::infinity() : line.back().x;
            if (s.y_high <= from) continue;
            const bool is_under_plug = reaches_into(from, s.y_low);
            if (!line.empty() && is_under_plug) line.back().y += sheet_before;
            const double start = std::max(s.y_low, from);
            line.push_back({start, s.seat(start) + (is_under_plug ? s.sheet : 0)});
            line.push_back({s.y_high, s.z_at_high});
            sheet_before = s.sheet;
        }
        if (!line.empty() && reaches_into(line.back().x, std::numeric_limits<double>::infinity()))
            line.back().y += sheet_before;
        return line;
    }

    [[nodiscard]] bool reaches_into(double low, double high) const {
        return std::any_of(covered_.begin(), covered_.end(), [&](const Stretch& c) {
            return std::min(c.high, high) - std::max(c.low, low) > options_.pad.mm() + seat_overlap_mm;
        });
    }

    void cut_ceilings(Polygons& cuts) const {
        std::vector<Vec2> line = ceiling();
        if (line.empty()) return;
        line.insert(line.begin(), {std::min(body_.low, line.front().x) - 1, line.front().y});
        line.push_back({std::max(body_.high, line.back().x) + 1, line.back().y});
        cuts.push_back(area_above(line, top_));
    }

    void cut_seats(Polygons& cuts) {
        for (const PanelSpan& s : request_.spans) {
            const double a = s.y_low - seat_overlap_mm, b = s.y_high + seat_overlap_mm;
            cuts.push_back(area_above({{a, s.seat(a)}, {b, s.seat(b)}}, top_));
            working_.push_back({{a, s.seat(a)}, {b, s.seat(b)}});
            if (s.is_own) add_seat(s);
        }
    }

    /// Two panels that meet over the plate lie on one edge of it: the lower one.
    void add_seat(const PanelSpan& s) {
        for (std::vector<Vec2>& seat : result_.seats) {
            Vec2 &low = seat.front(), &high = seat.back();
            const double shared = std::min(s.y_high, high.x) - std::max(s.y_low, low.x);
            if (shared < 0.5 * std::min(s.y_high - s.y_low, high.x - low.x)) continue;
            const PanelSpan other{0, low.x, high.x, low.y, high.y, 0};
            const double a = std::min(low.x, s.y_low), b = std::max(high.x, s.y_high);
            low = {a, std::min(s.seat(a), other.seat(a))};
            high = {b, std::min(s.seat(b), other.seat(b))};
            return;
        }
        result_.seats.push_back({{s.y_low, s.z_at_low}, {s.y_high, s.z_at_high}});
    }

    void cut_notches(Polygons& cuts) {
        for (const Notch& n : request_.stringer_notches) {
            cuts.push_back(box(n.y_low, n.y_high, n.z, top_));
            working_.push_back({{n.y_low, top_}, {n.y_low, n.z}, {n.y_high, n.z}, {n.y_high, top_}});
        }
        for (const Notch& n : request_.tie_slots) {
            cuts.push_back(box(n.y_low, n.y_high, -1, n.z));
            working_.push_back({{n.y_low, -1}, {n.y_low, n.z}, {n.y_high, n.z}, {n.y_high, -1}});
        }
    }

    [[nodiscard]] bool is_too_steep(double y) const {
        const double half = 0.5 * slope_window_mm;
        const double rise = height_on(padded_, y + half) - height_on(padded_, y - half);
        return std::abs(rise) > slope_window_mm * std::tan(options_.steepest.rad());
    }

    /// May the plug bear here, and is there room for a blunt horn beside it?
    [[nodiscard]] bool may_bear(double y, double panel_margin, const std::vector<Vec2>& ceiling_line) const {
        const double horn = options_.horn.mm();
        const Vec2 p{y, height_on(padded_, y)};
        if (y < body_.low + horn || y > body_.high - horn) return false;
        if (std::none_of(covered_.begin(), covered_.end(), [&](const Stretch& s) { return s.holds(y); })) return false;
        if (!ceiling_line.empty() && p.y > height_on(ceiling_line, y)) return false;
        for (const PanelSpan& s : request_.spans) {
            if (y > s.y_low - seat_overlap_mm && y < s.y_high + seat_overlap_mm && p.y > s.seat(y)) return false;
            const std::vector<Vec2> underside{{s.y_low, s.z_at_low}, {s.y_high, s.z_at_high}};
            if (distance_to_polyline(p, underside, false) < panel_margin) return false;
        }
        for (const Stretch& c : columns_)
            if (y > c.low - horn && y < c.high + horn) return false;
        return std::none_of(request_.stringer_notches.begin(), request_.stringer_notches.end(),
                            [&](const Notch& n) { return n.z < p.y && y > n.y_low - horn && y < n.y_high + horn; });
    }

    [[nodiscard]] std::vector<Stretch> bearing_stretches(double panel_margin) const {
        std::vector<Stretch> stretches;
        const std::vector<Vec2> ceiling_line = ceiling();
        const double first = padded_.front().x, last = padded_.back().x;
        const int n = std::max(1, static_cast<int>(std::ceil((last - first) / saddle_step_mm)));
        bool may_join = false;  // no place since the last stretch that may not bear at all
        for (int i = 0; i <= n; ++i) {
            const double y = first + (last - first) * i / n;
            if (!may_bear(y, panel_margin, ceiling_line)) {
                may_join = false;
                continue;
            }
            if (is_too_steep(y)) continue;
            if (may_join && y - stretches.back().high <= slope_dropout_mm)
                stretches.back().high = y;
            else
                stretches.push_back({y, y});
            may_join = true;
        }
        return stretches;
    }

    [[nodiscard]] static Stretch widest_of(const std::vector<Stretch>& stretches) {
        Stretch widest;
        for (const Stretch& s : stretches)
            if (s.width() > widest.width()) widest = s;
        return widest;
    }

    /// All stretches that bear, by y; the margin to the panels gives way where a thin plug lies wholly within it.
    [[nodiscard]] std::vector<Stretch> find_saddles() {
        std::vector<Stretch> found;
        for (const double share : {1.0, 0.5, 0.2, 0.0}) {
            found = bearing_stretches(share * options_.panel_margin.mm());
            if (widest_of(found).width() < least_saddle_mm) continue;
            if (share < 1)
                result_.note = "saddle " + fixed(share * options_.panel_margin.mm(), 0) +
                               " mm from the panels: the plug is thin here";
            break;
        }
        const double least = std::max(options_.horn.mm(), std::min(least_saddle_mm, widest_of(found).width()));
        std::erase_if(found, [&](const Stretch& s) { return s.width() < least; });
        return found;
    }

    /// How far the level horn of a saddle runs: at least its width, then to where the plug has risen clear of it.
    [[nodiscard]] double shelf_end(double from, double level, double side, double limit) const {
        double y = from + side * options_.horn.mm();
        for (; (limit - y) * side > 0; y += side * saddle_step_mm)
            if (height_on(freed_, y) >= level || height_on(padded_, y) < level - level_mm) return y;
        return limit;
    }

    /// Beyond the outermost saddle nothing stands higher than its end.
    void cut_beside(Polygons& cuts, double from, double side) const {
        const double level = height_on(padded_, from);
        const double limit = side > 0 ? freed_.back().x : freed_.front().x;
        if ((limit - from) * side <= 0) return;
        cuts.push_back(box(std::min(from, limit), std::max(from, limit), level, top_));
        cut_clear(cuts, shelf_end(from, level, side, limit), limit);
    }

    void cut_between(Polygons& cuts, const Stretch& left, const Stretch& right) const {
        const double level_left = height_on(padded_, left.high), level_right = height_on(padded_, right.low);
        double a = shelf_end(left.high, level_left, 1, right.low), b = shelf_end(right.low, level_right, -1, left.high);
        if (a > b) a = b = 0.5 * (left.high + right.low);
        cuts.push_back(box(left.high, a, level_left, top_));
        cuts.push_back(box(b, right.low, level_right, top_));
        cut_clear(cuts, a, b);
    }

    void cut_clear(Polygons& cuts, double a, double b) const {
        const auto piece = piece_of(freed_, std::min(a, b), std::max(a, b));
        if (piece.empty()) return;
        const Polygons cut = subtract({area_above(piece, top_)}, under_seats());
        cuts.insert(cuts.end(), cut.begin(), cut.end());
    }

    /// Room under panels that lie over a part of the slab while the plug, pad and all, stays above them over the rest.
    [[nodiscard]] Polygons under_seats() const {
        Polygons rooms;
        for (const PanelSpan& s : outer_) {
            std::optional<double> since;
            const int n = std::max(1, static_cast<int>(std::ceil((s.y_high - s.y_low) / saddle_step_mm)));
            for (int i = 0; i <= n + 1; ++i) {
                const double y = s.y_low + (s.y_high - s.y_low) * i / n;
                const bool is_room = i <= n && height_on(padded_, y) >= s.seat(y);
                if (is_room && !since) since = y;
                if (is_room || !since) continue;
                const double last = s.y_low + (s.y_high - s.y_low) * (i - 1) / n;
                if (last > *since)
                    rooms.push_back({{*since, -above_all_mm},
                                     {last, -above_all_mm},
                                     {last, s.seat(last)},
                                     {*since, s.seat(*since)}});
                since.reset();
            }
        }
        return unite(rooms);
    }

    void cut_plug(Polygons& cuts) {
        cuts.push_back(area_above(padded_, top_));
        const std::vector<Stretch> saddles = request_.is_post ? std::vector<Stretch>{} : find_saddles();
        if (saddles.empty()) {
            cut_clear(cuts, freed_.front().x, freed_.back().x);
            return;
        }
        const Stretch widest = widest_of(saddles);
        for (const Stretch& s : saddles) {
            working_.push_back(piece_of(padded_, s.low, s.high));
            if (s.low == widest.low)
                result_.saddle = working_.back();
            else
                result_.more_saddles.push_back(working_.back());
        }
        cut_beside(cuts, saddles.front().low, -1);
        cut_beside(cuts, saddles.back().high, 1);
        for (std::size_t i = 0; i + 1 < saddles.size(); ++i) cut_between(cuts, saddles[i], saddles[i + 1]);
    }

    void cut_below(Polygons& cuts) {
        const Polygons widened = foot();
        const Stretch ground = widened.empty() ? body_ : range_of(widened.front());
        double left = ground.low + request_.foot_mm, right = ground.high - request_.foot_mm;
        for (const Notch& n : request_.tie_slots) {  // no thin toe between a slot and the hollow
            if (left > n.y_high && left < n.y_high + options_.horn.mm()) left = n.y_high;
            if (right < n.y_low && right > n.y_low - options_.horn.mm()) right = n.y_low;
        }
        if (right - left > request_.foot_mm) cuts.push_back(box(left, right, -1, foot_relief_mm));
        working_.push_back({{ground.low, 0}, {ground.high, 0}});
    }

    [[nodiscard]] bool is_fit(Vec2 p) const {
        return std::any_of(working_.begin(), working_.end(), [&](const std::vector<Vec2>& line) {
            return line.size() > 1 && distance_to_polyline(p, line, false) < on_line_mm;
        });
    }

    void finish(const Polygons& pieces) {
        const std::vector<Vec2>* best = nullptr;
        double best_area = 0;
        for (const std::vector<Vec2>& piece : pieces)
            if (const double area = signed_area(piece); area > best_area) {
                best_area = area;
                best = &piece;
            }
        if (!best) return;
        Loop loop;
        for (std::size_t i = 0; i < best->size(); ++i) {
            const Vec2 a = (*best)[i], b = (*best)[(i + 1) % best->size()];
            loop.vertices.push_back({a, 0, is_fit((a + b) * 0.5) ? CutKind::fit : CutKind::rough});
        }
        result_.outline.outer = fitted(loop, tolerances_.arc_fit_mm, result_.fit);
    }

    const UprightRequest& request_;
    const CradleOptions& options_;
    const Tolerances& tolerances_;
    double crest_ = -std::numeric_limits<double>::infinity();  ///< highest panel
    double top_ = 0;                                           ///< above all cuts
    std::vector<PanelSpan> outer_;
    std::vector<Vec2> padded_, freed_;
    std::vector<Stretch> covered_, columns_;
    Stretch body_;
    std::vector<std::vector<Vec2>> working_;  ///< lines that other parts touch
    Upright result_;
};

/// Loops gathered into heaps that do not overlap along y, each as everything above its underside.
Polygons swept_up(const Polygons& loops, double top) {
    struct Item {
        double low, high;
        const std::vector<Vec2>* loop;
    };
    std::vector<Item> items;
    for (const std::vector<Vec2>& loop : loops) {
        const auto [low, high] =
            std::minmax_element(loop.begin(), loop.end(), [](Vec2 a, Vec2 b) { return a.x < b.x; });
        items.push_back({low->x, high->x, &loop});
    }
    std::stable_sort(items.begin(), items.end(), [](const Item& a, const Item& b) { return a.low < b.low; });
    Polygons swept;
    for (std::size_t i = 0; i < items.size();) {
        Polygons heap;
        double reach = items[i].low;
        for (; i < items.size() && items[i].low <= reach; ++i) {
            heap.push_back(*items[i].loop);
            reach = std::max(reach, items[i].high);
        }
        const std::vector<Vec2> underside = lower_envelope(heap);
        if (underside.size() > 1) swept.push_back(area_above(underside, top));
    }
    return swept;
}

}  // namespace

Polygons without_thin(const Polygons& shape, double width) {
    constexpr double corner_share = 0.55;
    const double radius = 0.5 * width;
    const Polygons core = offset(offset(shape, -radius), radius);
    const Polygons far = subtract(shape, offset(core, corner_share * radius));
    if (far.empty()) return shape;
    Polygons gone;
    for (const std::vector<Vec2>& piece : subtract(shape, core))
        if (signed_area(piece) > 0 && !intersect({piece}, far).empty()) gone.push_back(piece);
    constexpr double sliver_mm = 0.02;
    return subtract(shape, offset(gone, sliver_mm));
}

std::vector<Stretch> free_stretches(Stretch whole, std::vector<Stretch> taken) {
    std::sort(taken.begin(), taken.end(), [](const Stretch& a, const Stretch& b) { return a.low < b.low; });
    std::vector<Stretch> free;
    double low = whole.low;
    for (const Stretch& t : taken) {
        if (t.low >= whole.high) break;
        if (t.low > low) free.push_back({low, t.low});
        low = std::max(low, t.high);
    }
    if (low < whole.high) free.push_back({low, whole.high});
    return free;
}

double height_on(const std::vector<Vec2>& chain, double x) {
    const auto it = std::lower_bound(chain.begin(), chain.end(), x, [](Vec2 p, double v) { return p.x < v; });
    if (it == chain.begin()) return chain.front().y;
    if (it == chain.end()) return chain.back().y;
    const Vec2 a = *(it - 1), b = *it;
    return b.x > a.x ? a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x) : std::min(a.y, b.y);
}

UnderPlug under_plug(const std::vector<SlabSection>& sections, double free_mm) {
    UnderPlug under;
    double top = -std::numeric_limits<double>::infinity();
    for (const SlabSection& s : sections)
        for (const std::vector<Vec2>& loop : s.loops)
            for (const Vec2& p : loop) top = std::max(top, p.y);
    top += above_all_mm;
    Polygons inside;
    for (const SlabSection& s : sections)
        if (s.is_inside) inside.insert(inside.end(), s.loops.begin(), s.loops.end());
    if (inside.empty()) return under;
    under.bare = lower_envelope(inside);
    Polygons padded, freed;
    const auto grow = [&](const Polygons& loops, double pad) {
        const Polygons swept = swept_up(loops, top);
        const Polygons p = offset(swept, pad), f = offset(swept, pad + free_mm);
        padded.insert(padded.end(), p.begin(), p.end());
        freed.insert(freed.end(), f.begin(), f.end());
    };
    for (const SlabSection& s : sections)
        if (s.is_inside) {
            grow(inside, s.pad_mm);
            break;
        }
    for (const SlabSection& s : sections)
        if (!s.is_inside) grow(s.loops, s.pad_mm);
    under.padded = unite(padded);
    under.freed = unite(freed);
    return under;
}

std::vector<PanelSpan> spans_at(const Flange& flange, double station_mm, double thickness_mm, double glue_mm,
                                PlateRun run) {
    constexpr double least_width_mm = 0.5, least_reach_mm = 0.3;  // a panel that only grazes the slab is not carried
    const auto turned = [&](double x, double y) { return run == PlateRun::across ? Vec2{x, y} : Vec2{y, x}; };
    std::vector<PanelSpan> spans;
    const double x_low = station_mm - thickness_mm / 2, x_high = station_mm + thickness_mm / 2;
    for (std::size_t i = 0; i < flange.panels.size(); ++i)
        for (const PlatePart& flat : flats_of(flange.panels[i].part)) {
            const FlangePanel::Top top = flange.panels[i].is_curved()
                                             ? FlangePanel::Top{flat.frame.origin, flat.frame.z}
                                             : FlangePanel::Top{flange.panels[i].point, flange.panels[i].normal};
            if (top.normal.z < 0.1) continue;
            Polygons plan = to_polygons(flat.outline, Tolerances{}.chord_mm);
            Box2 plan_box;
            for (std::vector<Vec2>& chain : plan)
                for (Vec2& p : chain) {
                    const Vec3 q = flat.frame.to_parent(p);
                    p = turned(q.x, q.y);
                    plan_box.add(p);
                }
            if (plan_box.high.x < x_low || plan_box.low.x > x_high) continue;
            const double drop = (flat.thickness_mm + glue_mm) / top.normal.z;
            const Polygons strip{box(x_low, x_high, plan_box.low.y - 1, plan_box.high.y + 1)};
            for (const std::vector<Vec2>& piece : intersect(plan, strip)) {
                if (signed_area(piece) <= 0) continue;
                const auto [low, high] =
                    std::minmax_element(piece.begin(), piece.end(), [](Vec2 a, Vec2 b) { return a.y < b.y; });
                const auto [left, right] =
                    std::minmax_element(piece.begin(), piece.end(), [](Vec2 a, Vec2 b) { return a.x < b.x; });
                if (high->y - low->y < least_width_mm || right->x - left->x < least_reach_mm) continue;
                const auto height = [&](double x, double y) {
                    const Vec2 at = turned(x, y);
                    return top.height_at(at.x, at.y);
                };
                const auto seat = [&, a = left->x, b = right->x](double y) {
                    return std::min(height(a, y), height(b, y)) - drop;
                };
                spans.push_back({i, low->y, high->y, seat(low->y), seat(high->y), drop, flange.panels[i].is_inner});
            }
        }
    std::stable_sort(spans.begin(), spans.end(),
                     [](const PanelSpan& a, const PanelSpan& b) { return a.y_low < b.y_low; });
    return spans;
}

Upright shape_upright(const UprightRequest& request, const CradleOptions& options, const Tolerances& tolerances) {
    return UprightShaper(request, options, tolerances).shape();
}

}  // namespace cradlewright
