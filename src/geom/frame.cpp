// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/frame.hpp"

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace {

/// Unit axis that makes the largest angle with `direction`; ties go to the earlier axis.
Vec3 least_aligned_axis(Vec3 direction) {
    const double ax = std::abs(direction.x), ay = std::abs(direction.y), az = std::abs(direction.z);
    if (ax <= ay && ax <= az) return {1, 0, 0};
    return ay <= az ? Vec3{0, 1, 0} : Vec3{0, 0, 1};
}

Vec3 rejected(Vec3 from, Vec3 unit) { return from - unit * dot(from, unit); }

}  // namespace

std::array<std::array<double, 4>, 4> Frame3::matrix() const {
    return {{{x.x, y.x, z.x, origin.x}, {x.y, y.y, z.y, origin.y}, {x.z, y.z, z.z, origin.z}, {0, 0, 0, 1}}};
}

Frame3 compose(const Frame3& outer, const Frame3& inner) {
    return {outer.to_parent(inner.origin), outer.direction_to_parent(inner.x), outer.direction_to_parent(inner.y),
            outer.direction_to_parent(inner.z)};
}

Frame3 inverse(const Frame3& frame) {
    return {frame.to_local(Vec3{}), frame.direction_to_local({1, 0, 0}), frame.direction_to_local({0, 1, 0}),
            frame.direction_to_local({0, 0, 1})};
}

Frame3 rotation_about(Vec3 axis, double angle_rad) {
    CRADLEWRIGHT_PRECONDITION(norm(axis) > 0);
    // Renormalised so that an axis written with few digits does not scale the frame.
    const Vec3 unit = normalized(axis);
    const double c = std::cos(angle_rad), s = std::sin(angle_rad);
    const auto turned = [&](Vec3 v) { return v * c + cross(unit, v) * s + unit * (dot(unit, v) * (1 - c)); };
    return {{}, turned({1, 0, 0}), turned({0, 1, 0}), turned({0, 0, 1})};
}

Frame3 frame_from_normal(Vec3 origin, Vec3 normal, Vec3 x_hint) {
    CRADLEWRIGHT_PRECONDITION(norm(normal) > 0);
    // A hint closer to the normal than this (sine of the angle) gives an x axis with fewer than 10 good digits.
    constexpr double least_sine = 1e-6;
    const Vec3 z = normalized(normal);
    const Vec3 hint = normalized(x_hint);
    Vec3 x = rejected(hint, z);
    if (norm(x) < least_sine) x = rejected(least_aligned_axis(z), z);
    // Projecting twice removes the rounding left by the first pass when the hint is nearly along z.
    x = normalized(rejected(normalized(x), z));
    return {origin, x, cross(z, x), z};
}

}  // namespace cradlewright
