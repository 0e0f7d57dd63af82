// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <optional>

#include "app/commands.hpp"
#include "app/console.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/files/output_folder.hpp"
#include "cradlewright/files/read_mesh.hpp"
#include "cradlewright/files/write_sweep.hpp"
#include "cradlewright/pipeline.hpp"

namespace cradlewright::app {

namespace {

SweepOptions options_of(const Request& request) {
    SweepOptions options;
    if (!request.sweep_from.empty()) options.from = parse_angle(request.sweep_from, "--from");
    if (!request.sweep_to.empty()) options.to = parse_angle(request.sweep_to, "--to");
    if (request.sweep_steps > 0) options.steps = static_cast<std::size_t>(request.sweep_steps);
    return options;
}

std::string cell(double value, int decimals) { return std::isfinite(value) ? fixed(value, decimals) : "-"; }

std::string length_cell(double mm, UnitSystem units) {
    if (!std::isfinite(mm)) return "-";
    return units == UnitSystem::inch ? fixed(mm / 25.4, 2) : fixed(mm, 1);
}

constexpr std::size_t most_edge_columns = 4;

std::string mark_of(const Sweep& sweep, std::size_t i) {
    return sweep.best == i ? "*" : sweep.rows[i].is_told ? "set" : "";
}

/// The edges with a column of their own; one for all others takes the place of the last.
std::vector<std::string> edge_columns(const Sweep& sweep) {
    return sweep.main_edges(sweep.edge_names.size() > most_edge_columns ? most_edge_columns - 1 : most_edge_columns);
}

Table table_of(const Sweep& sweep, UnitSystem units) {
    using Align = Table::Align;
    const std::vector<std::string> edges = edge_columns(sweep);
    const bool has_rest = sweep.edge_names.size() > edges.size();
    std::vector<Table::Column> columns{{"tilt", Align::right},  {"draft", Align::right}, {"undercut", Align::right},
                                       {"slide", Align::right}, {"tip", Align::right},   {"high", Align::right},
                                       {"fails", Align::right}};
    for (const std::string& edge : edges) columns.push_back({printable(edge), Align::right});
    if (has_rest) columns.push_back({"other", Align::right});
    columns.push_back({"", Align::left});
    Table table(columns);
    for (std::size_t i = 0; i < sweep.rows.size(); ++i) {
        const SweepRow& r = sweep.rows[i];
        std::vector<std::string> cells{fixed(Angle::rad(r.tilt_rad).deg(), 1)};
        if (r.has_line) {
            cells.insert(cells.end(), {cell(r.draft_deg(), 1), length_cell(r.undercut_mm(), units),
                                       cell(Angle::rad(r.standing.slide_rad).deg(), 1),
                                       cell(Angle::rad(r.standing.tip_rad).deg(), 1),
                                       cell(r.height_mm / (units == UnitSystem::inch ? 25.4 : 1), 0),
                                       r.failing ? std::to_string(r.failing->size()) : "-"});
            for (const std::string& edge : edges) cells.push_back(cell(100 * r.access_to(edge), 0));
            if (has_rest) cells.push_back(cell(100 * r.access_to_others(edges), 0));
        } else {
            cells.resize(columns.size() - 1, "-");
        }
        cells.push_back(mark_of(sweep, i));
        table.add(std::move(cells));
    }
    return table;
}

/// Why tilts have no line, each reason once with its tilts.
void print_refusals(Console& console, const Sweep& sweep) {
    std::vector<std::string> reasons;
    for (const SweepRow& row : sweep.rows)
        if (!row.has_line && std::ranges::find(reasons, row.reason) == reasons.end()) reasons.push_back(row.reason);
    for (const std::string& reason : reasons) {
        std::string tilts;
        for (const SweepRow& row : sweep.rows)
            if (!row.has_line && row.reason == reason)
                tilts += (tilts.empty() ? "" : ", ") + fixed(Angle::rad(row.tilt_rad).deg(), 1);
        console.fact("no line", printable(tilts + " deg: " + reason));
    }
}

void print_sweep(Console& console, const Sweep& sweep, const std::string& name, UnitSystem units) {
    console.result(printable(name) + "\n");
    console.result(table_of(sweep, units).text());
    const std::string length = units == UnitSystem::inch ? "in" : "mm";
    console.result("\n");
    console.fact("columns", "tilt deg, positive lifts the front; draft deg and undercut " + length +
                                " of the worse half; slide: friction angle that the pads must hold, deg; tip: out of "
                                "level by this it tips, deg; high: the highest place, " +
                                length +
                                " over the base; fails: checks that `make` fails, of the tilts designed in full; then, "
                                "by edge, the share in % of "
                                "looks into the open mould that see the surface beside it, worse half");
    std::string others;
    const std::vector<std::string> edges = edge_columns(sweep);
    for (const std::string& edge : sweep.edge_names)
        if (std::ranges::find(edges, edge) == edges.end()) others += (others.empty() ? "" : ", ") + edge;
    if (!others.empty()) console.fact("other", printable(others) + ": the least of them");
    print_refusals(console, sweep);
    if (!sweep.note.empty()) console.fact("note", sweep.note);
    if (sweep.best)
        console.fact("recommended",
                     fixed(Angle::rad(sweep.rows[*sweep.best].tilt_rad).deg(), 1) + " deg (* above): " + sweep.reason);
    else
        console.fact("recommended", "none: " + sweep.reason);
}

}  // namespace

Outcome run_sweep_command(const Request& request) {
    const Settings settings = settings_of(request);
    if (settings.plug.scan.empty())
        throw Error(ErrorCode::bad_input, request.input, "names no scan", "add scan = \"FILE\" to its [plug] section");
    const SweepOptions options = options_of(request);
    std::optional<OutputFolder> folder;
    if (!request.out.empty()) {
        const auto existing = request.overwrites ? OutputFolder::Existing::replace : OutputFolder::Existing::keep;
        folder.emplace(request.out, existing, needed_files(request, settings));
    }
    Console console(!request.prints_json && !request.is_quiet);
    const Progress progress = console.progress();
    progress.report("read", 0, settings.plug.scan);
    ScanMesh scan = read_scan(settings.plug);
    const std::string name = scan.name;
    const Sweep sweep = run_sweep(std::move(scan), settings, options, progress);
    const std::string json = sweep_json(sweep);
    if (folder) {
        folder->write("sweep.svg", sweep_chart_svg(sweep, settings.units));
        folder->write("sweep.json", json);
    }
    if (request.prints_json) Console::raw(json);
    print_sweep(console, sweep, name, settings.units);
    Console::flush();  // before the old folder is replaced
    if (folder) folder->commit();
    if (folder) console.result("\nwrote sweep.svg and sweep.json to " + printable(request.out.string()) + "\n");
    if (!sweep.best) console.warn(sweep.reason);
    return sweep.best && sweep.rows[*sweep.best].failing == std::vector<std::string>{} ? Outcome::good : Outcome::weak;
}

}  // namespace cradlewright::app
