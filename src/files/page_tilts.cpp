// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/page_tilts.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/output/drawing.hpp"
#include "files/markup.hpp"
#include "files/page_pictures.hpp"
#include "files/page_table.hpp"
#include "files/sweep_chart.hpp"

namespace cradlewright {
namespace {

class TiltsPage {
public:
    TiltsPage(const Design& design, const Sweep& tilts, const std::string& command, const FigureMaker& figure)
        : design_(design), tilts_(tilts), command_(command), figure_(figure), units_(design.settings.units) {}

    [[nodiscard]] std::string html() const {
        return paragraph(
                   "What a little more or less tilt would do. All figures are computed at each tilt from the whole "
                   "scan, up to the parting line; the checks of the finished fixture are made only at the tilt that "
                   "is set, and what the beads will hide is taken by a simple rule here: large drafts may come out "
                   "some "
                   "degrees otherwise. <code>cradlewright sweep</code> tries more tilts and recommends one.") +
               (tilts_.note.empty() ? "" : paragraph(escape_markup(tilts_.note) + ".")) + slider() + table() + chart();
    }

private:
    static std::string degrees(double deg) { return std::isfinite(deg) ? short_number(deg, 1) : "&ndash;"; }
    static std::string degrees_of(double rad) { return degrees(Angle::rad(rad).deg()); }
    [[nodiscard]] std::string length(double mm) const {
        return std::isfinite(mm) ? length_cell(mm, 1, units_) : "&ndash;";
    }
    static std::string percent(double share) {
        return std::isfinite(share) ? std::to_string(std::lround(100 * share)) + " %" : "&ndash;";
    }

    [[nodiscard]] std::string slider() const {
        std::string list;
        std::size_t told = 0;
        for (std::size_t i = 0; i < tilts_.rows.size(); ++i) {
            list += (i == 0 ? "" : " ") + short_number(Angle::rad(tilts_.rows[i].tilt_rad).deg(), 3);
            if (tilts_.rows[i].is_told) told = i;
        }
        return "<div id=\"tilt-try\" hidden>\n<p class=\"view-row\"><label>Try a tilt <input type=\"range\" "
               "id=\"tilt-at\" min=\"0\" max=\"" +
               std::to_string(tilts_.rows.size() - 1) + "\" value=\"" + std::to_string(told) + "\" data-tilts=\"" +
               list + "\" autocomplete=\"off\"></label></p>\n" + picture() +
               "<p id=\"tilt-say\" role=\"status\"></p>\n<p>To design it so: <code id=\"tilt-command\" data-head=\"" +
               escape_markup(command_) + "\"></code></p>\n</div>\n";
    }

    /// The plug's middle section as it stands, about the middle of its box; the script turns it.
    [[nodiscard]] std::string picture() const {
        constexpr double width = 560, margin = 16;
        const Box3& box = design_.posed.box_fixture;
        Box2 seen;
        std::vector<std::vector<Vec2>> loops;
        for (const SliceLoop& loop : section_plug(design_.posed, box.center().x)) {
            loops.push_back(loop.points);
            for (const Vec2 p : loop.points) seen.add(p);
        }
        if (seen.is_empty()) return {};
        const Vec2 middle = seen.center(), size = seen.size();
        double turned = 0, told = 0;
        for (const SweepRow& row : tilts_.rows) told = row.is_told ? row.tilt_rad : told;
        for (const SweepRow& row : tilts_.rows) turned = std::max(turned, std::abs(row.tilt_rad - told));
        const double high = std::min(norm(size), size.y + size.x * std::sin(turned));
        const double scale = std::min((width - 2 * margin) / norm(size), 260 / high);
        const double height = high * scale + 2 * margin + 14;
        std::string d;
        for (const auto& loop : loops)
            for (std::size_t i = 0; i < loop.size(); ++i) {
                const Vec2 p = (loop[i] - middle) * scale;
                d += (i == 0 ? "M" : "L") + fixed(p.x, 1) + ' ' + fixed(-p.y, 1) + (i + 1 == loop.size() ? "Z" : "");
            }
        const std::string x = fixed(width / 2, 0), y = fixed(height / 2, 1);
        return "<figure><svg viewBox=\"0 0 560 " + fixed(height, 0) +
               "\" role=\"img\" aria-labelledby=\"tilt-picture-title\"><title id=\"tilt-picture-title\">The plug cut "
               "at "
               "the middle of its span, seen from end-b, front right, at the tilt tried</title><path class=\"ghost\" "
               "d=\"M8 " +
               y + "H552\"/><text x=\"10\" y=\"" + fixed(height / 2 - 5, 1) +
               "\">level</text><g transform=\"translate(" + x + ' ' + y +
               ")\"><g id=\"tilt-section\"><path class=\"section\" d=\"" + d + "\"/></g></g><text x=\"550\" y=\"" +
               fixed(height - 6, 1) + "\" text-anchor=\"end\">front</text></svg></figure>\n";
    }

    [[nodiscard]] std::string table() const {
        Table table("Tilts tried; positive lifts the front. Draft and undercut are those of the worse half",
                    {{"Tilt, deg", Cell::number},
                     {"Draft, deg", Cell::number},
                     {"Undercut", Cell::number},
                     {"Friction to stay, deg", Cell::number},
                     {"Tips at, deg", Cell::number},
                     {"Height", Cell::number},
                     {"Seen beside the hardest edge", Cell::number}});
        for (const SweepRow& row : tilts_.rows) {
            const std::string tilt = short_number(Angle::rad(row.tilt_rad).deg(), 2) + (row.is_told ? " (as set)" : "");
            if (row.has_line)
                table.row({tilt, degrees(row.draft_deg()), length(row.undercut_mm()),
                           degrees_of(row.standing.slide_rad), degrees_of(row.standing.tip_rad), length(row.height_mm),
                           percent(row.least_access())});
            else
                table.row({tilt, "no line", "&ndash;", "&ndash;", "&ndash;", length(row.height_mm), "&ndash;"});
        }
        return "<div id=\"tilt-table\">" + table.html() + "</div>\n" +
               paragraph(
                   "Friction to stay: the angle up to which pads must hold the plug, no stop helping; 0 means that it "
                   "is held by its shape. Seen: the share of looks into the open mould, turned over, that reach the "
                   "surface beside the edge; under a half you lay cloth by feel.");
    }

    [[nodiscard]] std::string chart() const {
        Picture chart = draw_sweep(tilts_, units_);
        chart.title = "Curves over the tilt";
        chart.description = "The figures of the table above.";
        return figure_(chart, " " + chart.description);
    }

    const Design& design_;
    const Sweep& tilts_;
    const std::string& command_;
    const FigureMaker& figure_;
    UnitSystem units_;
};

}  // namespace

std::string tilts_section(const Design& design, const Sweep& tilts, const std::string& command,
                          const FigureMaker& figure) {
    return TiltsPage(design, tilts, command, figure).html();
}

}  // namespace cradlewright
