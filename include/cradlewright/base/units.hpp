// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <compare>
#include <numbers>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// \file One system inside: mm, N, kg, MPa (= N/mm2), rad, s, deg C. These types stand at the doors (settings, catalog,
/// checks, reports); inner numeric code uses plain doubles in the one system.
namespace cradlewright {

inline constexpr double mm_per_inch = 25.4;
/// Standard gravity, N/kg: the only bridge between kg and N. Source: 3rd CGPM (1901), resolution 2.
inline constexpr double standard_gravity = 9.80665;

/// One physical quantity with a private number. `Derived` adds named makers and readers.
template <class Derived>
class Scalar {
public:
    constexpr Scalar() = default;
    friend constexpr Derived operator+(Derived a, Derived b) { return make(a.value_ + b.value_); }
    friend constexpr Derived operator-(Derived a, Derived b) { return make(a.value_ - b.value_); }
    friend constexpr Derived operator-(Derived a) { return make(-a.value_); }
    friend constexpr Derived operator*(Derived a, double s) { return make(a.value_ * s); }
    friend constexpr Derived operator*(double s, Derived a) { return make(a.value_ * s); }
    friend constexpr Derived operator/(Derived a, double s) { return make(a.value_ / s); }
    friend constexpr double operator/(Derived a, Derived b) { return a.value_ / b.value_; }
    friend constexpr auto operator<=>(const Scalar& a, const Scalar& b) = default;
    friend constexpr bool operator==(const Scalar& a, const Scalar& b) = default;

protected:
    static constexpr Derived make(double v) {
        Derived d;
        static_cast<Scalar&>(d).value_ = v;
        return d;
    }
    double value_ = 0;
};

class Length : public Scalar<Length> {
public:
    static constexpr Length mm(double v) { return make(v); }
    /// 25.4 as 127/5: both are whole numbers, so 3/8 in is 9.525 mm and not its neighbour.
    static constexpr Length inch(double v) { return make(v * 127 / 5); }
    static constexpr Length m(double v) { return make(v * 1000); }
    [[nodiscard]] constexpr double mm() const { return value_; }
    [[nodiscard]] constexpr double inch() const { return value_ * 5 / 127; }
};

class Angle : public Scalar<Angle> {
public:
    static constexpr Angle rad(double v) { return make(v); }
    static constexpr Angle deg(double v) { return make(v * std::numbers::pi / 180); }
    [[nodiscard]] constexpr double rad() const { return value_; }
    [[nodiscard]] constexpr double deg() const { return value_ * 180 / std::numbers::pi; }
};

class Area : public Scalar<Area> {
public:
    static constexpr Area mm2(double v) { return make(v); }
    static constexpr Area m2(double v) { return make(v * 1e6); }
    [[nodiscard]] constexpr double mm2() const { return value_; }
    [[nodiscard]] constexpr double m2() const { return value_ * 1e-6; }
};

class Mass : public Scalar<Mass> {
public:
    static constexpr Mass kg(double v) { return make(v); }
    static constexpr Mass g(double v) { return make(v * 1e-3); }
    [[nodiscard]] constexpr double kg() const { return value_; }
    [[nodiscard]] constexpr double g() const { return value_ * 1e3; }
};

class Force : public Scalar<Force> {
public:
    static constexpr Force n(double v) { return make(v); }
    [[nodiscard]] constexpr double n() const { return value_; }
};

class Pressure : public Scalar<Pressure> {
public:
    static constexpr Pressure mpa(double v) { return make(v); }
    static constexpr Pressure gpa(double v) { return make(v * 1000); }
    [[nodiscard]] constexpr double mpa() const { return value_; }
    [[nodiscard]] constexpr double gpa() const { return value_ / 1000; }
};

/// Mass per volume; inside kg/mm3.
class Density : public Scalar<Density> {
public:
    static constexpr Density kg_m3(double v) { return make(v * 1e-9); }
    static constexpr Density kg_mm3(double v) { return make(v); }
    [[nodiscard]] constexpr double kg_m3() const { return value_ * 1e9; }
    [[nodiscard]] constexpr double kg_mm3() const { return value_; }
};

/// Mass per area of cloth or coat; inside kg/mm2.
class ArealMass : public Scalar<ArealMass> {
public:
    static constexpr ArealMass g_m2(double v) { return make(v * 1e-9); }
    static constexpr ArealMass kg_mm2(double v) { return make(v); }
    [[nodiscard]] constexpr double g_m2() const { return value_ * 1e9; }
    [[nodiscard]] constexpr double kg_mm2() const { return value_; }
};

/// What a Quantity measures; fixes its inside unit (in brackets).
enum class Dimension {
    ratio,        ///< [1]
    count,        ///< [1], whole
    length,       ///< [mm]
    area,         ///< [mm2]
    volume,       ///< [mm3]
    angle,        ///< [rad]
    mass,         ///< [kg]
    force,        ///< [N]
    pressure,     ///< [MPa]
    density,      ///< [kg/mm3]
    areal_mass,   ///< [kg/mm2]
    time,         ///< [s]
    feed,         ///< [mm/min], of machines only
    temperature,  ///< [deg C]
};

/// A number with its dimension, for settings, checks and reports. `value` is in the inside unit of `dimension`.
struct Quantity {
    double value = 0;
    Dimension dimension = Dimension::ratio;

