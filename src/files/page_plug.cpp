// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/page_plug.hpp"

#include <algorithm>
#include <cmath>

#include "files/page_pictures.hpp"
#include "files/report_rows.hpp"

namespace cradlewright {
namespace {

class PlugSections : PageWords {
public:
    PlugSections(const Design& design, PageFigures& figures)
        : PageWords(design.settings.units), design_(design), figures_(figures) {}

    std::string plug_section() {
        const Plug& plug = design_.posed.plug.scanned();
        const Pose& pose = design_.posed.pose;
        const RepairReport& repair = plug.repair;
        std::string html = facts({{"Triangles", std::to_string(plug.mesh->face_count())},
                                  {"Surface", area(plug.mass_properties.area_mm2)},
                                  {"Mass", mass(plug.mass_kg)},
                                  {"Scan noise", fine(plug.noise_mm)},
                                  {"Turn", angle(pose.turn_rad)},
                                  {"Up", escape_markup(pose.up_from)},
                                  {"Span", escape_markup(pose.span_from)},
                                  {"Pull of half 1 (x, y, z)", direction(pose.pull_fixture)},
                                  {"Pull of half 2", direction(pose.pull2_fixture)}});
        html += paragraph(mending_text(repair, plug));
        if (plug.has_assumed_cap)
            html += paragraph(std::string("The scan is open; the cradle stands under a flat across its opening that "
                                          "nobody measured") +
                              (plug.has_volume() ? ", told to be the plug's end."
                                                 : ". Volume and mass are unknown: plug.opening says what is there."));
        const std::string completed = completion_text(plug);
        if (!completed.empty()) html += paragraph(completed);
        return html + figures_.described(draw_end_view(design_));
    }

    std::string extensions_section() const {
        Table table("Pieces", {{"End"},
                               {"Runs"},
                               {"Length", Cell::number},
                               {"Trim step", Cell::number},
                               {"Lean of its outer face", Cell::number},
                               {"Joint filled up to", Cell::number},
                               {"Mass", Cell::number}});
        for (const Extension& e : design_.posed.plug.extensions)
            table.row({id(e.edge), run_of(e), len(e.length_mm), fine(e.trim_step_mm), angle(e.lean_rad), fine(e.gap_mm),
                       mass(e.mass_kg)});
        std::string html = paragraph(
            "A piece set on to the end carries its section outward, so that flange, clay and the ragged ends of the "
            "laminate lie beyond the part. Parting line, panels and saddles run on over it. It stands back by the trim "
            "step, which shows in the part where to trim. All figures of the fixture and of standing safely are with "
            "the pieces on, taken as heavy as the plug for their size.");
        html += table.html() + "<ol>";
        for (const std::string& step : extension_steps()) html += "<li>" + step + "</li>";
        return html + "</ol>" +
               paragraph(
                   "<b>Caution.</b> Cut foam with a hot wire only in moving air and never foam that gives off "
                   "toxic fumes, such as polyurethane or PVC: saw and sand those, with a particle mask. Keep "
                   "hands behind the wire or blade, and follow the data sheets of glue, filler and sealer.");
    }

private:
    std::string run_of(const Extension& e) const {
        if (!e.is_sloped) return "straight along the span";
        const auto tenth = [&](double deg) { return angle_deg(deg); };
        return "sloped as the plug: walls close in by " + tenth(e.slope_deg_low) + " to " + tenth(e.slope_deg_high);
    }

    std::vector<std::string> extension_steps() const {
        std::string templates;
        double gap = 0, step = 0, lean = 0;
        for (const Extension& e : design_.posed.plug.extensions) {
            gap = std::max(gap, e.gap_mm);
            step = std::max(step, e.trim_step_mm);
            lean = std::max(lean, e.lean_rad);
        }
        for (const PlatePart& part : design_.templates) templates += (templates.empty() ? "" : ", ") + id(part.id);
        std::vector<std::string> steps{
            "Cut a block of the plug's material to the length told, ends square, and pin the two templates (" +
            templates +
            ") to its ends, drawn faces outward and both the same way up. Nails through the crosses, where there are "
            "any, stand square to the block's ends. Cut or sand from template to template in straight strokes."};
        if (lean > 0)
            steps.push_back(
                "Mark on the outer end the ridge between the two strokes of the outer template and lean "
                "the face back from it to either side, as the table tells; at the ridge the length stays.");
        steps.push_back(
            "Skin and fill the block as the plug is, and allow for it: the templates are the finished surface.");
        steps.push_back("Dry-fit it to the end: the step to the plug's surface, " + fine(step) +
                        ", must be the same all round. Mark the place, then glue it with " +
                        "what the block's material stands.");
        steps.push_back("Fill the joint, " + (gap > 0.05 ? "up to " + fine(gap) + " deep, " : std::string()) +
                        "flush with the plug up to the joint; keep the step itself sharp and clean.");
        steps.push_back("Seal joint and piece as the plug, polish, and release them with the plug.");
        return steps;
    }

    std::string completion_text(const Plug& plug) const {
        const Completion& c = plug.completion;
        if (c.how == PlugOpening::mirror)
            return "The scan is one half; the other is its mirror image. Its rim was brought on to one plane, by " +
                   fine(c.mirror_move_mm) + " at most.";
        if (c.how != PlugOpening::join) return {};
        return "Two scans were joined: " + fixed(100 * c.overlap, 0) + " % of the second lay on the first, within " +
               fine(c.residual_mm) + " (root mean square); gaps of up to " + fine(c.widest_bridge_mm) +
               " between them were bridged.";
    }

    std::string mending_text(const RepairReport& repair, const Plug& plug) const {
        std::string text =
            "Mending: " + counted(repair.holes_closed, "small hole", "small holes") + " closed, " +
            counted(repair.degenerate_dropped + repair.duplicate_dropped, "useless triangle", "useless triangles") +
            " dropped, " + counted(repair.flipped, "triangle", "triangles") + " turned over, " +
            counted(repair.stray_shells.size(), "stray shell", "stray shells") + " left out, " +
            counted(plug.mesh->openings.size(), "opening", "openings") + " kept.";
        return text + (plug.is_closed ? "" : " The scan is not closed.");
    }

    const Design& design_;
    PageFigures& figures_;
};

}  // namespace

std::string plug_section(const Design& design, PageFigures& figures) {
    return PlugSections(design, figures).plug_section();
}

std::string extensions_section(const Design& design, PageFigures& figures) {
    return PlugSections(design, figures).extensions_section();
}

}  // namespace cradlewright
