// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/cradle.hpp"

/// \file Pieces of build_cradle: where panels cross a station, and the outline of one upright plate.
namespace cradlewright {

/// Stretch of a panel's underside over a plate that stands at a station; all in (y, z) of the fixture.
struct PanelSpan {
    std::size_t panel = 0;  ///< index into Flange::panels
    double y_low = 0, y_high = 0;
    double z_at_low = 0, z_at_high = 0;  ///< seat heights: underside less glue, lowest over the plate's thickness
    [[nodiscard]] double seat(double y) const {
        const double t = y_high > y_low ? (y - y_low) / (y_high - y_low) : 0;
        return z_at_low + t * (z_at_high - z_at_low);
    }
};
/// Spans of all panels over the slab [station - t/2, station + t/2], by y.
std::vector<PanelSpan> spans_at(const Flange& flange, double station_mm, double thickness_mm, double glue_mm);

/// Rectangular cut-out of an upright, open upward (for a stringer) or downward (for a tie).
struct Notch {
    double y_low = 0, y_high = 0;
    double z = 0;  ///< bottom of an open-top notch, top of an open-bottom slot
};

/// What the plug asks of an upright plate under it.
struct UnderPlug {
    Polygons padded;  ///< slab envelope grown by the compressed pad: what the saddle follows
    Polygons freed;   ///< grown further by the free distance: what the rest keeps clear of
    Polygons bare;    ///< slab envelope itself
    [[nodiscard]] bool is_empty() const { return padded.empty(); }
};

struct UprightRequest {
    std::vector<PanelSpan> spans;
    UnderPlug under;  ///< empty for a plate that stands beside the plug
    std::vector<Notch> stringer_notches, tie_slots;
    double foot_mm = 40;
};

struct Upright {
    Region outline;  ///< (y, z), z = 0 on the base
    std::vector<Vec2> saddle;
    std::vector<std::vector<Vec2>> seats;
    std::vector<Vec2> envelope;
    std::string note;
};
Upright shape_upright(const UprightRequest& request, const CradleOptions& options, const Tolerances& tolerances);

}  // namespace cradlewright
