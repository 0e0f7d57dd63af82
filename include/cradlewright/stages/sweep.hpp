// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/stages/cradle.hpp"
#include "cradlewright/stages/sight_lines.hpp"

namespace cradlewright {

struct SweepOptions {
    Angle from = Angle::deg(-45), to = Angle::deg(45);
    std::size_t steps = 31;             ///< tilts tried, both ends included
    Length near_edge = Length::mm(40);  ///< access is judged on the surface this near to an edge
};

/// What one half's mould would be like. NaN: not known.
struct SweepHalf {
    double draft_deg = 0;  ///< as the check release.draft judges it
    double low_band_mm = 0;
    double undercut_mm = 0;
    double undercut_area_mm2 = 0;
};

/// One tilt, designed and checked as `make` would. NaN: not known.
struct SweepRow {
    double tilt_rad = 0;
    bool is_told = false;   ///< the job's own tilt
    bool has_line = false;  ///< else no figure but the height means anything
    std::string reason;     ///< why there is no line, or empty
    std::array<SweepHalf, 2> half;
    double slide_rad = 0;                       ///< see slide_demand_rad
    double stop_force_n = 0;                    ///< what a stop must take at the friction of the settings
    double tip_rad = 0;                         ///< as the check pose.tip judges it
    double height_mm = 0;                       ///< of the plug's highest place over the top of the base
    std::vector<EdgeAccess> access;             ///< in the line's order
    std::vector<std::string> failing;           ///< ids of checks that fail, each once
    [[nodiscard]] double draft_deg() const;     ///< of the worse half
    [[nodiscard]] double undercut_mm() const;   ///< of the worse half
    [[nodiscard]] double least_access() const;  ///< over edges and halves
};

struct Sweep {
    std::vector<SweepRow> rows;           ///< by tilt
    std::optional<std::size_t> best;      ///< row of the recommended tilt; none without a line
    std::string reason;                   ///< why that one, in words and numbers
    std::string note;                     ///< what the tilt does not change, or empty
    std::vector<std::string> edge_names;  ///< of all rows, each once, in the order met
};

/// The tilts of a sweep, rising: evenly from `from` to `to`, and `told` among them when it lies between and is not one
/// of them. Errors: Error(bad_input): `from` not below `to`, either beyond what pose.tilt takes, steps not 2 to 361.
std::vector<double> sweep_tilts_rad(const SweepOptions& options, std::optional<double> told_rad);

/// Friction angle that pads need to keep the plug from sliding across the span, nothing else holding it: over the
/// places of the saddles, the plug must climb atan(rise / run) to move that way, the most at the steepest 4 mm; where
/// that is down all the way, friction must hold the rest. 0: the saddles hold it by their shape. As in the check
/// pose.slide the ribs of either half of the cradle must hold, or a push at one end turns the plug. NaN without a
/// saddle. Source: derived, Coulomb friction on an incline.
double slide_demand_rad(const Cradle& cradle);

/// Picks a tilt by what matters most to a builder, each step among those left by the one before: a parting line; the
/// fewest failing checks; least undercut beyond the limit; enough draft (release.good-draft, else within 0.5 deg of the
/// best); access to the hardest edge within 0.03 of the best; slide demand within 1 deg of the least; the smallest
/// tilt. Fills `best` and `reason`. Source of the order and margins: common practice, assumed.
void recommend_tilt(Sweep& sweep, const ReleaseOptions& release);

}  // namespace cradlewright
