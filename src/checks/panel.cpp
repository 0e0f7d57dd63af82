// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/families.hpp"

namespace cradlewright {

std::vector<Check> check_panel_gap(const Design& design) {
    if (design.flange.panels.empty()) return {unknown_check("panel.gap", "flange", "no panel was laid")};
    std::vector<Check> checks;
    for (const FlangePanel& panel : design.flange.panels) {
        Check c;
        c.id = "panel.gap";
        c.subject = panel.id;
        c.value = c.high = Quantity::of(Length::mm(panel.max_gap_mm));
        c.low = Quantity::of(Length::mm(panel.min_gap_mm));
        c.limit = Quantity::of(design.settings.flange.gap_limit);
        c.relation = Relation::at_most;
        c.at = panel.max_gap_at;
        c.formula =
            "largest clearance panel to plug along the inner edge, least over the sheet's thickness at each place";
        c.source = Source::common_practice("clay bridges 2 mm without sagging");
        c.advice = panel.max_gap_mm <= design.settings.flange.gap_limit.mm()
                       ? "fill the gap of up to " + fixed(panel.max_gap_mm, 1) + " mm with clay before the bead"
                       : "gap opens to " + fixed(panel.max_gap_mm, 1) + " mm: set flange.planarity below " +
                             fixed(design.settings.flange.planarity.mm() / 2, 2) +
                             " mm so that the edge is split further";
        checks.push_back(judged(std::move(c)));
    }
    return checks;
}

}  // namespace cradlewright
