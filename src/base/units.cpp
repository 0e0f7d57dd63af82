// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/base/units.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <iterator>
#include <numeric>
#include <span>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

// International yard and pound agreement (1959): 1 yd = 0.9144 m, 1 lb = 0.45359237 kg, both exact.
// 1 in = 127/5 mm in whole numbers, as Length::inch has it.
constexpr double fifths_per_inch = 127;
constexpr double fifths_per_foot = 12 * fifths_per_inch;
constexpr double mm_per_foot = 12 * mm_per_inch;
constexpr double mm_per_yard = 3 * mm_per_foot;
constexpr double kg_per_pound = 0.45359237;
constexpr double kg_per_ounce = kg_per_pound / 16;
constexpr double n_per_pound_force = kg_per_pound * standard_gravity;
constexpr double mpa_per_psi = n_per_pound_force / (mm_per_inch * mm_per_inch);
constexpr double celsius_at_zero_fahrenheit = -160.0 / 9;

// ---- tables ---------------------------------------------------------------------------------------------------------

struct DimensionRow {
    std::string_view unit;     ///< of reports
    std::string_view name;     ///< in messages
    std::string_view example;  ///< in hints
};

constexpr std::array<DimensionRow, 14> dimension_rows{{
    {"", "a plain number", "0.5 or 50%"},
    {"", "a whole number", "4"},
    {"mm", "a length", "9.5mm or 3/8in"},
    {"mm2", "an area", "250mm2"},
    {"mm3", "a volume", "40cm3"},
    {"deg", "an angle", "12deg"},
    {"kg", "a mass", "1.2kg"},
    {"N", "a force", "30N"},
    {"MPa", "a pressure or stiffness", "8.5GPa"},
    {"kg/m3", "a density", "40kg/m3"},
    {"g/m2", "a mass per area", "320g/m2"},
    {"s", "a time", "20min"},
    {"mm/min", "a feed", "1500mm/min"},
    {"degC", "a temperature", "20degC"},
}};

const DimensionRow& row_of(Dimension dimension) {
    const auto index = static_cast<std::size_t>(dimension);
    CRADLEWRIGHT_PRECONDITION(index < dimension_rows.size());
    return dimension_rows[index];
}

/// inside = (typed * multiplier) / divisor + offset. Two factors rather than one keep "12 deg" the same number as
/// Angle::deg(12): each maker of the header is repeated here operation by operation.
struct UnitRow {
    std::string_view text;  ///< lower case
    std::string_view shown;
    Dimension dimension;
    double multiplier = 1, divisor = 1, offset = 0;

    [[nodiscard]] double to_inside(double typed) const { return typed * multiplier / divisor + offset; }
};

