// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/checks/design.hpp"

namespace cradlewright {

std::vector<const PlatePart*> fixture_parts(const Design& design) {
    std::vector<const PlatePart*> parts;
    for (const FlangePanel& panel : design.flange.panels) parts.push_back(&panel.part);
    for (const PlatePart& strap : design.flange.straps) parts.push_back(&strap);
    for (const Rib& rib : design.cradle.ribs) parts.push_back(&rib.part);
    for (const Rib& rib : design.cradle.long_ribs) parts.push_back(&rib.part);
    for (const Stringer& stringer : design.cradle.stringers) parts.push_back(&stringer.part);
    for (const PlatePart& tie : design.cradle.ties) parts.push_back(&tie);
    for (const PlatePart& stop : design.cradle.stops) parts.push_back(&stop);
    // A design without a parting line has no base.
    if (!design.cradle.base.outline.outer.vertices.empty()) parts.push_back(&design.cradle.base);
    return parts;
}

std::vector<const PlatePart*> all_parts(const Design& design) {
    std::vector<const PlatePart*> parts = fixture_parts(design);
    for (const ScraperCard& card : design.cards) parts.push_back(&card.part);
    for (const PlatePart& part : design.templates) parts.push_back(&part);
    for (const BackHalf& half : design.back.halves)
        for (const BackPlate& plate : half.plates) parts.push_back(&plate.part);
    return parts;
}

}  // namespace cradlewright
