// SPDX-License-Identifier: GPL-3.0-or-later
// Plies at the sharp bends of ramps, by the rule for beads.
#include <algorithm>

#include "checks/advice.hpp"
#include "checks/ply_rule.hpp"
#include "cradlewright/checks/design.hpp"
#include "cradlewright/mechanics/ramp_bend.hpp"
#include "cradlewright/stages/ramp_plies.hpp"

namespace cradlewright {
namespace {

std::string filled_to(const Settings& settings, double radius_mm) {
    return "fill both bends of the ramp with resin paste over the gel coat to a radius of " +
           length_text(settings, radius_mm) + " before the cloth";
}

std::string not_filled(const Settings& settings, double radius_mm) {
    return "at the bends the cloth leaves no more than " + length_text(settings, most_void_mm) +
           " under it, as on a radius of " + length_text(settings, radius_mm);
}

std::string round_instead(const RampPlace& place) { return ", or edge." + place.edge + ".bead to round"; }

std::string failed_advice(const Settings& settings, const RampPlace& place, Curvature side, double good_mm) {
    if (side == Curvature::concave)
        return "set bead.corner-fill to " + length_to_set(settings, good_mm, Rounding::up) +
               ", resin paste over the gel coat in both bends of the ramp" + round_instead(place);
    return "set edge." + place.edge + ".bead to round; or trim the part's cloth at the trim line, short of the ridge";
}

}  // namespace

std::vector<Check> check_ramp_plies(const Design& design, const Laminate& laminate, const std::string& id,
                                    Curvature side) {
    const Settings& settings = design.settings;
    const std::vector<RampPlace> places = ramp_places(design.beads);
    const double fill_mm = side == Curvature::concave ? corner_fill_mm(settings, places) : 0;
    std::vector<Check> checks;
    for (const RampPlace& place : places) {
        const double bare_mm = side == Curvature::concave ? place.valley_mm : place.ridge_mm;
        const double radius_mm = std::max(bare_mm, fill_mm);
        const auto fits = judge_plies(laminate, radius_mm, side);
        for (std::size_t run = 0; run < fits.size(); ++run) {
            const RadiusLimits limits = limits_of_run(laminate, run, side);
            Check c = radius_check(id, run_name(fits[run]) + ", ramp of " + place.edge,
                                   {radius_mm, radius_mm, radius_mm}, limits);
            c.formula =
                side == Curvature::concave
                    ? "radius of the paste in the ramp's bends, or the radius whose round over both bends leaves a "
                      "void of 0.5 mm, r (1 / cos(turn / 2) - 1) at one bend; by the rule for beads"
                    : "radius whose round over both ridges stands off the mould by 0.5 mm, r (1 - cos(turn / 2)) "
                      "at one ridge; by the rule for beads";
            c.at = side == Curvature::concave ? place.valley_at : place.ridge_at;
            c = judged(std::move(c));
            if (c.verdict != Verdict::pass)
                c.advice = failed_advice(settings, place, side, limits.good_mm.high);
            else
                c.advice = fill_mm > bare_mm ? filled_to(settings, fill_mm) : not_filled(settings, bare_mm);
            checks.push_back(std::move(c));
        }
    }
    return checks;
}

}  // namespace cradlewright
