// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/base/vec.hpp"

/// Reads numeric control programs by the rules of T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC
/// Interpreter
/// - Version 3", NISTIR 6556 (2000), and none more lenient. Knows what a router of three axes needs: G0 G1 G2 G3 G17
/// G20 G21 G40 G90 G94, F S, M2 M3 M5 M30. Shares no code with the writer.
namespace cradlewright::test {

class Rs274Error : public std::runtime_error {
public:
    using std::runtime_error::runtime_error;
};

/// One move of the controlled point, mm.
struct Motion {
    int line = 0;  ///< in the file, from 1
    bool is_rapid = false;
    int turn = 0;  ///< 1 counter-clockwise arc, -1 clockwise, 0 straight
    Vec3 from, to;
    Vec2 center;  ///< of an arc
    double feed_mm_min = 0;
    bool spins = false;
    /// Angle that an arc runs through, rad, > 0; a full circle when its ends meet.
    [[nodiscard]] double sweep_rad() const;
    [[nodiscard]] Vec3 at(double share) const;
    [[nodiscard]] double length() const;  ///< in plan for arcs
};
struct Program {
    std::vector<Motion> motions;
    std::vector<std::string> comments;
    bool is_inch = false, has_ended = false;
    double speed_rpm = 0;
};
/// Errors: Rs274Error with line and section of the report.
Program read_rs274(std::string_view text);

}  // namespace cradlewright::test
