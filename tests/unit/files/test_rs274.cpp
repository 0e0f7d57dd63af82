// SPDX-License-Identifier: GPL-3.0-or-later
// The reader by which written programs are judged is itself held against the report.
#include <catch2/catch.hpp>
#include <numbers>

#include "support/rs274.hpp"

namespace cradlewright::test {
namespace {

const std::string start = "G21\nG17 G40 G90 G94\n";

std::string complaint(const std::string& text) {
    try {
        read_rs274(text);
    } catch (const Rs274Error& error) {
        return error.what();
    }
    return "accepted";
}

TEST_CASE("the report's arc", "[files][rs274]") {
    // NISTIR 6556, 3.5.3.2: from (7,7), "G2 X10 Y16 I3 J4": centre (10,11), radius 5 at both ends.
    const Program program = read_rs274(start + "G0 X7 Y7\nG17 G2 x 10 y 16 i 3 j 4 f 20\nM2\n");
    const Motion& arc = program.motions.at(1);
    CHECK(arc.center == Vec2{10, 11});
    CHECK(norm(Vec2{arc.from.x, arc.from.y} - arc.center) == Approx(5));
    CHECK(norm(Vec2{arc.to.x, arc.to.y} - arc.center) == Approx(5));
    CHECK(arc.turn == -1);
    // Clockwise from (-3,-4) to (0,5): by hand 180 - 36.87 deg.
    CHECK(arc.sweep_rad() == Approx(std::numbers::pi / 2 + std::atan2(4, 3)));
    CHECK(arc.feed_mm_min == 20);
}

TEST_CASE("a full circle ends where it starts", "[files][rs274]") {
    const Program program = read_rs274(start + "F10\nG3 X0 Y0 I5 J0 Z-1\nM2\n");
    CHECK(program.motions.at(0).sweep_rad() == Approx(2 * std::numbers::pi));
    CHECK(program.motions.at(0).at(0.5) == Vec3{10, program.motions.at(0).at(0.5).y, -0.5});
}

TEST_CASE("inches, blanks, capitals, numbers as the report allows them", "[files][rs274]") {
    const Program program =
        read_rs274("%\nG20 (inch)\nN00010 g 17 g40 G90 G94\ng0x +0. 12 34y 7\n/G1 X-.5 F6\n%\nanything");
    CHECK(program.is_inch);
    CHECK(program.comments == std::vector<std::string>{"inch"});
    CHECK(program.motions.at(0).to.x == Approx(0.1234 * 25.4));
    CHECK(program.motions.at(0).to.y == Approx(7 * 25.4));
    CHECK(program.motions.at(1).to.x == Approx(-0.5 * 25.4));
    CHECK(program.motions.at(1).feed_mm_min == Approx(6 * 25.4));
}

TEST_CASE("what the report forbids is refused", "[files][rs274]") {
    const auto body = [](const std::string& lines) { return complaint(start + lines + "\nM2\n"); };
    CHECK(body("G0 X1") == "accepted");
    CHECK_THAT(complaint(start + "G0 X1\n"), Catch::Contains("3.1"));  // no end
    CHECK_THAT(complaint(start + "M2\nG0 X1\n"), Catch::Contains("after the end"));
    CHECK_THAT(body("G0 X1 (" + std::string(250, 'a') + ")"), Catch::Contains("256"));
    CHECK_THAT(body("(open"), Catch::Contains("not closed"));
    CHECK_THAT(body("(a (b) c)"), Catch::Contains("within a comment"));
    CHECK_THAT(body("N100000 G0 X1"), Catch::Contains("3.3.1"));
    CHECK_THAT(body("G0 X1 X2"), Catch::Contains("twice"));
    CHECK_THAT(body("G0 G1 X2 F3"), Catch::Contains("group motion"));
    CHECK_THAT(body("G0 X"), Catch::Contains("number"));
    CHECK_THAT(body("G0 X1.2.3"), Catch::Contains("no word begins"));
    CHECK_THAT(body("G0 X1e3"), Catch::Contains("no word begins"));
    CHECK_THAT(body("G0 X1 ; so"), Catch::Contains("no word begins"));
    CHECK_THAT(body("G1 X1"), Catch::Contains("feed 0"));
    CHECK_THAT(body("G1"), Catch::Contains("without an axis word"));
    CHECK_THAT(body("X1"), Catch::Contains("without a motion code"));
    CHECK_THAT(body("F1 G2 X1 Y1"), Catch::Contains("without I and J"));
    CHECK_THAT(body("F1 G1 X1 I1"), Catch::Contains("straight"));
    CHECK_THAT(body("M3"), Catch::Contains("speed 0"));
    CHECK_THAT(body("S1 M3 M5"), Catch::Contains("spindle"));
    CHECK_THAT(body("G0 X1\nG20"), Catch::Contains("3.5.7"));
    CHECK_THAT(body("G43 X1"), Catch::Contains("not known here"));
    CHECK_THAT(complaint("G0 X1\nM2\n"), Catch::Contains("before units"));
    // 3.5.3.2: 0.002 mm of radius, 0.0002 in.
    CHECK(body("F1 G2 X10.0019 Y0 I5 J0") == "accepted");
    CHECK_THAT(body("F1 G2 X10.0021 Y0 I5 J0"), Catch::Contains("radius"));
    CHECK_THAT(complaint("G20 G17 G90\nF1 G2 X10.00021 Y0 I5 J0\nM2"), Catch::Contains("radius"));
}

}  // namespace
}  // namespace cradlewright::test
