// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/scan_places.hpp"
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
    const std::string open = openings_text(plug.mesh->openings, true, settings.units);
    if (!open.empty())
        all.push_back("open over " + open + ", closed by an assumed flat: nothing measured stands behind it" +
                      (plug.has_volume() ? "" : ", so mass and sag are unknown; say what is there with plug.opening") +
                      "; scan that side too if the fixture or the mould touches it");
    const RepairReport& repair = plug.repair;
    if (repair.non_manifold_edges > 0)
        all.push_back(std::to_string(repair.non_manifold_edges) +
                      (repair.non_manifold_edges == 1 ? " edge had more than two faces and was"
                                                      : " edges had more than two faces and were") +
                      " taken apart; look at those places in the mended mesh");
    if (!repair.stray_shells.empty())
        all.push_back(std::to_string(repair.stray_shells.size()) +
                      (repair.stray_shells.size() == 1 ? " loose piece was" : " loose pieces were") +
                      " left out; if one belongs to the plug, join them in the scanning program");
    if (plug.noise_mm > settings.release.undercut_limit.mm())
        all.push_back("noise of " + mm(plug.noise_mm) + " hides undercuts of " +
                      mm(settings.release.undercut_limit.mm()) + ", the limit in use; scan again or smooth the scan");
    if (repair.mean_edge_mm > Tolerances{}.surface_step_mm)
        all.push_back("triangles of " + mm(repair.mean_edge_mm) + " are coarser than the " +
                      mm(Tolerances{}.surface_step_mm) +
                      " steps of the parting line; export a finer mesh if curves matter");
    if (plug.completion.slides)
        all.push_back("the overlap of both scans fits as well a little further along; plug.second-points decided it");
    return all;
}

bool asks_for_scan(const std::vector<ScanPlace>& places) {
    return std::any_of(places.begin(), places.end(), [](const ScanPlace& p) { return p.asks_for_scan; });
}

std::string verdict(const std::vector<std::string>& notes, const std::vector<ScanPlace>& places) {
    if (asks_for_scan(places)) return "scan again where said below";
    return notes.empty() ? "ready to use" : "usable; mind the following";
}

Json vector_json(Vec3 v) { return {v.x, v.y, v.z}; }

