// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/geom/frame.hpp"
#include "cradlewright/stages/plug.hpp"

namespace cradlewright {

/// Where points of an outline go as it moves outward: by growth * q + shift for each mm, so every point's way is
/// straight. Exact for cones, pyramids and lofts between two affine images of one section.
struct WallSlope {
    double xx = 0, xy = 0, yx = 0, yy = 0;  ///< growth, 1/mm
    Vec2 shift;

    [[nodiscard]] Vec2 speed(Vec2 q) const { return Vec2{xx * q.x + xy * q.y, yx * q.x + yy * q.y} + shift; }
    [[nodiscard]] Vec2 moved(Vec2 q, double z_mm) const { return q + speed(q) * z_mm; }
    /// Where the point that is at `p` at height z was at height 0. Precondition: narrowest(z) > 0.
    [[nodiscard]] Vec2 moved_back(Vec2 p, double z_mm) const;
    /// Least of what lengths in the plane are multiplied by at height z; negative once the outline is turned over.
    [[nodiscard]] double narrowest(double z_mm) const;
};

/// A flat end of the plug.
struct FlatEnd {
    Frame3 joint;               ///< scan frame: z outward, y up, origin within the section
    double gap_mm = 0;          ///< below the joint plane the section is whole from here on
    double cut_mm = 0;          ///< and surely sound from here on
    WallSlope walls;            ///< at the joint plane
    std::vector<Vec2> outline;  ///< in the joint plane, counter-clockwise, simple
};

/// See src/stages/extension.md. In: unit direction out of the plug at the end, scan frame. Errors: Error(bad_input,
/// "edge.EDGE.extension"). Cost: O(F).
FlatEnd find_flat_end(const Plug& plug, const Frame3& plug_in_scan, Vec3 outward, const std::string& edge);

}  // namespace cradlewright
