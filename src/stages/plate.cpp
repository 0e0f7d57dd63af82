// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/plate.hpp"

#include <algorithm>
#include <utility>

namespace cradlewright {

std::string_view part_kind_name(PartKind kind) {
    constexpr std::string_view names[] = {"panel", "rib",      "stringer", "tie",   "base",     "stop",
                                          "card",  "template", "cloth",    "strap", "mould-rib"};
    return names[static_cast<std::size_t>(kind)];
}

Loop fitted(const Loop& chain, double tolerance_mm, OutlineFit& fit) {
    FitResult result = fit_lines_and_arcs(chain, {.tolerance_mm = tolerance_mm});
    fit.off_mm = std::max(fit.off_mm, result.max_deviation_mm);
    fit.points += chain.vertices.size();
    fit.edges += result.loop.vertices.size();
    return result.loop;
}

}  // namespace cradlewright
