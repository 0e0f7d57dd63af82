// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>

#include "cradlewright/geom/polyline.hpp"
#include "stages/cradle_parts.hpp"

namespace cradlewright {
namespace {

constexpr double foot_relief_mm = 3;    // the base line between the feet stands clear by this
constexpr double proud_mm = 2;          // an upright ends this far inside its panels' outer edge
constexpr double least_saddle_mm = 15;  // below this the rule for the panel margin gives way, see saddle_range
constexpr double slope_window_mm = 3;   // over which the plug's steepness is judged
constexpr double seat_overlap_mm = 1;   // seats run past their panels, so that no spike stands in a mitre
constexpr double on_line_mm = 0.03;     // an outline edge this near a working line is a fit edge
constexpr double above_all_mm = 200;

double height_on(const std::vector<Vec2>& chain, double y) {
    const auto it = std::lower_bound(chain.begin(), chain.end(), y, [](Vec2 p, double v) { return p.x < v; });
    if (it == chain.begin()) return chain.front().y;
    if (it == chain.end()) return chain.back().y;
    const Vec2 a = *(it - 1), b = *it;
    return b.x > a.x ? a.y + (b.y - a.y) * (y - a.x) / (b.x - a.x) : std::min(a.y, b.y);
}

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

struct SaddleRange {
    double low = 0, high = 0;
    [[nodiscard]] double width() const { return high - low; }
};

class UprightShaper {
public:
    UprightShaper(const UprightRequest& request, const CradleOptions& options, const Tolerances& tolerances)
        : request_(request), options_(options), tolerances_(tolerances) {
        for (const PanelSpan& s : request.spans) top_ = std::max({top_, s.z_at_low, s.z_at_high});
        if (!request.under.is_empty()) {
            padded_ = lower_envelope(request.under.padded);
            freed_ = lower_envelope(request.under.freed);
            result_.envelope = lower_envelope(request.under.bare);
            for (const Vec2& p : padded_) top_ = std::max(top_, p.y);
        }
        top_ += above_all_mm;
    }

    Upright shape() {
        Polygons cuts;
        cut_seats(cuts);
        cut_notches(cuts);
        if (!padded_.empty()) cut_plug(cuts);
        cut_below(cuts);
        finish(subtract({block()}, unite(cuts)));
        return std::move(result_);
    }

private:
    [[nodiscard]] double y_low() const {
        double y = padded_.empty() ? std::numeric_limits<double>::infinity() : freed_.front().x - options_.horn.mm();
        for (const PanelSpan& s : request_.spans) y = std::min(y, s.y_low + proud_mm);
        return y;
    }
    [[nodiscard]] double y_high() const {
        double y = padded_.empty() ? -std::numeric_limits<double>::infinity() : freed_.back().x + options_.horn.mm();
        for (const PanelSpan& s : request_.spans) y = std::max(y, s.y_high - proud_mm);
        return y;
    }

    [[nodiscard]] std::vector<Vec2> block() const { return box(y_low(), y_high(), 0, top_ - 0.5 * above_all_mm); }

