// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/advice.hpp"

#include <cmath>

namespace cradlewright {

double rounded_to(double value, double step, Rounding rounding) {
    constexpr double slack = 1e-9;
    const double steps = value / step;
    return step * (rounding == Rounding::up ? std::ceil(steps - slack) : std::floor(steps + slack));
}

double half_mm_up(double value_mm) { return rounded_to(value_mm, 0.5, Rounding::up); }

std::string length_to_set(const Settings& settings, double mm, Rounding rounding) {
    if (settings.units == UnitSystem::metric) {
        const double per_mm = mm < 2 ? 100 : 10;
        return format_exact(Quantity::of(Length::mm(rounded_to(mm * per_mm, 1, rounding) / per_mm)));
    }
    const double inch = Length::mm(mm).inch();
    const double in_64 = rounded_to(inch, 1.0 / 64, rounding);
    if (std::abs(in_64 - inch) <= 0.1 * inch) return inch_fraction(Length::inch(in_64)) + " in";
    return fixed(rounded_to(inch, 0.001, rounding), 3) + " in";
}

std::string length_text(const Settings& settings, double mm) {
    const int decimals = settings.units == UnitSystem::inch ? 3 : mm < 2 ? 2 : 1;
    return format_quantity(Quantity::of(Length::mm(mm)), settings.units, decimals);
}

std::string thicker_sheet(const Settings& settings, const std::string& key, const std::string& present,
                          double needed_mm) {
    const Stock& now = stock(settings, present);
    const Stock* best = nullptr;
    for (const auto& [name, candidate] : settings.stocks) {
        if (candidate.material != now.material || candidate.thickness_mm < needed_mm) continue;
        if (candidate.length_mm < now.length_mm / 2 || candidate.width_mm < now.width_mm / 2) continue;
        if (best == nullptr || candidate.thickness_mm < best->thickness_mm) best = &candidate;
    }
    if (best != nullptr) return "set " + key + " to " + best->name + ", " + length_text(settings, best->thickness_mm);
    return "take a sheet of " + length_to_set(settings, half_mm_up(needed_mm), Rounding::up) + " (stock." + present +
           ".thickness)";
}

}  // namespace cradlewright
