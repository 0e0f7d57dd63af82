// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/page_fixture.hpp"

#include <algorithm>
#include <cmath>

#include "files/report_rows.hpp"

namespace cradlewright {
namespace {

class FixtureSections : PageWords {
public:
    FixtureSections(const Design& design, PageFigures& figures)
        : PageWords(design.settings.units), design_(design), figures_(figures) {}

    std::string panels_section() {
        Table table("Panels along the line", {{"Panel"},
                                              {"Edge"},
                                              {"Width", Cell::number},
                                              {"Slope", Cell::number},
                                              {"Thickness", Cell::number},
                                              {"Gap to plug", Cell::number},
                                              {"Line leaves plane by", Cell::number}});
        std::string pictures = "<div class=\"grid\">";
        for (const FlangePanel& p : design_.flange.panels) {
            table.row({id(p.id), escape_markup(p.edge), len(p.width_mm), angle(p.slope_rad), len(p.part.thickness_mm),
                       fine(p.min_gap_mm) + " to " + fine(p.max_gap_mm), fine(p.off_plane_mm)});
            pictures += figures_.figure(draw_panel(p, units_), PageFigures::Breadth::narrow, remark(p.part));
        }
        return paragraph(
                   "The top face of each panel passes through the parting line; the mould's flange is laid on it. The "
                   "pictures "
                   "show it, with overall lengths in " +
                   unit_word() +
                   "; thick edges fit the plug or a neighbour, dashed ones "
                   "touch nothing.") +
               note(design_.flange.note) + table.html() + pictures + "</div>\n";
    }

    std::string ribs_section() {
        const Cradle& cradle = design_.cradle;
        const std::vector<double> offsets = offset_places(cradle, units_);
        std::string html = note(cradle.count_reason) +
                           paragraph(
                               "Thick lines fit the plug's pad, a panel or another part; dashed lines touch nothing. "
                               "Saddle heights are finished cut edges: the pad of " +
                               len(design_.settings.cradle.pad.mm()) + ", as the plug compresses it, comes on top.");
        html += offset_table(cradle, offsets);
        for (const Rib& rib : cradle.ribs) {
            html += "<h3>" + id(rib.part.id) + " at station " + len(rib.station_mm) + "</h3>\n" +
                    figures_.described(draw_rib(rib, offsets, units_), remark(rib.part));
        }
        for (const Rib& rib : cradle.long_ribs)
            html += "<h3>" + id(rib.part.id) + " along the span at y " + len(rib.station_mm) + "</h3>\n" +
                    figures_.described(draw_rib(rib, {}, units_), remark(rib.part));
        return html;
    }

    std::string cradle_section() const {
        Table stringers("Stringers under the panels", {{"Stringer"},
                                                       {"Edge"},
                                                       {"Section", Cell::number},
                                                       {"Length", Cell::number},
                                                       {"Top from (x, y, z)", Cell::number},
                                                       {"to (x, y, z)", Cell::number}});
        for (const Stringer& s : design_.cradle.stringers) {
            stringers.row({id(s.part.id), escape_markup(s.edge), len(s.width_mm) + " &times; " + len(s.height_mm),
                           len(norm(s.to - s.from)), place(s.from), place(s.to)});
        }
        Table joints("Joints", {{"Part"},
                                {"takes"},
                                {"Joint"},
                                {"Width", Cell::number},
                                {"Depth", Cell::number},
                                {"Clearance", Cell::number},
                                {"At (x, y, z)", Cell::number}});
        for (const Joint& j : design_.cradle.joints) {
            const auto given = [&](double mm) { return mm > 0 ? len(mm) : std::string("&ndash;"); };
            joints.row({id(j.part_a), id(j.part_b), std::string(joint_word(j.kind)), given(j.width_mm),
                        given(j.depth_mm), given(j.clearance_mm), place(j.at)});
        }
        return paragraph(
                   "Places are in " + unit_word() +
                   " in the fixture's frame: x toward end-b, y toward the front, z up from the top of the base.") +
               trials_table() + blocks_table() + stringers.html() + joints.html();
    }

private:
    std::string offset_table(const Cradle& cradle, const std::vector<double>& offsets) const {
        std::vector<std::string> heads;
        for (const double y : offsets) {
            heads.push_back("y " + dim(y));
        }
        std::vector<Column> columns{
            {"Rib"}, {"Station", Cell::number}, {"Saddle from y", Cell::number}, {"to y", Cell::number}};
        for (const std::string& head : heads) {
            columns.push_back({head, Cell::number});
        }
        Table table("Table of offsets: saddle height above the base in " + unit_word() +
                        " at distances y from the centre line, front positive",
                    columns);
        for (const Rib& rib : cradle.ribs) {
            const bool has_saddle = !rib.saddle.empty();
            std::vector<std::string> cells{id(rib.part.id), dim(rib.station_mm),
                                           has_saddle ? dim(rib.saddle.front().x) : "&ndash;",
                                           has_saddle ? dim(rib.saddle.back().x) : "&ndash;"};
            for (const double y : offsets) {
                const double height = saddle_height(rib, y);
                cells.push_back(std::isfinite(height) ? dim(height) : "&ndash;");
            }
            table.row(cells);
        }
        return table.html();
    }

    std::string trials_table() const {
        if (design_.cradle.trials.empty()) return "";
        Table table("What was tried before the cradle was chosen: dip or sag at the soft end of the materials' spread",
                    {{"Choice"}, {"Tried"}, {"Comes to", Cell::number}, {"Limit", Cell::number}, {"Enough"}});
        const auto fine = [&](double mm) { return show(Quantity::of(Length::mm(mm))); };
        for (const Trial& t : design_.cradle.trials)
            table.row({escape_markup(t.what), escape_markup(t.tried),
                       std::isfinite(t.value_mm) ? fine(t.value_mm) : "&ndash;", fine(t.limit_mm),
                       t.is_enough ? "yes" : "no"});
        return table.html();
    }

    std::string blocks_table() const {
        Table table("Straps, ties, stops and base", {{"Part"}, {"Kind"}, {"Stock"}, {"Size", Cell::number}, {"Note"}});
        for (const PlatePart* part : all_parts(design_)) {
            if (part->kind == PartKind::strap || part->kind == PartKind::tie || part->kind == PartKind::stop ||
                part->kind == PartKind::base) {
                table.row({id(part->id), std::string(part_kind_name(part->kind)), escape_markup(part->stock),
                           flat_size(*part), escape_markup(part->note)});
            }
        }
        return table.html();
    }

    static std::string_view joint_word(JointKind kind) {
        switch (kind) {
            case JointKind::half_lap:
                return "half lap";
            case JointKind::notch:
                return "notch";
            case JointKind::seat:
                return "seat";
            case JointKind::butt:
                return "butt";
        }
        return "";
    }

    const Design& design_;
    PageFigures& figures_;
};

}  // namespace

std::string panels_section(const Design& design, PageFigures& figures) {
    return FixtureSections(design, figures).panels_section();
}

std::string ribs_section(const Design& design, PageFigures& figures) {
    return FixtureSections(design, figures).ribs_section();
}

std::string cradle_section(const Design& design, PageFigures& figures) {
    return FixtureSections(design, figures).cradle_section();
}

}  // namespace cradlewright
