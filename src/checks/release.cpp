// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

const Source removal_source{"de-berg", "ch. 4, Lemma 4.1"};

std::string half_name(int half) { return "half " + std::to_string(half); }

/// As pose.pull and pose.pull-2 read it, plug frame.
std::string direction_text(Vec3 d) { return fixed(d.x, 3) + "," + fixed(d.y, 3) + "," + fixed(d.z, 3); }
constexpr double text_off_deg = 0.1;  // what three decimals turn a direction by, rounded up

/// Would half 2 leave better along its best pull, and does half 1 let it?
bool helps(const Design& design, const HalfPull& best) {
    return best.draft_deg > best.told_draft_deg + text_off_deg &&
           dot(best.direction_plug, design.posed.pose.pull_plug) < -std::sin(design.settings.release.good_draft.rad());
}
std::string another_pull_2(const HalfPull& best) {
    return "set pose.pull-2 to " + direction_text(best.direction_plug) + ", along which its least draft is " +
           fixed(best.draft_deg, 1) + " deg";
}

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
        const HalfPull& best = number == 1 ? design.release.best1 : design.release.best2;
        if (number == 1 && best.is_feasible)
            c.advice += "; a pull along " + direction_text(best.direction_plug) + " of the plug would leave " +
                        fixed(best.draft_deg, 1) + " deg of draft";
        if (number == 2 && best.is_feasible && helps(design, best)) c.advice += "; or " + another_pull_2(best);
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

/// The plane of a panel, or of each flat of a curved one.
std::vector<FlangePanel::Top> tops_of(const FlangePanel& panel) {
    if (!panel.is_curved()) return {{panel.point, panel.normal}};
    std::vector<FlangePanel::Top> tops;
    for (const PlatePart& flat : flats_of(panel.part))
        tops.push_back({flat.frame.to_parent(bounding_box(flat.outline).center()), flat.frame.z});
    return tops;
}

/// Half 2 is laid on half 1's flange, so one plane must let go of the fixture and half 2 along half 1's pull, of half 1
/// along half 2's, and of both when each moves along its own. The last lies between the other two, so it binds only
/// with one of them. Sine of the least angle.
double flange_lift(const Pose& pose, Vec3 normal) {
    const double least = std::min(
        {dot(normal, pose.pull_fixture), -dot(normal, pose.pull2_fixture), dot(normal, pose.opening_fixture())});
    return std::clamp(least, -1.0, 1.0);
}

/// Half 2's pull turned toward the opposite of half 1's until `passes` of it holds; as text to set.
template <class Passes>
std::string pull_2_turned(const Design& design, const Passes& passes) {
    const Pose& pose = design.posed.pose;
    constexpr int steps = 100;
    for (int k = 1; k < steps; ++k) {
        const double share = static_cast<double>(k) / steps;
        Pose turned = pose;
        turned.pull2_fixture = normalized(pose.pull2_fixture * (1 - share) - pose.pull_fixture * share);
        if (!passes(turned)) continue;
        const Vec3 plug = pose.plug_in_scan.direction_to_local(pose.direction_to_scan(turned.pull2_fixture));
        return direction_text(plug);
    }
    return "opposite";
}

std::string straighter_pull_2(const Design& design) {
    // What three decimals turn it by must not matter.
    const double good = std::sin(design.settings.release.good_draft.rad() + Angle::deg(text_off_deg).rad());
    const std::string pull = pull_2_turned(design, [&](const Pose& turned) {
        return std::ranges::all_of(design.flange.panels, [&](const FlangePanel& panel) {
            return std::ranges::all_of(tops_of(panel), [&](const FlangePanel::Top& top) {
                return -dot(top.normal, turned.pull2_fixture) >= good ||
                       dot(top.normal, turned.pull_fixture) < good;  // no pull of half 2 mends that
            });
        });
    });
    return "set pose.pull-2 to " + pull + ", nearer to the opposite of half 1's";
}

