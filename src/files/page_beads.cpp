// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/page_beads.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/stages/groove_fill.hpp"
#include "cradlewright/stages/ramp_plies.hpp"
#include "files/report_rows.hpp"

namespace cradlewright {
namespace {

class BeadsSection : PageWords {
public:
    BeadsSection(const Design& design, PageFigures& figures)
        : PageWords(design.settings.units), design_(design), figures_(figures) {}

    std::string beads_section() {
        const Beads& beads = design_.beads;
        if (beads.runs.empty()) {
            return paragraph("No beads: " + escape_markup(beads.radius_from) + ".") + joint_text();
        }
        Table table("Runs", {{"Bead"},
                             {"Panel"},
                             {"Shape", Cell::number},
                             {"Length", Cell::number},
                             {"Corner", Cell::number},
                             {"Clay", Cell::number}});
        const BeadSection* sharpest = nullptr;
        for (const BeadRun& run : beads.runs) {
            table.row({id(run.id), id(run.panel), clay_shape(run), len(run.length_mm),
                       angle(run.corner_min_rad) + " to " + angle(run.corner_max_rad),
                       show({run.volume_mm3, Dimension::volume})});
            for (const BeadSection& s : run.sections) {
                if (s.is_valid && run.kind == BeadKind::round &&
                    (sharpest == nullptr || s.corner_rad < sharpest->corner_rad)) {
                    sharpest = &s;
                }
            }
        }
        std::string html = paragraph("Radius " + len(beads.radius_mm) + ": " + escape_markup(beads.radius_from) +
                                     ". Knead about " + mass(beads.clay_mass_kg) +
                                     " of clay. Between the trim lines of the two halves a strip of at most " +
                                     len(beads.join_gap_mm) + " of the plug stays unmoulded.");
        html += table.html();
        if (sharpest != nullptr) {
            const Picture picture = draw_bead(*sharpest, beads.radius_mm, units_);
            html += "<div class=\"grid\">" +
                    figures_.figure(picture, PageFigures::Breadth::narrow, " " + escape_markup(picture.description)) +
                    "</div>\n";
        }
        return html + cards_table() + ramp_text() + groove_text() + joint_text();
    }

private:
    std::string clay_shape(const BeadRun& run) const {
        switch (run.kind) {
            case BeadKind::round:
                return "round, " + len(run.radius_mm);
            case BeadKind::ramp:
                return "ramp, " + len(run.ramp_height_mm) + " high";
            case BeadKind::none:
                break;
        }
        return "none";
    }

    std::string cards_table() const {
        if (design_.cards.empty()) return {};
        Table table(
            "Scraper cards",
            {{"Card"}, {"Edges"}, {"Leaves"}, {"Between its edges", Cell::number}, {"Corners it meets", Cell::number}});
        for (const ScraperCard& card : design_.cards) {
            std::string edges;
            for (const std::string& edge : card.edges) edges += (edges.empty() ? "" : ", ") + edge;
            const std::string leaves = card.kind == BeadKind::ramp
                                           ? "ramp " + len(card.ramp_height_mm) + " high, step " + len(card.step_mm)
                                           : "bead of " + len(card.radius_mm);
            table.row({id(card.part.id), escape_markup(edges), leaves, angle(card.wedge_rad),
                       angle(card.corner_min_rad) + " to " + angle(card.corner_max_rad)});
        }
        return table.html();
    }

    std::string ramp_text() const {
        const double fill_mm = corner_fill_mm(design_.settings, ramp_places(design_.beads));
        if (!(fill_mm > 0)) return {};
        return paragraph(
            "<b>Ramps.</b> Cloth would bridge the two sharp bends that each ramp leaves in the moulds. When "
            "the gel coat has set off, fill them with resin thickened to a paste, to a radius of " +
            len(fill_mm) + ", and lay the first cloth into it while it is wet.");
    }

    std::string joint_text() const {
        const MouldJoint& joint = design_.joint;
        if (joint.trim.empty()) return {};
        std::string text = "<b>The part's edge.</b> Mould use " +
                           escape_markup(get_setting(design_.settings, "mould.use")) + ": " +
                           escape_markup(joint.trim) + ".";
        return paragraph(text);
    }

    std::string groove_text() const {
        if (!design_.beads.groove) return {};
        const Groove& groove = *design_.beads.groove;
        Table table("The groove before half 2, run by run", {{"Run"},
                                                             {"Length", Cell::number},
                                                             {"Widest", Cell::number},
                                                             {"Deepest", Cell::number},
                                                             {"To fill", Cell::number},
                                                             {"Half 2's bead", Cell::number},
                                                             {"Card"}});
        for (const GrooveFill& fill : groove_fills(design_.beads, design_.cards)) {
            std::string cards;
            for (const std::string& card : fill.cards) cards += (cards.empty() ? "" : ", ") + id(card);
            const auto volume_mass = [&](double mm3, double kg) {
                return show({mm3, Dimension::volume}) + ", " + mass(kg);
            };
            table.row({id(fill.run), len(fill.length_mm), len(fill.width_mm), len(fill.depth_mm),
                       volume_mass(fill.fill_mm3, fill.fill_kg), volume_mass(fill.bead_mm3, fill.bead_kg), cards});
        }
        return paragraph(
                   "<b>For half 2.</b> Half 1's clay leaves a groove between its mould and the plug, up to " +
                   len(groove.width_mm) + " wide at the flange and " + len(groove.depth_mm) +
                   " deep along the plug, with a lip of " + len(design_.beads.radius_mm) +
                   " on the mould's side. Fill it flush with the flange: " + mass(groove.fill_mass_kg) +
                   " of clay, less what stayed in; strike it off with the panel edge of the edge's card. Then lay "
                   "half 2's own bead in the corner over it with the same card: " +
                   mass(groove.clay_mass_kg) + " of clay.") +
               table.html();
    }

    const Design& design_;
    PageFigures& figures_;
};

}  // namespace

std::string beads_section(const Design& design, PageFigures& figures) {
    return BeadsSection(design, figures).beads_section();
}

}  // namespace cradlewright