using enum Dimension;
/// In each dimension the likeliest first; spellings of the same unit follow it.
constexpr UnitRow unit_rows[] = {
    {"", "", ratio},
    {"%", "%", ratio, 1, 100},
    {"percent", "", ratio, 1, 100},
    {"", "", count},
    {"mm", "mm", length},
    {"in", "in", length, fifths_per_inch, 5},
    {"cm", "cm", length, 10},
    {"m", "m", length, 1000},
    {"ft", "ft", length, fifths_per_foot, 5},
    {"um", "um", length, 1, 1000},
    {"inch", "", length, fifths_per_inch, 5},
    {"inches", "", length, fifths_per_inch, 5},
    {"\"", "", length, fifths_per_inch, 5},
    {"foot", "", length, fifths_per_foot, 5},
    {"feet", "", length, fifths_per_foot, 5},
    {"'", "", length, fifths_per_foot, 5},
    {"mm2", "mm2", area},
    {"cm2", "cm2", area, 100},
    {"m2", "m2", area, 1e6},
    {"in2", "in2", area, mm_per_inch* mm_per_inch},
    {"ft2", "ft2", area, mm_per_foot* mm_per_foot},
    {"mm3", "mm3", volume},
    {"cm3", "cm3", volume, 1000},
    {"ml", "ml", volume, 1000},
    {"l", "l", volume, 1e6},
    {"m3", "m3", volume, 1e9},
    {"in3", "in3", volume, mm_per_inch* mm_per_inch* mm_per_inch},
    {"deg", "deg", angle, std::numbers::pi, 180},
    {"degree", "", angle, std::numbers::pi, 180},
    {"degrees", "", angle, std::numbers::pi, 180},
    {"rad", "rad", angle},
    {"kg", "kg", mass},
    {"g", "g", mass, 1e-3},
    {"lb", "lb", mass, kg_per_pound},
    {"lbs", "", mass, kg_per_pound},
    {"oz", "oz", mass, kg_per_ounce},
    {"n", "N", force},
    {"kn", "kN", force, 1000},
    {"lbf", "lbf", force, n_per_pound_force},
    {"mpa", "MPa", pressure},
    {"gpa", "GPa", pressure, 1000},
    {"kpa", "kPa", pressure, 1, 1000},
    {"pa", "Pa", pressure, 1, 1e6},
    {"psi", "psi", pressure, mpa_per_psi},
    {"ksi", "ksi", pressure, mpa_per_psi * 1000},
    {"kg/m3", "kg/m3", density, 1e-9},
    {"g/cm3", "g/cm3", density, 1e-6},
    {"lb/ft3", "lb/ft3", density, kg_per_pound / (mm_per_foot * mm_per_foot * mm_per_foot)},
    {"kg/mm3", "kg/mm3", density},
    {"g/m2", "g/m2", areal_mass, 1e-9},
    {"gsm", "", areal_mass, 1e-9},
    {"oz/yd2", "oz/yd2", areal_mass, kg_per_ounce / (mm_per_yard * mm_per_yard)},
    {"kg/m2", "kg/m2", areal_mass, 1e-6},
    {"kg/mm2", "kg/mm2", areal_mass},
    {"min", "min", time, 60},
    {"s", "s", time},
    {"h", "h", time, 3600},
    {"sec", "", time},
    {"hour", "", time, 3600},
    {"hours", "", time, 3600},
    {"mm/min", "mm/min", feed},
    {"m/min", "m/min", feed, 1000},
    {"in/min", "in/min", feed, fifths_per_inch, 5},
    {"mm/s", "mm/s", feed, 60},
    {"ipm", "", feed, fifths_per_inch, 5},
    {"degc", "degC", temperature},
    {"c", "", temperature},
    {"degf", "degF", temperature, 5, 9, celsius_at_zero_fahrenheit},
    {"f", "", temperature, 5, 9, celsius_at_zero_fahrenheit},
};

/// "KG/m^3" -> "kg/m3".
std::string plain_unit(std::string_view typed) {
    std::string plain;
    for (const char c : typed) {
        if (c != '^') {
            plain += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        }
    }
    return plain;
}

const UnitRow* find_unit(std::string_view typed, Dimension dimension) {
    const std::string plain = plain_unit(typed);
    const auto* found = std::find_if(std::begin(unit_rows), std::end(unit_rows), [&](const UnitRow& row) {
        return row.dimension == dimension && row.text == plain;
    });
    return found == std::end(unit_rows) ? nullptr : found;
}

const UnitRow* find_unit_anywhere(std::string_view typed) {
    const std::string plain = plain_unit(typed);
    const auto* found = std::find_if(std::begin(unit_rows), std::end(unit_rows),
                                     [&](const UnitRow& row) { return !plain.empty() && row.text == plain; });
    return found == std::end(unit_rows) ? nullptr : found;
}

// ---- reading --------------------------------------------------------------------------------------------------------

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_blank(char c) { return c == ' ' || c == '\t'; }

std::string_view trimmed(std::string_view text) {
    while (!text.empty() && is_blank(text.front())) {
        text.remove_prefix(1);
    }
    while (!text.empty() && is_blank(text.back())) {
        text.remove_suffix(1);
    }
    return text;
}

