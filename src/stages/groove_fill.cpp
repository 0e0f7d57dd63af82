// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/groove_fill.hpp"

#include <algorithm>

namespace cradlewright {

std::vector<GrooveFill> groove_fills(const Beads& beads, const std::vector<ScraperCard>& cards) {
    std::vector<GrooveFill> fills;
    if (!beads.groove) return fills;
    const Groove& groove = *beads.groove;
    const auto kg_mm3 = [](double kg, double mm3) { return mm3 > 0 ? kg / mm3 : 0; };
    const double fill_density = kg_mm3(groove.fill_mass_kg, groove.fill_volume_mm3);
    const double bead_density = kg_mm3(groove.clay_mass_kg, groove.clay_volume_mm3);
    for (std::size_t k = 0; k < beads.runs.size(); ++k) {
        const BeadRun& run = beads.runs[k];
        GrooveFill fill;
        fill.run = run.id, fill.edge = run.edge, fill.length_mm = run.length_mm;
        for (const BeadSection& section : run.sections) {
            if (!section.is_valid) continue;
            fill.depth_mm = std::max(fill.depth_mm, section.plug_strip_mm);
            const double width_mm = norm(section.on_panel - section.joint);
            if (width_mm <= fill.width_mm) continue;
            fill.width_mm = width_mm;
            fill.at = section.joint;
        }
        fill.fill_mm3 = run.volume_mm3, fill.fill_kg = fill_density * run.volume_mm3;
        if (k < groove.runs.size()) {
            fill.bead_mm3 = groove.runs[k].volume_mm3;
            fill.bead_kg = bead_density * fill.bead_mm3;
        }
        for (const ScraperCard& card : cards)
            if (std::ranges::find(card.edges, run.edge) != card.edges.end()) fill.cards.push_back(card.part.id);
        fills.push_back(std::move(fill));
    }
    return fills;
}

}  // namespace cradlewright
