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

/// A length to set, in the user's units and rounded so that the check still holds: `up` where more is safe, `down`
/// where less is. Tenths of a millimetre, hundredths under 2 mm; 1/64 in, thousandths of an inch where 1/64 would be
/// off by more than a tenth. "1.25 mm", "3/8 in", "0.012 in"; settings read it back.
enum class Rounding { up, down };
std::string length_to_set(const Settings& settings, double mm, Rounding rounding);
/// A length for information, in the user's units.
std::string length_text(const Settings& settings, double mm);
/// Up or down to a multiple of `step`, numbers within 1e-9 of one counting as it.
double rounded_to(double value, double step, Rounding rounding);

}  // namespace cradlewright
