// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/nearest_on_triangle.hpp"

namespace cradlewright {

Vec3 nearest_on_triangle(Vec3 p, const std::array<Vec3, 3>& t) {
    const Vec3 ab = t[1] - t[0], ac = t[2] - t[0], ap = p - t[0];
    const double d1 = dot(ab, ap), d2 = dot(ac, ap);
    if (d1 <= 0 && d2 <= 0) return t[0];
    const Vec3 bp = p - t[1];
    const double d3 = dot(ab, bp), d4 = dot(ac, bp);
    if (d3 >= 0 && d4 <= d3) return t[1];
    const double vc = d1 * d4 - d3 * d2;
    if (vc <= 0 && d1 >= 0 && d3 <= 0) return t[0] + ab * (d1 / (d1 - d3));
    const Vec3 cp = p - t[2];
    const double d5 = dot(ab, cp), d6 = dot(ac, cp);
    if (d6 >= 0 && d5 <= d6) return t[2];
    const double vb = d5 * d2 - d1 * d6;
    if (vb <= 0 && d2 >= 0 && d6 <= 0) return t[0] + ac * (d2 / (d2 - d6));
    const double va = d3 * d6 - d5 * d4;
    if (va <= 0 && d4 >= d3 && d5 >= d6) return t[1] + (t[2] - t[1]) * ((d4 - d3) / (d4 - d3 + d5 - d6));
    return t[0] + (ab * vb + ac * vc) / (va + vb + vc);
}

}  // namespace cradlewright
