// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <exception>

#include "base/parallel.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/pipeline.hpp"
#include "cradlewright/stages/moulded.hpp"

namespace cradlewright {
namespace {

constexpr std::size_t rows_a_round = 4;    // between two looks at whether the user wants to stop
constexpr std::size_t most_designed = 4;   // designing in full takes four times as long as the rest
constexpr double places_across_strip = 6;  // so that the strip beside an edge holds enough of them

std::vector<std::string> failing_ids(const CheckReport& report) {
    std::vector<std::string> ids;
    for (const Check& check : report.checks)
        if (check.verdict == Verdict::fail && (ids.empty() || ids.back() != check.id)) ids.push_back(check.id);
    return ids;
}

std::string what_stays(const std::string& pull) {
    if (pull == "vertical") return {};
    if (pull == "best") return "the best pull is sought anew at each tilt, from the vertical on";
    return std::string("the pull is fixed to the plug (") + (pull == "plug-up" ? "its up axis" : "told") +
           "): the tilt changes neither parting line nor draft nor undercut, only how the plug stands and how the "
           "mould is reached";
}

class Sweeper {
public:
    Sweeper(Plug plug, const Settings& settings, const SweepOptions& options)
        : plug_(std::move(plug)),
          settings_(settings),
          options_(options),
          places_(even_places(plug_, options.near_edge.mm() / places_across_strip)),
          sight_(plug_, pose_plug(plug_, settings.pose, 0).pose.plug_in_scan, places_),
          ball_mm_(choose_bead_radius(settings).radius_mm) {}

    [[nodiscard]] SweepRow try_tilt(double tilt_rad) const {
        Parted p = part(plug_, tilted(tilt_rad));
        if (p.parting.is_found()) {
            const std::vector<FaceId> hidden = faces_under_ball(p.posed, p.parting, p.release.draft_rad, ball_mm_);
            leave_out_hidden(p.posed, p.map, p.parting, {hidden, hidden}, settings_.release, p.release);
        }
        return measure_row(p.posed, p.parting, p.release, places_, sight_, options_, settings_);
    }
    [[nodiscard]] std::vector<std::string> failing_at(double tilt_rad) const {
        const Settings settings = tilted(tilt_rad);
        return failing_ids(design_from(part(plug_, settings), settings).checks);
    }

private:
    [[nodiscard]] Settings tilted(double tilt_rad) const {
        Settings settings = settings_;
        settings.pose.tilt = Angle::rad(tilt_rad);
        return settings;
    }