/// Draft of the pegs' flanks in the sockets toward the pull that leans more from their axis.
double locator_draft_rad(const Design& design, const Pose& pose) {
    const double lean = std::max(angle_between(pose.opening_fixture(), pose.pull_fixture),
                                 angle_between(pose.opening_fixture(), -pose.pull2_fixture));
    return design.hardware.locator.draft_rad - lean;
}

/// A locator's flank to set: the button must still have a top.
std::string steeper_locator(const Design& design, double missing_rad) {
    Settings settings = design.settings;
    const double deg =
        rounded_to(Angle::rad(settings.mould.locator_draft.rad() + missing_rad).deg(), 0.5, Rounding::up);
    constexpr double most_deg = 45;  // the setting's range
    if (deg > most_deg) return {};
    settings.mould.locator_draft = Angle::deg(deg);
    try {
        locator_shape(settings);
    } catch (const Error&) {
        return {};
    }
    return "set mould.locator-draft to " + fixed(deg, 1) + " deg";
}

Check locator_check(const Design& design) {
    const Pose& pose = design.posed.pose;
    const double draft = locator_draft_rad(design, pose), least = design.settings.release.min_draft.rad();
    Check c;
    c.id = "release.flange";
    c.subject = "pegs in their sockets";
    c.value = c.low = c.high = Quantity::of(Angle::rad(draft));
    c.limit = Quantity::of(design.settings.release.min_draft);
    c.relation = Relation::at_least;
    for (const HardwareItem& item : design.hardware.items)
        if (item.kind == HardwareKind::locator && !c.at) c.at = item.at;
    c.formula = "draft of the locators' flank less the angle from their axis, which halves the two pulls, to either";
    c.source = Source::derived("a cone leaves along any way that leans less from its axis than its flank");
    c = judged(std::move(c));
    c.advice = "the pegs leave their sockets along both pulls";
    if (c.verdict == Verdict::pass) return c;
    const std::string steeper = steeper_locator(design, least - draft);
    const std::string pull = pull_2_turned(design, [&](const Pose& turned) {
        return locator_draft_rad(design, turned) >= least + Angle::deg(text_off_deg).rad();
    });
    const std::string straighter = pose.has_own_pull_2() ? "set pose.pull-2 to " + pull : std::string();
    c.advice = steeper + (steeper.empty() || straighter.empty() ? "" : "; or ") + straighter;
    if (c.advice.empty()) c.advice = "set a larger mould.locator-diameter and more mould.locator-draft";
    return c;
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
        const HalfPull& best = design.release.best2;
        if (half == 2 && c.verdict != Verdict::pass && helps(design, best) &&
            best.draft_deg - text_off_deg >= good + doubt)
            c.advice = another_pull_2(best) + "; or " + c.advice;
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
    const Pose& pose = design.posed.pose;
    const double good = std::sin(design.settings.release.good_draft.rad());
    std::vector<Check> checks;
    for (const FlangePanel& panel : design.flange.panels) {
        FlangePanel::Top top{panel.point, panel.normal};
        for (const FlangePanel::Top& flat : tops_of(panel))
            if (flange_lift(pose, flat.normal) < flange_lift(pose, top.normal)) top = flat;
        Check c;
        c.id = "release.flange";
        c.subject = panel.id;
        c.value = c.low = c.high = Quantity::of(Angle::rad(std::asin(flange_lift(pose, top.normal))));
        c.limit = Quantity::of(design.settings.release.good_draft);
        c.relation = Relation::at_least;
        c.at = top.point;
        c.formula =
            "asin(panel normal . p), the least of p = half 1's pull, the opposite of half 2's, and their difference";
        c.source = removal_source;
        c = judged(std::move(c));
        const bool binds_half_1 = dot(top.normal, pose.pull_fixture) < good;
        c.advice = c.verdict == Verdict::pass ? "lets go along both pulls and their difference"
                   : binds_half_1             ? flatter_panel(design, panel, top.normal)
                                              : straighter_pull_2(design);
        checks.push_back(std::move(c));
    }
    if (std::ranges::count(design.hardware.items, HardwareKind::locator, &HardwareItem::kind) > 0)
        checks.push_back(locator_check(design));
    return checks;
}

}  // namespace cradlewright
