// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "cradlewright/geom/mesh.hpp"
#include "cradlewright/stages/mould_back.hpp"

/// \file Pieces of build_mould_back: where plates stand, what the mould's back asks of them, their outline.
namespace cradlewright {

/// Something on the flange that a plate keeps off. Stand frame.
struct BackObstacle {
    Vec2 at;
    double radius_mm = 0;
};

struct BackStations {
    std::vector<double> at;
    std::size_t conflicts = 0;  ///< obstacles that a plate still meets
};
/// `count` places from low to high, evenly, each shifted by at most `most_shift_mm` and three tenths of their pitch so
/// that plates meet as few obstacles as may be, and then as little as may be, no gap between two wider than
/// `most_free_mm` (which the even places must keep). `obstacles`: coordinate along which stations are counted, and
/// radius. Cost: O(count), a shortest path.
BackStations clear_stations(double low_mm, double high_mm, std::size_t count, double thickness_mm,
                            const std::vector<std::pair<double, double>>& obstacles, double most_free_mm,
                            double most_shift_mm = 45);

/// Chain of one plane section, in the plate's drawing axes, and how far off the plate's faces it was cut.
struct BackSection {
    std::vector<std::vector<Vec2>> chains;  ///< closed ones repeat their first point
    double away_mm = 0;                     ///< 0 within the plate's thickness
};
/// Heights at which a slab is cut: within its thickness, and beside it as far as `reach_mm`. Offsets from the middle.
std::vector<double> slab_heights(double thickness_mm, double reach_mm);

/// The highest edge that stays `reach_mm` below every section: the lower envelope of balls about all their points, from
/// the left end of what all sections within the plate cover to the right one, points every 0.3 mm. Empty where the slab
/// holds nothing. Accuracy: 0.3 mm level beside upright walls, 0.1 mm along the normal elsewhere.
struct BackEdge {
    std::vector<Vec2> edge;
    std::vector<Vec2> surface;  ///< lowest points of the sections within the plate
};
BackEdge edge_under(const std::vector<BackSection>& sections, double reach_mm);

/// A slot: from the bench up to z, or from z up.
struct BackSlot {
    double low = 0, high = 0, z = 0;
    bool is_open_below = true;
};
struct BackShape {
    std::vector<Vec2> edge, surface;
    std::vector<BackSlot> slots;
    std::vector<std::pair<double, double>> clearings;  ///< stretches that keep off hardware
    bool has_hand_hole = false;
};
/// Outline with the bench at z = 0; empty when nothing stands. A hand hole where there is room for it.
Region shape_back_plate(const BackShape& shape, OutlineFit& fit);

/// A joint of a plate along, where piece `right`, counted among all pieces of a half, meets the one before it.
struct BackJoint {
    double at = 0;
    std::size_t right = 0;
};
/// Cuts plates along that are longer than `most_mm` into pieces no longer: in the middle between two of the plates
/// across, as near to equal pieces as those let. `edges` and `stations` grow by the pieces.
std::vector<BackJoint> splice(std::vector<BackEdge>& edges, std::vector<double>& stations, double most_mm,
                              const std::vector<double>& across);
/// Below a bolt's nut plates are cut back so far: room for a spanner.
inline constexpr double back_clearing_mm = 40;
/// Of the strap over a butt joint, to each side, in thicknesses of the sheet. Source: common practice for butt blocks
/// on plywood, 10 to 12.
inline constexpr double strap_thicknesses = 12;
/// The strap beside a joint, in the plates' drawing: as long as that or as the plates across leave room, from near the
/// bench to near the inner edges, `lowered_mm` less where those are cut back. Empty where there is no room for one.
Region splice_strap(double joint_mm, const std::vector<Vec2>& left, const std::vector<Vec2>& right, double thickness_mm,
                    const std::vector<double>& across, double lowered_mm);

/// Its part, named and with the joint's line.
PlatePart strap_part(const std::string& id, const Region& outline, double joint_mm);

/// Adds masses of plates and tabs to a half that has its laminate's, moves its centre and finds its footprint. Tabs
/// weigh at their plate's middle. `tab_kg_mm`: of cloth and resin in a mm of one side's length.
void weigh_plates(BackHalf& back, double tab_kg_mm, double density_kg_mm3);

/// Tops of panels and faces of beads as triangles, fixture frame: what a half's laminate lies on beside the plug.
TriMesh flange_surface(const Flange& flange, const std::vector<BeadRun>& runs);

}  // namespace cradlewright
