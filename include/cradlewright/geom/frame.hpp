// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

/// A right-handed orthonormal frame placed in a parent frame: `origin` and axes are given in parent coordinates, mm.
/// Also serves as the rigid motion local -> parent.
struct Frame3 {
    Vec3 origin{};
    Vec3 x{1, 0, 0}, y{0, 1, 0}, z{0, 0, 1};

    [[nodiscard]] Vec3 to_parent(Vec3 local) const { return origin + direction_to_parent(local); }
    [[nodiscard]] Vec3 direction_to_parent(Vec3 local) const { return x * local.x + y * local.y + z * local.z; }
    [[nodiscard]] Vec3 to_local(Vec3 parent) const { return direction_to_local(parent - origin); }
    [[nodiscard]] Vec3 direction_to_local(Vec3 parent) const {
        return {dot(x, parent), dot(y, parent), dot(z, parent)};
    }
    /// Point of the frame's own plane z = 0.
    [[nodiscard]] Vec3 to_parent(Vec2 local) const { return origin + x * local.x + y * local.y; }
    /// Row-major 4x4 matrix of local -> parent.
    [[nodiscard]] std::array<std::array<double, 4>, 4> matrix() const;
};

/// `inner` placed in `outer`: maps inner-local -> outer's parent.
Frame3 compose(const Frame3& outer, const Frame3& inner);
/// The motion parent -> local as a frame.
Frame3 inverse(const Frame3& frame);
/// Rotation about an axis (any length but 0) through the origin by `angle_rad`, right-handed. Source: Rodrigues'
/// formula.
Frame3 rotation_about(Vec3 axis, double angle_rad);
/// A frame whose z is along `normal` (any length but 0) and whose x is the projection of `x_hint`; where the hint has
/// no direction across the normal, of the coordinate axis most square to it.
Frame3 frame_from_normal(Vec3 origin, Vec3 normal, Vec3 x_hint);

}  // namespace cradlewright
