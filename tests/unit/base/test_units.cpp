// SPDX-License-Identifier: GPL-3.0-or-later
#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>
#include <random>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"

using namespace cradlewright;

namespace {

double inside(std::string_view text, Dimension dimension) { return parse_quantity(text, dimension, "test").value; }
double mm(std::string_view text) { return parse_length(text, "test").mm(); }

/// One part in 2^50: two or three roundings.
auto nearly(double value) { return Approx(value).epsilon(1e-15).margin(0); }

std::string complaint(std::string_view text, Dimension dimension) {
    try {
        parse_quantity(text, dimension, "here");
    } catch (const Error& error) {
        CHECK(error.code() == ErrorCode::bad_input);
        return error.what();
    }
    return "accepted";
}

constexpr Dimension all_dimensions[] = {
    Dimension::ratio,      Dimension::count, Dimension::length, Dimension::area,       Dimension::volume,
    Dimension::angle,      Dimension::mass,  Dimension::force,  Dimension::pressure,   Dimension::density,
    Dimension::areal_mass, Dimension::time,  Dimension::feed,   Dimension::temperature};

}  // namespace

TEST_CASE("lengths as builders write them", "[base][units]") {
    CHECK(mm("9.5mm") == 9.5);
    CHECK(mm("  9.5   MM ") == 9.5);
    CHECK(mm("3/8in") == 9.525);
    CHECK(mm("3/8\"") == 9.525);
    CHECK(mm("1 1/2 in") == 38.1);
    CHECK(mm("1-1/2 inches") == 38.1);
    CHECK(mm("-1 1/2in") == -38.1);
    CHECK(mm("4ft 2in") == nearly(50 * 25.4));
    CHECK(mm("4ft2in") == nearly(50 * 25.4));
    CHECK(mm("4' 2 1/2\"") == nearly(50.5 * 25.4));
    CHECK(mm("4'2\"") == nearly(50 * 25.4));
    CHECK(mm("-4ft 2in") == nearly(-50 * 25.4));
    CHECK(mm("6 feet") == nearly(72 * 25.4));
    CHECK(mm("0.3m") == 300);
    CHECK(mm(".5cm") == 5);
    CHECK(mm("1e-2 m") == 10);
    CHECK(mm("+2mm") == 2);
    CHECK(mm("0") == 0);
}

TEST_CASE("every dimension reads its units", "[base][units]") {
    // Factors: international yard and pound (1959), g of the 3rd CGPM (1901); worked out here by hand.
    CHECK(inside("12deg", Dimension::angle) == Angle::deg(12).rad());
    CHECK(inside("12 degrees", Dimension::angle) == Angle::deg(12).rad());
    CHECK(inside("0.2rad", Dimension::angle) == 0.2);
    CHECK(inside("320g/m2", Dimension::areal_mass) == ArealMass::g_m2(320).kg_mm2());
    CHECK(inside("10oz/yd2", Dimension::areal_mass) == Approx(339.0575e-9).epsilon(1e-6));
    CHECK(inside("40kg/m3", Dimension::density) == Density::kg_m3(40).kg_mm3());
    CHECK(inside("1.7g/cm^3", Dimension::density) == nearly(1.7e-6));
    CHECK(inside("2.5lb/ft3", Dimension::density) == Approx(40.0462e-9).epsilon(1e-5));
    CHECK(inside("30 N", Dimension::force) == 30);
    CHECK(inside("10lbf", Dimension::force) == Approx(44.48221615).epsilon(1e-9));
    CHECK(inside("8.5GPa", Dimension::pressure) == 8500);
    CHECK(inside("1000psi", Dimension::pressure) == Approx(6.894757293).epsilon(1e-9));
    CHECK(inside("1.2 kg", Dimension::mass) == 1.2);
    CHECK(inside("450g", Dimension::mass) == nearly(0.45));
    CHECK(inside("16oz", Dimension::mass) == nearly(0.45359237));
    CHECK(inside("3 %", Dimension::ratio) == 0.03);
    CHECK(inside("0.03", Dimension::ratio) == 0.03);
    CHECK(inside("1/4", Dimension::ratio) == 0.25);
    CHECK(inside("7", Dimension::count) == 7);
    CHECK(inside("20 min", Dimension::time) == 1200);
    CHECK(inside("24h", Dimension::time) == 86400);
    CHECK(inside("1500 mm/min", Dimension::feed) == 1500);
    CHECK(inside("2.5 m/min", Dimension::feed) == 2500);
    CHECK(inside("60 in/min", Dimension::feed) == 1524);
    CHECK(inside("25 degC", Dimension::temperature) == 25);
    CHECK(inside("77 degF", Dimension::temperature) == Approx(25).epsilon(1e-14));
    CHECK(inside("-40F", Dimension::temperature) == Approx(-40).epsilon(1e-14));
    CHECK(inside("2 m2", Dimension::area) == 2e6);
    CHECK(inside("1in2", Dimension::area) == nearly(645.16));
    CHECK(inside("40cm3", Dimension::volume) == 40e3);
}

