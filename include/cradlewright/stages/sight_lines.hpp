// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "cradlewright/stages/parting.hpp"
#include "cradlewright/stages/plug_places.hpp"

namespace cradlewright {

/// How much of the ways in which one can look into the open mould end on the moulded surface beside an edge.
struct EdgeAccess {
    std::string edge;               ///< PartingEdge::id; runs of one name together
    std::array<double, 2> share{};  ///< of half 1's and half 2's mould, 0 to 1; NaN where too little surface is near
    [[nodiscard]] double least() const;  ///< of the two that are known; NaN when neither is
};

/// Which way each place of the plug's surface can be seen from inside, as the bottom of a mould is: worked out once for
/// all tilts, since a tilt turns the looks but not the plug. See src/stages/sweep.md for definition and limits.
/// Cost: O(F) for each of 75 axes of looking, spread over the processors; memory 5 bytes a place and axis.
class SightLines {
public:
    /// `places` must outlive this.
    SightLines(const Plug& plug, const Frame3& plug_in_scan, const std::vector<PlugPlace>& places);

    /// Access to the surface within `near_mm` of each edge of the line, edges in the line's order. The mould lies open
    /// side up: looks come from straight above it (fixture -z into half 1's, +z into half 2's) to 60 deg off, and count
    /// less the further off. A look fails where the mould's own surface is in its way or meets the surface at less than
    /// 10 deg. Same bytes at any thread count. Cost: O(places x axes).
    [[nodiscard]] std::vector<EdgeAccess> near_edges(const PosedPlug& posed, const Parting& parting,
                                                     double near_mm) const;

private:
    /// Both ways along one axis.
    struct Axis {
        Vec3 direction;                    // scan frame
        double solid = 0;                  // share of directions that it stands for, any scale
        std::vector<std::int8_t> way;      // a place: +1 seen along the axis, -1 against it, 0 from neither
        std::vector<std::uint32_t> start;  // a place: of its faces in the way
        std::vector<FaceId> faces;
    };
    void look_along(Axis& axis, double cell_mm) const;

    Plug plug_;
    const std::vector<PlugPlace>* places_;
    std::vector<Axis> axes_;
};

}  // namespace cradlewright
