// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

/// p -> x p.x + y p.y + z p.z + origin; may scale, shear and mirror, as scene files do.
struct Affine {
    Vec3 x{1, 0, 0}, y{0, 1, 0}, z{0, 0, 1}, origin{};

    [[nodiscard]] Vec3 turn(Vec3 d) const { return x * d.x + y * d.y + z * d.z; }
    [[nodiscard]] Vec3 operator()(Vec3 p) const { return turn(p) + origin; }
    /// First `inner`, then this.
    [[nodiscard]] Affine after(const Affine& inner) const {
        return {turn(inner.x), turn(inner.y), turn(inner.z), (*this)(inner.origin)};
    }
};

}  // namespace cradlewright
