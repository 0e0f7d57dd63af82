// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/stages/parting.hpp"
#include "cradlewright/stages/plate.hpp"

namespace cradlewright {

/// An edge that, cut square, leaves the panel's top face short of what it meets.
struct PanelBevel {
    std::string toward;    ///< "the plug", or a panel's id
    double angle_rad = 0;  ///< off square, that closes it
    double open_mm = 0;    ///< so far short; at the plug beyond the gap
};

/// A piece of sheet beside one run of the parting line, flat or bent. Its PlatePart has the top face at z = 0; where a
/// bent one lies, say frame_near() and its kin.
struct FlangePanel {
    std::string id;    ///< "panel-front-1"
    std::string edge;  ///< PartingEdge::id
    std::size_t loop = 0;
    std::size_t first = 0, last = 0;  ///< run of panel_line, wraps as in PartingEdge
    PlatePart part;
    Vec3 point, normal;  ///< top face, fixture frame; of a bent panel its middle flat
    double width_mm = 0, slope_rad = 0;
    double off_plane_mm = 0;                ///< largest distance of its run from the top face
    double bend_radius_mm = 0;              ///< smallest that the sheet is bent to; 0 = flat
    double step_mm = 0;                     ///< largest difference in height to the next panel's top along their joint
    double max_gap_mm = 0, min_gap_mm = 0;  ///< panel to plug along the inner edge, over the full thickness
    Vec3 max_gap_at;
    bool is_inner = false;           ///< fills an inner loop
    std::vector<PanelBevel> bevels;  ///< where the top is left more open than clay or filler bridge
    [[nodiscard]] bool is_curved() const { return part.bend.has_value(); }
    /// The plane of its top face nearest to a place.
    struct Top {
        Vec3 point, normal;
        [[nodiscard]] double height_at(double x, double y) const {
            return point.z - (normal.x * (x - point.x) + normal.y * (y - point.y)) / normal.z;
        }
    };
    [[nodiscard]] Top top_near(Vec3 place) const;
};

/// Panels side by side round each loop.
struct Flange {
    std::vector<FlangePanel> panels;  ///< loop by loop, along the line
    std::vector<PlatePart> straps;    ///< under joints of butted panels
    std::string note;
};

/// Lays planes through the runs, splits where a run leaves its plane, mitres neighbours, cuts the inner edge from the
/// plug's envelope over the full thickness. Errors: Error(bad_input) for settings that leave no panel.
Flange lay_flange(const PosedPlug& posed, const Parting& parting, const Settings& settings);

}  // namespace cradlewright
