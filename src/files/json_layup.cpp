// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/json_layup.hpp"

#include <cmath>

namespace cradlewright {
namespace {

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

}  // namespace

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

}  // namespace cradlewright
