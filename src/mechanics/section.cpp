// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/mechanics/section.hpp"

#include <vector>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

/// Loops run with material on the left, so inward is the left of the chord.
std::vector<Vec2> inset_loop(const std::vector<Vec2>& loop, double inset_mm) {
    std::vector<Vec2> moved;
    moved.reserve(loop.size());
    for (std::size_t i = 0; i < loop.size(); ++i) {
        const Vec2 before = loop[(i + loop.size() - 1) % loop.size()], after = loop[(i + 1) % loop.size()];
        moved.push_back(loop[i] + perp(normalized(after - before)) * inset_mm);
    }
    return moved;
}

/// A second-moment tensor with its weight and centroid, to be summed about a common centroid.
struct Weighted {
    double weight = 0;
    Vec2 centroid;
    double xx = 0, yy = 0, xy = 0;
};

Weighted sum_about_common_centroid(const Weighted& a, const Weighted& b) {
    Weighted sum;
    sum.weight = a.weight + b.weight;
    if (!(sum.weight > 0)) return sum;
    sum.centroid = (a.centroid * a.weight + b.centroid * b.weight) / sum.weight;
    for (const Weighted& part : {a, b}) {
        const Vec2 d = part.centroid - sum.centroid;
        sum.xx += part.xx + part.weight * d.y * d.y;
        sum.yy += part.yy + part.weight * d.x * d.x;
        sum.xy += part.xy + part.weight * d.x * d.y;
    }
    return sum;
}

}  // namespace

SkinMoments skin_moments(const Slice& slice, double inset_mm) {
    SkinMoments skin;
    double sx = 0, sy = 0, sxx = 0, syy = 0, sxy = 0;
    for (const SliceLoop& loop : slice) {
        if (!loop.is_closed || loop.points.size() < 3) continue;
        const std::vector<Vec2> line = inset_loop(loop.points, inset_mm);
        for (std::size_t i = 0; i < line.size(); ++i) {
            const Vec2 a = line[i], b = line[(i + 1) % line.size()], m = (a + b) * 0.5, d = b - a;
            const double ds = norm(d);
            if (!(ds > 0)) continue;
            skin.length_mm += ds;
            sx += m.x * ds;
            sy += m.y * ds;
            // Exact along a straight piece: mean of x^2 is m^2 + d^2 / 12.
            sxx += (m.y * m.y + d.y * d.y / 12) * ds;
            syy += (m.x * m.x + d.x * d.x / 12) * ds;
            sxy += (m.x * m.y + d.x * d.y / 12) * ds;
            skin.upright_mm += d.y * d.y / ds;
        }
    }
    if (!(skin.length_mm > 0)) return skin;
    skin.centroid = Vec2{sx, sy} / skin.length_mm;
    skin.ixx_mm3 = sxx - skin.length_mm * skin.centroid.y * skin.centroid.y;
    skin.iyy_mm3 = syy - skin.length_mm * skin.centroid.x * skin.centroid.x;
    skin.ixy_mm3 = sxy - skin.length_mm * skin.centroid.x * skin.centroid.y;
    return skin;
}

Elastic isotropic(double e_mpa, double poisson) {
    CRADLEWRIGHT_PRECONDITION(poisson > -1);
    return {e_mpa, e_mpa / (2 * (1 + poisson))};
}

SectionStiffness section_stiffness(const SectionProperties& section, const SkinMoments& skin,
                                   const SectionBuild& build) {
    const double e = build.core.e_mpa;
    const double added = build.skin_mm * (build.skin.e_mpa - e);
    const Weighted core{e * section.area_mm2, section.centroid, e * section.ixx_mm4, e * section.iyy_mm4,
                        e * section.ixy_mm4};
    const Weighted shell{added * skin.length_mm, skin.centroid, added * skin.ixx_mm3, added * skin.iyy_mm3,
                         added * skin.ixy_mm3};
    const Weighted both = sum_about_common_centroid(core, shell);
    if (!(both.yy > 0)) return {};
    return {both.xx - both.xy * both.xy / both.yy,
            solid_shear_factor * build.core.g_mpa * section.area_mm2 +
                build.skin_mm * (build.skin.g_mpa - build.core.g_mpa) * skin.upright_mm};
}

SectionStiffness rectangle_stiffness(double width_mm, double height_mm, const Elastic& elastic) {
    const double area = width_mm * height_mm;
    return {elastic.e_mpa * area * height_mm * height_mm / 12, solid_shear_factor * elastic.g_mpa * area};
}

}  // namespace cradlewright
