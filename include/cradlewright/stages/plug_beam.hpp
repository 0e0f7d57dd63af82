// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/mechanics/beam.hpp"
#include "cradlewright/mechanics/section.hpp"
#include "cradlewright/stages/pose.hpp"

/// \file The plug as a beam that lies on its ribs. Stages choose ribs and checks judge them by the same functions.
namespace cradlewright {

/// The plug cut square to the span at one place; (y, z) of the fixture.
struct PlugSection {
    double x_mm = 0;
    SectionProperties solid;
    SkinMoments skin;     ///< on the middle of plug.skin
    double upper_mm = 0;  ///< length of the outline that faces up, where the wet laminate lies
};
struct PlugBeam {
    std::vector<PlugSection> sections;  ///< by rising x; empty when the plug is no solid
    double low_mm = 0, high_mm = 0;     ///< ends of the plug, fixture x
    std::string reason;                 ///< why there are no sections
};

/// Cuts the plug in 80 places. Empty with a reason for an open plug. Cost: one pass over the mesh.
PlugBeam cut_plug_beam(const PosedPlug& posed, const Settings& settings);

/// Which end of the materials' spread.
enum class Stiffness { soft, usual, stiff };

/// The plug with its own weight and the wet laminate of half 1, lying on supports at fixture x.
/// Precondition: sections present; supports rising, at least two, within the plug.
Beam plug_on_ribs(const PlugBeam& plug, const Settings& settings, std::span<const double> supports_mm,
                  Stiffness stiffness);

/// Deepest sag with a hand at the worst place. The hand keeps off the very ends, where the section is below a
/// twentieth of the largest. Precondition: as plug_on_ribs.
WorstDip plug_sag(const PlugBeam& plug, const Settings& settings, std::span<const double> supports_mm,
                  Stiffness stiffness);

/// Evenly spaced ribs tried for limits.sag, with the sag of the soft end.
struct RibTrial {
    int ribs = 0;
    double sag_mm = 0;
    bool is_enough = false;
};
/// Precondition: sections present, ribs >= 2.
RibTrial try_ribs(const PlugBeam& plug, const Settings& settings, int ribs);
/// From `from` ribs up, until they are enough or twice as many as cradle.spacing asks for: beyond that a plug wants a
/// skin, not ribs. Empty when `from` is beyond it. Precondition: sections present, from >= 2.
std::vector<RibTrial> try_more_ribs(const PlugBeam& plug, const Settings& settings, int from);

/// Share of its crushing stress with which a saddle of `width_mm` (level) presses on the plug's core under a load; a
/// skin spreads it. 0 for a core whose crushing stress is not known. Source: keys "hetenyi" and the core's material.
double saddle_crush_share(const PlugBeam& plug, const Settings& settings, double station_mm, double load_n,
                          double width_mm, double thickness_mm, Stiffness stiffness);

/// Mass of the wet mould laminate on a unit area, kg/mm2.
double wet_laminate_kg_mm2(const Settings& settings);

}  // namespace cradlewright
