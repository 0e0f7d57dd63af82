// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>
#include <vector>

#include "cradlewright/base/vec.hpp"
#include "cradlewright/geom/frame.hpp"

/// \file Numbers, points and lists of report.json.
namespace cradlewright {

using Json = nlohmann::ordered_json;

inline constexpr double chord_mm = 0.02;  ///< of arcs in outlines

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

template <class Vec>
Json chain(const std::vector<Vec>& points) {
    Json list = Json::array();
    for (const Vec& p : points) {
        list.push_back(point(p));
    }
    return list;
}

template <class Items, class Function>
Json list_json(const Items& items, Function to_json) {
    Json list = Json::array();
    for (const auto& item : items) {
        list.push_back(to_json(item));
    }
    return list;
}

// Row-major 4x4, local -> parent.
inline Json matrix_json(const Frame3& frame) {
    Json matrix = Json::array();
    for (const auto& row : frame.matrix()) {
        Json line = Json::array();
        for (const double value : row) {
            line.push_back(fine_number(value));
        }
        matrix.push_back(std::move(line));
    }
    return matrix;
}

}  // namespace cradlewright
