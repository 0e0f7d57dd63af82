// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include "checks/advice.hpp"
#include "checks/families.hpp"

namespace cradlewright {
namespace {

const Source removal_source{"de-berg", "ch. 4, Lemma 4.1"};

std::string half_name(int half) { return "half " + std::to_string(half); }

Check undercut_check(const Design& design, int number, const HalfRelease& half) {
    Check c;
    c.id = "release.undercut";
    c.subject = half_name(number);
    // The release map lets pass what a shift within twice the scan's noise clears, so the depth is that uncertain.
    const double depth = half.undercut_depth_mm, doubt = depth > 0 ? 2 * design.posed.plug.noise_mm : 0;
    c.value = Quantity::of(Length::mm(depth));
    c.low = Quantity::of(Length::mm(std::max(0.0, depth - doubt)));
    c.high = Quantity::of(Length::mm(depth + doubt));
    c.limit = Quantity::of(design.settings.release.undercut_limit);
    c.relation = Relation::at_most;
    c.formula = "largest shift square to the pull that frees a face the half covers";
    c.source = removal_source;
    const auto deepest =
        std::max_element(half.patches.begin(), half.patches.end(),
                         [](const LockedPatch& a, const LockedPatch& b) { return a.depth_mm < b.depth_mm; });
    c = judged(std::move(c));
    c.advice = depth > 0 ? "the half springs over it" : "the half lifts off clear";
    if (deepest != half.patches.end()) c.at = deepest->at;
    if (deepest != half.patches.end() && c.verdict != Verdict::pass) {
        c.advice = "fill the place to take out " +
                   length_to_set(design.settings, deepest->depth_mm + doubt, Rounding::up) + " over " +
                   format_quantity(Quantity::of(Area::mm2(deepest->area_mm2)), design.settings.units) +
                   ", or make that part of the mould a loose piece";
        if (number == 1 && design.release.is_feasible)
            c.advice += "; a pull along " + fixed(design.release.best_pull_plug.x, 3) + "," +
                        fixed(design.release.best_pull_plug.y, 3) + "," + fixed(design.release.best_pull_plug.z, 3) +
                        " of the plug would leave " + fixed(design.release.best_draft_deg, 1) + " deg of draft";
    }
    return c;
}

/// The slope to set at a panel's edge, what its line climbs by itself left as it is.
std::string flatter_panel(const Design& design, const FlangePanel& panel, Vec3 normal) {
    const Settings& settings = design.settings;
    const auto told = settings.edges.find(panel.edge);
    const Angle slope =
        told != settings.edges.end() && told->second.slope ? *told->second.slope : settings.flange.slope;
    const auto squared = [](double x) { return x * x; };
    // Gradients across and along the line are square to each other: 1 / (n . pull)^2 = 1 + across^2 + along^2.
    const double lift = dot(normal, design.posed.pose.pull_fixture), across2 = squared(std::tan(slope.rad()));
    const double along2 = std::max(0.0, 1 / squared(lift) - 1 - across2);
    const double room2 = 1 / squared(std::sin(settings.release.good_draft.rad())) - 1 - along2;
    constexpr double slack_deg = 0.01;  // panels are laid on measured lines
    const double steepest =
        rounded_to(Angle::rad(std::atan(std::sqrt(std::max(0.0, room2)))).deg() - slack_deg, 0.1, Rounding::down);
    if (lift > 0 && steepest > 0 && steepest < std::abs(slope.deg()))
        return "set edge." + panel.edge + ".slope to " + fixed(std::copysign(steepest, slope.rad()), 1) + " deg";
    return "the parting line climbs " + fixed(Angle::rad(std::atan(std::sqrt(along2))).deg(), 0) +
           " deg here: turn the plug so that it climbs less than " + fixed(90 - settings.release.good_draft.deg(), 0) +
           " deg";
}

}  // namespace

std::vector<Check> check_release_draft(const Design& design) {
    if (!design.parting.is_found()) return {unknown_check("release.draft", "plug", design.parting.reason)};
    std::vector<Check> checks;
    for (const int half : {1, 2}) {
        const HalfRelease& measured = half == 1 ? design.release.half1 : design.release.half2;
        const double draft_deg = measured.draft_p01_deg;
        if (std::isnan(draft_deg)) {
            checks.push_back(
                not_applicable_check("release.draft", half_name(half), "no measured surface belongs to this half"));
            continue;
        }
        Check c;
        c.id = "release.draft";
        c.subject = half_name(half);
        const double doubt = 0.5 * design.parting.band_deg, good = design.settings.release.good_draft.deg();
        c.value = Quantity::of(Angle::deg(draft_deg));
        c.low = Quantity::of(Angle::deg(draft_deg - doubt));
        c.high = Quantity::of(Angle::deg(draft_deg + doubt));
        c.at = measured.draft_at;
        c.limit = Quantity::of(design.settings.release.min_draft);
        c.good = Quantity::of(design.settings.release.good_draft);
        c.relation = Relation::at_least;
        c.formula = "asin(n . pull) that all but the set share of the moulded area exceeds; bead strip left out";
        c.source = {"draft-trade-articles", "1 deg lower limit, 3 deg preferred"};
        c = judged(std::move(c));
        c.advice = c.verdict == Verdict::pass
                       ? "enough draft: release as usual"
                       : "lean the steep walls of this half by " +
                             fixed(rounded_to(good - (draft_deg - doubt), 0.1, Rounding::up), 1) + " deg more, for " +
                             fixed(good, 1) + " deg of draft in spite of the scan's noise";
        checks.push_back(std::move(c));
    }
    return checks;
}

std::vector<Check> check_release_undercut(const Design& design) {
    if (!design.parting.is_found()) return {unknown_check("release.undercut", "plug", design.parting.reason)};
    return {undercut_check(design, 1, design.release.half1), undercut_check(design, 2, design.release.half2)};
}

std::vector<Check> check_release_flange(const Design& design) {
    if (design.flange.panels.empty()) return {unknown_check("release.flange", "flange", "no panel was laid")};
    std::vector<Check> checks;
    for (const FlangePanel& panel : design.flange.panels) {
        // Half 2 is laid on half 1's flange, so the same plane must leave along both pulls; pull 2 = -pull 1.
        const Vec3 pull = design.posed.pose.pull_fixture;
        FlangePanel::Top top{panel.point, panel.normal};
        for (const PlatePart& flat : flats_of(panel.part))
            if (panel.is_curved() && dot(flat.frame.z, pull) < dot(top.normal, pull))
                top = {flat.frame.to_parent(bounding_box(flat.outline).center()), flat.frame.z};
        const double lift = std::asin(std::clamp(dot(top.normal, pull), -1.0, 1.0));
        Check c;
        c.id = "release.flange";
        c.subject = panel.id;
        c.value = c.low = c.high = Quantity::of(Angle::rad(lift));
        c.limit = Quantity::of(design.settings.release.good_draft);
        c.relation = Relation::at_least;
        c.at = top.point;
        c.formula = "asin(panel normal . pull), the same for both halves";
        c.source = removal_source;
        c = judged(std::move(c));
        c.advice = c.verdict == Verdict::pass ? "lets go along both pulls" : flatter_panel(design, panel, top.normal);
        checks.push_back(std::move(c));
    }
    return checks;
}

}  // namespace cradlewright
