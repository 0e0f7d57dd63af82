// SPDX-License-Identifier: GPL-3.0-or-later
// Source: W3C, Scalable Vector Graphics 1.1, 8.3 (path data), 10.9 (text anchors). Colours: M. Okabe, K. Ito, "Color
// Universal Design" (2008) [from memory]; dashes tell the curves apart without them.
#include "files/sweep_chart.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>

#include "files/markup.hpp"

namespace cradlewright {
namespace {

constexpr double chart_width = 760, plot_left = 64, plot_right = 600, plot_height = 118, plot_gap = 44, chart_top = 64;
constexpr std::size_t most_edge_curves = 5;  // and one for the rest: what the legend holds
constexpr std::array<const char*, 6> colours{"#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9"};
constexpr std::array<const char*, 6> dashes{"none", "7 3", "2 2", "9 3 2 3", "12 3", "4 4"};

constexpr double unknown = std::numeric_limits<double>::quiet_NaN();

std::string px(double value) { return fixed(value, 1); }

struct Curve {
    std::string name;
    std::function<double(const SweepRow&)> value;
};
struct Plot {
    std::string title;
    std::vector<Curve> curves;
};

/// Round step that gives at most about `ticks` of them. Source: common practice, 1-2-5 series.
double tick_step(double range, int ticks) {
    const double raw = range / ticks, power = std::pow(10, std::floor(std::log10(raw)));
    for (const double factor : {1.0, 2.0, 5.0})
        if (raw <= factor * power) return factor * power;
    return 10 * power;
}

class Chart {
public:
    explicit Chart(const Sweep& sweep) : sweep_(sweep) {
        low_ = Angle::rad(sweep.rows.front().tilt_rad).deg();
        high_ = Angle::rad(sweep.rows.back().tilt_rad).deg();
    }

    void add(const Plot& plot) {
        Range range = range_of(plot);
        const double step = tick_step(range.high - range.low, 4);
        range.low = std::floor(range.low / step) * step;
        range.high = std::ceil(range.high / step) * step;
        const double top = chart_top + (plot_height + plot_gap) * plots_++;
        const auto y_of = [&](double v) { return top + plot_height * (range.high - v) / (range.high - range.low); };
        text("tilt-head", plot_left, top - 8, "start", plot.title);
        const int decimals = step < 1 ? 1 : 0;
        for (double v = range.low; v <= range.high + step / 2; v += step) {
            line("tilt-grid", {plot_left, y_of(v)}, {plot_right, y_of(v)});
            text("tilt-tick", plot_left - 6, y_of(v) + 4, "end", fixed(v, decimals));
        }
        add_tilts(top);
        for (std::size_t i = 0; i < plot.curves.size(); ++i) add_curve(plot.curves[i], i, top, y_of);
    }

    [[nodiscard]] Picture finish() const {
        return {"Tilt sweep",
                sweep_.reason,
                legend() + body_,
                chart_width,
                chart_top + (plot_height + plot_gap) * plots_,
                0,
                {}};
    }

private:
    struct Range {
        double low = 0, high = 0;
    };
    struct Spot {
        double x = 0, y = 0;
    };

