// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/advice.hpp"

#include <cmath>

namespace cradlewright {

double half_mm_up(double value_mm) {
    constexpr double slack = 1e-9;
    return std::ceil(2 * value_mm - slack) / 2;
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
    if (best != nullptr) return "set " + key + " to " + best->name + ", " + fixed(best->thickness_mm, 1) + " mm";
    return "take a sheet of " + fixed(half_mm_up(needed_mm), 1) + " mm (stock." + present + ".thickness)";
}

}  // namespace cradlewright