Json repair_json(const RepairReport& repair) {
    return {{"triangles_in_file", repair.faces_in},
            {"vertices_merged", repair.vertices_merged},
            {"split_corners_joined", repair.split_corners_joined},
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

std::string_view name_of(PlugOpening how) {
    switch (how) {
        case PlugOpening::keep:
            return "keep";
        case PlugOpening::cap:
            return "cap";
        case PlugOpening::mirror:
            return "mirror";
        case PlugOpening::join:
            return "join";
    }
    return "keep";
}

Json completion_json(const Plug& plug) {
    const Completion& c = plug.completion;
    Json json{{"opening", name_of(c.how)}, {"decimated_by_mm", plug.decimated_by_mm}};
    if (c.how == PlugOpening::mirror) json["mirror_move_mm"] = c.mirror_move_mm;
    if (c.how == PlugOpening::join) {
        json["points_rms_mm"] = c.points_rms_mm;
        json["residual_mm"] = c.residual_mm;
        json["overlap"] = c.overlap;
        json["widest_bridge_mm"] = c.widest_bridge_mm;
        json["slides"] = c.slides;
    }
    return json;
}

Json pieces_json(const RepairReport& repair) {
    Json json = Json::array();
    for (const StrayShell& s : repair.stray_shells)
        json.push_back(
            {{"triangles", s.face_count}, {"area_mm2", s.area_mm2}, {"center_scan_mm", vector_json(s.center)}});
    return json;
}

Json places_json(const std::vector<ScanPlace>& places) {
    Json json = Json::array();
    for (const ScanPlace& p : places)
        json.push_back({{"kind", p.kind},
                        {"at_scan_mm", vector_json(p.at_scan)},
                        {"at_plug_mm", vector_json(p.at_plug)},
                        {"where", p.where},
                        {"size_mm", p.size_mm},
                        {"what", p.what},
                        {"advice", p.advice},
                        {"scan_again", p.asks_for_scan}});
    return json;
}

/// The `plug` part has the keys of report.json; NaN becomes null there and here.
Json survey_json(const ScanMesh& scan, const Plug& plug, const std::vector<std::string>& notes,
                 const std::vector<ScanPlace>& places) {
    const bool has_volume = plug.has_volume();
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
            {"pieces_left_out", pieces_json(plug.repair)},
            {"openings", openings},
            {"completion", completion_json(plug)},
            {"verdict", verdict(notes, places)},
            {"remarks", notes},
            {"places", places_json(places)}};
}

std::string mended_text(const RepairReport& r) {
    const std::string split = r.split_corners_joined > 0
                                  ? " (and " + std::to_string(r.split_corners_joined) + " written a little apart)"
                                  : "";
    return std::to_string(r.vertices_merged) + " vertices joined" + split + ", " +
           std::to_string(r.degenerate_dropped) + " degenerate and " + std::to_string(r.duplicate_dropped) +
           " repeated triangles dropped";
}

std::string orientation_text(const RepairReport& r) {
    const std::string turned = r.flipped > 0 ? std::to_string(r.flipped) + " triangles turned round" : "";
    if (r.was_inside_out) return "was inside out, now outward" + (turned.empty() ? "" : "; " + turned);
    return turned.empty() ? "outward" : "was mixed; " + turned;
}

std::string completion_text(const Plug& plug, const Settings& settings) {
    const auto mm = [&](double v) { return format_quantity(Quantity::of(Length::mm(v)), settings.units, 3); };
    const Completion& c = plug.completion;
    if (c.how == PlugOpening::mirror)
        return "mirrored; no point of the rim moved by more than " + mm(c.mirror_move_mm) + " to its plane";
    return "second scan joined; " + fixed(100 * c.overlap, 0) + " % of it lay on the first, within " +
           mm(c.residual_mm) + "; gaps of up to " + mm(c.widest_bridge_mm) + " bridged";
}

/// The first of each kind; the rest is counted.
void print_places(Console& console, const std::vector<ScanPlace>& places) {
    constexpr std::size_t most_of_a_kind = 3;
    std::size_t of_a_kind = 0, hidden = 0;
    for (std::size_t i = 0; i < places.size(); ++i) {
        const ScanPlace& p = places[i];
        of_a_kind = i > 0 && places[i - 1].kind == p.kind ? of_a_kind + 1 : 1;
        if (of_a_kind > most_of_a_kind) {
            ++hidden;
            continue;
        }
        const auto at = [](Vec3 v) { return fixed(v.x, 0) + ", " + fixed(v.y, 0) + ", " + fixed(v.z, 0) + " mm"; };
        console.fact(i == 0 ? "places" : "", "- " + p.what + ": " + p.where + ", plug " + at(p.at_plug) + ", scan " +
                                                 at(p.at_scan) + "; " + p.advice);
    }
    if (hidden > 0) console.fact("", "- and " + std::to_string(hidden) + " smaller ones; --json lists all");
}

void print_survey(Console& console, const ScanMesh& scan, const Plug& plug, const Settings& settings,
                  const std::vector<std::string>& notes, const std::vector<ScanPlace>& places) {
    const UnitSystem units = settings.units;
    const auto mm = [&](double v) { return format_quantity(Quantity::of(Length::mm(v)), units); };
    const bool has_volume = plug.has_volume();
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
    if (plug.completion.how == PlugOpening::mirror || plug.completion.how == PlugOpening::join)
        console.fact("completed", completion_text(plug, settings));
    if (plug.decimated_by_mm > 0) console.fact("thinned out", "surface moved by up to " + mm(plug.decimated_by_mm));
    console.fact("verdict", verdict(notes, places));
    for (const std::string& note : notes) console.fact("", "- " + note);
    print_places(console, places);
}

}  // namespace

Outcome run_survey(const Request& request) {
    const Settings settings = settings_of(request);
    const auto existing = request.overwrites ? OutputFolder::Existing::replace : OutputFolder::Existing::keep;
    if (!request.mended.empty()) refuse_to_replace(request.mended, existing);
    Console console(!request.prints_json && !request.is_quiet);
    const Progress progress = console.progress();
    progress.report("read", 0, settings.plug.scan);
    ScanMesh scan = read_scan(settings.plug);
    progress.report("plug", 0.5);
    const Plug plug = mend_to_scale(scan, settings);
    const std::vector<std::string> notes = remarks(plug, settings);
    progress.report("places", 0.95);
    const std::vector<ScanPlace> places = find_scan_places(plug, settings);
    if (request.prints_json) Console::raw(survey_json(scan, plug, notes, places).dump(2) + "\n");
    print_survey(console, scan, plug, settings, notes, places);
    Console::flush();
    if (!request.mended.empty()) write_file(request.mended, ply_bytes(kept_surface(plug)), existing);
    return Outcome::good;
}

}  // namespace cradlewright::app
