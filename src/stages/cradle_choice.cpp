// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/cradle_choice.hpp"

#include <algorithm>
#include <vector>

#include "cradlewright/stages/panel_support.hpp"
#include "cradlewright/stages/plug_beam.hpp"

namespace cradlewright {
namespace {

bool is_told(const Settings& settings, const char* key) { return settings.origin.contains(key); }

bool is_strip_told(const Settings& settings) {
    return is_told(settings, "cradle.stringer-stock") || is_told(settings, "cradle.stringer-width") ||
           is_told(settings, "cradle.stringer-height");
}

struct Bays {
    std::vector<double> stations;
    [[nodiscard]] double widest() const {
        double widest = 0;
        for (std::size_t i = 0; i + 1 < stations.size(); ++i) widest = std::max(widest, stations[i + 1] - stations[i]);
        return widest;
    }
};

class Chooser {
public:
    Chooser(const PosedPlug& posed, const Settings& settings)
        : posed_(posed), thickness_(stock(settings, settings.cradle.rib_stock).thickness_mm), choice_{settings, ""} {}

    CradleChoice choose() {
        if (choice_.settings.cradle.stations_mm.empty()) {
            if (!(choice_.settings.cradle.ribs > 0)) choose_ribs();
            choose_strip();
        }
        return std::move(choice_);
    }

private:
    [[nodiscard]] Bays bays(double ribs) const {
        CradleOptions options = choice_.settings.cradle;
        options.ribs = ribs;
        return {rib_stations(posed_.box_fixture.low.x, posed_.box_fixture.high.x, thickness_, options)};
    }

    void choose_ribs() {
        const auto by_spacing = static_cast<int>(bays(0).stations.size());
        const PlugBeam plug = cut_plug_beam(posed_, choice_.settings);
        if (plug.sections.empty() || by_spacing < 2) return;
        std::vector<RibTrial> trials = try_more_ribs(plug, choice_.settings, by_spacing);
        const bool is_enough = trials.back().is_enough;
        const int chosen = is_enough ? trials.back().ribs : by_spacing;
        // One fewer shows what the spacing is worth.
        if (by_spacing > 2) trials.insert(trials.begin(), try_ribs(plug, choice_.settings, by_spacing - 1));
        std::string sags;
        for (const RibTrial& t : trials)
            sags += (sags.empty() ? "" : "; ") + std::to_string(t.ribs) + " ribs: " + fixed(t.sag_mm, 2) + " mm";
        choice_.settings.cradle.ribs = chosen;
        choice_.reason = std::to_string(chosen) + " ribs, at most " + fixed(choice_.settings.cradle.spacing.mm(), 0) +
                         " mm apart, " + (is_enough ? "for " : "since no number brings ") + "a sag of at most " +
                         fixed(choice_.settings.limits.sag.mm(), 2) + " mm (" + sags + ")";
    }

    void choose_strip() {
        if (is_strip_told(choice_.settings)) return;
        const double bay = bays(choice_.settings.cradle.ribs).widest();
        const CradleOptions& cradle = choice_.settings.cradle;
        const double e_mpa = material(stock(choice_.settings, cradle.stringer_stock).material).e_mpa.low;
        do {
            Stringer stringer;
            stringer.part.stock = cradle.stringer_stock;
            stringer.width_mm = cradle.stringer_width.mm();
            stringer.height_mm = cradle.stringer_height.mm();
            stringer.to = {bay, 0, 0};
            const auto beam = stringer_beam(stringer, {0, bay}, choice_.settings, e_mpa);
            if (stringer_dip(*beam, choice_.settings).dip_mm <= choice_.settings.limits.stringer_dip.mm()) return;
        } while (take_stronger_strip(choice_));
    }

    const PosedPlug& posed_;
    double thickness_;
    CradleChoice choice_;
};

}  // namespace

bool strips_hold(const Cradle& cradle, const Settings& settings) {
    return std::all_of(cradle.stringers.begin(), cradle.stringers.end(), [&](const Stringer& stringer) {
        const double e_mpa = material(stock(settings, stringer.part.stock).material).e_mpa.low;
        const auto beam = stringer_beam(stringer, stringer_supports(stringer, cradle), settings, e_mpa);
        return !beam || stringer_dip(*beam, settings).dip_mm <= settings.limits.stringer_dip.mm();
    });
}

bool take_stronger_strip(CradleChoice& choice) {
    CradleOptions& cradle = choice.settings.cradle;
    if (is_strip_told(choice.settings)) return false;
    const std::string wood = stock(choice.settings, cradle.stringer_stock).material;
    const auto stiffness = [](double width, double height) { return width * height * height * height; };
    const double own = stiffness(cradle.stringer_width.mm(), cradle.stringer_height.mm());
    const Stock* next = nullptr;
    for (const auto& [name, candidate] : choice.settings.stocks) {
        const bool is_strip = candidate.material == wood && candidate.length_mm >= 10 * candidate.width_mm;
        if (!is_strip || stiffness(candidate.thickness_mm, candidate.width_mm) <= own) continue;
        if (next == nullptr ||
            stiffness(candidate.thickness_mm, candidate.width_mm) < stiffness(next->thickness_mm, next->width_mm))
            next = &candidate;
    }
    if (next == nullptr) return false;
    cradle.stringer_stock = next->name;
    cradle.stringer_width = Length::mm(next->thickness_mm);
    cradle.stringer_height = Length::mm(next->width_mm);
    return true;
}

CradleChoice choose_cradle(const PosedPlug& posed, const Settings& settings) {
    return Chooser(posed, settings).choose();
}

}  // namespace cradlewright