    [[nodiscard]] double x_of(double deg) const {
        return plot_left + (plot_right - plot_left) * (deg - low_) / (high_ - low_);
    }
    [[nodiscard]] Range range_of(const Plot& plot) const {
        Range range{0, 0};
        for (const SweepRow& row : sweep_.rows)
            for (const Curve& curve : plot.curves)
                if (const double v = curve.value(row); std::isfinite(v)) {
                    range.low = std::min(range.low, v);
                    range.high = std::max(range.high, v);
                }
        if (range.high - range.low < 1) range.high = range.low + 1;
        return range;
    }
    void add_tilts(double top) {
        const double step = tick_step(high_ - low_, 7), bottom = top + plot_height;
        for (double t = std::ceil(low_ / step) * step; t <= high_ + 1e-9; t += step) {
            line("tilt-grid", {x_of(t), top}, {x_of(t), bottom});
            text("tilt-tick", x_of(t), bottom + 15, "middle", fixed(t, step < 1 ? 1 : 0));
        }
        for (std::size_t i = 0; i < sweep_.rows.size(); ++i) {
            const double x = x_of(Angle::rad(sweep_.rows[i].tilt_rad).deg());
            if (sweep_.best == i)
                line("tilt-best", {x, top}, {x, bottom});
            else if (sweep_.rows[i].is_told)
                line("tilt-told", {x, top}, {x, bottom});
        }
    }
    /// Broken where a tilt has no figure; a figure alone is a dot.
    template <class ToY>
    void add_curve(const Curve& curve, std::size_t number, double top, const ToY& y_of) {
        const std::string look = std::string("style=\"stroke:") + colours[number % colours.size()] +
                                 ";stroke-dasharray:" + dashes[number % dashes.size()] + "\" ";
        std::string d;
        bool is_down = false;
        for (const SweepRow& row : sweep_.rows) {
            const double v = row.has_line ? curve.value(row) : unknown;
            if (std::isfinite(v)) {
                const std::string at = px(x_of(Angle::rad(row.tilt_rad).deg())) + ' ' + px(y_of(v));
                d += (is_down ? "L" : "M" + at + "h0.1M") + at;
            }
            is_down = std::isfinite(v);
        }
        if (!d.empty()) body_ += "<path class=\"tilt-curve\" stroke-linecap=\"round\" " + look + "d=\"" + d + "\"/>\n";
        const double y = top + 8 + 18 * static_cast<double>(number);
        body_ += "<path class=\"tilt-curve\" " + look + "d=\"M" + px(plot_right + 12) + ' ' + px(y) + "h28\"/>\n";
        text("tilt-tick", plot_right + 46, y + 4, "start", curve.name);
    }
    [[nodiscard]] std::string legend() const {
        std::string words = "Tilt along each plot, deg, positive lifts the front.";
        if (sweep_.best)
            words +=
                " Thick line: recommended, " + fixed(Angle::rad(sweep_.rows[*sweep_.best].tilt_rad).deg(), 1) + " deg.";
        if (std::ranges::any_of(sweep_.rows, [](const SweepRow& r) { return r.is_told; })) words += " Dashed: as set.";
        return "<text x=\"" + px(plot_left) + "\" y=\"20\">" + escape_markup(words) + "</text>\n";
    }
    void line(const char* css, Spot a, Spot b) {
        body_ += std::string("<path class=\"") + css + "\" d=\"M" + px(a.x) + ' ' + px(a.y) + 'L' + px(b.x) + ' ' +
                 px(b.y) + "\"/>\n";
    }
    void text(const char* css, double x, double y, const char* anchor, std::string_view words) {
        body_ += std::string("<text class=\"") + css + "\" x=\"" + px(x) + "\" y=\"" + px(y) + "\" text-anchor=\"" +
                 anchor + "\">" + escape_markup(words) + "</text>\n";
    }

    const Sweep& sweep_;
    double low_, high_;
    int plots_ = 0;
    std::string body_;
};

std::vector<Plot> plots_of(const Sweep& sweep, UnitSystem units) {
    const bool is_inch = units == UnitSystem::inch;
    const double unit_mm = is_inch ? 25.4 : 1;
    const std::string unit = is_inch ? "in" : "mm";
    std::vector<Plot> plots;
    plots.push_back({"Draft of the moulded surface, deg",
                     {{"half 1", [](const SweepRow& r) { return r.half[0].draft_deg; }},
                      {"half 2", [](const SweepRow& r) { return r.half[1].draft_deg; }}}});
    plots.push_back({"Undercut, " + unit,
                     {{"half 1", [=](const SweepRow& r) { return r.half[0].undercut_mm / unit_mm; }},
                      {"half 2", [=](const SweepRow& r) { return r.half[1].undercut_mm / unit_mm; }}}});
    plots.push_back({"Seen beside the edge, worse half, %", {}});
    const std::vector<std::string> edges = sweep.main_edges(most_edge_curves);
    for (const std::string& edge : edges)
        plots.back().curves.push_back({edge, [edge](const SweepRow& r) { return 100 * r.access_to(edge); }});
    if (edges.size() < sweep.edge_names.size())
        plots.back().curves.push_back(
            {"least of the others", [edges](const SweepRow& r) { return 100 * r.access_to_others(edges); }});
    plots.push_back({"Standing, deg",
                     {{"slide demand", [](const SweepRow& r) { return Angle::rad(r.standing.slide_rad).deg(); }},
                      {"tips at", [](const SweepRow& r) { return Angle::rad(r.standing.tip_rad).deg(); }}}});
    plots.push_back({"Height over the base, " + unit,
                     {{"highest place", [=](const SweepRow& r) { return r.height_mm / unit_mm; }}}});
    return plots;
}

}  // namespace

Picture draw_sweep(const Sweep& sweep, UnitSystem units) {
    Chart chart(sweep);
    for (const Plot& plot : plots_of(sweep, units)) chart.add(plot);
    return chart.finish();
}

}  // namespace cradlewright
