// SPDX-License-Identifier: GPL-3.0-or-later
// Resin at the bench.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "checks/families.hpp"
#include "cradlewright/mechanics/laminate.hpp"
#include "cradlewright/mechanics/resin.hpp"

namespace cradlewright {
namespace {

constexpr double loose = 0.05;  // of a lock angle: the least by which a told one is eased; assumed

}  // namespace

std::vector<Check> check_layup_shear(const Design& design) {
    if (design.layup.surfaces.empty())
        return {unknown_check("layup.shear", "cloth", "there is no parting line to end the cloth at")};
    std::vector<Check> checks;
    for (const LaidSurface& surface : design.layup.surfaces) {
        if (surface.pieces.empty()) {
            checks.push_back(unknown_check("layup.shear", surface.id,
                                           surface.trouble.empty() ? "it has no plies (laminate)"
                                                                   : "no clean surface was found: " + surface.trouble +
                                                                         "; try one ply dry on the plug"));
            continue;
        }
        if (!std::isfinite(surface.lock_rad.value)) {
            checks.push_back(not_applicable_check("layup.shear", surface.id, "chopped strands do not lock"));
            continue;
        }
        const auto worst = std::ranges::max_element(surface.pieces, {}, &ClothPiece::max_shear_rad);
        const double shear = worst->max_shear_rad;
        const Spread& lock = surface.lock_rad;
        Check c;
        c.id = "layup.shear";
        c.subject = worst->part.id;
        c.value = Quantity::of(Angle::rad(shear));
        // The limit is one number, so the lock angle's own spread goes to the shear.
        c.low = Quantity::of(Angle::rad(shear * (1 - hand_share) * lock.value / lock.high));
        c.high = Quantity::of(Angle::rad(shear * (1 + hand_share) * lock.value / lock.low));
        c.limit = Quantity::of(Angle::rad(lock.value));
        c.relation = Relation::at_most;
        c.at = worst->max_shear_at;
        c.formula = "largest g of a pin-jointed net over the surface <= g_lock";
        c.source = {"mack-taylor", "J. Text. Inst. 47; lock angles common practice"};
        c = judged(std::move(c));
        const auto pieces = std::to_string(surface.pieces_cut);
        if (c.verdict == Verdict::pass) {
            c.advice = "cut it in " + pieces + (surface.pieces_cut == 1 ? " piece" : " pieces") +
                       ", start at the cross and smooth outward along warp and weft first";
            std::size_t darts = 0;
            for (const ClothPiece& piece : surface.pieces) darts += piece.darts.size();
            if (darts > 0) c.advice += "; slit and lap " + std::to_string(darts) + (darts == 1 ? " dart" : " darts");
        } else if (surface.pieces_needed > surface.pieces_cut) {
            c.advice = "let the cloth of " + surface.id + " be cut into " + std::to_string(surface.pieces_needed) +
                       " pieces (kit.pieces)";
        } else {
            const double wanted = shear * (1 + hand_share + loose);
            c.advice =
                "take a cloth that shears " + fixed(std::ceil(wanted * 180 / std::numbers::pi), 0) +
                " deg before it wrinkles (cloth.NAME.lock-angle of your sample), or let it have more darts (kit.darts)";
        }
        checks.push_back(std::move(c));
    }
    return checks;
}

std::vector<Check> check_layup_pot_life(const Design& design) {
    const Settings& settings = design.settings;
    const KitOptions& kit = settings.kit;
    const auto pot = [&](double warmer) {
        return pot_life_s(kit.pot_life_s, kit.pot_life_at_degc, kit.room_degc + warmer);
    };
    // Chosen for the warm end, so that a batch as advised passes; told ones are judged as told.
    const double rounded = safe_batch_kg(kit), batch = batch_kg(kit);
    const auto used = [&](double warmer) {
        return Quantity::ratio(batch * kit.kilogram_time_s / (usable_pot_life * pot(warmer)));
    };
    Check c;
    c.id = "layup.pot-life";
    c.subject = "batch of " + fixed(batch, 2) + " kg";
    c.value = used(0);
    c.low = used(-room_swing_degc);
    c.high = used(room_swing_degc);
    c.limit = Quantity::ratio(1);
    c.relation = Relation::at_most;
    c.formula =
        "batch x time to spread a kilogram over 0.7 x pot life; pot life halves with every 10 degC, room +-3 degC";
    c.source = Source::common_practice("0.7 of the pot life; rule of thumb after Arrhenius");
    c = judged(std::move(c));

    if (c.verdict != Verdict::pass) {
        c.advice = rounded >= least_batch_kg
                       ? "mix at most " + fixed(rounded, 2) + " kg at a time (kit.batch)"
                       : "the pot life is too short for any batch: take a slower hardener, of " +
                             fixed(std::ceil(least_batch_kg * kit.kilogram_time_s / usable_pot_life * kit.pot_life_s /
                                             pot(room_swing_degc) / 60),
                                   0) +
                             " min (kit.pot-life)";
        return {std::move(c)};
    }
    const Mix mix = mix_by_mass(batch, kit.hardener);
    std::string surfaces;
    for (const LayupKit::Pour& pour : design.layup.kit.pours)
        surfaces += (surfaces.empty() ? "" : ", ") + pour.surface + " " + fixed(pour.mix_kg, 2) + " kg in " +
                    std::to_string(pour.batches);
    c.advice = "batches of " + fixed(mix.base_kg, 3) + " kg resin and " + fixed(mix.hardener_kg, 3) + " kg hardener" +
               (surfaces.empty() ? "" : ": " + surfaces) + "; thick pots go off sooner";
    return {std::move(c)};
}

}  // namespace cradlewright
