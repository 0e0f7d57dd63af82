// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/page_release.hpp"

#include <algorithm>
#include <cmath>

#include "files/page_plots.hpp"
#include "files/report_rows.hpp"

namespace cradlewright {
namespace {

class ReleaseSection : PageWords {
public:
    ReleaseSection(const Design& design, PageFigures& figures)
        : PageWords(design.settings.units), design_(design), figures_(figures) {}

    std::string parting_section() {
        const Parting& parting = design_.parting;
        if (!parting.is_found()) {
            return paragraph("No parting line: <b>" + escape_markup(parting.reason) + "</b>");
        }
        std::string html = note(parting.reason) + figures_.described(draw_top_view(design_));
        Table edges("Edges of the parting line", {{"Edge"},
                                                  {"Rule"},
                                                  {"Length", Cell::number},
                                                  {"Lowest point", Cell::number},
                                                  {"Highest point", Cell::number}});
        for (const PartingLoop& loop : parting.loops) {
            for (const PartingEdge& edge : loop.edges) {
                const auto [length, low, high] = measure(loop, edge);
                edges.row({id(edge.id), std::string(edge_rule_name(edge.rule)), len(length), len(low), len(high)});
            }
        }
        return html + edges.html() + figures_.described(draw_drafts(design_)) + release_table() + locks_table();
    }

private:
    struct EdgeMeasure {
        double length, low, high;
    };
    static EdgeMeasure measure(const PartingLoop& loop, const PartingEdge& edge) {
        const std::size_t n = loop.panel_line.size();
        EdgeMeasure m{0, loop.panel_line[edge.first].z, loop.panel_line[edge.first].z};
        std::size_t i = edge.first;
        do {
            const std::size_t next = (i + 1) % n;
            m.length += norm(loop.panel_line[next] - loop.panel_line[i]);
            m.low = std::min(m.low, loop.panel_line[next].z);
            m.high = std::max(m.high, loop.panel_line[next].z);
            i = next;
        } while (i != edge.last);
        return m;
    }

    std::string release_table() const {
        const HalfRelease& a = design_.release.half1;
        const HalfRelease& b = design_.release.half2;
        Table table("How the halves leave the plug", {{""}, {"Half 1", Cell::number}, {"Half 2", Cell::number}});
        const double share = design_.settings.release.draft_quantile;
        table.row({"Draft that all but " + short_number(share * 100, 2) + " % of the area exceed",
                   angle_deg(a.draft_p01_deg), angle_deg(b.draft_p01_deg)});
        table.row({"Width of the low-draft band at the edge", len(a.low_band_mm), len(b.low_band_mm)});
        table.row({"Area turned away from the pull", area(a.undercut_area_mm2), area(b.undercut_area_mm2)});
        table.row({"Area locked under other faces", area(a.locked_area_mm2), area(b.locked_area_mm2)});
        table.row({"Depth of the worst undercut", len(a.undercut_depth_mm), len(b.undercut_depth_mm)});
        const HalfPull &best1 = design_.release.best1, &best2 = design_.release.best2;
        const Pose& pose = design_.posed.pose;
        table.row({"Pull, plug's frame", id(direction(pose.pull_plug)), id(direction(pose.pull2_plug))});
        table.row({"Least draft of any facing along it, beads or not", angle_deg(best1.told_draft_deg),
                   angle_deg(best2.told_draft_deg)});
        table.row({"Best pull of the half, plug's frame", id(direction(best1.direction_plug)),
                   id(direction(best2.direction_plug))});
        table.row({"Least draft along that", angle_deg(best1.draft_deg), angle_deg(best2.draft_deg)});
        std::string text = table.html();
        if (pose.has_own_pull_2())
            text += paragraph("Half 2's pull (" + escape_markup(pose.pull2_from) + ") leans " +
                              angle(pose.pulls_lean_rad()) +
                              " from the opposite of half 1's. The locators' axes halve that angle.");
        return text + left_out_text("half 1", best1) + left_out_text("half 2", best2);
    }

    /// Only edges where something pulls either way; the rest let go as they are.
    [[nodiscard]] std::string locks_table() const {
        Table table("What holds the mould's edges", {{"Half"},
                                                     {"Edge"},
                                                     {"Overrun", Cell::number},
                                                     {"Split", Cell::number},
                                                     {"Bead", Cell::number},
                                                     {"Shrinkage", Cell::number},
                                                     {"Depth", Cell::number},
                                                     {"Held by"}});
        bool is_empty = true;
        for (const EdgeLock& lock : design_.locks) {
            if (!(lock.depth_mm.high > 0) && !(lock.overrun_mm + lock.split_mm > 0)) continue;
            table.row(
                {std::to_string(lock.half), id(lock.edge), fine(lock.overrun_mm), fine(lock.split_mm),
                 fine(lock.bead_mm), fine(lock.shrinkage_mm),
                 fine(lock.depth_mm.value) + " (" + fine(lock.depth_mm.low) + " to " + fine(lock.depth_mm.high) + ")",
                 std::string(lock_cause_name(lock.holds))});
            is_empty = false;
        }
        return is_empty ? paragraph("Nothing holds the mould's edges: overrun, split and shrinkage are free there.")
                        : table.html();
    }

    /// The facings too thin to decide the best pull, summed up by the worst.
    [[nodiscard]] std::string left_out_text(const std::string& half, const HalfPull& best) const {
        const std::vector<LeftOutFacing>& left_out = best.left_out;
        if (left_out.empty()) return {};
        double area_mm2 = 0;
        for (const LeftOutFacing& facing : left_out) area_mm2 += facing.area_mm2;
        return paragraph("Left out of the best pull of " + half + ": " +
                         counted(left_out.size(), "direction", "directions") + " in which " + area(area_mm2) +
                         " face in all; the worst, " + id(direction(left_out.front().normal_plug)) + ", has " +
                         angle_deg(left_out.front().draft_deg) + ".");
    }

    const Design& design_;
    PageFigures& figures_;
};

}  // namespace

std::string parting_section(const Design& design, PageFigures& figures) {
    return ReleaseSection(design, figures).parting_section();
}

}  // namespace cradlewright
