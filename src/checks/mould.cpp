// SPDX-License-Identifier: GPL-3.0-or-later
// The finished mould: is it stiff, does it shrink onto the plug.
#include <algorithm>
#include <cmath>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "cradlewright/mechanics/resin.hpp"
#include "cradlewright/stages/mould_skin.hpp"

namespace cradlewright {
namespace {

/// What a builder calls the place, and how its dip is worked out.
std::string subject_of(const Settings& settings, const MouldPlace& place) {
    return (place.kind == MouldPlace::Kind::flange ? "flange of "
            : settings.mould.back == "no"          ? "shell without stiffeners, "
                                                   : "shell between stiffeners, ") +
           length_text(settings, place.reach_mm);
}

std::string formula_of(const MouldPlace& place) {
    return place.kind == MouldPlace::Kind::flange
               ? "long plate clamped at the mould's wall, squeegee on its free edge: c P a^2 / D"
               : "long flat strip between stiffeners, force in its middle: 0.01695 P b^2 / D; curved shells are "
                 "stiffer";
}

/// A narrower place, where no sensible number of plies is enough.
std::string stiffer_place(const Settings& settings, const Laminate& laminate, const MouldPlace& place) {
    MouldPlace narrow{place.kind, std::floor(place.reach_mm), place.at};
    while (narrow.reach_mm > 1 && mould_dip_mm(narrow, laminate, settings).high > settings.limits.mould_dip.mm())
        narrow.reach_mm -= 1;
    const std::string reach = length_to_set(settings, narrow.reach_mm, Rounding::down);
    return place.kind == MouldPlace::Kind::flange
               ? "make the flange " + reach + " wide (flange.width) or rib it to that"
               : (settings.mould.back == "no" ? "set mould.back to auto and " : "set ") + std::string("stiffeners ") +
                     reach + " apart (mould.stiffener-spacing)";
}

/// The told plies with more of the last cloth until the soft end passes.
std::string more_plies(const Settings& settings, Laminate laminate, const MouldPlace& place) {
    const double limit = settings.limits.mould_dip.mm();
    PlyRun& last = laminate.plies.back();
    while (mould_dip_mm(place, laminate, settings).high > limit && laminate_thickness_mm(laminate) < thickest_skin_mm)
        ++last.count;
    if (mould_dip_mm(place, laminate, settings).high > limit) return stiffer_place(settings, laminate, place);
    std::string plies;
    for (const PlyRun& run : laminate.plies)
        plies += (plies.empty() ? "" : ", ") + run.cloth.name + " x" + std::to_string(run.count);
    const double t = laminate_thickness_mm(laminate);
    return "lay up \"" + plies + "\" (laminate.mould.plies), " + length_text(settings, t) + ", or stiffen it to that";
}

Check stiffness_check(const Settings& settings, const Laminate& laminate, const MouldPlace& place) {
    const Spread dip = mould_dip_mm(place, laminate, settings);
    Check c;
    c.id = "mould.stiffness";
    c.subject = subject_of(settings, place);
    c.value = Quantity::of(Length::mm(dip.value));
    c.low = Quantity::of(Length::mm(dip.low));
    c.high = Quantity::of(Length::mm(dip.high));
    c.limit = Quantity::of(settings.limits.mould_dip);
    c.relation = Relation::at_most;
    c.at = place.at;
    c.formula = formula_of(place) + "; D of the layers about their neutral plane, plies by rule of mixtures";
    c.source = {"krenchel", "efficiency of fibre directions, from memory; plates from Jaramillo and Timoshenko"};
    c = judged(std::move(c));
    c.advice = c.verdict == Verdict::pass
                   ? length_text(settings, laminate_thickness_mm(laminate)) + " of laminate carry it"
                   : more_plies(settings, laminate, place);
    return c;
}

std::string calmer_resin(const Settings& settings, const Laminate& laminate, double allowed) {
    const double volume = calmest_resin(settings, laminate, allowed);
    return volume > 0 ? "take a resin that shrinks by at most " + fixed(100 * volume, 1) +
                            " % of its volume (mould.resin-shrinkage)"
                      : "no resin shrinks so little: allow for it in the plug, or raise limits.shrinkage";
}

}  // namespace

std::vector<Check> check_mould_stiffness(const Design& design) {
    const Laminate laminate = make_laminate(design.settings, design.settings.laminate_mould, "laminate.mould.plies");
    if (laminate.plies.empty()) return {unknown_check("mould.stiffness", "mould", "laminate.mould.plies is empty")};
    std::vector<Check> checks;
    for (MouldPlace place : mould_places(design.posed, design.flange, design.settings)) {
        // Plates as they came to stand, which is never wider than planned.
        if (place.kind == MouldPlace::Kind::shell && design.back.has_plates())
            place.reach_mm = shell_reach_mm(design.posed.box_fixture.size(), design.back.free_width_mm());
        checks.push_back(stiffness_check(design.settings, laminate, place));
    }
    return checks;
}

std::vector<Check> check_mould_shrinkage(const Design& design) {
    const Settings& settings = design.settings;
    const Laminate laminate = make_laminate(settings, settings.laminate_mould, "laminate.mould.plies");
    if (laminate.plies.empty()) return {unknown_check("mould.shrinkage", "mould", "laminate.mould.plies is empty")};
    const Spread shrinkage = mould_shrinkage(settings, laminate, resin_shrinkage(settings));
    const Vec3 size = design.posed.box_fixture.size();
    const double length = std::max(size.x, size.y), width = std::min(size.x, size.y);
    Check c;
    c.id = "mould.shrinkage";
    c.subject = "mould, over " + length_text(settings, length);
    c.value = Quantity::of(Length::mm(shrinkage.value * length));
    c.low = Quantity::of(Length::mm(shrinkage.low * length));
    c.high = Quantity::of(Length::mm(shrinkage.high * length));
    c.limit = Quantity::of(settings.limits.shrinkage);
    c.relation = Relation::at_most;
    c.formula = "(1 - (1 - v)^(1/3)) Em (1 - Vf) / E x share of the cure after gel x length";
    c.source = {"resin-shrinkage-pages", "volume shrinkage; share after gel 0.3-0.5 from memory"};
    c = judged(std::move(c));
    const double draft = settings.release.good_draft.rad();
    const double lift = lift_to_free_mm(shrinkage.value, width, draft);
    c.advice = c.verdict != Verdict::pass ? calmer_resin(settings, laminate, c.limit.value / length)
               : std::isfinite(lift)      ? "walls with " + fixed(settings.release.good_draft.deg(), 1) +
                                           " deg of draft let go after " + length_text(settings, lift) + " of lift"
                                     : "upright walls grip until the mould bends: wedge it off in small steps";
    return {std::move(c)};
}

}  // namespace cradlewright
