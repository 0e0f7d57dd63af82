// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>

namespace cradlewright {

/// A point or direction in a plane. Unit mm unless a name says otherwise; the frame is named by whoever holds it.
struct Vec2 {
    double x = 0, y = 0;
    friend constexpr Vec2 operator+(Vec2 a, Vec2 b) { return {a.x + b.x, a.y + b.y}; }
    friend constexpr Vec2 operator-(Vec2 a, Vec2 b) { return {a.x - b.x, a.y - b.y}; }
    friend constexpr Vec2 operator-(Vec2 a) { return {-a.x, -a.y}; }
    friend constexpr Vec2 operator*(Vec2 a, double s) { return {a.x * s, a.y * s}; }
    friend constexpr Vec2 operator*(double s, Vec2 a) { return a * s; }
    friend constexpr Vec2 operator/(Vec2 a, double s) { return {a.x / s, a.y / s}; }
    constexpr Vec2& operator+=(Vec2 b) { return *this = *this + b; }
    friend constexpr bool operator==(Vec2, Vec2) = default;
    friend constexpr auto operator<=>(Vec2, Vec2) = default;
};

constexpr double dot(Vec2 a, Vec2 b) { return a.x * b.x + a.y * b.y; }
/// z of the 3D cross product: positive when b lies counter-clockwise of a.
constexpr double cross(Vec2 a, Vec2 b) { return a.x * b.y - a.y * b.x; }
/// Quarter turn counter-clockwise.
constexpr Vec2 perp(Vec2 a) { return {-a.y, a.x}; }
inline double norm(Vec2 a) { return std::hypot(a.x, a.y); }
/// Unit vector along `a`; the zero vector stays zero.
inline Vec2 normalized(Vec2 a) {
    const double n = norm(a);
    return n > 0 ? a / n : a;
}

/// A point or direction in space. Unit mm unless a name says otherwise; the frame is named by whoever holds it.
struct Vec3 {
    double x = 0, y = 0, z = 0;
    friend constexpr Vec3 operator+(Vec3 a, Vec3 b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
    friend constexpr Vec3 operator-(Vec3 a, Vec3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
    friend constexpr Vec3 operator-(Vec3 a) { return {-a.x, -a.y, -a.z}; }
    friend constexpr Vec3 operator*(Vec3 a, double s) { return {a.x * s, a.y * s, a.z * s}; }
    friend constexpr Vec3 operator*(double s, Vec3 a) { return a * s; }
    friend constexpr Vec3 operator/(Vec3 a, double s) { return {a.x / s, a.y / s, a.z / s}; }
    constexpr Vec3& operator+=(Vec3 b) { return *this = *this + b; }
    friend constexpr bool operator==(Vec3, Vec3) = default;
    friend constexpr auto operator<=>(Vec3, Vec3) = default;
};

constexpr double dot(Vec3 a, Vec3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
constexpr Vec3 cross(Vec3 a, Vec3 b) { return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x}; }
inline double norm(Vec3 a) { return std::sqrt(dot(a, a)); }
/// Unit vector along `a`; the zero vector stays zero.
inline Vec3 normalized(Vec3 a) {
    const double n = norm(a);
    return n > 0 ? a / n : a;
}
/// Angle between two directions, rad; good near 0 and pi, where an arc cosine loses half its digits.
inline double angle_between(Vec3 a, Vec3 b) { return std::atan2(norm(cross(a, b)), dot(a, b)); }
inline bool is_finite(Vec3 a) { return std::isfinite(a.x) && std::isfinite(a.y) && std::isfinite(a.z); }

/// Axis-aligned box; empty (low > high) until the first point is added.
template <class Vec>
struct Box;

template <>
struct Box<Vec2> {
    Vec2 low{std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity()};
    Vec2 high{-std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity()};
    constexpr void add(Vec2 p) {
        low = {std::min(low.x, p.x), std::min(low.y, p.y)};
        high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    }
    [[nodiscard]] constexpr bool is_empty() const { return low.x > high.x; }
    [[nodiscard]] constexpr Vec2 size() const { return is_empty() ? Vec2{} : high - low; }
    [[nodiscard]] constexpr Vec2 center() const { return (low + high) * 0.5; }
};

template <>
struct Box<Vec3> {
    Vec3 low{std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity(),
             std::numeric_limits<double>::infinity()};
    Vec3 high{-std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity(),
              -std::numeric_limits<double>::infinity()};
    constexpr void add(Vec3 p) {
        low = {std::min(low.x, p.x), std::min(low.y, p.y), std::min(low.z, p.z)};
        high = {std::max(high.x, p.x), std::max(high.y, p.y), std::max(high.z, p.z)};
    }
    [[nodiscard]] constexpr bool is_empty() const { return low.x > high.x; }
    [[nodiscard]] constexpr Vec3 size() const { return is_empty() ? Vec3{} : high - low; }
    [[nodiscard]] constexpr Vec3 center() const { return (low + high) * 0.5; }
};

using Box2 = Box<Vec2>;
using Box3 = Box<Vec3>;

}  // namespace cradlewright