std::string quoted(std::string_view text) {
    constexpr std::size_t longest = 40;
    return '"' + std::string(text.substr(0, longest)) + (text.size() > longest ? "...\"" : "\"");
}

/// Reads one typed text from left to right.
class QuantityReader {
public:
    QuantityReader(std::string_view text, Dimension wanted, std::string_view place)
        : text_(trimmed(text)), rest_(text_), wanted_(wanted), place_(place) {}

    Quantity read() {
        const bool is_negative = take_sign();
        double value = 0;
        const UnitRow* unit = read_part(value);
        skip_blanks();
        if (unit->dimension == length && unit->multiplier == fifths_per_foot && !rest_.empty()) {
            double inches = 0;
            const UnitRow* second = read_part(inches);
            if (second->multiplier != fifths_per_inch || inches >= mm_per_foot) {
                refuse("cannot be read: after feet only inches below 12 may follow");
            }
            value += inches;
            skip_blanks();
        }
        if (!rest_.empty()) {
            refuse("has " + quoted(rest_) + " left over after " + std::string(dimension_name(wanted_)));
        }
        return checked(is_negative ? negated(value, *unit) : value);
    }

private:
    [[noreturn]] void refuse(const std::string& problem) const { refuse(problem, default_hint()); }
    [[noreturn]] void refuse(const std::string& problem, const std::string& hint) const {
        throw Error(ErrorCode::bad_input, place_, quoted(text_) + " " + problem, hint);
    }
    [[nodiscard]] std::string wanted_name() const { return std::string(dimension_name(wanted_)); }
    [[nodiscard]] std::string default_hint() const {
        return wanted_name() + " is wanted, for example " + std::string(row_of(wanted_).example);
    }

    void skip_blanks() {
        while (!rest_.empty() && is_blank(rest_.front())) {
            rest_.remove_prefix(1);
        }
    }

    bool take_sign() {
        if (rest_.empty() || (rest_.front() != '-' && rest_.front() != '+')) {
            return false;
        }
        const bool is_negative = rest_.front() == '-';
        rest_.remove_prefix(1);
        skip_blanks();
        return is_negative;
    }

    /// The sign belongs to the typed number, so it goes below the offset of an affine unit: -4 degF.
    static double negated(double inside, const UnitRow& unit) { return unit.offset - (inside - unit.offset); }

    /// A number and its unit; puts the inside value into `value`.
    const UnitRow* read_part(double& value) {
        const double typed = read_number();
        skip_blanks();
        const UnitRow* unit = read_unit(typed);
        value = unit->to_inside(typed);
        return unit;
    }

    /// Unsigned: "12", "9.5", ".5", "1e-3", "3/8", "1 1/2", "1-1/2".
    double read_number() {
        std::uint64_t whole = 0;
        const std::string_view before = rest_;
        if (take_whole(whole)) {
            if (const auto fraction = take_fraction_after(whole)) {
                return *fraction;
            }
            rest_ = before;
        }
        return read_decimal();
    }

    bool take_whole(std::uint64_t& whole) {
        const auto [end, code] = std::from_chars(rest_.data(), rest_.data() + rest_.size(), whole);
        if (code != std::errc{}) {
            return false;
        }
        rest_.remove_prefix(static_cast<std::size_t>(end - rest_.data()));
        return true;
    }

    /// "/8" makes `first` a numerator; " 3/8" or "-3/8" makes it the whole part. None: `rest_` is undefined.
    std::optional<double> take_fraction_after(std::uint64_t first) {
        if (!rest_.empty() && rest_.front() == '/') {
            return over_denominator(first);
        }
        if (rest_.empty() || (!is_blank(rest_.front()) && rest_.front() != '-')) {
            return std::nullopt;
        }
        rest_.remove_prefix(1);
        skip_blanks();
        std::uint64_t numerator = 0;
        if (!take_whole(numerator) || rest_.empty() || rest_.front() != '/') {
            return std::nullopt;
        }
        return static_cast<double>(first) + over_denominator(numerator);
    }

