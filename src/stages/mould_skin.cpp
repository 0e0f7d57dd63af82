// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/mould_skin.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "cradlewright/base/error.hpp"
#include "cradlewright/mechanics/resin.hpp"
#include "cradlewright/mechanics/sheet.hpp"

namespace cradlewright {
namespace {

double dip_mm(const MouldPlace& place, double d_n_mm, const LimitOptions& limits) {
    return place.kind == MouldPlace::Kind::flange
               ? clamped_edge_dip_mm(limits.squeegee_load.n(), place.reach_mm, limits.squeegee_width.mm(), d_n_mm)
               : long_panel_dip_mm(limits.squeegee_load.n(), place.reach_mm, d_n_mm);
}

Laminate laminate_with(const Settings& settings, int auto_count) {
    LaminateOptions options = settings.laminate_mould;
    options.auto_count = auto_count;
    return make_laminate(settings, options, "laminate.mould.plies");
}

/// "2 mm (5: 2.3 mm; 6: 1.9 mm)": the last three trials tell enough.
std::string told(const std::vector<PlyTrial>& trials, double limit_mm) {
    constexpr std::size_t most_told = 3;
    std::string text;
    for (std::size_t i = trials.size() - std::min(trials.size(), most_told); i < trials.size(); ++i)
        text +=
            (text.empty() ? "" : "; ") + std::to_string(trials[i].plies) + ": " + fixed(trials[i].dip_mm, 2) + " mm";
    return "for a dip of at most " + fixed(limit_mm, 2) + " mm (" + text + ")" +
           (trials.back().is_enough ? "" : ", which a skin of " + fixed(thickest_skin_mm, 0) + " mm does not reach");
}

}  // namespace

double shell_reach_mm(Vec3 size, double most_free_mm) { return std::min({most_free_mm, size.x, size.y}); }

std::vector<MouldPlace> mould_places(const PosedPlug& posed, const Flange& flange, const Settings& settings) {
    std::vector<MouldPlace> places;
    const auto widest =
        std::max_element(flange.panels.begin(), flange.panels.end(),
                         [](const FlangePanel& a, const FlangePanel& b) { return a.width_mm < b.width_mm; });
    if (widest != flange.panels.end()) places.push_back({MouldPlace::Kind::flange, widest->width_mm, widest->point});
    const Box3& box = posed.box_fixture;
    const Vec3 middle = (box.low + box.high) * 0.5;
    const double most_free_mm =
        settings.mould.back == "no" ? std::numeric_limits<double>::infinity() : settings.mould.stiffener_spacing.mm();
    places.push_back(
        {MouldPlace::Kind::shell, shell_reach_mm(box.size(), most_free_mm), {middle.x, middle.y, box.high.z}});
    return places;
}

Spread mould_dip_mm(const MouldPlace& place, const Laminate& laminate, const Settings& settings) {
    const Spread d = cure(laminate, material(settings.mould.resin).e_mpa).d_n_mm;
    return {dip_mm(place, d.high, settings.limits), dip_mm(place, d.value, settings.limits),
            dip_mm(place, d.low, settings.limits)};
}

Spread resin_shrinkage(const Settings& settings) {
    const double told = settings.mould.resin_shrinkage;
    return told > 0 ? Spread{told, told, told} : resin(settings.mould.resin).volume_shrinkage;
}

Spread mould_shrinkage(const Settings& settings, const Laminate& laminate, const Spread& by_volume) {
    CRADLEWRIGHT_PRECONDITION(!laminate.plies.empty());
    constexpr Spread after_gel{0.3, 0.4, 0.5};  // share of the cure that comes after gel. Source: from memory
    const Spread& resin_e = material(settings.mould.resin).e_mpa;
    const CuredLaminate cured = cure(laminate, resin_e);
    const auto strain = [&](double volume, double e_mpa, double laminate_e_mpa, double share) {
        return laminate_shrinkage(volume, e_mpa, cured.fibre_share, laminate_e_mpa, share);
    };
    return {strain(by_volume.low, resin_e.low, cured.e_mpa.high, after_gel.low),
            strain(by_volume.value, resin_e.value, cured.e_mpa.value, after_gel.value),
            strain(by_volume.high, resin_e.high, cured.e_mpa.low, after_gel.high)};
}

double calmest_resin(const Settings& settings, const Laminate& laminate, double allowed) {
    constexpr int steps_to_one = 1000;
    int step = static_cast<int>(std::floor(resin_shrinkage(settings).high * steps_to_one));
    const auto high = [&](int k) {
        const double volume = static_cast<double>(k) / steps_to_one;
        return mould_shrinkage(settings, laminate, {volume, volume, volume}).high;
    };
    while (step > 0 && high(step) > allowed) --step;
    return static_cast<double>(step) / steps_to_one;
}

MouldPlies choose_mould_plies(const PosedPlug& posed, const Flange& flange, const Settings& settings) {
    MouldPlies chosen;
    const Laminate one = laminate_with(settings, 1), two = laminate_with(settings, 2);
    const auto differs = [](const PlyRun& a, const PlyRun& b) { return a.count != b.count; };
    const auto automatic = std::mismatch(one.plies.begin(), one.plies.end(), two.plies.begin(), std::not_fn(differs));
    if (automatic.first == one.plies.end()) return chosen;
    chosen.cloth = automatic.first->cloth.name;
    const double ply_mm = laminate_thickness_mm(two) - laminate_thickness_mm(one);
    const std::vector<MouldPlace> places = mould_places(posed, flange, settings);
    const double limit_mm = settings.limits.mould_dip.mm();
    double thickness_mm = laminate_thickness_mm(one);
    do {
        PlyTrial trial{++chosen.count, 0, false};
        const Laminate laminate = laminate_with(settings, chosen.count);
        for (const MouldPlace& place : places)
            trial.dip_mm = std::max(trial.dip_mm, mould_dip_mm(place, laminate, settings).high);
        trial.is_enough = trial.dip_mm <= limit_mm;
        chosen.trials.push_back(trial);
        thickness_mm += ply_mm;
    } while (!chosen.trials.back().is_enough && thickness_mm <= thickest_skin_mm);
    chosen.reason = told(chosen.trials, limit_mm);
    return chosen;
}

}  // namespace cradlewright