    static Quantity of(Length v) { return {v.mm(), Dimension::length}; }
    static Quantity of(Angle v) { return {v.rad(), Dimension::angle}; }
    static Quantity of(Area v) { return {v.mm2(), Dimension::area}; }
    static Quantity of(Mass v) { return {v.kg(), Dimension::mass}; }
    static Quantity of(Force v) { return {v.n(), Dimension::force}; }
    static Quantity of(Pressure v) { return {v.mpa(), Dimension::pressure}; }
    static Quantity of(Density v) { return {v.kg_mm3(), Dimension::density}; }
    static Quantity of(ArealMass v) { return {v.kg_mm2(), Dimension::areal_mass}; }
    static Quantity ratio(double v) { return {v, Dimension::ratio}; }
    static Quantity count(double v) { return {v, Dimension::count}; }
    friend bool operator==(const Quantity&, const Quantity&) = default;
};

/// Unit in which reports state a dimension: "mm", "mm2", "mm3", "deg", "kg", "N", "MPa", "kg/m3", "g/m2", "s", "degC",
/// "" .
std::string_view report_unit(Dimension dimension);
/// `q.value` turned into report_unit(q.dimension): rad to deg, kg/mm3 to kg/m3, kg/mm2 to g/m2; the rest as is.
double report_value(const Quantity& q);
/// The inverse of report_value.
Quantity from_report_value(double value, Dimension dimension);
/// Plain words for error messages: "a length", "an angle", ...
std::string_view dimension_name(Dimension dimension);

/// How a person is shown lengths.
enum class UnitSystem { metric, inch };

/// Text for a person: metric "12.5 mm", "3.2 deg", "0.45 kg"; inch lengths in fractions to 1/64 with the decimal mm
/// left out, "1 1/2 in", and in decimals where 1/64 would show as 0; areas mm2, from 0.01 m2 on m2, or in2; masses g /
/// kg or oz / lb. `decimals` < 0 picks a useful number of digits; it does not touch inch fractions. Not finite:
/// "unknown".
std::string format_quantity(const Quantity& q, UnitSystem system = UnitSystem::metric, int decimals = -1);
/// A length in inches as a mixed fraction rounded to 1/64: "0", "3/8", "1 1/2", "-2 1/64"; no unit text.
/// Precondition: finite, within 1e12 mm.
std::string inch_fraction(Length length);

/// Reads "9.5mm", "3/8in", "1 1/2 in", "4ft 2in", "0.3m", "12deg", "0.2rad", "320g/m2", "40kg/m3", "3 %", "1.2 kg", "30
/// N", "8.5GPa", "25 degC", "20 min", "1500 mm/min". In: text as typed, the dimension wanted. A bare number is taken
/// only for ratio and count; lengths, angles and the rest must carry a unit ("0" alone is accepted anywhere but for
/// temperature). Capitals do not matter in units. Errors: Error(bad_input) with `place`, naming the wanted dimension
/// and an example: also for anything left over, for nan and inf, and for numbers beyond `largest_readable` in the
/// report unit. Guarantees: locale-free; parse_quantity(format_exact(q)) == q to the last bit within
/// `largest_readable`.
inline constexpr double largest_readable = 1e12;
Quantity parse_quantity(std::string_view text, Dimension wanted, std::string_view place);
Length parse_length(std::string_view text, std::string_view place);
Angle parse_angle(std::string_view text, std::string_view place);

/// Units that parse_quantity takes for a dimension, the likeliest first; "" stands for a bare number.
std::vector<std::string_view> accepted_units(Dimension dimension);

/// Shortest text that reads back to the same number, with the unit that settings use: "9.525 mm", "12 deg", "40 kg/m3".
/// A number that no decimal in that unit reaches (some angles and densities) is given in its inside unit: "0.3 rad".
/// Precondition: finite.
std::string format_exact(const Quantity& q);

/// Fixed-point text by std::to_chars, never "-0", for files. Precondition: value finite, 0 <= decimals <= 17.
std::string fixed(double value, int decimals);

}  // namespace cradlewright