    double over_denominator(std::uint64_t numerator) {
        rest_.remove_prefix(1);
        std::uint64_t denominator = 0;
        if (!take_whole(denominator) || denominator == 0) {
            refuse("has a fraction without a denominator");
        }
        return static_cast<double>(numerator) / static_cast<double>(denominator);
    }

    double read_decimal() {
        // from_chars would also take "inf" and "nan".
        const bool starts_right =
            !rest_.empty() && (is_digit(rest_[0]) || (rest_[0] == '.' && rest_.size() > 1 && is_digit(rest_[1])));
        if (!starts_right) {
            refuse(text_.empty() ? "is empty" : "is not a number");
        }
        double number = 0;
        const auto [end, code] = std::from_chars(rest_.data(), rest_.data() + rest_.size(), number);
        if (code != std::errc{}) {
            refuse("is too large or too small");
        }
        rest_.remove_prefix(static_cast<std::size_t>(end - rest_.data()));
        if (rest_.size() > 1 && rest_[0] == ',' && is_digit(rest_[1])) {
            refuse("has a comma in a number", "write a decimal point: 9.5mm");
        }
        return number;
    }

    const UnitRow* read_unit(double typed) {
        const auto is_unit_char = [](char c) {
            return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '%' || c == '"' || c == '\'' || c == '/' ||
                   c == '^';
        };
        // Digits belong to a unit only after a letter: "mm2" yes, and "4ft 2in" stops before the 2.
        std::size_t size = 0;
        while (size < rest_.size() && (is_unit_char(rest_[size]) || (size > 0 && is_digit(rest_[size])))) {
            ++size;
        }
        std::string_view word = rest_.substr(0, size);
        const UnitRow* unit = find_unit(word, wanted_);
        if (unit == nullptr && wanted_ == length) {
            // "4ft2in" and 4'2": feet run into inches.
            const std::string_view head = word.substr(0, word.find_first_of("0123456789"));
            const UnitRow* feet = find_unit(head, wanted_);
            if (feet != nullptr && feet->multiplier == fifths_per_foot) {
                word = head;
                unit = feet;
            }
        }
        if (unit == nullptr) {
            unit = bare_zero(word, typed);
        }
        rest_.remove_prefix(word.size());
        return unit;
    }

    const UnitRow* bare_zero(std::string_view word, double typed) const {
        if (word.empty() && typed == 0 && rest_.empty() && wanted_ != temperature) {
            return find_unit(row_of(wanted_).unit, wanted_);
        }
        if (word.empty() && rest_.empty()) {
            refuse("has no unit");
        }
        if (word.empty()) {
            refuse("has " + quoted(rest_) + " where a unit is wanted");
        }
        if (find_unit_anywhere(word) != nullptr) {
            refuse("is not " + wanted_name());
        }
        refuse("has the unknown unit " + quoted(word));
    }

    [[nodiscard]] Quantity checked(double inside) const {
        const Quantity quantity{inside == 0 ? 0.0 : inside, wanted_};
        if (!(std::abs(report_value(quantity)) <= largest_readable)) {
            refuse("is too large");
        }
        if (wanted_ == count && inside != std::floor(inside)) {
            refuse("is not a whole number");
        }
        if (wanted_ == temperature && inside < -273.15) {
            refuse("is below absolute zero");
        }
        return quantity;
    }

    std::string_view text_, rest_;
    Dimension wanted_;
    std::string_view place_;
};

// ---- writing --------------------------------------------------------------------------------------------------------

/// Shortest text of `value`, without an exponent for everyday sizes.
std::string shortest(double value) {
    std::array<char, 64> buffer{};
    const double size = std::abs(value);
    const bool is_everyday = value == 0 || (size >= 1e-6 && size < 1e15);
    const auto result = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value == 0 ? 0.0 : value,
                                      is_everyday ? std::chars_format::fixed : std::chars_format::scientific);
    return {buffer.data(), result.ptr};
}

