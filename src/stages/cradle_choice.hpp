// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/stages/cradle.hpp"

namespace cradlewright {

/// What the mechanics choose where nothing was told, by the functions that the checks judge with.
struct CradleChoice {
    Settings settings;   ///< the given ones with cradle.ribs and the stringers' strip filled in
    std::string reason;  ///< the alternatives tried: "5 ribs: 0.70 mm; ..."; empty when the ribs were told
};

/// Ribs: as many as cradle.spacing asks for, and more until the soft end of the plug's spread keeps limits.sag; none
/// more where twice as many do not. Strip: the slightest known one that keeps limits.stringer-dip over the widest bay.
/// Told settings are left alone.
CradleChoice choose_cradle(const PosedPlug& posed, const Settings& settings);

/// Does every carried strip keep limits.stringer-dip at the soft end of its wood's spread?
bool strips_hold(const Cradle& cradle, const Settings& settings);
/// Takes the next stiffer strip of the same wood; false where the strip was told or none is stiffer.
bool take_stronger_strip(CradleChoice& choice);

}  // namespace cradlewright