TEST_CASE("a refusal says what is wanted and gives an example", "[base][units]") {
    CHECK(complaint("12", Dimension::length) ==
          "here: \"12\" has no unit; a length is wanted, for example 9.5mm or 3/8in");
    CHECK(complaint("12mm", Dimension::angle) ==
          "here: \"12mm\" is not an angle; an angle is wanted, for example 12deg");
    CHECK_THAT(complaint("12 furlong", Dimension::length), Catch::Contains("unknown unit \"furlong\""));
    CHECK_THAT(complaint("9,5mm", Dimension::length), Catch::Contains("decimal point"));
    CHECK_THAT(complaint("", Dimension::length), Catch::Contains("is empty"));
}

TEST_CASE("what is not wholly a quantity is refused", "[base][units]") {
    const char* const lengths[] = {"",
                                   " ",
                                   "mm",
                                   "12",
                                   "1 2mm",
                                   "12mm x",
                                   "12mm 3",
                                   "nan",
                                   "nan mm",
                                   "inf mm",
                                   "-inf mm",
                                   "infinity",
                                   "1e999mm",
                                   "1e-999mm",
                                   "1e13mm",
                                   "--1mm",
                                   "1/0in",
                                   "1/in",
                                   "1 1/2 1in",
                                   "12in 4ft",
                                   "4ft 12in",
                                   "4ft -2in",
                                   "4ft 2mm",
                                   "4ft 2",
                                   "12mm2",
                                   "5m m",
                                   "0x10mm",
                                   "1e5",
                                   "\xc2\xbd in",
                                   "9.5mm\n",
                                   "9.5m\x01m",
                                   "4in 2in",
                                   "1.2.3mm",
                                   "99999999999999999999/1in",
                                   "1d2mm",
                                   "- mm",
                                   "1 -2/3 in extra"};
    for (const char* text : lengths) {
        CAPTURE(text);
        CHECK(complaint(text, Dimension::length) != "accepted");
    }
    CHECK(complaint(std::string_view("9.5mm\0", 6), Dimension::length) != "accepted");
    CHECK(complaint("0", Dimension::temperature) != "accepted");
    CHECK(complaint("-300degC", Dimension::temperature) != "accepted");
    CHECK(complaint("2.5", Dimension::count) != "accepted");
    CHECK(complaint("1/2", Dimension::count) != "accepted");
    CHECK(complaint("3 %", Dimension::count) != "accepted");
    CHECK(complaint("5.", Dimension::length) != "accepted");
}

TEST_CASE("exact text reads back to the last bit", "[base][units][property]") {
    std::mt19937_64 random(20240);
    for (const Dimension dimension : all_dimensions) {
        for (int i = 0; i < 4000; ++i) {
            // Any mantissa over the sizes of a workshop; report values stay below largest_readable.
            const double mantissa = std::bit_cast<double>((random() >> 12) | 0x3ff0000000000000U);
            double value = std::ldexp(mantissa, static_cast<int>(random() % 40) - 20);
            value = dimension == Dimension::count ? std::floor(std::abs(value))
                    : dimension == Dimension::density || dimension == Dimension::areal_mass ? value * 1e-6
                                                                                            : value;
            const double sign = random() % 2 == 0 || dimension == Dimension::temperature ? 1 : -1;
            const Quantity q{sign * value, dimension};
            const std::string text = format_exact(q);
            CAPTURE(text);
            REQUIRE(parse_quantity(text, dimension, "test") == q);
        }
    }
}

TEST_CASE("exact text is the short one a person would write", "[base][units]") {
    CHECK(format_exact(Quantity::of(Length::inch(0.375))) == "9.525 mm");
    CHECK(format_exact(Quantity::of(Length::mm(0.1 + 0.2))) == "0.30000000000000004 mm");
    CHECK(format_exact(Quantity::of(Density::kg_m3(40))) == "40 kg/m3");
    CHECK(format_exact(Quantity::of(ArealMass::g_m2(320))) == "320 g/m2");
    CHECK(format_exact(Quantity::ratio(0.01)) == "0.01");
    CHECK(format_exact(Quantity::count(100000)) == "100000");
    CHECK(format_exact(Quantity::of(Length::mm(-0.0))) == "0 mm");
    for (int degrees = -180; degrees <= 180; ++degrees) {
        CHECK(format_exact(Quantity::of(Angle::deg(degrees))) == std::to_string(degrees) + " deg");
    }
}

TEST_CASE("report values go there and back", "[base][units]") {
    CHECK(report_value(Quantity::of(Angle::rad(std::numbers::pi))) == 180);
    CHECK(report_value(Quantity::of(Density::kg_m3(1700))) == nearly(1700));
    for (const Dimension dimension : all_dimensions) {
        const Quantity q = from_report_value(12.5, dimension);
        CHECK(q.dimension == dimension);
        CHECK(report_value(q) == nearly(12.5));
        CHECK(!dimension_name(dimension).empty());
        CHECK(!accepted_units(dimension).empty());
    }
    CHECK(report_unit(Dimension::areal_mass) == "g/m2");
    CHECK(report_unit(Dimension::ratio).empty());
}