/// `value` rounded to so many significant digits.
double rounded(double value, int digits) {
    std::array<char, 64> buffer{};
    const auto result =
        std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::scientific, digits - 1);
    double back = 0;
    std::from_chars(buffer.data(), result.ptr, back);
    return back;
}

std::string with_unit(std::string number, std::string_view unit) {
    if (!unit.empty()) {
        number += ' ';
        number += unit;
    }
    return number;
}

std::string without_trailing_zeros(std::string text) {
    if (text.find('.') == std::string::npos) {
        return text;
    }
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') {
        text.pop_back();
    }
    return text;
}

/// About three figures: enough to act on, few enough to read.
int useful_decimals(double value) {
    int decimals = 2;
    double size = std::abs(value);
    for (; size >= 10 && decimals > 0; size /= 10) {
        --decimals;
    }
    for (; size > 0 && size < 1 && decimals < 6; size *= 10) {
        ++decimals;
    }
    return decimals;
}

std::string number_for_people(double value, int decimals, int least_decimals) {
    constexpr int most_decimals = 17;
    if (decimals >= 0) {
        return fixed(value, std::min(decimals, most_decimals));
    }
    return without_trailing_zeros(fixed(value, std::max(least_decimals, useful_decimals(value))));
}

struct PeopleUnit {
    double value;
    std::string_view unit;
};

PeopleUnit metric_for_people(const Quantity& q) {
    const double size = std::abs(q.value);
    switch (q.dimension) {
        case area:
            return size < 1e4 ? PeopleUnit{q.value, "mm2"} : PeopleUnit{q.value / 1e6, "m2"};
        case volume:
            return size < 1e3   ? PeopleUnit{q.value, "mm3"}
                   : size < 1e6 ? PeopleUnit{q.value / 1e3, "cm3"}
                                : PeopleUnit{q.value / 1e6, "l"};
        case mass:
            return size < 0.1 ? PeopleUnit{q.value * 1e3, "g"} : PeopleUnit{q.value, "kg"};
        case pressure:
            return size < 1e3 ? PeopleUnit{q.value, "MPa"} : PeopleUnit{q.value / 1e3, "GPa"};
        case time:
            return size < 120    ? PeopleUnit{q.value, "s"}
                   : size < 7200 ? PeopleUnit{q.value / 60, "min"}
                                 : PeopleUnit{q.value / 3600, "h"};
        default:
            return {report_value(q), report_unit(q.dimension)};
    }
}

PeopleUnit inch_for_people(const Quantity& q) {
    const auto in_unit = [&](std::string_view unit) {
        const UnitRow& row = *find_unit(unit, q.dimension);
        return PeopleUnit{(q.value - row.offset) * row.divisor / row.multiplier, row.shown};
    };
    switch (q.dimension) {
        case length:
            return in_unit("in");
        case area:
            return in_unit("in2");
        case volume:
            return in_unit("in3");
        case mass:
            return in_unit(std::abs(q.value) < kg_per_pound ? "oz" : "lb");
        case force:
            return in_unit("lbf");
        case pressure:
            return in_unit("psi");
        case density:
            return in_unit("lb/ft3");
        case areal_mass:
            return in_unit("oz/yd2");
        case feed:
            return in_unit("in/min");
        case temperature:
            return in_unit("degf");
        default:
            return metric_for_people(q);
    }
}

}  // namespace

std::string_view report_unit(Dimension dimension) { return row_of(dimension).unit; }

std::string_view dimension_name(Dimension dimension) { return row_of(dimension).name; }

double report_value(const Quantity& q) {
    switch (q.dimension) {
        case angle:
            return q.value * 180 / std::numbers::pi;
        case density:
        case areal_mass:
            return q.value * 1e9;
        default:
            return q.value;
    }
}

Quantity from_report_value(double value, Dimension dimension) {
    return {find_unit(report_unit(dimension), dimension)->to_inside(value), dimension};
}

