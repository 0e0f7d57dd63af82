// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cctype>
#include <cstring>
#include <map>
#include <optional>

#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/dump.hpp"
#include "base/parallel.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/files/output_folder.hpp"
#include "cradlewright/files/read_mesh.hpp"
#include "cradlewright/files/write_drawings.hpp"
#include "cradlewright/files/write_gcode.hpp"
#include "cradlewright/files/write_report.hpp"
#include "cradlewright/files/write_scene.hpp"
#include "cradlewright/output/drawing.hpp"
#include "cradlewright/output/scene.hpp"
#include "cradlewright/output/toolpath.hpp"
#include "cradlewright/pipeline.hpp"

namespace cradlewright::app {

namespace {

namespace fs = std::filesystem;

fs::path out_folder(const Request& request) {
    return request.out.empty() ? fs::path("out") / fs::path(request.input).stem() : request.out;
}

Build design(const Settings& settings, const Progress& progress) {
    progress.report("read", 0, settings.plug.scan);
    return run_pipeline(read_scan(settings.plug), settings, progress);
}

/// `path` within the folder, without an ending.
void write_drawing(OutputFolder& folder, const std::string& path, const Drawing& drawing) {
    write_dxf(drawing, folder.add(path + ".dxf"));
    folder.write(path + ".svg", svg_text(drawing));
}

void write_cut_files(OutputFolder& folder, const Build& build, const Progress& progress) {
    const Settings& settings = build.design.settings;
    const std::vector<const PlatePart*> parts = all_parts(build.design);
    std::map<const PlatePart*, Drawing> drawings;
    for (std::size_t i = 0; i < parts.size(); ++i) {
        progress.report("write", double(i) / double(parts.size()), parts[i]->id);
        write_drawing(folder, "cut/" + parts[i]->id, drawings[parts[i]] = draw_to_cut(*parts[i], settings));
    }
    if (settings.cut_by == CutMethod::router)
        for (const SheetPath& path : plan_router(build.design, build.layout))
            folder.write("router/sheet-" + path.stock + "-" + std::to_string(path.number) + ".ngc",
                         gcode_text(path, settings.units));
    for (const Sheet& sheet : build.layout.sheets)
        write_drawing(folder, "cut/sheet-" + sheet.stock + "-" + std::to_string(sheet.number),
                      draw_sheet(sheet, build.design));
    if (settings.cut_by != CutMethod::print || parts.empty()) return;
    std::vector<Tiling> tilings;
    for (const PlatePart* part : parts_to_print(build.design))
        tilings.push_back(tile_drawing(drawings.at(part), settings.paper));
    write_templates_pdf(tilings, settings.paper, settings.units, folder.add("print/templates.pdf"));
}

void write_cloth(OutputFolder& folder, const Build& build) {
    std::vector<Tiling> tilings;
    std::vector<HandPattern> by_hand;
    const Settings& settings = build.design.settings;
    for (const LaidSurface& surface : build.design.layup.surfaces)
        for (const ClothPiece& piece : surface.pieces) {
            const Drawing drawing = draw_part(piece.part);
            write_drawing(folder, "layup/" + piece.part.id, drawing);
            tilings.push_back(tile_drawing(drawing, settings.paper));
            by_hand.push_back(hand_pattern(piece.part, settings.units));
        }
    for (const LaidSurface& surface : build.design.layup.surfaces)
        for (const FlatPiece& flat : surface.flats)
            if (flat.trouble.empty()) write_drawing(folder, "layup/" + flat.part.id, draw_part(flat.part));
    if (tilings.empty()) return;
    write_templates_pdf(tilings, settings.paper, settings.units, folder.add("layup/templates.pdf"));
    folder.write("layup/by-hand.pdf", hand_patterns_pdf(by_hand, settings, build.design.posed.plug.name));
}

/// Quoted where a shell would take it apart. Source: POSIX.1-2017, Shell Command Language, 2.2.2.
std::string shell_word(const std::string& text) {
    const auto is_plain = [](char c) {
        return std::isalnum(static_cast<unsigned char>(c)) != 0 || std::strchr("._-/=,:+", c) != nullptr;
    };
    if (!text.empty() && std::ranges::all_of(text, is_plain)) return text;
    std::string word = "'";
    for (const char c : text) word += c == '\'' ? std::string("'\\''") : std::string(1, c);
    return word + "'";
}

ReportInput report_input(const Build& build, const OutputFolder& folder) {
    return {&build.design, &build.checks, &build.layout, folder.files(), nullptr, nullptr, {}};
}

std::string spelled(std::size_t count, const char* one, const char* many) {
    return std::to_string(count) + " " + (count == 1 ? one : many);
}

std::string size_text(Vec3 size, UnitSystem units) {
    const auto length = [&](double mm) { return format_quantity(Quantity::of(Length::mm(mm)), units); };
    return length(size.x) + " x " + length(size.y) + " x " + length(size.z);
}

void print_design(Console& console, const Build& build) {
    const Design& d = build.design;
    const UnitSystem units = d.settings.units;
    const auto length = [&](double mm) { return format_quantity(Quantity::of(Length::mm(mm)), units); };
    const auto angle = [&](double rad) { return format_quantity(Quantity::of(Angle::rad(rad)), units); };

    console.result(printable(d.posed.plug.name) + "\n");
    console.fact("plug", size_text(d.posed.box_fixture.size(), units) + " as it stands, " +
                             spelled(d.posed.mesh().face_count(), "triangle", "triangles"));
    for (const Extension& e : d.posed.plug.extensions)
        console.fact("extension", e.edge + ", " + length(e.length_mm) + (e.is_sloped ? " sloped" : " straight") +
                                      ", trim step " + length(e.trim_step_mm));
    console.fact("pose", "tilt " + angle(d.posed.pose.tilt_rad) + ", turn " + angle(d.posed.pose.turn_rad) + "; up " +
                             d.posed.pose.up_from + ", span " + d.posed.pose.span_from);
    double line_mm = 0;
    for (const PartingLoop& loop : d.parting.loops) line_mm += loop.length_mm;
    if (d.parting.is_found()) {
        console.fact("parting line", spelled(d.parting.loops.size(), "loop", "loops") + ", " + length(line_mm));
        console.fact("flange", spelled(d.flange.panels.size(), "panel", "panels"));
        console.fact("cradle", spelled(d.cradle.ribs.size() + d.cradle.long_ribs.size(), "rib", "ribs") + ", " +
                                   spelled(d.cradle.stringers.size(), "stringer", "stringers") + ", " +
                                   spelled(d.cradle.ties.size(), "tie", "ties") +
                                   (d.cradle.count_reason.empty() ? "" : "; " + d.cradle.count_reason));
        if (!d.mould_plies.reason.empty())
            console.fact("mould", spelled(std::size_t(d.mould_plies.count), "ply", "plies") + " of " +
                                      d.mould_plies.cloth + " " + d.mould_plies.reason);
        std::size_t pieces = 0;
        for (const LaidSurface& surface : d.layup.surfaces) pieces += surface.pieces.size();
        const LayupKit& kit = d.layup.kit;
        console.fact("cloth", spelled(pieces, "pattern", "patterns") + ", " +
                                  format_quantity(Quantity::of(Mass::kg(kit.fibre_kg)), units) + " of fibre, " +
                                  format_quantity(Quantity::of(Mass::kg(kit.resin_kg + kit.hardener_kg)), units) +
                                  " of resin and hardener, with waste");
        console.fact("beads", "radius " + length(d.beads.radius_mm) + " (" + d.beads.radius_from + "), clay " +
                                  format_quantity(Quantity::of(Mass::kg(d.beads.clay_mass_kg)), units));
    }
    const auto count = [&](HardwareKind kind) {
        return std::size_t(std::ranges::count(d.hardware.items, kind, &HardwareItem::kind));
    };
    if (!d.hardware.items.empty())
        console.fact("hardware", spelled(count(HardwareKind::locator), "locator", "locators") + ", " +
                                     spelled(count(HardwareKind::bolt), "clamp bolt", "clamp bolts") + ", " +
                                     spelled(count(HardwareKind::jack), "jack bolt", "jack bolts") + ", " +
                                     spelled(count(HardwareKind::notch), "wedge notch", "wedge notches") + ", " +
                                     spelled(count(HardwareKind::port), "port", "ports"));
    if (!d.back.reason.empty()) console.fact("mould back", d.back.reason);
    std::vector<std::string> notes{d.posed.plug.note, d.parting.reason, d.flange.note};
    notes.insert(notes.end(), d.hardware.notes.begin(), d.hardware.notes.end());
    notes.insert(notes.end(), d.back.notes.begin(), d.back.notes.end());
    for (const std::string& note : notes)
        if (!note.empty()) console.fact("note", printable(note));
    console.fact("stock", spelled(build.layout.sheets.size(), "sheet", "sheets"));
}

std::string verdict_counts(const CheckReport& report) {
    std::string text;
    for (const Verdict verdict :
         {Verdict::pass, Verdict::marginal, Verdict::fail, Verdict::unknown, Verdict::not_applicable})
        text += (text.empty() ? "" : ", ") + std::to_string(report.count(verdict)) + " " +
                std::string(verdict_name(verdict));
    return text;
}

/// The ids with a verdict, each once, in report order.
std::string ids_with(const CheckReport& report, Verdict verdict) {
    std::string text, last;
    for (const Check& check : report.checks) {
        if (check.verdict != verdict || check.id == last) continue;
        last = check.id;
        text += (text.empty() ? "" : ", ") + check.id;
    }
    return text;
}

void warn_about(Console& console, const CheckReport& report) {
    for (const Verdict verdict : {Verdict::marginal, Verdict::unknown, Verdict::fail}) {
        const std::string ids = ids_with(report, verdict);
        if (!ids.empty()) console.warn(std::string(verdict_name(verdict)) + ": " + ids);
    }
}

/// As typed, but files by name alone, and without what says where to write and what to print.
std::string command_without_tilt(const Request& request) {
    std::string command = "cradlewright make " + shell_word(fs::path(request.input).filename().string());
    for (const SettingChange& change : request.changes)
        if (change.key != "pose.tilt") command += " --set " + shell_word(change.key + "=" + change.text);
    return command;
}

enum class Extent { everything, cut_files, cloth };

Outcome run_job(const Request& request, Extent extent) {
    const Settings settings = settings_of(request);
    if (settings.plug.scan.empty())
        throw Error(ErrorCode::bad_input, request.input, "names no scan", "add scan = \"FILE\" to its [plug] section");
    // Both folders are claimed before the work, so that nobody waits for a refusal.
    const fs::path out = out_folder(request);
    const auto existing = request.overwrites ? OutputFolder::Existing::replace : OutputFolder::Existing::keep;
    const std::vector<fs::path> needed = needed_files(request, settings);
    OutputFolder folder(out, existing, needed);
    std::optional<OutputFolder> dump;
    if (!request.dump.empty()) dump.emplace(request.dump, existing, needed);

    Console console(!request.prints_json && !request.is_quiet);
    const Progress progress = console.progress();
    const Build build = design(settings, progress);
    if (extent != Extent::cloth) {
        write_cut_files(folder, build, progress);
        folder.write("cutlist.csv", cutlist_csv(report_input(build, folder)));
    }
    if (extent != Extent::cut_files) {
        progress.report("write", 1, "cloth");
        write_cloth(folder, build);
        folder.write("shopping.csv", shopping_csv(report_input(build, folder)));
    }

    if (extent == Extent::everything) {
        progress.report("write", 1, "scene and report");
        const fs::path preview = folder.add("fixture.glb");
        Scene scene;
        run_together({[&] {
                          scene = make_scene(build.design);
                          Scene all = scene;  // the page shows the fixture alone
                          add_mould_backs(all, build.design);
                          write_glb(all, preview);
                      },
                      [&] { folder.write("mended.ply", ply_bytes(kept_surface(build.design.posed.plug.scanned()))); }});
        // The report lists every file, itself included, so both names are taken before either is written.
        folder.write("build-sheet.pdf", build_sheet_pdf(report_input(build, folder)));
        folder.add("report.json");
        folder.add("report.html");
        ReportInput page = report_input(build, folder);
        page.scene = &scene;
        std::optional<Sweep> tilts;
        if (wants_tilts_compared(build.design)) tilts = compare_tilts(build.design.posed.plug, settings, progress);
        if (tilts) page.tilts = &*tilts;
        page.command = command_without_tilt(request);
        folder.write("report.html", report_html(page));
    }
    const std::string json = report_json(report_input(build, folder));
    if (extent == Extent::everything) folder.write("report.json", json);
    if (dump) dump_stages(build, json, *dump);
    progress.report("write", 1, "results");

    // What is printed goes first: when nobody can take it, the run has failed and the old folder stays.
    if (request.prints_json) Console::raw(json);
    print_design(console, build);
    console.result("\nchecks: " + verdict_counts(build.checks) + "\n");
    console.checks(build.checks, settings.units);
    Console::flush();
    progress.report("write", 1, "done");
    folder.commit();
    if (dump) dump->commit();
    console.result(
        "\n" + hanging("wrote ", spelled(folder.files().size(), "file", "files") + " to " + printable(out.string())));
    warn_about(console, build.checks);
    return build.checks.is_buildable() ? Outcome::good : Outcome::weak;
}

}  // namespace

std::vector<fs::path> needed_files(const Request& request, const Settings& settings) {
    std::vector<fs::path> needed{fs::current_path(), request.input};
    for (const std::string& scan : {settings.plug.scan, settings.plug.second_scan})
        if (!scan.empty()) needed.emplace_back(scan);
    return needed;
}

Outcome run_make(const Request& request) { return run_job(request, Extent::everything); }
Outcome run_parts(const Request& request) { return run_job(request, Extent::cut_files); }
Outcome run_layup(const Request& request) { return run_job(request, Extent::cloth); }

}  // namespace cradlewright::app
