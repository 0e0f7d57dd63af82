// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "checks/advice.hpp"
#include "checks/families.hpp"

namespace cradlewright {
namespace {

/// The gap to plan for, or how to bridge what the panel's shape opens beyond the planned one.
std::string narrower_gap(const Settings& settings, double widest_mm) {
    constexpr double least_gap_mm = 0.2;  // less cannot be sawn; assumed
    const double opened_mm = std::max(0.0, widest_mm - settings.flange.gap.mm());
    const double gap_mm = settings.flange.gap_limit.mm() - opened_mm;
    if (gap_mm >= least_gap_mm) return "set flange.gap to " + length_to_set(settings, gap_mm, Rounding::down);
    return "pack it with a strip of foam so that clay bridges " + length_to_set(settings, widest_mm, Rounding::up) +
           " (flange.gap-limit)";
}

}  // namespace

std::vector<Check> check_panel_bend(const Design& design) {
    std::vector<Check> checks;
    for (const FlangePanel& panel : design.flange.panels) {
        if (!panel.is_curved()) continue;
        const Stock& sheet = stock(design.settings, panel.part.stock);
        Check c;
        c.id = "panel.bend";
        c.subject = panel.id;
        c.value = c.low = c.high = Quantity::of(Length::mm(panel.bend_radius_mm));
        c.limit = Quantity::of(Length::mm(least_bend_radius_mm(sheet)));
        c.relation = Relation::at_least;
        c.at = panel.point;
        c.formula = "least radius on the sheet; limit thickness / (2 x " +
                    fixed(100 * material(sheet.material).bend_strain, 1) + " % strain of its skin)";
        c.source = Source::common_practice("cold bend of dry plywood and hardboard; plastics bear more");
        c = judged(std::move(c));
        const double thickness_mm = 2 * material(sheet.material).bend_strain * panel.bend_radius_mm;
        c.advice = c.verdict == Verdict::pass
                       ? "bends cold over the ribs; fix its middle first, then outward"
                       : "take a sheet of at most " + length_to_set(design.settings, thickness_mm, Rounding::down) +
                             " (flange.stock), or set edge." + panel.edge + ".panel to flat";
        checks.push_back(std::move(c));
    }
    if (checks.empty()) checks.push_back(not_applicable_check("panel.bend", "flange", "every panel is flat"));
    return checks;
}

std::vector<Check> check_panel_gap(const Design& design) {
    if (design.flange.panels.empty()) return {unknown_check("panel.gap", "flange", "no panel was laid")};
    // The gap is measured to the scanned surface, so it is as uncertain as that.
    const double noise = design.posed.plug.noise_mm;
    std::vector<Check> checks;
    for (const FlangePanel& panel : design.flange.panels) {
        Check c;
        c.id = "panel.gap";
        c.subject = panel.id;
        c.value = Quantity::of(Length::mm(panel.max_gap_mm));
        c.low = Quantity::of(Length::mm(std::max(0.0, panel.max_gap_mm - noise)));
        c.high = Quantity::of(Length::mm(panel.max_gap_mm + noise));
        c.limit = Quantity::of(design.settings.flange.gap_limit);
        c.relation = Relation::at_most;
        c.at = panel.max_gap_at;
        c.formula =
            "largest clearance panel to plug along the inner edge, least over the sheet's thickness at each place";
        c.source = Source::common_practice("clay bridges 2 mm without sagging");
        c = judged(std::move(c));
        c.advice = c.verdict == Verdict::pass
                       ? "fill the gap of up to " + length_text(design.settings, panel.max_gap_mm) +
                             " with clay before the bead"
                       : narrower_gap(design.settings, c.high.value);
        checks.push_back(std::move(c));
    }
    return checks;
}

}  // namespace cradlewright