std::string format_quantity(const Quantity& q, UnitSystem system, int decimals) {
    if (!std::isfinite(q.value)) {
        return "unknown";
    }
    if (q.dimension == length && system == UnitSystem::inch) {
        const std::string fraction = inch_fraction(Length::mm(q.value));
        if (fraction != "0" || q.value == 0) {
            return fraction + " in";
        }
    }
    const PeopleUnit shown = system == UnitSystem::inch ? inch_for_people(q) : metric_for_people(q);
    // A builder reads tenths of a mm off a rule at any length.
    const int least_decimals = q.dimension == length && system == UnitSystem::metric ? 1 : 0;
    return with_unit(number_for_people(shown.value, decimals, least_decimals), shown.unit);
}

std::string inch_fraction(Length length) {
    constexpr long long parts = 64;
    CRADLEWRIGHT_PRECONDITION(std::abs(length.mm()) <= largest_readable);
    const long long n = std::llround(std::abs(length.inch()) * static_cast<double>(parts));
    if (n == 0) {
        return "0";
    }
    std::string text = length.mm() < 0 ? "-" : "";
    const long long whole = n / parts;
    const long long rest = n % parts;
    if (whole > 0) {
        text += std::to_string(whole);
    }
    if (rest > 0) {
        const long long common = std::gcd(rest, parts);
        text += (whole > 0 ? " " : "") + std::to_string(rest / common) + "/" + std::to_string(parts / common);
    }
    return text;
}

Quantity parse_quantity(std::string_view text, Dimension wanted, std::string_view place) {
    return QuantityReader(text, wanted, place).read();
}

Length parse_length(std::string_view text, std::string_view place) {
    return Length::mm(parse_quantity(text, Dimension::length, place).value);
}

Angle parse_angle(std::string_view text, std::string_view place) {
    return Angle::rad(parse_quantity(text, Dimension::angle, place).value);
}

std::vector<std::string_view> accepted_units(Dimension dimension) {
    std::vector<std::string_view> units;
    for (const UnitRow& row : unit_rows) {
        if (row.dimension == dimension && (row.text.empty() || !row.shown.empty())) {
            units.push_back(row.shown);
        }
    }
    return units;
}

std::string format_exact(const Quantity& q) {
    constexpr int most_digits = 17;
    CRADLEWRIGHT_PRECONDITION(std::isfinite(q.value));
    const double value = report_value(q);
    for (int digits = 1; digits <= most_digits; ++digits) {
        const double candidate = rounded(value, digits);
        if (from_report_value(candidate, q.dimension).value == q.value) {
            return with_unit(shortest(candidate), report_unit(q.dimension));
        }
    }
    for (const double neighbour : {std::nextafter(value, -HUGE_VAL), std::nextafter(value, HUGE_VAL)}) {
        if (from_report_value(neighbour, q.dimension).value == q.value) {
            return with_unit(shortest(neighbour), report_unit(q.dimension));
        }
    }
    // Only angle, density and areal mass are scaled, and their inside units are rows of the table.
    const std::string_view inside_unit = q.dimension == angle ? "rad" : q.dimension == density ? "kg/mm3" : "kg/mm2";
    return with_unit(shortest(q.value), inside_unit);
}

std::string fixed(double value, int decimals) {
    constexpr int most_decimals = 17;
    // Sign, the 309 digits of the largest double, point, decimals.
    std::array<char, 1 + 309 + 1 + most_decimals> buffer{};
    CRADLEWRIGHT_PRECONDITION(std::isfinite(value) && decimals >= 0 && decimals <= most_decimals);
    const auto result =
        std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, decimals);
    const std::string_view text(buffer.data(), static_cast<std::size_t>(result.ptr - buffer.data()));
    const bool is_minus_zero = text.front() == '-' && text.find_first_of("123456789") == std::string_view::npos;
    return std::string(is_minus_zero ? text.substr(1) : text);
}

}  // namespace cradlewright
