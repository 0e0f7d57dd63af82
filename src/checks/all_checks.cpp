// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/checks/all_checks.hpp"

#include <algorithm>
#include <iterator>

#include "base/parallel.hpp"
#include "checks/families.hpp"
#include "checks/symbols.hpp"

namespace cradlewright {
namespace {

std::vector<CheckRow> make_rows() {
    const Source removal{"de-berg", "ch. 4, Lemma 4.1 and Theorem 4.2"};
    const Source practice = Source::common_practice("rule of the trade");
    return {
        {"scan.quality", "Is the scan good enough to cut by?",
         "noise along the normals, 1.4826 x median of |d| / f, <= g / 2", "flange.gap", practice, check_scan_quality},
        {"scan.caliper", "Does the scan measure what the plug measures?",
         "|m - c| <= 0.5 mm or 0.3 % of c, whichever is larger", "caliper", practice, check_scan_caliper},
        {"release.draft", "Is there draft enough to lift each half off?",
         "asin(n . p) that all but the share q of the moulded area exceeds, >= a_min", "release.min-draft", removal,
         check_release_draft},
        {"release.undercut", "Does anything hook under either half?",
         "largest shift u that frees a covered face, <= u_max", "release.undercut-limit", removal,
         check_release_undercut},
        {"release.lock", "Does the mould's edge let go?",
         "h, 0 where n . p >= 0 at the bead's tangent, plus e b - z where that is more than 0; <= u_max",
         "release.undercut-limit", removal, check_release_lock},
        {"release.flange", "Do the flanges part?", "asin(N . p) >= a_good for every p; pegs: a_l - c >= a_min",
         "release.good-draft", removal, check_release_flange},
        {"release.join-gap", "How wide is the strip that neither half moulds?", "w1 + w2 <= w_max",
         "bead.join-gap-limit", practice, check_release_join_gap},
        {"pose.tip", "Does the plug stand still on its saddles?", "atan(b / h) >= 5 deg x k", "limits.tip-factor",
         practice, check_pose_tip},
        {"pose.slide",
         "Does the plug slide on its pads?",
         "t + atan(m) >= 5 deg x k; 90 deg where a stop or a panel's edge bears",
         "limits.friction",
         {"from-memory", "Coulomb friction on an incline"},
         check_pose_slide},
        {"cradle.sag",
         "Does the plug sag between ribs?",
         "deepest place of a continuous beam EI, GA on the ribs under q and P, <= w_max",
         "limits.sag",
         {"roark", "ch. 8"},
         check_cradle_sag},
        {"cradle.support", "Does every upright stand and every panel lie?",
         "N >= N_min; a strip along a panel counts as two uprights", "cradle.ties", practice, check_cradle_support},
        {"cradle.seat", "Do the saddles touch?", "share of the saddle's length with |d - t| <= e, >= S_min",
         "limits.seat-share", practice, check_cradle_seat},
        {"cradle.drop-in", "Does the plug drop into the cradle?",
         "largest d of a part with the plug swept upward <= d_max", "limits.clash", Source::derived("swept sections"),
         check_cradle_drop_in},
        {"cradle.lift-off", "Does the fixture come off downward?",
         "largest d of an upright with the plug swept upward <= d_max", "limits.clash",
         Source::derived("swept sections"), check_cradle_lift_off},
        {"cradle.rib-bearing",
         "Do ribs press into the plug or buckle?",
         "k R / (b t) / s_c <= B_max; pi^2 E (b t^3 / 12) / (2 h)^2 / R >= n_min",
         "limits.bearing",
         {"roark", "Table 15.1"},
         check_cradle_rib_bearing},
        {"cradle.clash", "Do parts run into each other?", "largest d of any two parts <= d_max", "limits.clash",
         Source::derived("sampled edges"), check_cradle_clash},
        {"panel.deflection",
         "Do panels dip under the squeegee?",
         "dip of the panel's outline as a thin plate D on ribs and stringers, F over s at the worst place, <= w_max or "
         "w_away",
         "limits.panel-dip",
         {"timoshenko-plates", "eq. (103)"},
         check_panel_deflection},
        {"panel.bend", "Do bent panels break?", "R >= t / (2 e)", "", practice, check_panel_bend},
        {"panel.gap", "Do panels reach the plug?", "c over the sheet's whole thickness <= g_max", "flange.gap-limit",
         practice, check_panel_gap},
        {"stringer.deflection",
         "Do stringers bend?",
         "deepest place of a beam E I over the uprights that carry it, F at the worst place, <= w_max",
         "limits.stringer-dip",
         {"roark", "ch. 8"},
         check_stringer_deflection},
        {"bead.mould-plies", "Do the mould's plies follow the bead?", "R >= Rc and R - b >= 0.75 Rc for each ply",
         "bead.radius", practice, check_bead_mould_plies},
        {"bead.part-plies", "Do the part's plies follow the mould's lip?",
         "R >= Rc' and R + b >= 0.75 Rc' for each ply, Rc' = Rc / 3 but at least 3 mm", "bead.radius", practice,
         check_bead_part_plies},
        {"plug.arris-plies", "Do plies follow the plug's own sharp places?",
         "r less or plus b against Rc, inside corners as mould plies on beads, outside ones as part plies", "",
         practice, check_plug_arris_plies},
        {"bead.cover", "Does the bead hide too much of the plug?", "w at the widest place <= w_max", "bead.cover-limit",
         practice, check_bead_cover},
        {"tool.inside-radius",
         "Can the tools cut the inside curves?",
         "r >= r_blade, or r_drum after relief cuts; r >= r_cutter by router",
         "saw.blade",
         {"bandsaw-charts", "smallest radius by blade width"},
         check_tool_inside_radius},
        {"stock.fit", "Do the parts fit their stock?", "L / A and W / B <= 1, better of two directions", "",
         Source::derived("sizes"), check_stock_fit},
        {"mould.stiffness",
         "Is the mould stiff enough?",
         "c F a^2 / D of the flange and 0.01695 F b^2 / D of the shell, <= w_max",
         "limits.mould-dip",
         {"krenchel", "efficiency of fibre directions"},
         check_mould_stiffness},
        {"mould.shrinkage",
         "How much shorter than the plug does the mould come out?",
         "(1 - (1 - v)^(1/3)) Em (1 - Vf) / E x g L <= s_max",
         "limits.shrinkage",
         {"resin-shrinkage-pages", "volume shrinkage"},
         check_mould_shrinkage},
        {"mould.stand-tip", "Does the turned-over mould stand still?",
         "atan(b / h) >= 5 deg x k; on its rim m g b / a >= F", "limits.tip-factor", practice, check_mould_stand_tip},
        {"layup.shear",
         "Does the cloth wrinkle?",
         "largest g of a pin-jointed net over the surface <= g_lock",
         "kit.pieces",
         {"mack-taylor", "J. Text. Inst. 47"},
         check_layup_shear},
        {"layup.pot-life", "Is the resin spread before it goes off?", "B k <= 0.7 T x 2^((T0 - Tr) / 10)",
         "kit.pot-life", practice, check_layup_pot_life},
    };
}

}  // namespace

std::span<const CheckRow> all_checks() {
    static const std::vector<CheckRow> rows = [] {
        std::vector<CheckRow> made = make_rows();
        for (CheckRow& row : made) row.symbols = symbols_of(row.id);
        return made;
    }();
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
