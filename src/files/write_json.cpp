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
#include "files/json_numbers.hpp"
#include "files/json_work.hpp"
#include "files/report_rows.hpp"

namespace cradlewright {
namespace {

constexpr double chord_mm = 0.02;  // of arcs in outlines

template <class Vec>
Json chain(const std::vector<Vec>& points) {
    Json list = Json::array();
    for (const Vec& p : points) {
        list.push_back(point(p));
    }
    return list;
}

template <class Items, class Function>
Json list_json(const Items& items, Function to_json) {
    Json list = Json::array();
    for (const auto& item : items) {
        list.push_back(to_json(item));
    }
    return list;
}

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

// Row-major 4x4, local -> parent.
Json matrix_json(const Frame3& frame) {
    Json matrix = Json::array();
    for (const auto& row : frame.matrix()) {
        Json line = Json::array();
        for (const double value : row) {
            line.push_back(fine_number(value));
        }
        matrix.push_back(std::move(line));
    }
    return matrix;
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

Json dart_json(const Dart& dart) {
    return {{"tip_mm", point(dart.tip)},
            {"edge_mm", point(dart.edge)},
            {"wedge_mm", list_json(dart.wedge, [](Vec2 p) { return point(p); })},
            {"tip_at_mm", point(dart.tip_at)},
            {"depth_mm", number(dart.depth_mm())},
            {"lap_mm", number(dart.lap_mm)},
            {"opens_mm", number(dart.opens_mm)}};
}

Json piece_json(const LaidSurface& surface, const ClothPiece& piece) {
    const Vec2 size = bounding_box(piece.part.outline).size();
    return {{"id", piece.part.id},
            {"surface", surface.id},
            {"area_mm2", number(piece.area_mm2())},
            {"plies", piece.plies},
            {"max_shear_deg", degrees(piece.max_shear_rad)},
            {"max_shear_at_mm", point(piece.max_shear_at)},
            {"start_mm", point(piece.start)},
            {"laid_mm2", number(piece.laid_mm2)},
            {"darts", list_json(piece.darts, dart_json)},
            {"size_mm", point(size)}};
}

Json flat_json(const LaidSurface& surface, const FlatPiece& flat) {
    const bool is_flat = flat.trouble.empty();
    const auto known = [&](Json value) { return is_flat ? std::move(value) : Json(); };
    return {{"id", flat.part.id},
            {"surface", surface.id},
            {"surface_mm2", number(flat.surface_mm2)},
            {"flat_mm2", known(number(flat.flat_mm2))},
            {"least_strain", known(fine_number(flat.least_strain))},
            {"most_strain", known(fine_number(flat.most_strain))},
            {"is_exact", flat.is_exact()},
            {"trouble", flat.trouble}};
}

/// What one mould half takes of the kit; the shopping list has both halves' and the part's together.
Json half_kit_json(const LayupKit::Pour& pour, int half) {
    Json json;
    json["half"] = half;
    json["surface"] = pour.surface;
    json["fibre_kg"] = fine_number(pour.fibre_kg);
    json["cloth"] = list_json(pour.cloths, [](const LayupKit::Pour::Cloth& cloth) {
        return Json{{"cloth", cloth.name},
                    {"plies", cloth.plies},
                    {"pieces", cloth.pieces},
                    {"area_mm2", number(cloth.area_mm2)}};
    });
    json["resin_kg"] = fine_number(pour.resin_kg);
    json["hardener_kg"] = fine_number(pour.hardener_kg);
    json["batches"] = pour.batches;
    json["gelcoat_kg"] = fine_number(pour.gel_coat_kg);
    json["thickener_kg"] = fine_number(pour.thickener_kg);
    json["peel_ply_mm2"] = number(pour.peel_ply_mm2);
    json["peel_ply_pieces"] = pour.peel_pieces;
    json["release_mm2"] = number(pour.release_mm2);
    json["clay_kg"] = fine_number(pour.clay_kg);
    json["tab_cloth_mm2"] = number(pour.tab_mm2);
    json["tab_resin_kg"] = fine_number(pour.tab_resin_kg);
    json["tab_hardener_kg"] = fine_number(pour.tab_hardener_kg);
    json["soft_strip_mm"] = number(pour.strip_mm);
    return json;
}

Json layup_json(const Design& design) {
    const Laminate mould = make_laminate(design.settings, design.settings.laminate_mould, "laminate.mould.plies");
    const Layup& layup = design.layup;
    const LayupKit& kit = layup.kit;
    double area = 0;
    Json cloth = Json::array(), flats = Json::array(), surfaces = Json::array();
    for (std::size_t n = 0; n < layup.surfaces.size(); ++n) {
        const LaidSurface& surface = layup.surfaces[n];
        const LayupKit::Pour& pour = kit.pours[n];
        if (surface.is_mould) area += surface.area_mm2;
        for (const ClothPiece& piece : surface.pieces) cloth.push_back(piece_json(surface, piece));
        for (const FlatPiece& flat : surface.flats) flats.push_back(flat_json(surface, flat));
        surfaces.push_back({{"id", surface.id},
                            {"area_mm2", number(surface.area_mm2)},
                            {"mesh_deviation_mm", number(surface.deviation_mm)},
                            {"net_cell_mm", number(surface.cell_mm)},
                            {"lock_deg", degrees(surface.lock_rad.value)},
                            {"pieces_needed", surface.pieces_needed},
                            {"mix_kg", fine_number(pour.mix_kg)},
                            {"batches", pour.batches},
                            {"gelcoat_kg", fine_number(pour.gel_coat_kg)}});
    }
    const bool is_planned = !layup.surfaces.empty();
    const auto planned = [&](Json value) { return is_planned ? std::move(value) : Json(); };
    Json json;
    json["surface_area_mm2"] = planned(number(area));
    json["cloth"] = planned(std::move(cloth));
    json["flat"] = planned(std::move(flats));
    json["fibre_kg"] = planned(fine_number(kit.fibre_kg));
    json["resin_kg"] = planned(fine_number(kit.resin_kg));
    json["hardener_kg"] = planned(fine_number(kit.hardener_kg));
    json["gelcoat_kg"] = planned(fine_number(kit.gel_coat_kg));
    json["peel_ply_mm2"] = planned(number(kit.peel_ply_mm2));
    json["thickener_kg"] = planned(fine_number(kit.thickener_kg));
    json["batch_kg"] = planned(fine_number(kit.batch_kg));
    json["surfaces"] = planned(std::move(surfaces));
    Json halves = Json::array();
    for (const int half : {1, 2})
        if (const LayupKit::Pour* pour = find_pour(layup, "mould-" + std::to_string(half)))
            halves.push_back(half_kit_json(*pour, half));
    json["halves"] = planned(std::move(halves));
    json["wax_coats"] = planned(number(design.settings.kit.wax_coats));
    json["film_coats"] = planned(number(design.settings.kit.film_coats));
    json["shopping"] = list_json(kit.lines, [](const KitLine& line) {
        return Json{{"item", line.item},
                    {"use", line.use},
                    {"amount", fine_number(line.amount)},
                    {"unit", line.unit},
                    {"cost", line.cost > 0 ? fine_number(line.cost) : Json()}};
    });
    json["laminate_thickness_mm"] = fine_number(laminate_thickness_mm(mould));
    json["mould_plies"] = list_json(mould.plies, [](const PlyRun& run) {
        return Json{{"cloth", run.cloth.name}, {"plies", run.count}};
    });
    json["mould_plies_reason"] = design.mould_plies.reason;
    return json;
}

Json item_json(const HardwareItem& item, const LocatorShape& shape) {
    using Sizes = HardwareSizes;
    Json json{{"id", item.id}, {"panel", item.panel}, {"at_mm", point(item.at)}, {"axis", direction(item.axis)}};
    switch (item.kind) {
        case HardwareKind::locator:
            json["diameter_mm"] = number(2 * shape.radius_mm);
            json["height_mm"] = number(shape.height_mm);
            json["draft_deg"] = degrees(shape.draft_rad);
            json["shim_deg"] = degrees(item.shim_rad);
            break;
        case HardwareKind::port:
            json["half"] = item.half;
            json["diameter_mm"] = number(Sizes::port);
            json["to_part_edge_mm"] = number(item.to_part_edge_mm);
            break;
        case HardwareKind::jack:
            json["diameter_mm"] = number(Sizes::jack);
            json["pad_mm"] = number(Sizes::pad);
            break;
        case HardwareKind::bolt:
            json["diameter_mm"] = number(Sizes::bolt);
            break;
        case HardwareKind::notch:
            json["out"] = direction(item.out);
            json["size_mm"] = point(Vec3{Sizes::notch_width, Sizes::notch_depth, Sizes::notch_height});
            break;
    }
    return json;
}

Json hardware_json(const Design& design, HardwareKind kind) {
    Json list = Json::array();
    for (const HardwareItem& item : design.hardware.items)
        if (item.kind == kind) list.push_back(item_json(item, design.hardware.locator));
    return list;
}

Json back_plate_json(const BackHalf& half, const BackPlate& plate) {
    Json json;
    json["id"] = plate.part.id;
    json["half"] = half.half;
    json["station_mm"] = number(plate.station_mm);
    json["direction"] = plate.is_along ? "y" : "x";
    json["thickness_mm"] = number(plate.part.thickness_mm);
    json["outline_mm"] = chain(flatten(plate.part.outline.outer, chord_mm));
    json["edge_mm"] = chain(plate.edge);
    json["min_inside_radius_mm"] = number(plate.min_inside_radius_mm);
    return json;
}

// Stations, outlines, footprint and centre in the half's stand frame, whose matrix leads into the fixture.
Json stand_json(const BackHalf& half, double tilt_deg) {
    Json json;
    json["half"] = half.half;
    json["tilt_deg"] = fine_number(tilt_deg);
    json["frame"] = matrix_json(half.stand);
    json["footprint_mm"] = chain(half.footprint);
    const bool is_known = half.trouble.empty();
    json["mass_kg"] = is_known ? fine_number(half.mass_kg()) : Json();
    json["plates_kg"] = fine_number(half.plates_kg);
    json["centre_mm"] = is_known ? point(half.centre) : Json();
    json["tip_deg"] = is_known ? degrees(stand_tip(half).angle_rad) : Json();
    json["rim_load_n"] = is_known ? number(rim_load_n(half)) : Json();
    json["free_width_mm"] = half.plates.empty() ? Json() : number(half.free_width_mm);
    return json;
}

/// Null where nothing was planned; without plates the stand is the mould's own back.
void add_back(Json& mould, const MouldBack& back, double tilt_deg) {
    mould["stiffeners"] = back.halves.empty() ? Json() : Json::array();
    mould["stand"] = back.halves.empty() ? Json() : Json::array();
    for (const BackHalf& half : back.halves) {
        for (const BackPlate& plate : half.plates) mould["stiffeners"].push_back(back_plate_json(half, plate));
        mould["stand"].push_back(stand_json(half, tilt_deg));
    }
    mould["back"] = {{"reason", back.reason},
                     {"notes", back.notes},
                     {"laminate_mm", number(back.skin_mm)},
                     {"soft_strip_mm", number(back.strip_mm)},
                     {"soft_strip_length_mm", number(back.strip_length_mm())},
                     {"tab_cloth", back.tab_cloth},
                     {"tab_plies", tab_plies},
                     {"tab_length_mm", number(back.tab_mm())}};
}

Json mould_json(const Design& design) {
    Json json;
    json["use"] = get_setting(design.settings, "mould.use");
    add_back(json, design.back, design.settings.mould.stand_tilt.deg());
    json["locators"] = hardware_json(design, HardwareKind::locator);
    json["locator_misfit_mm"] = number(design.hardware.misfit_mm);
    json["bolts"] = hardware_json(design, HardwareKind::bolt);
    json["jack_bolts"] = hardware_json(design, HardwareKind::jack);
    json["wedge_notches"] = hardware_json(design, HardwareKind::notch);
    json["ports"] = hardware_json(design, HardwareKind::port);
    json["hardware_notes"] = design.hardware.notes;
    json["trim"] = design.joint.trim;
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
