// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/cradle_choice.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <set>

#include "cradlewright/stages/panel_support.hpp"
#include "cradlewright/stages/plug_beam.hpp"

namespace cradlewright {
namespace {

bool is_told(const Settings& settings, const char* key) { return settings.origin.contains(key); }

bool is_strip_told(const Settings& settings) {
    return is_told(settings, "cradle.stringer-stock") || is_told(settings, "cradle.stringer-width") ||
           is_told(settings, "cradle.stringer-height");
}

double second_moment(double width, double height) { return width * height * height * height; }

/// The next stiffer strip of the same wood, or none.
std::optional<CradleOptions> stiffer_strip(const Settings& settings) {
    const std::string wood = stock(settings, settings.cradle.stringer_stock).material;
    const double own = second_moment(settings.cradle.stringer_width.mm(), settings.cradle.stringer_height.mm());
    const Stock* next = nullptr;
    for (const auto& [name, candidate] : settings.stocks) {
        const bool is_strip = candidate.material == wood && candidate.length_mm >= 10 * candidate.width_mm;
        const double stiffness = second_moment(candidate.thickness_mm, candidate.width_mm);
        if (!is_strip || stiffness <= own) continue;
        if (next == nullptr || stiffness < second_moment(next->thickness_mm, next->width_mm)) next = &candidate;
    }
    if (next == nullptr) return std::nullopt;
    CradleOptions cradle = settings.cradle;
    cradle.stringer_stock = next->name;
    cradle.stringer_width = Length::mm(next->thickness_mm);
    cradle.stringer_height = Length::mm(next->width_mm);
    return cradle;
}

/// How panels fare: the dip nearest to or furthest beyond its limit, and by how much all limits are
/// exceeded at worst.
struct PanelDip {
    double dip_mm = 0, limit_mm = 0, share = 0;
    double near_excess = 0, away_excess = 0;
    [[nodiscard]] bool is_enough() const { return share <= 1; }
    [[nodiscard]] double excess() const { return near_excess + away_excess; }
    void take(double dip, double limit, double& excess) {
        excess = std::max(excess, dip / limit - 1);
        if (dip / limit <= share) return;
        share = dip / limit;
        dip_mm = dip;
        limit_mm = limit;
    }
};

/// What a dip of a panel comes to at the soft end of its sheet's spread: it goes with 1 / E.
double soft_factor(const Settings& settings, const FlangePanel& panel) {
    const Spread& e = material(stock(settings, panel.part.stock).material).e_mpa;
    return e.value / e.low;
}

class StripChooser {
public:
    StripChooser(const Flange& flange, const Parting& parting, const Settings& settings, const Cradle& bare,
                 const std::vector<double>& stations)
        : flange_(flange),
          parting_(parting),
          settings_(settings),
          tried_(bare),
          stations_(stations),
          thickness_(stock(settings, settings.cradle.rib_stock).thickness_mm) {}

    /// Stiffer strips until they keep their limit. They are also wider and may find less room, so panels have a say.
    StripChoice choose() {
        served_ = served_panels();
        double least = std::numeric_limits<double>::infinity();
        bool is_first = true;
        for (std::optional<CradleOptions> strip = settings_.cradle; strip; strip = stiffer_strip(settings_)) {
            settings_.cradle = *strip;
            const double panels = choose_rows();
            std::vector<StringerLine> lines = place(rows_);
            lay(lines);
            const double dip = worst_strip_dip(), limit = settings_.limits.stringer_dip.mm();
            const double excess = panels + std::max(0.0, dip / limit - 1);
            if (is_first || excess < least) {
                least = excess;
                is_first = false;
                choice_.cradle = settings_.cradle;
                choice_.lines = std::move(lines);
            }
            if (tried_.stringers.empty() || is_strip_told(settings_)) break;
            choice_.trials.push_back({"strip section", settings_.cradle.stringer_stock, dip, limit, dip <= limit});
            if (dip <= limit) break;
        }
        return std::move(choice_);
    }

private:
    [[nodiscard]] std::vector<StringerLine> place(const StripRows& rows) const {
        return place_stringers(flange_, settings_, stations_, thickness_, rows);
    }
    void lay(const std::vector<StringerLine>& lines) {
        tried_.stringers.clear();
        for (const StringerLine& line : lines) tried_.stringers.push_back(make_stringer(line, flange_, settings_));
    }