    Plug plug_;
    const Settings& settings_;
    const SweepOptions& options_;
    std::vector<PlugPlace> places_;
    SightLines sight_;
    double ball_mm_;
};

/// A stage may refuse one tilt (Error::bad_input); that is an answer, not the end.
template <class Work>
std::exception_ptr refusal_of(Work&& work) {
    try {
        work();
    } catch (const Error& error) {
        if (error.code() != ErrorCode::bad_input) throw;
        return std::current_exception();
    }
    return nullptr;
}

std::string words_of(const std::exception_ptr& refusal) {
    try {
        std::rethrow_exception(refusal);
    } catch (const Error& error) {
        return error.what();
    }
}

/// Shares of the whole run between which the tilts are tried, for the progress bar.
struct Stretch {
    double from, to;
};

void try_all(const Sweeper& sweeper, const std::vector<double>& tilts, const Progress& progress, Stretch run,
             Sweep& sweep) {
    sweep.rows.resize(tilts.size());
    std::vector<std::exception_ptr> refusals(tilts.size());
    for (std::size_t first = 0; first < tilts.size(); first += rows_a_round) {
        const double share = static_cast<double>(first) / static_cast<double>(tilts.size());
        progress.report("sweep", run.from + (run.to - run.from) * share,
                        "tilt " + fixed(Angle::rad(tilts[first]).deg(), 0) + " deg");
        const std::size_t count = std::min(rows_a_round, tilts.size() - first);
        for_each_piece(count, 1, [&](std::size_t k, std::size_t) {
            const std::size_t i = first + k;
            refusals[i] = refusal_of([&] { sweep.rows[i] = sweeper.try_tilt(tilts[i]); });
            if (refusals[i]) sweep.rows[i].reason = words_of(refusals[i]);
            sweep.rows[i].tilt_rad = tilts[i];
        });
    }
    if (std::ranges::all_of(refusals, [](const std::exception_ptr& e) { return e != nullptr; }))
        std::rethrow_exception(refusals.front());
}

void design_listed(const Sweeper& sweeper, const std::vector<std::size_t>& listed, Sweep& sweep) {
    for_each_piece(listed.size(), 1, [&](std::size_t i, std::size_t) {
        SweepRow& row = sweep.rows[listed[i]];
        const std::exception_ptr refusal = refusal_of([&] { row.failing = sweeper.failing_at(row.tilt_rad); });
        if (refusal) row.failing = {words_of(refusal)};
    });
}

/// Rows, edge names and note; nothing designed.
Sweep tried(const Sweeper& sweeper, const std::vector<double>& tilts, std::optional<double> told,
            const Settings& settings, const Progress& progress, Stretch run) {
    Sweep sweep;
    sweep.units = settings.units;
    sweep.note = what_stays(settings.pose.pull);
    const std::string& pull_2 = settings.pose.pull_2;
    if (pull_2 != "opposite")
        sweep.note += std::string(sweep.note.empty() ? "" : "; ") + "half 2's pull is " +
                      (pull_2 == "best"       ? "sought anew at each tilt"
                       : pull_2 == "vertical" ? "straight down at each tilt"
                                              : "fixed to the plug");
    try_all(sweeper, tilts, progress, run, sweep);
    for (SweepRow& row : sweep.rows) {
        row.is_told = told == row.tilt_rad;
        for (const EdgeAccess& a : row.access)
            if (std::ranges::find(sweep.edge_names, a.edge) == sweep.edge_names.end())
                sweep.edge_names.push_back(a.edge);
    }
    return sweep;
}

}  // namespace

bool wants_tilts_compared(const Design& design) {
    constexpr std::size_t most_faces = 100000;  // a row costs a tenth of all else that `make` does
    const std::string& told = design.settings.pose.compare;
    return design.parting.is_found() &&
           (told == "yes" || (told == "auto" && design.posed.mesh().face_count() <= most_faces));
}

Sweep compare_tilts(const Plug& plug, const Settings& settings, const Progress& progress) {
    constexpr double beside_deg = 20, most_deg = 80;  // the range of pose.tilt
    const double told = settings.pose.tilt.rad(), told_deg = settings.pose.tilt.deg();
    const SweepOptions options{.from = Angle::deg(std::max(told_deg - beside_deg, -most_deg)),
                               .to = Angle::deg(std::min(told_deg + beside_deg, most_deg)),
                               .steps = 17};
    return tried(Sweeper(plug, settings, options), sweep_tilts_rad(options, told), told, settings, progress, {0.95, 1});
}

Sweep run_sweep(ScanMesh scan, const Settings& settings, const SweepOptions& options, const Progress& progress) {
    std::optional<double> told;
    if (settings.origin.contains("pose.tilt")) told = settings.pose.tilt.rad();
    const std::vector<double> tilts = sweep_tilts_rad(options, told);
    progress.report("plug", 0, "mending the scan");
    Plug plug = with_extensions(mend_to_scale(scan, settings), settings);
    progress.report("sweep", 0.1, "looking into the mould");
    const Sweeper sweeper(std::move(plug), settings, options);

    Sweep sweep = tried(sweeper, tilts, told, settings, progress, {0.3, 0.8});
    const std::vector<std::size_t> listed = shortlist(sweep, settings.release, most_designed);
    std::vector<std::size_t> designed = listed;
    for (std::size_t i = 0; i < sweep.rows.size(); ++i)
        if (sweep.rows[i].is_told && sweep.rows[i].has_line && std::ranges::find(listed, i) == listed.end())
            designed.push_back(i);
    progress.report("sweep", 0.8, "designing the likely tilts");
    design_listed(sweeper, designed, sweep);
    recommend(sweep, listed);
    return sweep;
}

}  // namespace cradlewright
