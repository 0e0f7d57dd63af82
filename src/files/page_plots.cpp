// SPDX-License-Identifier: GPL-3.0-or-later
// Source: W3C, Scalable Vector Graphics 1.1, 8.3 (path data), 10.9 (text anchors).
#include "files/page_plots.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "files/markup.hpp"

namespace cradlewright {
namespace {

constexpr double width = 740, name_end = 230, bars_end = 560, row_height = 22, top = 26;

/// Rows of bars on a common scale, names left of them, words right.
class Bars {
public:
    /// `full`: what the width from name_end to bars_end stands for.
    explicit Bars(double full) : full_(full) {}

    void row(std::string_view name, double value, std::string_view css, std::string_view words) {
        const double y = top + row_height * rows_++;
        text(name_end - 8, y + 15, "end", name);
        body_ += "<path class=\"" + std::string(css) + "\" d=\"M" + fixed(name_end, 0) + ' ' + fixed(y + 4, 1) + 'H' +
                 fixed(x_of(value), 1) + "v13H" + fixed(name_end, 0) + "Z\"/>";
        text(bars_end + 10, y + 15, "start", words);
    }
    /// From the last row's bar on to `value`.
    void whisker(double from, double value) {
        const double y = top + row_height * (rows_ - 0.5);
        body_ += "<path d=\"M" + fixed(x_of(from), 1) + ' ' + fixed(y, 1) + 'H' + fixed(x_of(value), 1) + "m0 -4v8\"/>";
    }
    [[nodiscard]] bool is_empty() const { return rows_ == 0; }
    [[nodiscard]] double height() const { return top + row_height * rows_ + 8; }
    /// A line down all rows with its name over it.
    void limit(double value, std::string_view name) {
        const std::string x = fixed(x_of(value), 1);
        body_ += "<path class=\"parting\" d=\"M" + x + ' ' + fixed(top - 4, 0) + 'V' + fixed(height() - 4, 0) + "\"/>";
        text(x_of(value), top - 9, "middle", name);
    }
    [[nodiscard]] std::string body() const { return body_; }

private:
    [[nodiscard]] double x_of(double value) const {
        return name_end + (bars_end - name_end) * std::clamp(value / full_, 0.0, 1.0);
    }
    void text(double x, double y, std::string_view anchor, std::string_view words) {
        body_ += "<text x=\"" + fixed(x, 1) + "\" y=\"" + fixed(y, 1) + "\" text-anchor=\"" + std::string(anchor) +
                 "\">" + escape_markup(words) + "</text>";
    }

    double full_;
    int rows_ = 0;
    std::string body_;
};

}  // namespace

Picture draw_deflections(const CheckReport& checks, UnitSystem units) {
    constexpr std::array<std::string_view, 4> bending{"cradle.sag", "panel.deflection", "stringer.deflection",
                                                      "mould.stiffness"};
    Bars bars(1.5);
    for (const Check& check : checks.checks) {
        if (std::ranges::find(bending, check.id) == bending.end() || check.relation != Relation::at_most) continue;
        const double limit = check.limit.value, value = check.value.value;
        if (!std::isfinite(value) || !(limit > 0)) continue;
        const std::string words = format_quantity(check.value, units) + " of " + format_quantity(check.limit, units);
        bars.row(check.subject, value / limit, "wood", words);
        if (check.high.value > value) bars.whisker(value / limit, check.high.value / limit);
    }
    if (bars.is_empty()) return {};
    bars.limit(1, "limit");
    return {"What bends",
            "Each bar is the share of its limit that a part uses up under its load; the thin line runs to the "
            "high end of the spread of loads and stiffnesses. Bars end at one and a half times the limit.",
            bars.body(),
            width,
            bars.height(),
            0,
            {}};
}

Picture draw_drafts(const Design& design) {
    constexpr std::size_t most_faces = 100000;
    if (!design.parting.is_found()) return {};
    const ReleaseOptions& release = design.settings.release;
    std::vector<double> ends{0, release.min_draft.deg(), release.good_draft.deg(), 10, 30};
    std::ranges::sort(ends);
    ends.erase(std::unique(ends.begin(), ends.end()), ends.end());
    std::array<std::vector<double>, 2> area;
    area.fill(std::vector<double>(ends.size() + 1, 0));
    const TriMesh& mesh = design.posed.mesh();
    const std::size_t stride = 1 + mesh.face_count() / most_faces;
    for (std::size_t f = 0; f < mesh.face_count(); f += stride) {
        const std::size_t half = design.parting.half[f] == 1 ? 0 : 1;
        const double draft = (half == 0 ? 1 : -1) * Angle::rad(design.release.draft_of(half == 0 ? 1 : 2)[f]).deg();
        std::size_t band = 0;
        while (band < ends.size() && draft >= ends[band]) ++band;
        area[half][band] += norm(area_vector(mesh.corners(static_cast<FaceId>(f))));
    }
    Bars bars(1);
    for (const std::size_t half : {std::size_t{0}, std::size_t{1}}) {
        double whole = 0;
        for (const double a : area[half]) whole += a;
        if (!(whole > 0)) continue;
        for (std::size_t band = 0; band <= ends.size(); ++band) {
            const std::string range =
                band == 0             ? "below 0 deg"
                : band == ends.size() ? short_number(ends.back(), 1) + " deg and more"
                                      : short_number(ends[band - 1], 1) + " to " + short_number(ends[band], 1) + " deg";
            const double share = area[half][band] / whole;
            bars.row("half " + std::to_string(half + 1) + ", " + range, share,
                     band == 0 || ends[band - 1] < release.min_draft.deg() ? "clay" : "wood",
                     short_number(100 * share, 1) + " %");
        }
    }
    return {
        "Draft over the surface",
        "Share of each half's surface by its draft. Below 0 deg the surface holds the mould, unless beads hide it; a "
        "little of everything down to 0 lies at any smooth parting line.",
        bars.body(),
        width,
        bars.height(),
        0,
        {}};
}

}  // namespace cradlewright
