// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/mechanics/resin.hpp"

#include <cmath>
#include <limits>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

double free_shrinkage(double volume) {
    CRADLEWRIGHT_PRECONDITION(volume >= 0 && volume < 1);
    return 1 - std::cbrt(1 - volume);
}

double laminate_shrinkage(double volume, double resin_e_mpa, double fibre_share, double laminate_e_mpa,
                          double after_gel_share) {
    CRADLEWRIGHT_PRECONDITION(laminate_e_mpa > 0);
    return free_shrinkage(volume) * resin_e_mpa * (1 - fibre_share) / laminate_e_mpa * after_gel_share;
}

double lift_to_free_mm(double shrinkage, double width_mm, double draft_rad) {
    const double slope = std::tan(draft_rad);
    return slope > 0 ? shrinkage * width_mm / 2 / slope : std::numeric_limits<double>::infinity();
}

double pot_life_s(double told_s, double told_at_degc, double room_degc) {
    constexpr double halving_degc = 10;
    return told_s * std::exp2((told_at_degc - room_degc) / halving_degc);
}

double largest_batch_kg(double pot_life_seconds, double seconds_per_kg) {
    CRADLEWRIGHT_PRECONDITION(seconds_per_kg > 0);
    return usable_pot_life * pot_life_seconds / seconds_per_kg;
}

Mix mix_by_mass(double total_kg, double hardener_parts) {
    const double base = total_kg * 100 / (100 + hardener_parts);
    return {base, total_kg - base};
}

}  // namespace cradlewright