    /// Edges that strips serve at all, with the panels that they can serve; those whose panels' runs are known.
    [[nodiscard]] std::map<std::string, std::set<std::size_t>> served_panels() const {
        std::map<std::string, std::set<std::size_t>> served;
        for (const StringerLine& line : place({})) served[line.edge].insert(line.panels.begin(), line.panels.end());
        std::erase_if(served, [&](const auto& edge) { return !is_judged(edge.second); });
        return served;
    }

    [[nodiscard]] PanelDip dip_of(const std::set<std::size_t>& panels, const std::vector<StringerLine>& lines) const {
        PanelDip worst;
        for (const std::size_t p : panels) {
            const FlangePanel& panel = flange_.panels[p];
            const bool has_strip = std::any_of(lines.begin(), lines.end(), [&](const StringerLine& line) {
                return std::find(line.panels.begin(), line.panels.end(), p) != line.panels.end();
            });
            const std::vector<Vec3> run = panel_run(panel, parting_);
            const auto dips = run.size() > 1
                                  ? panel_dips(panel, run, panel_supports(panel, tried_, settings_), settings_)
                                  : std::nullopt;
            constexpr double unheld_mm = std::numeric_limits<double>::infinity();
            const double soft = soft_factor(settings_, panel);
            const bool is_held = dips && has_strip;
            worst.take(is_held ? soft * dips->near_plug_mm : unheld_mm, settings_.limits.panel_dip.mm(),
                       worst.near_excess);
            worst.take(is_held ? soft * dips->away_mm : unheld_mm, settings_.limits.panel_dip_away.mm(),
                       worst.away_excess);
        }
        return worst;
    }

    [[nodiscard]] bool is_judged(const std::set<std::size_t>& panels) const {
        return std::all_of(panels.begin(), panels.end(),
                           [&](std::size_t p) { return flange_.panels[p].loop < parting_.loops.size(); });
    }

    /// The worst that panels then exceed their limits by.
    double choose_rows() {
        std::map<std::string, std::set<std::size_t>> open = served_;
        std::map<std::string, PanelDip> best;
        StripRows rows;
        for (int n = 1; n <= most_rows && !open.empty(); ++n) {
            StripRows more = rows;
            for (const auto& [edge, panels] : open) more[edge] = n;
            const std::vector<StringerLine> lines = place(more);
            lay(lines);
            std::erase_if(open, [&](const auto& entry) {
                const auto& [edge, panels] = entry;
                const PanelDip dip = dip_of(panels, lines);
                choice_.trials.push_back({"strips",
                                          edge + ": " + std::to_string(n) + (n == 1 ? " row of " : " rows of ") +
                                              settings_.cradle.stringer_stock,
                                          dip.dip_mm, dip.limit_mm, dip.is_enough()});
                constexpr double worth_a_row = 0.9;  // more strips that hardly help are not worth their work
                if (!best.contains(edge) || dip.is_enough() || dip.excess() < worth_a_row * best[edge].excess()) {
                    best[edge] = dip;
                    rows[edge] = n;
                }
                return dip.is_enough();
            });
        }
        rows_ = std::move(rows);
        double worst = 0;
        for (const auto& [edge, dip] : best) worst = std::max(worst, dip.excess());
        return worst;
    }

    /// At the soft end of the wood's spread.
    [[nodiscard]] double worst_strip_dip() const {
        double worst = 0;
        for (const Stringer& stringer : tried_.stringers) {
            const double e_mpa = material(stock(settings_, stringer.part.stock).material).e_mpa.low;
            const auto beam = stringer_beam(stringer, stringer_supports(stringer, tried_), settings_, e_mpa);
            if (beam) worst = std::max(worst, stringer_dip(*beam, settings_).dip_mm);
        }
        return worst;
    }

