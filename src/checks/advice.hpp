// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/catalog/options.hpp"

/// \file Sentences that several checks share.
namespace cradlewright {

/// "set KEY to NAME (9 mm)": the thinnest known sheet of the same material that is at least so thick; when there is
/// none, the thickness to set on the present one.
std::string thicker_sheet(const Settings& settings, const std::string& key, const std::string& present,
                          double needed_mm);
/// Up to the next half millimetre.
double half_mm_up(double value_mm);

}  // namespace cradlewright
