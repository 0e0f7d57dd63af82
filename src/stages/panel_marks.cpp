// SPDX-License-Identifier: GPL-3.0-or-later
// What is drawn on a panel's pattern for what it is glued to.
#include <algorithm>
#include <array>
#include <cmath>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/panel_support.hpp"
#include "stages/mark_text.hpp"

namespace cradlewright {
namespace {

constexpr double text_mm = 3, beside_mm = 1.5, inside_mm = 2;

/// Beside its line, where that is on the panel: near the rim first, where no clay hides it.
void label(PlatePart& part, const Polygons& inside, const GlueLine& line) {
    const Vec2 size = mark_text_size(line.part, text_mm);
    const Vec2 along = line.to - line.from, side = perp(normalized(along));
    for (const double share : {0.8, 0.6, 0.4, 0.2, 0.9, 0.1})
        for (const double way : {1.0, -1.0}) {
            const double aside = beside_mm + std::abs(side.x) * size.x / 2 + std::abs(side.y) * size.y / 2;
            const Vec2 low = line.from + along * share + side * (way * aside) - size * 0.5;
            const std::array corners{low, low + Vec2{size.x, 0}, low + size, low + Vec2{0, size.y}};
            if (!std::ranges::all_of(corners, [&](Vec2 p) { return contains(inside, p); })) continue;
            part.marks.push_back({MarkKind::text, {low}, line.part, text_mm});
            return;
        }
}

}  // namespace

Flange mark_glue_lines(Flange flange, const Cradle& cradle, const Settings& settings) {
    for (FlangePanel& panel : flange.panels) {
        const Polygons inside = offset(to_polygons(panel.part.outline), -inside_mm);
        const std::vector<GlueLine> lines = glue_lines(panel, cradle, settings);
        for (const GlueLine& line : lines) {
            panel.part.marks.push_back({MarkKind::line, {line.from, line.to}, "", 0});
            label(panel.part, inside, line);
        }
        if (!lines.empty()) panel.part.note += "; lines: middle of what it is glued to, below";
    }
    return flange;
}

}  // namespace cradlewright