    const Flange& flange_;
    const Parting& parting_;
    Settings settings_;  ///< with the strip that is being tried
    Cradle tried_;
    const std::vector<double>& stations_;
    double thickness_;
    std::map<std::string, std::set<std::size_t>> served_;  ///< by edge
    StripRows rows_;
    StripChoice choice_;
};

}  // namespace

RibChoice choose_ribs(const PosedPlug& posed, const Settings& settings) {
    RibChoice choice{settings.cradle.ribs, "", {}};
    if (!settings.cradle.stations_mm.empty() || settings.cradle.ribs > 0) return choice;
    const double thickness = stock(settings, settings.cradle.rib_stock).thickness_mm;
    const auto by_spacing = static_cast<int>(
        rib_stations(posed.box_fixture.low.x, posed.box_fixture.high.x, thickness, settings.cradle).size());
    const PlugBeam plug = cut_plug_beam(posed, settings);
    if (plug.sections.empty() || by_spacing < 2) return choice;
    std::vector<RibTrial> trials = try_more_ribs(plug, settings, by_spacing);
    const bool is_enough = trials.back().is_enough;
    const int chosen = is_enough ? trials.back().ribs : by_spacing;
    // One fewer shows what the spacing is worth.
    if (by_spacing > 2) trials.insert(trials.begin(), try_ribs(plug, settings, by_spacing - 1));
    std::string sags;
    for (const RibTrial& t : trials) {
        const std::string ribs = std::to_string(t.ribs) + " ribs";
        sags += (sags.empty() ? "" : "; ") + ribs + ": " + fixed(t.sag_mm, 2) + " mm";
        choice.trials.push_back({"ribs", ribs, t.sag_mm, settings.limits.sag.mm(), t.is_enough});
    }
    choice.ribs = chosen;
    choice.reason = std::to_string(chosen) + " ribs, at most " + fixed(settings.cradle.spacing.mm(), 0) +
                    " mm apart, " + (is_enough ? "for " : "since no number brings ") + "a sag of at most " +
                    fixed(settings.limits.sag.mm(), 2) + " mm (" + sags + ")";
    return choice;
}

std::optional<Trial> try_end_plate(const Flange& flange, const Parting& parting, const Settings& settings,
                                   const Rib& plate, PlugEnd end, const std::vector<std::size_t>& carried) {
    Cradle alone;
    alone.ribs.push_back(plate);
    const double x = plate.station_mm;
    PanelDip worst;
    for (const PanelSpan& span : spans_at(flange, x, plate.part.thickness_mm, settings.flange.glue.mm())) {
        const FlangePanel& panel = flange.panels[span.panel];
        Box3 box;
        for (const Vec2& p : flatten(panel.part.outline.outer, Tolerances{}.chord_mm)) box.add(placed(panel.part, p));
        const bool is_beyond = end.out > 0 ? box.low.x > end.x_mm : box.high.x < end.x_mm;
        if (!is_beyond && std::find(carried.begin(), carried.end(), span.panel) == carried.end()) return std::nullopt;
        if (!is_beyond) continue;
        const std::vector<Vec3> run = panel_run(panel, parting);
        const auto dips =
            run.size() > 1 ? panel_dips(panel, run, panel_supports(panel, alone, settings), settings) : std::nullopt;
        if (!dips || !is_under_middle(panel, x)) return std::nullopt;
        const double tilt =
            plate_tilt_dip_mm(settings, span.y_high - span.y_low, std::max(span.z_at_low, span.z_at_high),
                              std::max(box.high.x - x, x - box.low.x));
        const double soft = soft_factor(settings, panel);
        worst.take(soft * dips->near_plug_mm + tilt, settings.limits.panel_dip.mm(), worst.near_excess);
        worst.take(soft * dips->away_mm + tilt, settings.limits.panel_dip_away.mm(), worst.away_excess);
    }
    if (!(worst.limit_mm > 0)) return std::nullopt;
    return Trial{"end plates", "1 plate", worst.dip_mm, worst.limit_mm, worst.is_enough()};
}

StripChoice choose_strips(const Flange& flange, const Parting& parting, const Settings& settings, const Cradle& bare,
                          const std::vector<double>& stations) {
    return StripChooser(flange, parting, settings, bare, stations).choose();
}

}  // namespace cradlewright
