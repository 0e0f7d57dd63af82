// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/stages/release.hpp"
#include "cradlewright/stages/sight_lines.hpp"

namespace cradlewright {

struct SweepOptions {
    Angle from = Angle::deg(-45), to = Angle::deg(45);
    std::size_t steps = 31;             ///< tilts tried, both ends included
    Length near_edge = Length::mm(40);  ///< access is judged on the surface this near to an edge
};

/// What one half's mould would be like. NaN: not known.
struct SweepHalf {
    double draft_deg = 0;  ///< of the moulded surface at release.draft-quantile, see faces_under_ball
    double low_band_mm = 0;
    double undercut_mm = 0;
    double undercut_area_mm2 = 0;
};

/// How the plug would stand on saddles. NaN: not known.
struct Standing {
    /// Friction angle that pads need to keep the plug from sliding across the span, no stop or panel helping: to move
    /// that way the plug must climb over the surface it bears on, at most by the climb that the steepest 2 % of that
    /// surface ask for; where that is down, friction must hold the rest. 0: held by shape.
    double slide_rad = 0;
    double tip_rad = 0;  ///< out of level by this it tips over the outermost places it bears on
};

/// One tilt. NaN: not known.
struct SweepRow {
    double tilt_rad = 0;
    bool is_told = false;   ///< the job's own tilt
    bool has_line = false;  ///< else no figure but the height means anything
    std::string reason;     ///< why there is no line, or empty
    std::array<SweepHalf, 2> half;
    Standing standing;
    double stop_force_n = 0;         ///< what a stop must take at the friction of the settings
    double height_mm = 0;            ///< of the plug's highest place over the top of the base
    std::vector<EdgeAccess> access;  ///< in the line's order
    /// Ids of checks that fail in the whole design at this tilt, each once; none where that was not designed.
    std::optional<std::vector<std::string>> failing;
    [[nodiscard]] double draft_deg() const;                                              ///< of the worse half
    [[nodiscard]] double undercut_mm() const;                                            ///< of the worse half
    [[nodiscard]] double least_access() const;                                           ///< over edges and halves
    [[nodiscard]] double access_to(const std::string& edge) const;                       ///< worse half
    [[nodiscard]] double access_to_others(const std::vector<std::string>& edges) const;  ///< least of the rest
};

struct Sweep {
    std::vector<SweepRow> rows;           ///< by tilt
    std::optional<std::size_t> best;      ///< row of the recommended tilt; none without a line
    std::string reason;                   ///< why that one, in words and numbers
    UnitSystem units{};                   ///< of those numbers
    std::string note;                     ///< what the tilt does not change, or empty
    std::vector<std::string> edge_names;  ///< of all rows, each once, in the order met
    /// At most `most` of them, those of the outline before others.
    [[nodiscard]] std::vector<std::string> main_edges(std::size_t most) const;
};

/// The tilts of a sweep, rising: evenly from `from` to `to`, and `told` among them when it lies between and is not one
/// of them. Errors: Error(bad_input): `from` not below `to`, either beyond what pose.tilt takes, steps not 2 to 361.
std::vector<double> sweep_tilts_rad(const SweepOptions& options, std::optional<double> told_rad);

/// The plug on saddles without friction, stops or panels: it bears where half 2's surface is no steeper than
/// cradle.steepest to the level and at least cradle.panel-margin and a panel's thickness from the panel line. Sliding:
/// either half of the span must hold by itself, or a push at one end turns the plug. Tipping: atan(b / h) over the
/// convex hull of the places, h from the lowest of them to the centre of mass. Source: derived, Coulomb friction on an
/// incline; key "from-memory" of tip_angle_rad. Cost: O(places log line).
Standing standing_of(const PosedPlug& posed, const Parting& parting, const std::vector<PlugPlace>& places,
                     const CradleOptions& cradle, double panel_mm);

/// All figures of a row but its tilt and what fails. In: `release` of what the moulds take (leave_out_hidden).
SweepRow measure_row(const PosedPlug& posed, const Parting& parting, const Release& release,
                     const std::vector<PlugPlace>& places, const SightLines& sight, const SweepOptions& options,
                     const Settings& settings);

/// Rows worth designing in full, at most `most`, by what matters most to a builder, each step among those left by the
/// one before: a parting line; least undercut beyond the limit; enough draft (release.good-draft, else within 0.5 deg
/// of the best); access to the hardest edge within 0.03 of the best; slide demand within 1 deg of the least; the
/// smallest tilts. One place is kept for the least tilt that releases as well, however it handles. Tells the steps in
/// Sweep::reason. Source of order and margins: common practice, assumed.
std::vector<std::size_t> shortlist(Sweep& sweep, const ReleaseOptions& release, std::size_t most);

/// Of the `listed` rows the one that fails the fewest checks, the foremost of equals; fills `best`, ends `reason`.
void recommend(Sweep& sweep, const std::vector<std::size_t>& listed);

}  // namespace cradlewright