TEST_CASE("every accepted unit reads, in its own dimension only", "[base][units]") {
    for (const Dimension dimension : all_dimensions) {
        for (const std::string_view unit : accepted_units(dimension)) {
            CAPTURE(unit);
            const std::string text = "1 " + std::string(unit);
            CHECK_NOTHROW(parse_quantity(text, dimension, "test"));
            for (const Dimension other : all_dimensions) {
                if (other != dimension && !unit.empty()) {
                    CHECK_THROWS_AS(parse_quantity(text, other, "test"), Error);
                }
            }
        }
    }
}

TEST_CASE("inch fractions to 1/64", "[base][units]") {
    CHECK(inch_fraction(Length::mm(0)) == "0");
    CHECK(inch_fraction(Length::inch(0.375)) == "3/8");
    CHECK(inch_fraction(Length::inch(1.5)) == "1 1/2");
    CHECK(inch_fraction(Length::inch(-2 - 1.0 / 64)) == "-2 1/64");
    CHECK(inch_fraction(Length::inch(0.999)) == "1");
    CHECK(inch_fraction(Length::mm(-0.1)) == "0");
    CHECK_THROWS_AS(inch_fraction(Length::mm(std::numeric_limits<double>::quiet_NaN())), Error);
    CHECK_THROWS_AS(inch_fraction(Length::mm(1e300)), Error);
}

TEST_CASE("inch fractions are never more than 1/128 off and read back", "[base][units][property]") {
    std::mt19937_64 random(7);
    std::uniform_real_distribution<double> inches(-200, 200);
    for (int i = 0; i < 5000; ++i) {
        const Length length = Length::inch(inches(random));
        const std::string text = inch_fraction(length) + "in";
        CAPTURE(text);
        REQUIRE(std::abs(parse_length(text, "test").inch() - length.inch()) <= 1.0 / 128 + 1e-12);
    }
}

TEST_CASE("text for people", "[base][units]") {
    const auto metric = [](Quantity q) { return format_quantity(q); };
    const auto inch = [](Quantity q) { return format_quantity(q, UnitSystem::inch); };
    CHECK(metric(Quantity::of(Length::mm(12.5))) == "12.5 mm");
    CHECK(metric(Quantity::of(Length::mm(1234.56))) == "1234.6 mm");
    CHECK(metric(Quantity::of(Length::mm(0.0312))) == "0.0312 mm");
    CHECK(metric(Quantity::of(Length::mm(100))) == "100 mm");
    CHECK(metric(Quantity::of(Angle::deg(3.2))) == "3.2 deg");
    CHECK(metric(Quantity::of(Mass::kg(0.45))) == "0.45 kg");
    CHECK(metric(Quantity::of(Mass::g(45))) == "45 g");
    CHECK(metric(Quantity::of(Area::m2(0.5))) == "0.5 m2");
    CHECK(metric(Quantity::of(Area::mm2(19.4699))) == "19.5 mm2");
    CHECK(metric(Quantity::of(Pressure::gpa(8.5))) == "8.5 GPa");
    CHECK(metric({1200, Dimension::time}) == "20 min");
    CHECK(metric(Quantity::ratio(0.6)) == "0.6");
    CHECK(metric(Quantity::count(4)) == "4");
    CHECK(metric(Quantity::of(Length::mm(-0.0001))) == "-0.0001 mm");
    CHECK(metric(Quantity::of(Length::mm(std::nan("")))) == "unknown");
    CHECK(metric({std::numeric_limits<double>::infinity(), Dimension::mass}) == "unknown");
    CHECK(format_quantity(Quantity::of(Length::mm(12.345)), UnitSystem::metric, 1) == "12.3 mm");
    CHECK(inch(Quantity::of(Length::inch(1.5))) == "1 1/2 in");
    CHECK(inch(Quantity::of(Length::mm(0.1))) == "0.00394 in");
    CHECK(inch(Quantity::of(Length::mm(0))) == "0 in");
    CHECK(inch(Quantity::of(Area::mm2(645.16))) == "1 in2");
    CHECK(inch(Quantity::of(Mass::kg(0.45359237))) == "1 lb");
    CHECK(inch(Quantity::of(Mass::kg(0.1))) == "3.53 oz");
    CHECK(inch({1524, Dimension::feed}) == "60 in/min");
    CHECK(inch({25, Dimension::temperature}) == "77 degF");
}

TEST_CASE("fixed-point text", "[base][units]") {
    CHECK(fixed(1.005, 1) == "1.0");
    CHECK(fixed(-0.0, 2) == "0.00");
    CHECK(fixed(-0.0004, 3) == "0.000");
    CHECK(fixed(-0.0006, 3) == "-0.001");
    CHECK(fixed(12, 0) == "12");
    CHECK(fixed(std::numeric_limits<double>::max(), 17).size() == 309 + 1 + 17);
    CHECK_THROWS_AS(fixed(std::nan(""), 2), Error);
    CHECK_THROWS_AS(fixed(1, 18), Error);
    CHECK_THROWS_AS(fixed(1, -1), Error);
}
