// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/mechanics/laminate.hpp"
#include "cradlewright/stages/flange.hpp"

/// \file How far the finished mould dips and how many plies it wants. Stages choose and checks judge by the same
/// functions.
namespace cradlewright {

/// A flat place of the mould: its flange, or its shell between two stiffeners.
struct MouldPlace {
    enum class Kind { flange, shell } kind = Kind::flange;
    double reach_mm = 0;  ///< free width
    Vec3 at;              ///< of the widest panel, or the middle of the plug's top; fixture frame
};
/// Free width of a shell over a plug of this size, with plates behind it no further apart than `most_free_mm`; infinite
/// = none. The narrower side of the plug bounds it too.
double shell_reach_mm(Vec3 size, double most_free_mm);
/// The widest of each kind, as planned: plates at mould.stiffener-spacing, none where mould.back is "no"; no flange
/// without panels.
std::vector<MouldPlace> mould_places(const PosedPlug& posed, const Flange& flange, const Settings& settings);

/// Dip under the squeegee over the spread of the laminate's stiffness: low is that of the stiff end.
/// Sources: clamped_edge_dip_mm for flanges, long_panel_dip_mm for shells (curved ones are stiffer).
Spread mould_dip_mm(const MouldPlace& place, const Laminate& laminate, const Settings& settings);

/// Shrinkage of the resin by volume: as told, else that of the resin named.
Spread resin_shrinkage(const Settings& settings);
/// In-plane shrinkage of the mould after gel (laminate_shrinkage) when its resin shrinks by `by_volume`, low and high
/// over the spread of moduli and of the share of the cure after gel. Precondition: the laminate has plies.
Spread mould_shrinkage(const Settings& settings, const Laminate& laminate, const Spread& by_volume);
/// Largest shrinkage by volume, to 0.1 %, at which the high end of mould_shrinkage is at most `allowed`; 0 if none is.
double calmest_resin(const Settings& settings, const Laminate& laminate, double allowed);

struct PlyTrial {
    int plies = 0;      ///< of the cloth that is xauto
    double dip_mm = 0;  ///< of the worst place, soft end
    bool is_enough = false;
};
struct MouldPlies {
    int count = 0;                 ///< 0: laminate.mould.plies says every count
    std::string cloth;             ///< the one that is xauto
    std::vector<PlyTrial> trials;  ///< from one ply up, the last one taken
    std::string reason;            ///< why this many, or empty
};
/// Plies of the xauto cloth: as few as keep the worst place within limits.mould-dip at the soft end; at most
/// thickest_skin_mm in all. Errors: Error(bad_input, "laminate.mould.plies").
MouldPlies choose_mould_plies(const PosedPlug& posed, const Flange& flange, const Settings& settings);
/// Beyond this a skin is not laid thicker but stiffened. Source: assumed, two to three times a common hand layup.
inline constexpr double thickest_skin_mm = 12;

}  // namespace cradlewright
