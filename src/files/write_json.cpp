// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>
#include <optional>
#include <span>

#include "cradlewright/base/error.hpp"
#include "cradlewright/catalog/bibliography.hpp"
#include "cradlewright/files/write_report.hpp"
#include "cradlewright/stages/groove_fill.hpp"
#include "cradlewright/stages/ramp_plies.hpp"
#include "files/json_layup.hpp"
#include "files/json_mould.hpp"
#include "files/json_numbers.hpp"
#include "files/json_work.hpp"
#include "files/report_rows.hpp"

namespace cradlewright {
namespace {

// ---- sections of the contract

Json extension_json(const Extension& extension, const Pose& pose) {
    Json json;
    json["edge"] = extension.edge;
    json["kind"] = extension.is_sloped ? "sloped" : "straight";
    json["length_mm"] = number(extension.length_mm);
    json["trim_step_mm"] = number(extension.trim_step_mm);
    json["lean_deg"] = degrees(extension.lean_rad);
    json["slope_min_deg"] = number(extension.slope_deg_low);
    json["slope_max_deg"] = number(extension.slope_deg_high);
    json["joint_gap_mm"] = number(extension.gap_mm);
    json["point_mm"] = point(pose.to_fixture(extension.joint.origin));
    json["normal"] = direction(pose.scan_to_fixture.direction_to_parent(extension.joint.z));
    json["x_axis"] = direction(pose.scan_to_fixture.direction_to_parent(extension.joint.x));
    json["end_outline_mm"] = chain(extension.end);
    json["inner_outline_mm"] = chain(extension.inner);
    json["outer_outline_mm"] = chain(extension.outer);
    json["volume_mm3"] = number(extension.volume_mm3);
    json["mass_kg"] = fine_number(extension.mass_kg);
    return json;
}

// Of the plug as scanned; what is set on to it stands apart.
Json plug_json(const Design& design) {
    const Plug& plug = design.posed.plug.scanned();
    const RepairReport& repair = plug.repair;
    const bool has_volume = std::isfinite(plug.mass_kg);
    Json json;
    json["triangles"] = plug.mesh->face_count();
    json["shells"] = repair.stray_shells.size() + 1;
    json["holes"] = repair.holes_closed + plug.mesh->openings.size();
    json["area_mm2"] = number(plug.mass_properties.area_mm2);
    json["volume_mm3"] = has_volume ? number(plug.mass_properties.volume_mm3) : Json();
    json["mass_kg"] = fine_number(plug.mass_kg);
    json["centroid_mm"] = has_volume ? point(design.posed.pose.to_fixture(plug.mass_properties.centroid)) : Json();
    json["size_mm"] = point(scanned_size(design.posed));
    json["noise_mm"] = number(plug.noise_mm);
    json["closed"] = plug.is_closed;
    json["extensions"] = list_json(design.posed.plug.extensions, [&](const Extension& extension) {
        return extension_json(extension, design.posed.pose);
    });
    return json;
}

Json pose_json(const Pose& pose) {
    Json json;
    json["tilt_deg"] = degrees(pose.tilt_rad);
    json["turn_deg"] = degrees(pose.turn_rad);
    json["pull_fixture"] = direction(pose.pull_fixture);
    json["pull_plug"] = direction(pose.pull_plug);
    json["scan_to_fixture"] = matrix_json(pose.scan_to_fixture);
    return json;
}

Json loop_json(const PartingLoop& loop, const std::vector<Vec3>* trim_line) {
    Json edges = Json::array();
    for (const PartingEdge& edge : loop.edges) {
        edges.push_back(
            {{"id", edge.id}, {"rule", edge_rule_name(edge.rule)}, {"first", edge.first}, {"last", edge.last}});
        if (!edge.finding.empty()) edges.back()["finding"] = edge.finding;
    }
    Json bridges = Json::array();
    for (const PartingBridge& bridge : loop.bridges) {
        bridges.push_back({{"first", bridge.first}, {"last", bridge.last}, {"length_mm", number(bridge.length_mm)}});
    }
    Json json;
    json["closed"] = true;  // the stage promises no other kind
    json["length_mm"] = number(loop.length_mm);
    json["panel_line_mm"] = chain(loop.panel_line);
    json["silhouette_mm"] = chain(loop.silhouette);
    json["trim_line_mm"] = trim_line != nullptr ? chain(*trim_line) : Json();
    json["edges"] = std::move(edges);
    json["bridges"] = std::move(bridges);
    return json;
}

Json parting_json(const Design& design) {
    const Parting& parting = design.parting;
    const auto& trim_lines = design.beads.trim_lines;
    Json loops = Json::array();
    for (std::size_t i = 0; i < parting.loops.size(); ++i) {
        loops.push_back(loop_json(parting.loops[i], i < trim_lines.size() ? &trim_lines[i] : nullptr));
    }
    Json json;
    json["loops"] = std::move(loops);
    json["out_of_plane_mm"] = parting.is_found() ? number(parting.out_of_plane_mm) : Json();
    json["reason"] = parting.reason;
    return json;
}

// Without a parting line there are no halves to speak of.
Json half_json(const HalfRelease& half, const HalfPull& best, bool is_parted) {
    const auto value = [&](double v) { return is_parted ? number(v) : Json(); };
    Json json;
    json["draft_p01_deg"] = value(half.draft_p01_deg);
    json["low_band_mm"] = value(half.low_band_mm);
    json["undercut_area_mm2"] = value(half.undercut_area_mm2);
    json["undercut_depth_mm"] = value(half.undercut_depth_mm);
    json["locked_area_mm2"] = value(half.locked_area_mm2);
    json["best_pull_plug"] = is_parted ? direction(best.direction_plug) : Json();
    json["best_draft_deg"] = value(best.draft_deg);
    json["feasible"] = is_parted ? Json(best.is_feasible) : Json();
    return json;
}

Json lock_json(const EdgeLock& lock) {
    Json json;
    json["edge"] = lock.edge;
    json["half"] = lock.half;
    json["overrun_mm"] = number(lock.overrun_mm);
    json["split_mm"] = number(lock.split_mm);
    json["bead_mm"] = number(lock.bead_mm);
    json["shrinkage_mm"] = number(lock.shrinkage_mm);
    json["depth_mm"] = number(lock.depth_mm.value);
    json["depth_low_mm"] = number(lock.depth_mm.low);
    json["depth_high_mm"] = number(lock.depth_mm.high);
    json["holds"] = lock_cause_name(lock.holds);
    json["at_mm"] = point(lock.at);
    return json;
}

Json release_json(const Design& design) {
    const Release& release = design.release;
    const bool is_parted = design.parting.is_found();
    const Pose& pose = design.posed.pose;
    Json json = half_json(release.half1, release.best1, is_parted);
    json["half2"] = half_json(release.half2, release.best2, is_parted);
    json["half2"]["pull_fixture"] = direction(pose.pull2_fixture);
    json["half2"]["pull_plug"] = direction(pose.pull2_plug);
    json["half2"]["pull_from"] = pose.pull2_from;
    json["pulls_lean_deg"] = degrees(pose.pulls_lean_rad());
    json["opening_fixture"] = direction(pose.opening_fixture());
    json["lock"] = Json::array();
    for (const EdgeLock& lock : design.locks) json["lock"].push_back(lock_json(lock));
    return json;
}

Json panel_json(const FlangePanel& panel) {
    Json json;
    json["id"] = panel.id;
    json["edge"] = panel.edge;
    json["kind"] = panel.is_curved() ? "curved" : "flat";
    json["point_mm"] = point(panel.point);
    json["normal"] = direction(panel.normal);
    json["width_mm"] = number(panel.width_mm);
    json["thickness_mm"] = number(panel.part.thickness_mm);
    json["area_mm2"] = number(area_of(panel.part.outline));
    json["max_gap_mm"] = number(panel.max_gap_mm);
    if (panel.is_curved()) json["bend_radius_mm"] = number(panel.bend_radius_mm);
    json["bevels"] = list_json(panel.bevels, [](const PanelBevel& bevel) {
        return Json{{"toward", bevel.toward},
                    {"angle_deg", number(Angle::rad(bevel.angle_rad).deg())},
                    {"open_mm", number(bevel.open_mm)}};
    });
    json["flat_outline_mm"] = chain(flatten(panel.part.outline.outer, chord_mm));
    return json;
}

// A rib stands square to one axis of the fixture; the other one and z are its drawing's axes.
bool stands_across_x(const PlatePart& part) { return std::abs(part.frame.z.x) >= std::abs(part.frame.z.y); }

Json rib_json(const Rib& rib) {
    const bool is_across_x = stands_across_x(rib.part);
    std::vector<Vec2> outline;
    for (const Vec2 p : flatten(rib.part.outline.outer, chord_mm)) {
        const Vec3 q = rib.part.frame.to_parent(p);
        outline.push_back({is_across_x ? q.y : q.x, q.z});
    }
    Json json;
    json["id"] = rib.part.id;
    json["station_mm"] = number(rib.station_mm);
    json["direction"] = is_across_x ? "x" : "y";
    json["thickness_mm"] = number(rib.part.thickness_mm);
    json["saddle_mm"] = chain(rib.saddle);
    json["outline_mm"] = chain(outline);
    json["min_inside_radius_mm"] = number(rib.min_inside_radius_mm);
    return json;
}

Json stringer_json(const Stringer& stringer) {
    Json json;
    json["id"] = stringer.part.id;
    json["edge"] = stringer.edge;
    json["section_mm"] = point(Vec2{stringer.width_mm, stringer.height_mm});
    json["from_mm"] = point(stringer.from);
    json["to_mm"] = point(stringer.to);
    return json;
}

Box3 solid_box(const PlatePart& part) {
    Box3 box;
    for (const Vec2 p : flatten(part.outline.outer, chord_mm)) {
        box.add(part.frame.to_parent(Vec3{p.x, p.y, 0}));
        box.add(part.frame.to_parent(Vec3{p.x, p.y, -part.thickness_mm}));
    }
    return box;
}

Json block_json(const PlatePart& part) {
    const Box3 box = solid_box(part);
    return {{"id", part.id}, {"size_mm", point(box.size())}, {"center_mm", point(box.center())}};
}

// With the drawing of the same name, all it takes to put the part where it belongs.
Json part_json(const PlatePart* part) {
    Json json;
    json["id"] = part->id;
    json["kind"] = part_kind_name(part->kind);
    json["stock"] = part->stock;
    json["thickness_mm"] = number(part->thickness_mm);
    json["frame"] = matrix_json(part->frame);
    json["fit"] = {{"off_mm", fine_number(part->fit.off_mm)}, {"points", part->fit.points}, {"edges", part->fit.edges}};
    if (part->bend) {
        Json bend;
        bend["rulings"] = list_json(part->bend->rulings, [](const BendMap::Ruling& ruling) {
            return Json{{"from_mm", fine_point(ruling.from)},
                        {"to_mm", fine_point(ruling.to)},
                        {"angle_deg", fine_number(Angle::rad(ruling.angle_rad).deg())}};
        });
        bend["frames"] = list_json(part->bend->flats, matrix_json);
        json["bend"] = std::move(bend);
    }
    return json;
}

Json trial_json(const Trial& trial) {
    return {{"what", trial.what},
            {"tried", trial.tried},
            {"value_mm", fine_number(trial.value_mm)},
            {"limit_mm", fine_number(trial.limit_mm)},
            {"is_enough", trial.is_enough}};
}

Json cradle_json(const Cradle& cradle) {
    const bool has_base = !cradle.base.outline.outer.vertices.empty();
    Json json;
    json["ribs"] = list_json(cradle.ribs, rib_json);
    for (const Rib& rib : cradle.long_ribs) json["ribs"].push_back(rib_json(rib));
    json["stringers"] = list_json(cradle.stringers, stringer_json);
    json["ties"] = list_json(cradle.ties, block_json);
    json["stops"] = list_json(cradle.stops, block_json);
    json["trials"] = list_json(cradle.trials, trial_json);
    json["base"] = {{"size_mm", has_base ? point(solid_box(cradle.base).size()) : Json()}};
    return json;
}

Json run_json(const BeadRun& run) {
    Json json;
    json["id"] = run.id;
    json["edge"] = run.edge;
    json["kind"] = bead_kind_name(run.kind);
    json["radius_mm"] = number(run.radius_mm);
    json["length_mm"] = number(run.length_mm);
    json["volume_mm3"] = number(run.volume_mm3);
    json["corner_min_deg"] = degrees(run.corner_min_rad);
    json["corner_max_deg"] = degrees(run.corner_max_rad);
    return json;
}

// Half 2's runs have the ids of half 1's, on the other side of the same panels.
Json fill_json(const GrooveFill& fill) {
    return {{"run", fill.run},
            {"edge", fill.edge},
            {"length_mm", number(fill.length_mm)},
            {"width_mm", number(fill.width_mm)},
            {"depth_mm", number(fill.depth_mm)},
            {"fill_volume_mm3", number(fill.fill_mm3)},
            {"fill_mass_kg", fine_number(fill.fill_kg)},
            {"bead_volume_mm3", number(fill.bead_mm3)},
            {"bead_mass_kg", fine_number(fill.bead_kg)},
            {"cards", fill.cards},
            {"widest_at_mm", point(fill.at)}};
}

Json groove_json(const Groove& groove, const std::vector<GrooveFill>& fills, double radius_mm) {
    Json json;
    json["width_mm"] = number(groove.width_mm);
    json["depth_mm"] = number(groove.depth_mm);
    json["widest_at_mm"] = point(groove.widest_at);
    json["lip_radius_mm"] = number(radius_mm);
    json["fill_volume_mm3"] = number(groove.fill_volume_mm3);
    json["fill_mass_kg"] = fine_number(groove.fill_mass_kg);
    json["clay_volume_mm3"] = number(groove.clay_volume_mm3);
    json["clay_mass_kg"] = fine_number(groove.clay_mass_kg);
    json["runs"] = list_json(groove.runs, run_json);
    json["fills"] = list_json(fills, fill_json);
    json["trim_lines_mm"] = list_json(groove.trim_lines, chain<Vec3>);
    return json;
}

Json card_json(const ScraperCard& card) {
    Json json;
    json["id"] = card.part.id;
    json["kind"] = card.kind == BeadKind::ramp ? "step" : "round";
    json["edges"] = card.edges;
    json["radius_mm"] = number(card.radius_mm);
    json["wedge_deg"] = degrees(card.wedge_rad);
    json["corner_min_deg"] = degrees(card.corner_min_rad);
    json["corner_max_deg"] = degrees(card.corner_max_rad);
    json["ramp_height_mm"] = number(card.ramp_height_mm);
    json["step_mm"] = number(card.step_mm);
    json["strip_least_mm"] = number(card.strip_least_mm);
    json["strip_most_mm"] = number(card.strip_most_mm);
    json["at_mm"] = point(card.at);
    return json;
}

Json beads_json(const Design& design) {
    const Beads& beads = design.beads;
    const bool is_parted = design.parting.is_found();
    Json json;
    json["runs"] = list_json(beads.runs, run_json);
    json["clay_volume_mm3"] = is_parted ? number(beads.clay_volume_mm3) : Json();
    json["clay_mass_kg"] = is_parted ? fine_number(beads.clay_mass_kg) : Json();
    json["join_gap_mm"] = is_parted ? number(beads.join_gap_mm) : Json();
    json["cards"] = list_json(design.cards, card_json);
    json["corner_fill_mm"] = number(corner_fill_mm(design.settings, ramp_places(beads)));
    json["groove"] =
        beads.groove ? groove_json(*beads.groove, groove_fills(beads, design.cards), beads.radius_mm) : Json();
    return json;
}

Json check_json(const Check& check) {
    const auto value = [](const Quantity& q) { return fine_number(report_value(q)); };
    Json json;
    json["id"] = check.id;
    json["subject"] = check.subject;
    json["value"] = value(check.value);
    json["low"] = value(check.low);
    json["high"] = value(check.high);
    json["limit"] = value(check.limit);
    json["unit"] = report_unit(check.value.dimension);
    json["relation"] = relation_name(check.relation);
    json["verdict"] = verdict_name(check.verdict);
    json["at_mm"] = check.at ? point(*check.at) : Json();
    json["formula"] = check.formula;
    json["source"] = describe(check.source);
    json["advice"] = check.advice;
    return json;
}

Json sheet_json(const Sheet& sheet) {
    Json json;
    json["id"] = sheet_id(sheet);
    json["stock"] = sheet.stock;
    json["size_mm"] = point(Vec2{sheet.length_mm, sheet.width_mm});
    json["is_offcut"] = sheet.is_offcut;
    json["use"] = fine_number(sheet.use);
    json["needed_mm"] = point(sheet.needed);
    json["parts"] = list_json(sheet.placements, [](const Placement& p) { return Json(p.part); });
    json["placements"] = list_json(sheet.placements, [](const Placement& p) {
        return Json{
            {"part", p.part}, {"angle_deg", number(Angle::rad(p.angle_rad).deg())}, {"shift_mm", point(p.shift)}};
    });
    return json;
}

Json settings_json(const Settings& settings) {
    Json json = Json::object();
    for (const SettingLine& line : setting_lines(settings)) {
        json[line.key] = {{"value", line.value}, {"from", origin_name(line.origin)}};
    }
    return json;
}

// A line for each section, and for each item of a list of objects, so that people can read it and tools can compare it.
// Names from outside may hold bytes that are no UTF-8; they are replaced, not refused.
std::string compact(const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace); }

std::string lines_text(const Json& report) {
    std::string text = "{";
    for (const auto& [key, section] : report.items()) {
        text += (text.size() > 1 ? ",\n " : "\n ") + Json(key).dump() + ": ";
        if (!section.is_array() || section.empty()) {
            text += compact(section);
            continue;
        }
        const char* separator = "[\n  ";
        for (const Json& item : section) {
            text += separator + compact(item);
            separator = ",\n  ";
        }
        text += "\n ]";
    }
    return text + "\n}\n";
}

}  // namespace

std::string report_json(const ReportInput& input) {
    CRADLEWRIGHT_PRECONDITION(input.design != nullptr && input.checks != nullptr && input.layout != nullptr);
    const Design& design = *input.design;
    Json report;
    report["schema"] = "cradlewright-report-1";
    report["plug"] = plug_json(design);
    report["pose"] = pose_json(design.posed.pose);
    report["parting"] = parting_json(design);
    report["release"] = release_json(design);
    report["flange"] = {{"panels", list_json(design.flange.panels, panel_json)},
                        {"straps", list_json(design.flange.straps, [](const PlatePart& strap) { return strap.id; })}};
    report["cradle"] = cradle_json(design.cradle);
    report["parts"] = list_json(all_parts(design), part_json);
    report["beads"] = beads_json(design);
    report["layup"] = layup_json(design);
    report["mould"] = mould_json(design);
    report["work"] = work_json(design.work);
    report["checks"] = list_json(input.checks->checks, check_json);
    report["sheets"] = list_json(input.layout->sheets, sheet_json);
    report["settings"] = settings_json(design.settings);
    report["files"] = input.files;
    return lines_text(report);
}

}  // namespace cradlewright
