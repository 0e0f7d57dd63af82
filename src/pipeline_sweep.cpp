// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <exception>
#include <limits>

#include "base/parallel.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/mechanics/stand.hpp"
#include "cradlewright/pipeline.hpp"

namespace cradlewright {
namespace {

constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t rows_a_round = 4;  // between two looks at whether the user wants to stop

/// Inside unit; NaN where the check could not be computed.
double value_of(const CheckReport& report, std::string_view id, std::string_view subject = {}) {
    for (const Check& check : report.checks) {
        if (check.id != id || (!subject.empty() && check.subject != subject)) continue;
        if (check.verdict == Verdict::unknown || check.verdict == Verdict::not_applicable) continue;
        return check.value.value;
    }
    return unknown;
}

SweepHalf half_of(const CheckReport& report, const HalfRelease& half, const std::string& name) {
    return {Angle::rad(value_of(report, "release.draft", name)).deg(), half.low_band_mm, half.undercut_depth_mm,
            half.undercut_area_mm2};
}

std::vector<std::string> failing_ids(const CheckReport& report) {
    std::vector<std::string> ids;
    for (const Check& check : report.checks)
        if (check.verdict == Verdict::fail && (ids.empty() || ids.back() != check.id)) ids.push_back(check.id);
    return ids;
}

void fill_row(const Designed& designed, const SightLines& sight, SweepRow& row) {
    const Design& design = designed.design;
    row.height_mm = design.posed.box_fixture.high.z;
    row.reason = design.parting.reason;
    row.has_line = design.parting.is_found();
    if (!row.has_line) return;
    row.reason.clear();
    row.half = {half_of(designed.checks, design.release.half1, "half 1"),
                half_of(designed.checks, design.release.half2, "half 2")};
    row.failing = failing_ids(designed.checks);
    row.tip_rad = value_of(designed.checks, "pose.tip");
    row.slide_rad = slide_demand_rad(design.cradle);
    const double weight = standard_gravity * design.posed.plug.mass_kg;
    row.stop_force_n = weight >= 0 && row.slide_rad >= 0
                           ? cradlewright::stop_force_n(weight, row.slide_rad, design.settings.limits.friction)
                           : unknown;
    row.access = sight.near_edges(design.posed, design.parting);
}

std::string what_stays(const std::string& pull) {
    if (pull == "vertical") return {};
    if (pull == "best") return "the best pull is sought anew at each tilt, starting from the vertical";
    return std::string("the pull is fixed to the plug (") + (pull == "plug-up" ? "its up axis" : "told") +
           "): the tilt does not change parting line, draft or undercut, only how the plug lies and is reached";
}

}  // namespace

Sweep run_sweep(ScanMesh scan, const Settings& settings, const SweepOptions& options, const Progress& progress) {
    std::optional<double> told;
    if (settings.origin.contains("pose.tilt")) told = settings.pose.tilt.rad();
    const std::vector<double> tilts = sweep_tilts_rad(options, told);
    progress.report("plug", 0, "mending the scan");
    const Plug plug = mend_to_scale(scan, settings);
    progress.report("sweep", 0.1, "looking into the mould");
    const Frame3 plug_in_scan = pose_plug(plug, settings.pose, 0).pose.plug_in_scan;
    const SightLines sight(plug, plug_in_scan, options.near_edge.mm());

    Sweep sweep;
    sweep.rows.resize(tilts.size());
    std::vector<std::exception_ptr> refusals(tilts.size());
    const auto try_tilt = [&](std::size_t i) {
        SweepRow& row = sweep.rows[i];
        row.tilt_rad = tilts[i];
        row.is_told = told == tilts[i];
        Settings tilted = settings;
        tilted.pose.tilt = Angle::rad(tilts[i]);
        try {
            fill_row(design_plug(plug, tilted), sight, row);
        } catch (const Error& error) {
            if (error.code() != ErrorCode::bad_input) throw;
            row.has_line = false;
            row.reason = error.what();
            refusals[i] = std::current_exception();
        }
    };
    for (std::size_t first = 0; first < tilts.size(); first += rows_a_round) {
        const double share = static_cast<double>(first) / static_cast<double>(tilts.size());
        progress.report("sweep", 0.2 + 0.8 * share, "tilt " + fixed(Angle::rad(tilts[first]).deg(), 0) + " deg");
        const std::size_t count = std::min(rows_a_round, tilts.size() - first);
        for_each_piece(count, 1, [&](std::size_t i, std::size_t) { try_tilt(first + i); });
    }
    if (std::ranges::all_of(refusals, [](const std::exception_ptr& e) { return e != nullptr; }))
        std::rethrow_exception(refusals.front());

    for (const SweepRow& row : sweep.rows)
        for (const EdgeAccess& a : row.access)
            if (std::ranges::find(sweep.edge_names, a.edge) == sweep.edge_names.end())
                sweep.edge_names.push_back(a.edge);
    sweep.note = what_stays(settings.pose.pull);
    recommend_tilt(sweep, settings.release);
    return sweep;
}

}  // namespace cradlewright
