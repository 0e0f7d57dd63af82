// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/console.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/files/output_folder.hpp"
#include "cradlewright/files/read_mesh.hpp"
#include "cradlewright/files/write_scene.hpp"
#include "cradlewright/pipeline.hpp"

namespace cradlewright::app {

namespace {

using Json = nlohmann::ordered_json;

/// "318.5 mm round", or "318.5 mm round and 32 smaller places"; empty when there is none.
std::string openings_text(const std::vector<Opening>& openings, bool is_capped, UnitSystem units) {
    std::size_t count = 0;
    double largest_mm = 0;
    for (const Opening& opening : openings) {
        if (opening.is_capped != is_capped) continue;
        ++count;
        largest_mm = std::max(largest_mm, opening.perimeter_mm);
    }
    if (count == 0) return {};
    const std::string largest = format_quantity(Quantity::of(Length::mm(largest_mm)), units) + " round";
    if (count == 1) return largest;
    return largest + " and " + std::to_string(count - 1) + " smaller place" + (count == 2 ? "" : "s");
}

/// Seven figures: a tenth of a millimetre on the longest plug.
std::string short_factor(double mm_per_unit) {
    constexpr int figures = 7;
    const int whole = static_cast<int>(std::floor(std::log10(mm_per_unit))) + 1;
    std::string text = fixed(mm_per_unit, std::max(0, figures - whole));
    if (text.find('.') != std::string::npos) text.erase(text.find_last_not_of('0') + 1);
    if (text.ends_with('.')) text.pop_back();
    return text;
}

/// What a builder should know before cutting, each with what to do; empty = nothing.
std::vector<std::string> remarks(const Plug& plug, const Settings& settings) {
    const auto mm = [&](double v) { return format_quantity(Quantity::of(Length::mm(v)), settings.units); };
    std::vector<std::string> all;
    if (!plug.note.empty()) all.push_back(plug.note);
    for (const bool is_capped : {true, false}) {
        const std::string places = openings_text(plug.mesh->openings, is_capped, settings.units);
        if (!places.empty())
            all.push_back("open over " + places +
                          (is_capped ? ", closed by an assumed flat: nothing measured stands behind it"
                                     : ", left open: volume and mass are unknown") +
                          "; scan that side too if the fixture or the mould touches it");
    }
    const RepairReport& repair = plug.repair;
    if (repair.non_manifold_edges > 0)
        all.push_back(std::to_string(repair.non_manifold_edges) +
                      " edges had more than two faces and were taken apart; look at those places in the mended mesh");
    if (!repair.stray_shells.empty())
        all.push_back(std::to_string(repair.stray_shells.size()) +
                      " loose pieces were left out; if one belongs to the plug, join them in the scanning program");
    if (plug.noise_mm > settings.release.undercut_limit.mm())
        all.push_back("noise of " + mm(plug.noise_mm) + " hides undercuts of " +
                      mm(settings.release.undercut_limit.mm()) + ", the limit in use; scan again or smooth the scan");
    if (repair.mean_edge_mm > Tolerances{}.surface_step_mm)
        all.push_back("triangles of " + mm(repair.mean_edge_mm) + " are coarser than the " +
                      mm(Tolerances{}.surface_step_mm) +
                      " steps of the parting line; export a finer mesh if curves matter");
    return all;
}

Json vector_json(Vec3 v) { return {v.x, v.y, v.z}; }

Json repair_json(const RepairReport& repair) {
    return {{"triangles_in_file", repair.faces_in},
            {"vertices_merged", repair.vertices_merged},
            {"degenerate_dropped", repair.degenerate_dropped},
            {"duplicate_dropped", repair.duplicate_dropped},
            {"flipped", repair.flipped},
            {"was_inside_out", repair.was_inside_out},
            {"non_manifold_edges", repair.non_manifold_edges},
            {"self_touching_vertices", repair.self_touching_vertices},
            {"holes_closed", repair.holes_closed},
            {"largest_closed_hole_mm", repair.largest_closed_hole_mm},
            {"mean_edge_mm", repair.mean_edge_mm}};
}

/// The `plug` part has the keys of report.json; NaN becomes null there and here.
Json survey_json(const ScanMesh& scan, const Plug& plug, const std::vector<std::string>& notes) {
    const bool has_volume = plug.is_closed || plug.has_assumed_cap;
    const auto known = [&](double v) { return has_volume ? Json(v) : Json(nullptr); };
    Json openings = Json::array();
    for (const Opening& o : plug.mesh->openings)
        openings.push_back({{"perimeter_mm", o.perimeter_mm},
                            {"center_scan_mm", vector_json(o.center)},
                            {"flatness_mm", o.flatness_mm},
                            {"is_capped", o.is_capped}});
    return {{"schema", "cradlewright-survey-1"},
            {"name", plug.name},
            {"format", scan.format},
            {"mm_per_unit", scan.unit_factor},
            {"unit_from", scan.unit_from},
            {"plug",
             {{"triangles", plug.mesh->face_count()},
              {"shells", 1 + plug.repair.stray_shells.size()},
              {"holes", plug.repair.holes_closed + plug.mesh->openings.size()},
              {"area_mm2", plug.mass_properties.area_mm2},
              {"volume_mm3", known(plug.mass_properties.volume_mm3)},
              {"mass_kg", known(plug.mass_kg)},
              {"centroid_scan_mm", has_volume ? vector_json(plug.mass_properties.centroid) : Json(nullptr)},
              {"size_mm", vector_json(bounding_box(*plug.mesh).size())},
              {"noise_mm", plug.noise_mm},
              {"closed", plug.is_closed}}},
            {"repair", repair_json(plug.repair)},
            {"openings", openings},
            {"remarks", notes}};
}

std::string mended_text(const RepairReport& r) {
    return std::to_string(r.vertices_merged) + " vertices joined, " + std::to_string(r.degenerate_dropped) +
           " degenerate and " + std::to_string(r.duplicate_dropped) + " repeated triangles dropped";
}

std::string orientation_text(const RepairReport& r) {
    const std::string turned = r.flipped > 0 ? std::to_string(r.flipped) + " triangles turned round" : "";
    if (r.was_inside_out) return "was inside out, now outward" + (turned.empty() ? "" : "; " + turned);
    return turned.empty() ? "outward" : "was mixed; " + turned;
}

void print_survey(Console& console, const ScanMesh& scan, const Plug& plug, const Settings& settings,
                  const std::vector<std::string>& notes) {
    const UnitSystem units = settings.units;
    const auto mm = [&](double v) { return format_quantity(Quantity::of(Length::mm(v)), units); };
    const bool has_volume = plug.is_closed || plug.has_assumed_cap;
    const Vec3 size = bounding_box(*plug.mesh).size();
    const RepairReport& r = plug.repair;

    console.result(printable(plug.name) + "\n");
    console.fact("file", scan.format + ", " + short_factor(scan.unit_factor) + " mm a unit (" + scan.unit_from + ")");
    console.fact("size", mm(size.x) + " x " + mm(size.y) + " x " + mm(size.z) + " along the scan's x, y, z");
    console.fact("triangles", std::to_string(r.faces_in) + " in the file, " + std::to_string(plug.mesh->face_count()) +
                                  " kept; mean edge " + mm(r.mean_edge_mm));
    console.fact("surface", format_quantity(Quantity::of(Area::mm2(plug.mass_properties.area_mm2)), units));
    console.fact("mass", has_volume ? format_quantity(Quantity::of(Mass::kg(plug.mass_kg)), units) + " at " +
                                          get_setting(settings, "plug.density")
                                    : std::string("unknown, the surface is open"));
    console.fact("noise", format_quantity(Quantity::of(Length::mm(plug.noise_mm)), units, 3));
    console.fact("shells",
                 r.stray_shells.empty() ? "1" : "1 kept, " + std::to_string(r.stray_shells.size()) + " left out");
    console.fact("orientation", orientation_text(r));
    console.fact("mended", mended_text(r));
    console.fact("holes", r.holes_closed == 0 ? "none"
                                              : std::to_string(r.holes_closed) + " closed, the largest " +
                                                    mm(r.largest_closed_hole_mm) + " round");
    console.fact("openings", plug.mesh->openings.empty() ? "none" : std::to_string(plug.mesh->openings.size()));
    console.fact("verdict", notes.empty() ? "ready to use" : "usable; mind the following");
    for (const std::string& note : notes) console.fact("", "- " + note);
}

}  // namespace

Outcome run_survey(const Request& request) {
    const Settings settings = settings_of(request);
    Console console(!request.prints_json && !request.is_quiet);
    const Progress progress = console.progress();
    progress.report("read", 0, settings.plug.scan);
    ScanMesh scan = read_scan(settings.plug);
    progress.report("plug", 0.5);
    const Plug plug = mend_to_scale(scan, settings);
    if (!request.mended.empty()) {
        progress.report("write", 0.9);
        write_file(request.mended, ply_bytes(*plug.mesh),
                   request.overwrites ? OutputFolder::Existing::replace : OutputFolder::Existing::keep);
    }
    const std::vector<std::string> notes = remarks(plug, settings);
    if (request.prints_json) Console::raw(survey_json(scan, plug, notes).dump(2) + "\n");
    print_survey(console, scan, plug, settings, notes);
    return Outcome::good;
}

}  // namespace cradlewright::app
