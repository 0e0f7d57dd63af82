// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/layup_kit.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/mechanics/resin.hpp"

namespace cradlewright {
namespace {

constexpr double shears_mm = 10;  // between pieces on the roll

/// "mould-1 x4, part-1 x2"
std::string with_use(std::string text, const std::string& surface, int plies) {
    return text + (text.empty() ? "" : ", ") + surface + " x" + std::to_string(plies);
}

bool is_cut_for(const ClothPiece& piece, std::size_t run) {
    return std::ranges::find(piece.runs, run) != piece.runs.end();
}

KitLine line_for(std::string item, std::string use, double amount, std::string unit, double price) {
    return {std::move(item), std::move(use), amount, std::move(unit), amount * price};
}

}  // namespace

double safe_batch_kg(const KitOptions& kit) {
    const double pot = pot_life_s(kit.pot_life_s, kit.pot_life_at_degc, kit.room_degc + room_swing_degc);
    return std::floor(largest_batch_kg(pot, kit.kilogram_time_s) * 100) / 100;
}

double batch_kg(const KitOptions& kit) {
    return kit.batch.kg() > 0 ? kit.batch.kg() : std::max(least_batch_kg, safe_batch_kg(kit));
}

double roll_length_mm(std::vector<Vec2> sizes, double roll_mm, double gap_mm) {
    std::ranges::sort(sizes, [](Vec2 a, Vec2 b) { return a.x != b.x ? a.x > b.x : a.y > b.y; });
    double length = 0, used = 0, row = 0;
    for (const Vec2 size : sizes) {
        if (row == 0 || used + gap_mm + size.y > roll_mm) {
            length += row == 0 ? 0 : gap_mm;
            length += row = size.x;
            used = size.y;
        } else {
            used += gap_mm + size.y;
        }
    }
    return length;
}

const LayupKit::Pour* find_pour(const Layup& layup, std::string_view surface) {
    const auto found = std::ranges::find(layup.kit.pours, surface, &LayupKit::Pour::surface);
    return found == layup.kit.pours.end() ? nullptr : &*found;
}

LayupKit make_kit(std::span<const LaidSurface> surfaces, BeadClay clay, const Settings& settings) {
    const KitOptions& options = settings.kit;
    const Spread resin_e = material(settings.mould.resin).e_mpa;
    const double more = 1 + options.waste;
    LayupKit kit;
    kit.batch_kg = batch_kg(options);
    double mix_kg = 0;
    std::vector<Vec2> peel_sizes;
    struct Roll {
        std::string name, use;
        double width_mm = 0, price = 0;
        std::vector<Vec2> sizes;
    };
    std::vector<Roll> rolls;
    for (const LaidSurface& surface : surfaces) {
        const CuredLaminate cured = cure(surface.laminate, resin_e);
        LayupKit::Pour pour{.surface = surface.id};
        pour.mix_kg = more * cured.resin_kg_mm2 * surface.cloth_mm2();
        pour.batches = static_cast<int>(std::ceil(pour.mix_kg / kit.batch_kg));
        const Mix own = mix_by_mass(pour.mix_kg, options.hardener);
        pour.resin_kg = own.base_kg, pour.hardener_kg = own.hardener_kg;
        pour.gel_coat_kg = more * cured.gel_coat_kg_mm2 * surface.area_mm2;
        pour.thickener_kg = options.thickener * pour.gel_coat_kg;
        pour.fibre_kg = cured.fibre_kg_mm2 * surface.cloth_mm2();
        pour.release_mm2 = surface.area_mm2;
        pour.clay_kg = surface.id == "mould-1" ? clay.half1_kg : surface.id == "mould-2" ? clay.half2_kg : 0;
        kit.fibre_kg += pour.fibre_kg;
        kit.gel_coat_kg += pour.gel_coat_kg;
        mix_kg += pour.mix_kg;
        for (const ClothPiece& piece : surface.pieces) {
            if (!is_cut_for(piece, 0)) continue;  // peel ply lies once over all
            const Polygons peel = offset(piece.net_outline, options.peel_margin.mm(), 0.5);
            pour.peel_ply_mm2 += area_of(peel);
            Box2 box;
            for (const auto& loop : peel)
                for (const Vec2 p : loop) box.add(p);
            if (peel.empty()) continue;
            peel_sizes.push_back(box.size());
            ++pour.peel_pieces;
        }
        kit.peel_ply_mm2 += pour.peel_ply_mm2;
        for (std::size_t r = 0; r < surface.laminate.plies.size(); ++r) {
            const PlyRun& run = surface.laminate.plies[r];
            auto roll = std::ranges::find(rolls, run.cloth.name, &Roll::name);
            if (roll == rolls.end())
                roll = rolls.insert(rolls.end(), {run.cloth.name, "", run.cloth.roll_mm, run.cloth.price_per_m2, {}});
            roll->use = with_use(roll->use, surface.id, run.count);
            auto cloth = std::ranges::find(pour.cloths, run.cloth.name, &LayupKit::Pour::Cloth::name);
            if (cloth == pour.cloths.end()) cloth = pour.cloths.insert(pour.cloths.end(), {run.cloth.name, 0, 0, 0});
            cloth->plies += run.count;
            for (const ClothPiece& piece : surface.pieces) {
                if (!is_cut_for(piece, r)) continue;
                cloth->pieces += run.count;
                cloth->area_mm2 += run.count * piece.area_mm2();
                roll->sizes.insert(roll->sizes.end(), static_cast<std::size_t>(run.count),
                                   bounding_box(piece.part.outline).size());
            }
        }
        kit.pours.push_back(std::move(pour));
    }
    const Mix mix = mix_by_mass(mix_kg, options.hardener);
    kit.resin_kg = mix.base_kg, kit.hardener_kg = mix.hardener_kg;
    kit.thickener_kg = options.thickener * kit.gel_coat_kg;
    const auto on_roll = [](double width_mm) { return "on a roll of " + fixed(width_mm, 0) + " mm"; };
    for (const Roll& roll : rolls) {
        const double length = roll_length_mm(roll.sizes, roll.width_mm, shears_mm) / 1000;
        kit.lines.push_back(line_for(roll.name, roll.use + "; " + on_roll(roll.width_mm), length, "m",
                                     roll.price * roll.width_mm / 1000));
    }
    const double per_mix = mix_kg > 0 ? mix_kg / std::max(kit.resin_kg, 1e-12) : 0;
    kit.lines.push_back(line_for("resin " + settings.mould.resin, "all surfaces, with waste", kit.resin_kg, "kg",
                                 options.resin_price * per_mix));
    kit.lines.push_back(line_for("hardener", fixed(options.hardener, 0) + " to 100 of resin by mass; read the label",
                                 kit.hardener_kg, "kg", 0));
    if (kit.gel_coat_kg > 0) {
        kit.lines.push_back(line_for("gel coat", "first on the surface; its own hardener by its label", kit.gel_coat_kg,
                                     "kg", options.gel_coat_price));
        kit.lines.push_back(
            line_for("thickener", "fumed silica into the gel coat, until it does not sag", kit.thickener_kg, "kg", 0));
    }
    const double peel_m = roll_length_mm(peel_sizes, options.peel_roll.mm(), shears_mm) / 1000;
    kit.lines.push_back(line_for("peel ply", "last on each surface; " + on_roll(options.peel_roll.mm()), peel_m, "m",
                                 options.peel_price * options.peel_roll.mm() / 1000));
    double surface_mm2 = 0, clay_kg = clay.half1_kg + clay.half2_kg;
    for (const LayupKit::Pour& pour : kit.pours) surface_mm2 += pour.release_mm2;
    const auto coats = [&](double count, double wait_s) {
        return fixed(count, 0) + " coats, " + fixed(wait_s / 60, 0) + " min between";
    };
    if (options.wax_coats > 0)
        kit.lines.push_back(line_for("release wax", coats(options.wax_coats, options.wax_wait_s),
                                     options.wax_coats * surface_mm2 / 1e6, "m2", 0));
    if (options.film_coats > 0)
        kit.lines.push_back(line_for("release film", coats(options.film_coats, options.film_wait_s),
                                     options.film_coats * surface_mm2 / 1e6, "m2", 0));
    if (clay_kg > 0) kit.lines.push_back(line_for("modelling clay without sulphur", "beads", clay_kg, "kg", 0));
    for (const KitLine& line : kit.lines) kit.cost += line.cost;
    return kit;
}

}  // namespace cradlewright
