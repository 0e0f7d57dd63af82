// SPDX-License-Identifier: GPL-3.0-or-later
// What the squeegee does to panels and stringers.
#include <algorithm>
#include <cmath>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "cradlewright/stages/panel_support.hpp"

namespace cradlewright {
namespace {

/// A dip that goes with 1 / E, over the spread of E.
void fill_dip(Check& c, double dip_mm, const Spread& e_mpa, Length limit) {
    c.value = Quantity::of(Length::mm(dip_mm));
    c.low = Quantity::of(Length::mm(dip_mm * e_mpa.value / e_mpa.high));
    c.high = Quantity::of(Length::mm(dip_mm * e_mpa.value / e_mpa.low));
    c.limit = Quantity::of(limit);
    c.relation = Relation::at_most;
}

struct PanelPlace {
    std::string subject;
    double dip_mm = 0;
    Vec3 at;
    Length limit;
};

Check panel_check(const Design& design, const FlangePanel& panel, const PanelPlace& place) {
    const LimitOptions& limits = design.settings.limits;
    Check c;
    c.id = "panel.deflection";
    c.subject = place.subject;
    fill_dip(c, place.dip_mm, material(stock(design.settings, panel.part.stock).material).e_mpa, place.limit);
    c.at = place.at;
    c.formula = "thin plate of the panel's outline on its ribs and stringers, D = E t^3 / (12 (1 - nu^2)), " +
                fixed(limits.squeegee_load.n(), 0) + " N over " +
                length_text(design.settings, limits.squeegee_width.mm()) + " at the worst place";
    c.source = {"timoshenko-plates", "eq. (103), by rectangles with 12 unknowns; limit common practice"};
    c = judged(std::move(c));
    const double needed = panel.part.thickness_mm * std::cbrt(c.high.value / c.limit.value);
    c.advice = c.verdict == Verdict::pass ? "holds the squeegee"
                                          : thicker_sheet(design.settings, "flange.stock", panel.part.stock, needed);
    return c;
}

Check unheld_panel(const Settings& settings, const FlangePanel& panel) {
    const Vec2 size = bounding_box(panel.part.outline).size();
    const double along_x = std::abs(panel.part.frame.x.x) * size.x + std::abs(panel.part.frame.y.x) * size.y;
    return unknown_check("panel.deflection", panel.id,
                         "no rib and no stringer between ribs holds it: set cradle.spacing to " +
                             length_to_set(settings, along_x / 2, Rounding::down) +
                             " or less, or raise flange.planarity so that short panels join");
}

/// Height of strip at which the stringer passes, by steps of a millimetre, and the stock to cut it from.
std::string higher_strip(const Settings& settings, const Stringer& stringer, const std::vector<double>& supports,
                         double e_mpa) {
    const double limit = settings.limits.stringer_dip.mm();
    constexpr double most_mm = 300;
    for (double height = std::floor(stringer.height_mm) + 1; height <= most_mm; ++height) {
        Stringer tried = stringer;
        tried.height_mm = height;
        if (stringer_dip(*stringer_beam(tried, supports, settings, e_mpa), settings).dip_mm > limit) continue;
        std::string text = "set cradle.stringer-height to " + length_to_set(settings, height, Rounding::up);
        const Stock& now = stock(settings, stringer.part.stock);
        if (now.width_mm >= height) return text;
        for (const auto& [name, candidate] : settings.stocks)
            if (candidate.material == now.material && candidate.width_mm >= height &&
                candidate.length_mm >= now.length_mm)
                return text + " and cradle.stringer-stock to " + name;
        return text + ", from a strip that wide (stock." + now.name + ".width)";
    }
    return "set cradle.spacing to " + length_to_set(settings, settings.cradle.spacing.mm() / 2, Rounding::down);
}

}  // namespace

std::vector<Check> check_panel_deflection(const Design& design) {
    if (design.flange.panels.empty()) return {unknown_check("panel.deflection", "flange", "no panel was laid")};
    std::vector<Check> checks;
    for (const FlangePanel& panel : design.flange.panels) {
        const auto dips = panel_dips(panel, panel_run(panel, design.parting),
                                     panel_supports(panel, design.cradle, design.settings), design.settings);
        if (!dips) {
            checks.push_back(unheld_panel(design.settings, panel));
            continue;
        }
        const LimitOptions& limits = design.settings.limits;
        checks.push_back(panel_check(
            design, panel, {panel.id + ", beside the plug", dips->near_plug_mm, dips->near_plug_at, limits.panel_dip}));
        checks.push_back(panel_check(design, panel, {panel.id, dips->away_mm, dips->away_at, limits.panel_dip_away}));
    }
    return checks;
}

std::vector<Check> check_stringer_deflection(const Design& design) {
    std::vector<Check> checks;
    for (const Stringer& stringer : design.cradle.stringers) {
        const Spread& e = material(stock(design.settings, stringer.part.stock).material).e_mpa;
        const std::vector<double> supports = stringer_supports(stringer, design.cradle);
        const auto soft = stringer_beam(stringer, supports, design.settings, e.low);
        if (!soft) {
            checks.push_back(not_applicable_check("stringer.deflection", stringer.part.id,
                                                  "fewer than two ribs carry it: it only stiffens its panel"));
            continue;
        }
        const auto usual = stringer_beam(stringer, supports, design.settings, e.value);
        const auto stiff = stringer_beam(stringer, supports, design.settings, e.high);
        const WorstDip dip = stringer_dip(*usual, design.settings);
        Check c;
        c.id = "stringer.deflection";
        c.subject = stringer.part.id;
        c.value = Quantity::of(Length::mm(dip.dip_mm));
        c.low = Quantity::of(Length::mm(stringer_dip(*stiff, design.settings).dip_mm));
        c.high = Quantity::of(Length::mm(stringer_dip(*soft, design.settings).dip_mm));
        c.limit = Quantity::of(design.settings.limits.stringer_dip);
        c.relation = Relation::at_most;
        const Vec3 along = stringer.to - stringer.from;
        c.at = stringer.from + along * (dip.x_mm / norm(along));
        c.formula = "Timoshenko beam over the ribs that carry it, ends free: own weight and " +
                    fixed(design.settings.limits.squeegee_load.n(), 0) + " N at the worst place";
        c.source = {"roark", "ch. 8, from memory; limit assumed"};
        c = judged(std::move(c));
        c.advice = c.verdict == Verdict::pass ? "holds the squeegee"
                                              : higher_strip(design.settings, stringer, supports, e.low);
        checks.push_back(std::move(c));
    }
    if (checks.empty())
        checks.push_back(not_applicable_check("stringer.deflection", "stringers", "there is no stringer"));
    return checks;
}

}  // namespace cradlewright
