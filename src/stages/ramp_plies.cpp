// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/ramp_plies.hpp"

#include <algorithm>
#include <numbers>
#include <optional>

#include "cradlewright/mechanics/ply_bend.hpp"
#include "cradlewright/mechanics/ramp_bend.hpp"

namespace cradlewright {
namespace {

/// Empty where panel and plug leave no bend between them.
std::optional<RampBends> bends_of(const BeadSection& section) {
    const Vec3 face = section.on_plug - section.on_panel, panel = section.joint - section.on_panel;
    if (!(norm(face) > 0) || !(norm(panel) > 0)) return std::nullopt;
    const double panel_turn = angle_between(face, panel);
    const double plug_turn = std::numbers::pi - section.corner_rad - panel_turn;
    if (!(panel_turn > 0) || !(plug_turn > 0) || !(section.corner_rad > 0)) return std::nullopt;
    return RampBends{norm(face), panel_turn, plug_turn};
}

void add_runs(const std::vector<BeadRun>& runs, std::vector<RampPlace>& places) {
    for (const BeadRun& run : runs) {
        if (run.kind != BeadKind::ramp) continue;
        for (const BeadSection& section : run.sections) {
            const auto bends = section.is_valid ? bends_of(section) : std::nullopt;
            if (!bends) continue;
            const double valley = valley_radius_mm(*bends), ridge = ridge_radius_mm(*bends);
            const auto known = std::ranges::find(places, run.edge, &RampPlace::edge);
            if (known == places.end()) {
                places.push_back({run.edge, section.joint, section.joint, valley, ridge});
                continue;
            }
            if (valley < known->valley_mm) known->valley_mm = valley, known->valley_at = section.joint;
            if (ridge < known->ridge_mm) known->ridge_mm = ridge, known->ridge_at = section.joint;
        }
    }
}

}  // namespace

std::vector<RampPlace> ramp_places(const Beads& beads) {
    std::vector<RampPlace> places;
    add_runs(beads.runs, places);
    if (beads.groove) add_runs(beads.groove->runs, places);
    return places;
}

double corner_fill_mm(const Settings& settings, const std::vector<RampPlace>& places) {
    if (places.empty()) return 0;
    if (settings.bead.corner_fill != "auto") return parse_length(settings.bead.corner_fill, "bead.corner-fill").mm();
    const PlyCase mould{make_laminate(settings, settings.laminate_mould, "laminate.mould.plies"), Curvature::concave};
    const double needed_mm = smallest_passing_radius_mm(std::span(&mould, 1));
    const double sharpest_mm = std::ranges::min_element(places, {}, &RampPlace::valley_mm)->valley_mm;
    return sharpest_mm < needed_mm ? needed_mm : 0;
}

}  // namespace cradlewright
