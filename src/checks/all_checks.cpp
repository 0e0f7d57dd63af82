// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/checks/all_checks.hpp"

#include <algorithm>
#include <iterator>

#include "base/parallel.hpp"
#include "checks/families.hpp"

namespace cradlewright {
namespace {

/// A check of the contract that this version does not compute; it says so instead of passing.
std::function<std::vector<Check>(const Design&)> not_computed(std::string id, std::string subject, std::string reason) {
    return [=](const Design&) { return std::vector<Check>{unknown_check(id, subject, reason)}; };
}

std::vector<Check> no_bent_panels(const Design&) {
    return {not_applicable_check("panel.bend", "flange", "every panel is flat")};
}

std::vector<CheckRow> make_rows() {
    const Source removal{"de-berg", "ch. 4, Lemma 4.1 and Theorem 4.2"};
    const Source practice = Source::common_practice("rule of the trade");
    return {
        {"scan.quality", "Is the scan good enough to cut by?",
         "robust noise of vertices along their normals; <= half the panel gap", "flange.gap", practice,
         check_scan_quality},
        {"scan.caliper", "Does the scan measure what the plug measures?", "scan distance less measured distance",
         "caliper", practice, check_scan_caliper},
        {"release.draft", "Is there draft enough to lift each half off?",
         "asin(n . pull) at the area quantile of the moulded surface", "release.min-draft", removal,
         check_release_draft},
        {"release.undercut", "Does anything hook under either half?",
         "largest shift square to the pull that frees a covered face", "release.undercut-limit", removal,
         check_release_undercut},
        {"release.lock", "Does the mould's edge let go?",
         "0 if n . pull >= 0 at the bead's tangent, else the overhang of the hidden strip", "release.undercut-limit",
         removal, check_release_lock},
        {"release.flange", "Do the flanges part?", "asin(panel normal . pull)", "release.good-draft", removal,
         check_release_flange},
        {"release.join-gap", "How wide is the strip that neither half moulds?",
         "plug arc between the two halves' trim lines", "bead.join-gap-limit", practice, check_release_join_gap},
        {"pose.tip", "Does the plug stand still on its saddles?", "atan(b / h) >= factor x 5 deg", "limits.tip-factor",
         practice, check_pose_tip},
        {"pose.slide",
         "Does the plug slide on its pads?",
         "steepest rise to climb + atan(friction) >= factor x 5 deg",
         "limits.friction",
         {"from-memory", "Coulomb friction on an incline"},
         check_pose_slide},
        {"cradle.sag",
         "Does the plug sag between ribs?",
         "continuous beam of the plug's sections on its ribs, hand at the worst place",
         "limits.sag",
         {"roark", "ch. 8"},
         check_cradle_sag},
        {"cradle.support", "Does every upright stand and every panel lie?",
         "ties through each upright; uprights and strips under each panel", "cradle.ties", practice,
         check_cradle_support},
        {"cradle.seat", "Do the saddles touch?", "share of saddle length at pad distance from the plug",
         "limits.seat-share", practice, check_cradle_seat},
        {"cradle.drop-in", "Does the plug drop into the cradle?", "overlap of parts with the plug swept upward",
         "limits.clash", Source::derived("swept sections"), check_cradle_drop_in},
        {"cradle.lift-off", "Does the fixture come off downward?", "overlap of uprights with the plug swept upward",
         "limits.clash", Source::derived("swept sections"), check_cradle_lift_off},
        {"cradle.rib-bearing",
         "Do ribs press into the plug or buckle?",
         "pressure of the saddle over what dents the core; pi^2 EI / (2 h)^2 over load",
         "limits.bearing",
         {"roark", "Table 15.1"},
         check_cradle_rib_bearing},
        {"cradle.clash", "Do parts run into each other?", "deepest point of one part inside another", "limits.clash",
         Source::derived("sampled edges"), check_cradle_clash},
        {"panel.deflection",
         "Do panels dip under the squeegee?",
         "thin plate of the panel's outline on ribs and stringers, patch load at the worst place",
         "limits.panel-dip",
         {"timoshenko-plates", "eq. (103)"},
         check_panel_deflection},
        {"panel.bend", "Do bent panels break?", "t / (2 R) against the sheet's strain", "", practice, no_bent_panels},
        {"panel.gap", "Do panels reach the plug?", "clearance panel to plug over the sheet's thickness",
         "flange.gap-limit", practice, check_panel_gap},
        {"stringer.deflection",
         "Do stringers bend?",
         "beam over the ribs that carry it, force at the worst place",
         "limits.stringer-dip",
         {"roark", "ch. 8"},
         check_stringer_deflection},
        {"bead.mould-plies", "Do the mould's plies follow the bead?", "radius met by each ply over its class radius",
         "bead.radius", practice, check_bead_mould_plies},
        {"bead.part-plies", "Do the part's plies follow the mould's lip?",
         "radius met by each ply over its class radius", "bead.radius", practice, check_bead_part_plies},
        {"plug.arris-plies", "Do plies follow the plug's own sharp places?",
         "radius of the place over the class radius", "", practice, check_plug_arris_plies},
        {"bead.cover", "Does the bead hide too much of the plug?", "plug surface from panel line to the bead's foot",
         "bead.cover-limit", practice, check_bead_cover},
        {"tool.inside-radius",
         "Can the tools cut the inside curves?",
         "smallest concave radius on fit edges",
         "saw.blade",
         {"bandsaw-charts", "smallest radius by blade width"},
         check_tool_inside_radius},
        {"stock.fit", "Do the parts fit their stock?", "part's box over the sheet", "", Source::derived("sizes"),
         check_stock_fit},
        {"mould.stiffness",
         "Is the mould stiff enough?",
         "dip of flange and of shell between stiffeners, D of the layers",
         "limits.mould-dip",
         {"krenchel", "efficiency of fibre directions"},
         check_mould_stiffness},
        {"mould.shrinkage",
         "How much shorter than the plug does the mould come out?",
         "resin's linear shrinkage held back by the fibres, times length",
         "limits.shrinkage",
         {"resin-shrinkage-pages", "volume shrinkage"},
         check_mould_shrinkage},
        {"layup.shear",
         "Does the cloth wrinkle?",
         "shear of a pin-jointed net",
         "",
         {"mack-taylor", "J. Text. Inst. 47"},
         not_computed("layup.shear", "cloth", "this version does not compute it; try the cloth dry on the plug first")},
        {"layup.pot-life", "Is the resin spread before it goes off?",
         "batch x time to spread a kilogram <= 0.7 x pot life", "kit.pot-life", practice, check_layup_pot_life},
    };
}

}  // namespace

std::span<const CheckRow> all_checks() {
    static const std::vector<CheckRow> rows = make_rows();
    return rows;
}

const CheckRow* find_check(std::string_view id) {
    const auto rows = all_checks();
    const auto it = std::find_if(rows.begin(), rows.end(), [&](const CheckRow& row) { return row.id == id; });
    return it == rows.end() ? nullptr : &*it;
}

CheckReport run_checks(const Design& design) {
    const std::span<const CheckRow> rows = all_checks();
    std::vector<std::vector<Check>> found(rows.size());
    for_each_piece(rows.size(), 1, [&](std::size_t row, std::size_t) { found[row] = rows[row].run(design); });
    CheckReport report;
    for (std::vector<Check>& checks : found) std::move(checks.begin(), checks.end(), std::back_inserter(report.checks));
    return report;
}

}  // namespace cradlewright
