// SPDX-License-Identifier: GPL-3.0-or-later
// Resin at the bench.
#include <algorithm>
#include <cmath>

#include "checks/families.hpp"
#include "cradlewright/mechanics/laminate.hpp"
#include "cradlewright/mechanics/resin.hpp"

namespace cradlewright {
namespace {

constexpr double room_swing_degc = 3;    // a workshop over an afternoon; assumed
constexpr double least_batch_kg = 0.05;  // less cannot be weighed well; assumed
constexpr double waste = 1.15;           // pots and brushes; common practice

/// Surface that half 1's laminate covers: its side of the plug and the panels.
double half_1_area_mm2(const Design& design) {
    const TriMesh& mesh = design.posed.mesh();
    double area = 0;
    for (FaceId f = 0; f < design.parting.half.size(); ++f)
        if (design.parting.half[f] == 1) area += norm(area_vector(mesh.corners(f))) / 2;
    for (const FlangePanel& panel : design.flange.panels) area += area_of(panel.part.outline);
    return area;
}

}  // namespace

std::vector<Check> check_layup_pot_life(const Design& design) {
    const Settings& settings = design.settings;
    const KitOptions& kit = settings.kit;
    const auto pot = [&](double warmer) {
        return pot_life_s(kit.pot_life_s, kit.pot_life_at_degc, kit.room_degc + warmer);
    };
    // Chosen for the warm end, so that a batch as advised passes; told ones are judged as told.
    const double largest = largest_batch_kg(pot(room_swing_degc), kit.kilogram_time_s);
    const double rounded = std::floor(largest * 100) / 100;  // to 10 g
    const double batch = kit.batch.kg() > 0 ? kit.batch.kg() : std::max(least_batch_kg, rounded);
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

    const Laminate laminate = make_laminate(settings, settings.laminate_mould, "laminate.mould.plies");
    const double resin =
        waste * half_1_area_mm2(design) * cure(laminate, material(settings.mould.resin).e_mpa).resin_kg_mm2;
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
    c.advice = "half 1 takes " + fixed(resin, 2) + " kg with waste: " + fixed(std::ceil(resin / batch), 0) +
               (resin > batch ? " batches of " : " batch of ") + fixed(mix.base_kg, 3) + " kg resin and " +
               fixed(mix.hardener_kg, 3) + " kg hardener; thick pots go off sooner";
    return {std::move(c)};
}

}  // namespace cradlewright
