// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/cradle_choice.hpp"

#include <algorithm>
#include <vector>

#include "cradlewright/stages/panel_support.hpp"
#include "cradlewright/stages/plug_beam.hpp"

namespace cradlewright {
namespace {

bool is_told(const Settings& settings, const char* key) { return settings.origin.contains(key); }

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
        for (const char* key : {"cradle.stringer-stock", "cradle.stringer-width", "cradle.stringer-height"})
            if (is_told(choice_.settings, key)) return;
        const double bay = bays(choice_.settings.cradle.ribs).widest();
        CradleOptions& cradle = choice_.settings.cradle;
        std::vector<const Stock*> strips;
        const std::string wood = stock(choice_.settings, cradle.stringer_stock).material;
        for (const auto& [name, candidate] : choice_.settings.stocks)
            if (candidate.material == wood && candidate.length_mm >= 10 * candidate.width_mm &&
                candidate.thickness_mm * candidate.width_mm >= cradle.stringer_width.mm() * cradle.stringer_height.mm())
                strips.push_back(&candidate);
        std::stable_sort(strips.begin(), strips.end(), [](const Stock* a, const Stock* b) {
            return a->thickness_mm * a->width_mm < b->thickness_mm * b->width_mm;
        });
        for (const Stock* strip : strips) {
            Stringer stringer;
            stringer.part.stock = strip->name;
            stringer.width_mm = strip->thickness_mm;
            stringer.height_mm = strip->width_mm;
            stringer.to = {bay, 0, 0};
            const auto beam = stringer_beam(stringer, {0, bay}, choice_.settings, material(wood).e_mpa.low);
            if (stringer_dip(*beam, choice_.settings).dip_mm > choice_.settings.limits.stringer_dip.mm()) continue;
            cradle.stringer_stock = strip->name;
            cradle.stringer_width = Length::mm(strip->thickness_mm);
            cradle.stringer_height = Length::mm(strip->width_mm);
            return;
        }
    }

    const PosedPlug& posed_;
    double thickness_;
    CradleChoice choice_;
};

}  // namespace

CradleChoice choose_cradle(const PosedPlug& posed, const Settings& settings) {
    return Chooser(posed, settings).choose();
}

}  // namespace cradlewright
