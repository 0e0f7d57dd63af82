// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/plate.hpp"

namespace cradlewright {
namespace {

bool is_beyond(const BendMap::Ruling& ruling, Vec2 p) { return cross(ruling.to - ruling.from, p - ruling.from) > 0; }

/// Is the place beyond the plane that halves the angle between the flats on either side of ruling k?
bool is_beyond(const BendMap& bend, std::size_t k, Vec3 place) {
    const Frame3 &before = bend.flats[k], &after = bend.flats[k + 1];
    const Vec3 from = before.to_parent(bend.rulings[k].from), to = before.to_parent(bend.rulings[k].to);
    return dot(cross(before.z + after.z, to - from), place - from) > 0;
}

/// What of the pattern lies between two rulings, as a polygon that reaches past its box.
Polygons between_rulings(const BendMap& bend, std::size_t flat, const Box2& box) {
    const double far = 2 * norm(box.size()) + 1;
    Polygons kept{{box.low - Vec2{1, 1},
                   {box.high.x + 1, box.low.y - 1},
                   box.high + Vec2{1, 1},
                   {box.low.x - 1, box.high.y + 1}}};
    const auto cut = [&](const BendMap::Ruling& ruling, double side) {
        const Vec2 along = normalized(ruling.to - ruling.from), beyond = perp(along) * side;
        const Vec2 a = ruling.from - along * far, b = ruling.to + along * far;
        std::vector<Vec2> away{a, b, b + beyond * far, a + beyond * far};
        if (side < 0) std::reverse(away.begin(), away.end());
        kept = subtract(kept, {away});
    };
    if (flat > 0) cut(bend.rulings[flat - 1], -1);
    if (flat < bend.rulings.size()) cut(bend.rulings[flat], 1);
    return kept;
}

Loop rough_loop(const std::vector<Vec2>& chain) {
    Loop loop;
    for (const Vec2& p : chain) loop.vertices.push_back({p, 0, CutKind::rough});
    return loop;
}

}  // namespace

const Frame3& frame_at(const PlatePart& part, Vec2 pattern) {
    if (!part.bend) return part.frame;
    std::size_t k = 0;
    while (k < part.bend->rulings.size() && is_beyond(part.bend->rulings[k], pattern)) ++k;
    return part.bend->flats[k];
}

const Frame3& frame_near(const PlatePart& part, Vec3 place) {
    if (!part.bend) return part.frame;
    std::size_t k = 0;
    while (k < part.bend->rulings.size() && is_beyond(*part.bend, k, place)) ++k;
    return part.bend->flats[k];
}

Vec3 placed(const PlatePart& part, Vec3 pattern) { return frame_at(part, {pattern.x, pattern.y}).to_parent(pattern); }

std::vector<PlatePart> flats_of(const PlatePart& part) {
    if (!part.bend) return {part};
    const Polygons outline = to_polygons(part.outline, Tolerances{}.chord_mm);
    Box2 box;
    for (const std::vector<Vec2>& chain : outline)
        for (const Vec2& p : chain) box.add(p);
    std::vector<PlatePart> flats;
    for (std::size_t k = 0; k < part.bend->flats.size(); ++k)
        for (const std::vector<Vec2>& chain : intersect(outline, between_rulings(*part.bend, k, box))) {
            if (signed_area(chain) <= 0) {
                if (!flats.empty()) flats.back().outline.holes.push_back(rough_loop(chain));
                continue;
            }
            PlatePart flat;
            flat.id = part.id;
            flat.kind = part.kind;
            flat.outline.outer = rough_loop(chain);
            flat.thickness_mm = part.thickness_mm;
            flat.stock = part.stock;
            flat.frame = part.bend->flats[k];
            flats.push_back(std::move(flat));
        }
    return flats;
}

}  // namespace cradlewright
