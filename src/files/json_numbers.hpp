// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "cradlewright/base/vec.hpp"

/// \file Numbers of report.json.
namespace cradlewright {

using Json = nlohmann::ordered_json;

// Null unless finite, rounded so that the text does not hang on a last bit.

inline Json rounded(double value, double per_unit) {
    if (!std::isfinite(value)) {
        return nullptr;
    }
    return std::round(value * per_unit) / per_unit + 0.0;  // + 0.0 turns -0 into 0
}
// Lengths, areas, angles in degrees: 0.1 um does for anything cut by hand or machine.
inline Json number(double value) { return rounded(value, 1e4); }
// Masses in kg, shares, directions.
inline Json fine_number(double value) { return rounded(value, 1e9); }
inline Json degrees(double rad) { return number(rad * 180 / std::numbers::pi); }

inline Json point(Vec3 p) { return Json::array({number(p.x), number(p.y), number(p.z)}); }
inline Json point(Vec2 p) { return Json::array({number(p.x), number(p.y)}); }
inline Json fine_point(Vec2 p) { return Json::array({fine_number(p.x), fine_number(p.y)}); }
inline Json direction(Vec3 d) { return Json::array({fine_number(d.x), fine_number(d.y), fine_number(d.z)}); }

}  // namespace cradlewright
