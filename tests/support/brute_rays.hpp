// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <limits>

#include "cradlewright/geom/mesh.hpp"

/// Rays against every triangle, nothing sorted or skipped: the slow way to be right.
namespace cradlewright::test {

/// Distance along unit `direction` to the triangle, NaN where it is missed. Source: T. Moeller, B. Trumbore, "Fast,
/// minimum storage ray/triangle intersection" (1997).
inline double hit_distance(Vec3 from, Vec3 direction, const std::array<Vec3, 3>& c) {
    constexpr double none = std::numeric_limits<double>::quiet_NaN();
    const Vec3 a = c[1] - c[0], b = c[2] - c[0], p = cross(direction, b);
    const double det = dot(a, p);
    if (std::abs(det) < 1e-14) return none;
    const Vec3 s = from - c[0], q = cross(s, a);
    const double u = dot(s, p) / det, v = dot(direction, q) / det;
    if (u < 0 || v < 0 || u + v > 1) return none;
    return dot(b, q) / det;
}

/// Least distance beyond `least` to a face that `counts`; infinity when there is none.
template <class Counts>
double brute_hit(const TriMesh& mesh, Vec3 from, Vec3 direction, double least, Counts&& counts) {
    double nearest = std::numeric_limits<double>::infinity();
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        if (!counts(f)) continue;
        const double t = hit_distance(from, direction, mesh.corners(f));
        if (t > least && t < nearest) nearest = t;
    }
    return nearest;
}

}  // namespace cradlewright::test