    void cut_seats(Polygons& cuts) {
        for (const PanelSpan& s : request_.spans) {
            const double a = s.y_low - seat_overlap_mm, b = s.y_high + seat_overlap_mm;
            cuts.push_back(area_above({{a, s.seat(a)}, {b, s.seat(b)}}, top_));
            working_.push_back({{a, s.seat(a)}, {b, s.seat(b)}});
            result_.seats.push_back({{s.y_low, s.z_at_low}, {s.y_high, s.z_at_high}});
        }
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

    /// Lowest seat on one side of the plug: side -1 toward -y, +1 toward +y.
    [[nodiscard]] double seat_beside(double y_lowest, double side) const {
        double z = std::numeric_limits<double>::infinity();
        for (const PanelSpan& s : request_.spans) {
            const double inner = side > 0 ? s.y_low : s.y_high;
            if ((inner - y_lowest) * side > 0) z = std::min(z, s.seat(inner));
        }
        return z;
    }

    /// Innermost y that a seat's or stringer's cut-out leaves free on one side, less the horn.
    [[nodiscard]] double horn_limit(double y_lowest, double side) const {
        double y = side > 0 ? freed_.back().x : freed_.front().x;
        for (const Notch& n : request_.stringer_notches) {
            const double inner = side > 0 ? n.y_low : n.y_high;
            if ((inner - y_lowest) * side > 0 && (y - inner) * side > 0) y = inner;
        }
        return y - side * options_.horn.mm();
    }

    /// Walks from the lowest point while the plug is flat enough and stays below `z_limit`.
    [[nodiscard]] double walk(std::size_t lowest, double side, double z_limit, double y_limit) const {
        double reached = padded_[lowest].x;
        const double steepest = std::tan(options_.steepest.rad());
        const auto n = static_cast<std::ptrdiff_t>(padded_.size());
        for (std::ptrdiff_t i = static_cast<std::ptrdiff_t>(lowest); i >= 0 && i<n; i += side> 0 ? 1 : -1) {
            const Vec2 p = padded_[static_cast<std::size_t>(i)];
            if (p.y > z_limit || (p.x - y_limit) * side > 0) break;
            const double back = height_on(padded_, p.x - side * slope_window_mm);
            if (std::abs(p.x - padded_[lowest].x) > slope_window_mm && (p.y - back) / slope_window_mm > steepest) break;
            reached = p.x;
        }
        return reached;
    }

    [[nodiscard]] SaddleRange saddle_range(std::size_t lowest) {
        const double y = padded_[lowest].x;
        const double left_seat = seat_beside(y, -1), right_seat = seat_beside(y, 1);
        const auto range_with = [&](double margin) {
            return SaddleRange{walk(lowest, -1, left_seat - margin, horn_limit(y, -1)),
                               walk(lowest, 1, right_seat - margin, horn_limit(y, 1))};
        };
        SaddleRange range = range_with(options_.panel_margin.mm());
        if (range.width() >= least_saddle_mm) return range;
        // A thin or flat-bottomed plug lies wholly within the margin: let the saddle rise to where it still clears the
        // sheet.
        range = range_with(0.2 * options_.panel_margin.mm());
        if (range.width() < least_saddle_mm) range = range_with(-std::numeric_limits<double>::infinity());
        result_.note =
            "saddle within " + fixed(options_.panel_margin.mm(), 0) + " mm of the panels: the plug is thin here";
        return range;
    }

    void cut_plug(Polygons& cuts) {
        const auto least = std::min_element(padded_.begin(), padded_.end(), [](Vec2 a, Vec2 b) { return a.y < b.y; });
        const SaddleRange range = saddle_range(static_cast<std::size_t>(least - padded_.begin()));
        if (range.width() > 0) {
            result_.saddle = piece_of(padded_, range.low, range.high);
            working_.push_back(result_.saddle);
        }
        // Everything over the padded envelope goes; beyond the saddle's ends a blunt horn, then clear of the plug.
        const double horn = options_.horn.mm();
        cuts.push_back(area_above(padded_, top_));
        cuts.push_back(box(freed_.front().x, range.low, height_on(padded_, range.low), top_));
        cuts.push_back(box(range.high, freed_.back().x, height_on(padded_, range.high), top_));
        if (const auto left = piece_of(freed_, freed_.front().x, range.low - horn); !left.empty())
            cuts.push_back(area_above(left, top_));
        if (const auto right = piece_of(freed_, range.high + horn, freed_.back().x); !right.empty())
            cuts.push_back(area_above(right, top_));
    }

    void cut_below(Polygons& cuts) {
        const double left = y_low() + request_.foot_mm, right = y_high() - request_.foot_mm;
        if (right - left > request_.foot_mm) cuts.push_back(box(left, right, -1, foot_relief_mm));
        working_.push_back({{y_low(), 0}, {y_high(), 0}});
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
        result_.outline.outer = fit_lines_and_arcs(loop, {.tolerance_mm = tolerances_.arc_fit_mm}).loop;
    }

    const UprightRequest& request_;
    const CradleOptions& options_;
    const Tolerances& tolerances_;
    double top_ = 0;
    std::vector<Vec2> padded_, freed_;
    std::vector<std::vector<Vec2>> working_;  ///< lines that other parts touch
    Upright result_;
};

}  // namespace

namespace {

/// Where the outline crosses the planes of a plate's two faces and its middle: pairs (low, high), widest of the three.
std::vector<double> crossings_over_slab(const FlangePanel& panel, const std::vector<Vec2>& outline, double station,
                                        double thickness) {
    std::vector<double> widest;
    for (const double x : {station, station - thickness / 2, station + thickness / 2}) {
        std::vector<double> crossings;
        for (std::size_t k = 0; k < outline.size(); ++k) {
            const Vec3 a = panel.part.frame.to_parent(outline[k]);
            const Vec3 b = panel.part.frame.to_parent(outline[(k + 1) % outline.size()]);
            if ((a.x < x) != (b.x < x)) crossings.push_back(a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x));
        }
        std::sort(crossings.begin(), crossings.end());
        if (widest.empty() || crossings.size() > widest.size()) std::swap(widest, crossings);
        if (crossings.size() != widest.size()) continue;
        for (std::size_t k = 0; k < widest.size(); ++k)
            widest[k] = k % 2 == 0 ? std::min(widest[k], crossings[k]) : std::max(widest[k], crossings[k]);
    }
    return widest;
}

}  // namespace

std::vector<PanelSpan> spans_at(const Flange& flange, double station_mm, double thickness_mm, double glue_mm) {
    std::vector<PanelSpan> spans;
    for (std::size_t i = 0; i < flange.panels.size(); ++i) {
        const FlangePanel& panel = flange.panels[i];
        if (panel.is_inner || panel.normal.z < 0.1) continue;
        const std::vector<Vec2> outline = flatten(panel.part.outline.outer, Tolerances{}.chord_mm);
        const std::vector<double> crossings = crossings_over_slab(panel, outline, station_mm, thickness_mm);
        const double drop = (panel.part.thickness_mm + glue_mm) / panel.normal.z;
        const auto seat = [&](double y) {
            double z = std::numeric_limits<double>::infinity();
            for (const double x : {station_mm - thickness_mm / 2, station_mm + thickness_mm / 2})
                z = std::min(
                    z, panel.point.z - (panel.normal.x * (x - panel.point.x) + panel.normal.y * (y - panel.point.y)) /
                                           panel.normal.z);
            return z - drop;
        };
        for (std::size_t k = 0; k + 1 < crossings.size(); k += 2)
            spans.push_back({i, crossings[k], crossings[k + 1], seat(crossings[k]), seat(crossings[k + 1])});
    }
    std::sort(spans.begin(), spans.end(), [](const PanelSpan& a, const PanelSpan& b) { return a.y_low < b.y_low; });
    return spans;
}

Upright shape_upright(const UprightRequest& request, const CradleOptions& options, const Tolerances& tolerances) {
    return UprightShaper(request, options, tolerances).shape();
}

}  // namespace cradlewright
