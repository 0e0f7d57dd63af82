// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/mechanics/laminate.hpp"

#include <algorithm>
#include <vector>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

constexpr double hand_layup_miss = 0.05;  // of the fibre's mass share; assumed

/// 0/90 cloth bends over itself; mat and cloth told otherwise do not.
bool is_woven(const Cloth& cloth) { return cloth.filament_share == 0.5; }

bool is_glass_mat(const Cloth& cloth) {
    constexpr double random = 0.375, stiffest_glass_mpa = 90000;
    return cloth.filament_share == random && cloth.fibre_e_mpa < stiffest_glass_mpa;
}

struct Stack {
    double thickness_mm = 0, e_mpa = 0, d_n_mm = 0, fibre_share = 0;  // thickness and E of the plies alone
};

/// The stack with every ply's mass share of fibre moved by `miss`.
Stack stack_of(const Laminate& laminate, double resin_e_mpa, double crimp, double miss) {
    std::vector<StackLayer> layers{{laminate.gel_coat_mm, material("gel-coat").e_mpa.value},
                                   {laminate.veil_mm, resin_e_mpa}};
    Stack stack;
    for (const PlyRun& run : laminate.plies) {
        Cloth cloth = run.cloth;
        cloth.fibre_mass_fraction = std::clamp(cloth.fibre_mass_fraction + miss, 0.01, 0.95);
        const double share = fibre_volume_share(cloth, laminate.resin_density_kg_mm3);
        const double eta = cloth.filament_share * (is_woven(cloth) ? crimp : 1);
        const double t = run.count * ply_thickness_mm(cloth, laminate.resin_density_kg_mm3);
        double e = ply_modulus_mpa(eta, cloth.fibre_e_mpa, resin_e_mpa, share);
        // Mixtures flatter glass mat by a fifth; the marine rule was made for it.
        if (is_glass_mat(cloth)) e = std::min(e, glass_rule_modulus_mpa(cloth.fibre_mass_fraction));
        layers.push_back({t, e});
        stack.thickness_mm += t;
        stack.e_mpa += e * t;
        stack.fibre_share += share * t;
    }
    if (!(stack.thickness_mm > 0)) return {};
    stack.e_mpa /= stack.thickness_mm;
    stack.fibre_share /= stack.thickness_mm;
    stack.d_n_mm = stack_stiffness_n_mm(layers);
    return stack;
}

}  // namespace

double fibre_volume_share(const Cloth& cloth, double resin_density_kg_mm3) {
    const double fibre_mm = cloth.areal_mass_kg_mm2 / cloth.fibre_density_kg_mm3;
    return fibre_mm / ply_thickness_mm(cloth, resin_density_kg_mm3);
}

double ply_resin_kg_mm2(const Cloth& cloth) {
    const double fraction = cloth.fibre_mass_fraction;
    CRADLEWRIGHT_PRECONDITION(fraction > 0 && fraction <= 1);
    return cloth.areal_mass_kg_mm2 * (1 - fraction) / fraction;
}

double ply_modulus_mpa(double share, double fibre_e_mpa, double resin_e_mpa, double fibre_share) {
    return share * fibre_e_mpa * fibre_share + resin_e_mpa * (1 - fibre_share);
}

double glass_rule_modulus_mpa(double glass_mass_share) { return (37 * glass_mass_share - 4.75) * 1000; }

double stack_stiffness_n_mm(std::span<const StackLayer> layers) {
    double weight = 0, moment = 0, z = 0;
    for (const StackLayer& layer : layers) {
        weight += layer.e_mpa * layer.thickness_mm;
        moment += layer.e_mpa * layer.thickness_mm * (z + layer.thickness_mm / 2);
        z += layer.thickness_mm;
    }
    if (!(weight > 0)) return 0;
    const double neutral = moment / weight;
    double stiffness = 0;
    z = 0;
    for (const StackLayer& layer : layers) {
        const double t = layer.thickness_mm, off = z + t / 2 - neutral;
        stiffness += layer.e_mpa * t * (t * t / 12 + off * off);
        z += t;
    }
    return stiffness;
}

CuredLaminate cure(const Laminate& laminate, const Spread& resin_e_mpa) {
    CuredLaminate cured;
    if (laminate.plies.empty()) return cured;
    cured.thickness_mm = laminate_thickness_mm(laminate);
    for (const PlyRun& run : laminate.plies) {
        cured.fibre_kg_mm2 += run.count * run.cloth.areal_mass_kg_mm2;
        cured.resin_kg_mm2 += run.count * ply_resin_kg_mm2(run.cloth);
    }
    cured.resin_kg_mm2 += laminate.veil_mm * laminate.resin_density_kg_mm3;
    cured.gel_coat_kg_mm2 = laminate.gel_coat_mm * material("gel-coat").density_kg_mm3.value;

    const Stack usual = stack_of(laminate, resin_e_mpa.value, crimp_factor, 0);
    cured.fibre_share = usual.fibre_share;
    cured.e_mpa = {usual.e_mpa, usual.e_mpa, usual.e_mpa};
    cured.d_n_mm = {usual.d_n_mm, usual.d_n_mm, usual.d_n_mm};
    // More resin makes a ply softer and thicker, so which end is weaker differs between E and D: try all.
    for (const double miss : {-hand_layup_miss, hand_layup_miss})
        for (const auto& [resin, crimp] :
             {std::pair{resin_e_mpa.low, crimp_factor}, std::pair{resin_e_mpa.high, 1.0}}) {
            const Stack stack = stack_of(laminate, resin, crimp, miss);
            cured.e_mpa = {std::min(cured.e_mpa.low, stack.e_mpa), usual.e_mpa,
                           std::max(cured.e_mpa.high, stack.e_mpa)};
            cured.d_n_mm = {std::min(cured.d_n_mm.low, stack.d_n_mm), usual.d_n_mm,
                            std::max(cured.d_n_mm.high, stack.d_n_mm)};
        }
    return cured;
}

}  // namespace cradlewright
