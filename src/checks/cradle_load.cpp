// SPDX-License-Identifier: GPL-3.0-or-later
// What the plug's weight and a leaning hand do to plug and ribs.
#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/mechanics/stand.hpp"
#include "cradlewright/stages/plug_beam.hpp"

namespace cradlewright {
namespace {

const char* const sag_formula =
    "Timoshenko beam of the plug's own sections on its ribs, free to lift off: own weight, wet laminate and a hand at "
    "the worst place; EI = EIxx - EIxy^2 / EIyy of core and skin";
const Source sag_source{"roark", "ch. 8, continuous beams with shear, from memory; limit from limits.sag"};

std::vector<const Rib*> carrying_ribs(const Design& design) {
    std::vector<const Rib*> ribs;
    for (const Rib& rib : design.cradle.ribs)
        if (rib.saddle.size() > 1) ribs.push_back(&rib);
    return ribs;
}
std::vector<double> stations_of(const std::vector<const Rib*>& ribs) {
    std::vector<double> stations;
    for (const Rib* rib : ribs) stations.push_back(rib->station_mm);
    return stations;
}

/// Plug, ribs and what goes wrong before anything can be computed.
struct Loaded {
    PlugBeam plug;
    std::vector<const Rib*> ribs;
    std::string reason;
};
Loaded load_cradle(const Design& design) {
    Loaded loaded;
    loaded.ribs = carrying_ribs(design);
    if (loaded.ribs.size() < 2) {
        loaded.reason = "fewer than two ribs carry the plug";
        return loaded;
    }
    loaded.plug = cut_plug_beam(design.posed, design.settings);
    loaded.reason = loaded.plug.reason;
    return loaded;
}

struct SagSpread {
    WorstDip stiff, usual, soft;
};
SagSpread sag_spread(const PlugBeam& plug, const Settings& settings, const std::vector<double>& stations) {
    return {plug_sag(plug, settings, stations, Stiffness::stiff), plug_sag(plug, settings, stations, Stiffness::usual),
            plug_sag(plug, settings, stations, Stiffness::soft)};
}

/// The heaviest hand, in twentieths of the told one, under which `sag_mm` stays within the limit; the last resort of
/// advice. When its own weight is too much, the core's modulus that carries it: sag goes with 1 / E.
std::string lighter_hand(const Settings& settings, const std::function<double(const Settings&)>& sag_mm) {
    const double limit = settings.limits.sag.mm();
    constexpr int shares = 20;
    for (int i = shares - 1; i > 0; --i) {
        Settings tried = settings;
        tried.limits.hand_load = settings.limits.hand_load * (static_cast<double>(i) / shares);
        if (sag_mm(tried) <= limit)
            return "neither ribs nor a skin hold it: lean with at most " +
                   fixed(rounded_to(tried.limits.hand_load.n(), 0.1, Rounding::down), 1) + " N (limits.hand-load)";
    }
    const double soft_mpa =
        settings.plug.stiffness.mpa() > 0 ? settings.plug.stiffness.mpa() : material(settings.plug.material).e_mpa.low;
    return "the plug is too soft for its own weight: build it round a core of " +
           fixed(std::ceil(soft_mpa * sag_mm(settings) / limit), 0) + " MPa or more (plug.stiffness)";
}

/// Least number of ribs that keeps the soft end of the spread within the limit, or the skin that does.
std::string stiffer_plug(const Design& design, const PlugBeam& plug, const std::vector<double>& stations) {
    const Settings& settings = design.settings;
    const double limit = settings.limits.sag.mm();
    const std::vector<RibTrial> trials = try_more_ribs(plug, settings, static_cast<int>(stations.size()) + 1);
    if (!trials.empty() && trials.back().is_enough) {
        const std::string told = settings.cradle.stations_mm.empty() ? "" : ", without cradle.stations";
        return "set cradle.ribs to " + std::to_string(trials.back().ribs) + told + ": at most " +
               length_text(settings, trials.back().sag_mm);
    }
    constexpr double most_skin_mm = 10, skin_step_mm = 0.5;
    for (double skin = settings.plug.skin.mm() + skin_step_mm; skin <= most_skin_mm; skin += skin_step_mm) {
        Settings skinned = settings;
        skinned.plug.skin = Length::mm(skin);
        if (plug_sag(cut_plug_beam(design.posed, skinned), skinned, stations, Stiffness::soft).dip_mm <= limit)
            return "twice the ribs do not help: give the plug a hard skin of " +
                   length_to_set(settings, skin, Rounding::up) + " (plug.skin)";
    }
    return lighter_hand(settings,
                        [&](const Settings& tried) { return plug_sag(plug, tried, stations, Stiffness::soft).dip_mm; });
}

/// Narrowest material of an outline between two heights.
double narrowest_mm(const Region& outline, double low_z, double high_z) {
    const Polygons shape = to_polygons(outline, 0.05);
    double narrowest = std::numeric_limits<double>::infinity();
    constexpr int levels = 40;
    for (int i = 0; i < levels; ++i) {
        const double z = low_z + (high_z - low_z) * (i + 0.5) / levels;
        std::vector<double> crossings;
        for (const auto& chain : shape)
            for (std::size_t k = 0; k < chain.size(); ++k) {
                const Vec2 a = chain[k], b = chain[(k + 1) % chain.size()];
                if ((a.y < z) != (b.y < z)) crossings.push_back(a.x + (b.x - a.x) * (z - a.y) / (b.y - a.y));
            }
        std::sort(crossings.begin(), crossings.end());
        double width = 0;
        for (std::size_t k = 0; k + 1 < crossings.size(); k += 2) width += crossings[k + 1] - crossings[k];
        narrowest = std::min(narrowest, width);
    }
    return narrowest;
}

/// Skin under which the saddle no longer dents the core.
std::string harder_skin(const Design& design, const PlugBeam& plug, const Rib& rib, double load_n, double width_mm) {
    constexpr double step_mm = 0.5, most_mm = 10;
    Settings settings = design.settings;
    for (double skin = settings.plug.skin.mm() + step_mm; skin <= most_mm; skin += step_mm) {
        settings.plug.skin = Length::mm(skin);
        if (saddle_crush_share(plug, settings, rib.station_mm, load_n, width_mm, rib.part.thickness_mm,
                               Stiffness::soft) <= settings.limits.bearing)
            return "give the plug a hard skin of " + length_to_set(settings, skin, Rounding::up) + " (plug.skin)";
    }
    settings = design.settings;
    const double heaviest =
        saddle_crush_share(plug, settings, rib.station_mm, load_n, width_mm, rib.part.thickness_mm, Stiffness::soft);
    // The share goes with the load, and the load at worst with the whole hand.
    const double spare_n = load_n * (1 - settings.limits.bearing / heaviest);
    const double hand_n = rounded_to(std::max(0.0, settings.limits.hand_load.n() - spare_n), 0.1, Rounding::down);
    return "no skin bears it: lean with at most " + fixed(hand_n, 1) + " N (limits.hand-load)";
}

/// Extremes of the load on one rib over the spread.
struct RibLoad {
    double low_n = 0, value_n = 0, high_n = 0;
};

Check bearing_check(const Design& design, const PlugBeam& plug, const Rib& rib, const RibLoad& load) {
    const Settings& settings = design.settings;
    const Material& core = material(settings.plug.material);
    if (!(core.crush_mpa.value > 0))
        return not_applicable_check("cradle.rib-bearing", rib.part.id + ", pressure on the plug",
                                    "what dents " + std::string(core.name) + " is not known; it is harder than wood");
    const double width = rib.saddle.back().x - rib.saddle.front().x;
    const auto share = [&](double force_n, double thickness_mm, Stiffness stiffness) {
        return saddle_crush_share(plug, settings, rib.station_mm, force_n, width, thickness_mm, stiffness);
    };
    Check c;
    c.id = "cradle.rib-bearing";
    c.subject = rib.part.id + ", pressure on the plug";
    c.value = Quantity::ratio(share(load.value_n, rib.part.thickness_mm, Stiffness::usual));
    c.low = Quantity::ratio(share(load.low_n, rib.part.thickness_mm, Stiffness::stiff));
    c.high = Quantity::ratio(share(load.high_n, rib.part.thickness_mm, Stiffness::soft));
    c.limit = Quantity::ratio(settings.limits.bearing);
    c.relation = Relation::at_most;
    c.at = Vec3{rib.station_mm, 0.5 * (rib.saddle.front().x + rib.saddle.back().x), rib.saddle.front().y};
    c.formula =
        "greatest load on the rib over its saddle's level width and thickness, spread by the plug's skin, over what "
        "dents the core";
    c.source = {"hetenyi", "beam on elastic ground, from memory; crushing stress from the core's material"};
    c = judged(std::move(c));
    if (c.verdict == Verdict::pass) {
        c.advice = "carries " + fixed(load.high_n, 0) + " N on " + length_text(settings, width) + " of saddle";
        return c;
    }
    constexpr double step_mm = 0.5, most_mm = 18;  // the thickest usual sheet
    double thickness = half_mm_up(rib.part.thickness_mm);
    while (thickness <= most_mm && share(load.high_n, thickness, Stiffness::soft) > c.limit.value) thickness += step_mm;
    c.advice = thickness <= most_mm ? thicker_sheet(settings, "cradle.rib-stock", settings.cradle.rib_stock, thickness)
                                    : harder_skin(design, plug, rib, load.high_n, width);
    return c;
}

Check buckling_check(const Design& design, const Rib& rib, const RibLoad& load) {
    double top = 0, bottom = std::numeric_limits<double>::infinity();
    for (const Vec2& p : rib.saddle) {
        top = std::max(top, p.y);
        bottom = std::min(bottom, p.y);
    }
    // The squeegee presses on the seats, which stand higher than the saddle.
    for (const std::vector<Vec2>& seat : rib.seats)
        for (const Vec2& p : seat) top = std::max(top, p.y);
    constexpr double foot_mm = 5;  // above the relief between the feet
    const double width = narrowest_mm(rib.part.outline, foot_mm, bottom);
    const Material& board = material(stock(design.settings, rib.part.stock).material);
    const double also = design.settings.limits.squeegee_load.n();
    const auto safety = [&](double e_mpa, double force_n) {
        return Quantity::ratio(plate_buckling_load_n(e_mpa, width, rib.part.thickness_mm, top) / (force_n + also));
    };
    Check c;
    c.id = "cradle.rib-bearing";
    c.subject = rib.part.id + ", buckling";
    c.value = safety(board.e_mpa.value, load.value_n);
    c.low = safety(board.e_mpa.low, load.high_n);
    c.high = safety(board.e_mpa.high, load.low_n);
    c.limit = Quantity::ratio(design.settings.limits.buckling_factor);
    c.relation = Relation::at_least;
    c.at = Vec3{rib.station_mm, 0.5 * (rib.saddle.front().x + rib.saddle.back().x), top};
    c.formula =
        "pi^2 E b t^3 / 12 / (2 h)^2 over load and squeegee: narrowest width b, h to the top of saddle and seats, held "
        "at the foot";
    c.source = {"roark", "Table 15.1, one end fixed, other free, from memory"};
    c = judged(std::move(c));
    constexpr double margin = 1.06;  // thicker end ribs stand a little further in, where the outline differs
    const double needed = margin * rib.part.thickness_mm * std::cbrt(c.limit.value / c.low.value);
    c.advice = c.verdict == Verdict::pass
                   ? "stands up to " + fixed(c.low.value, 0) + " times its load"
                   : thicker_sheet(design.settings, "cradle.rib-stock", design.settings.cradle.rib_stock, needed);
    return c;
}

}  // namespace

std::vector<Check> check_cradle_sag(const Design& design) {
    const Loaded loaded = load_cradle(design);
    if (!loaded.reason.empty()) return {unknown_check("cradle.sag", "plug", loaded.reason)};
    const std::vector<double> stations = stations_of(loaded.ribs);
    const SagSpread sag = sag_spread(loaded.plug, design.settings, stations);
    Check c;
    c.id = "cradle.sag";
    c.subject = "plug on " + std::to_string(stations.size()) + " ribs";
    c.value = Quantity::of(Length::mm(sag.usual.dip_mm));
    c.low = Quantity::of(Length::mm(sag.stiff.dip_mm));
    c.high = Quantity::of(Length::mm(sag.soft.dip_mm));
    c.limit = Quantity::of(design.settings.limits.sag);
    c.relation = Relation::at_most;
    const auto& sections = loaded.plug.sections;
    const auto nearest = std::min_element(sections.begin(), sections.end(), [&](const auto& a, const auto& b) {
        return std::abs(a.x_mm - sag.usual.x_mm) < std::abs(b.x_mm - sag.usual.x_mm);
    });
    c.at = Vec3{sag.usual.x_mm, nearest->solid.centroid.x, nearest->solid.centroid.y};
    c.formula = sag_formula;
    c.source = sag_source;
    c = judged(std::move(c));
    c.advice = c.verdict == Verdict::pass
                   ? "sags " + length_text(design.settings, sag.usual.own_dip_mm) + " by itself; " +
                         fixed(design.settings.limits.hand_load.n(), 0) + " N of a leaning hand do the rest"
                   : stiffer_plug(design, loaded.plug, stations);
    return {std::move(c)};
}

std::vector<Check> check_cradle_rib_bearing(const Design& design) {
    const Loaded loaded = load_cradle(design);
    if (!loaded.reason.empty()) return {unknown_check("cradle.rib-bearing", "ribs", loaded.reason)};
    const SagSpread sag = sag_spread(loaded.plug, design.settings, stations_of(loaded.ribs));
    std::vector<Check> checks;
    for (std::size_t i = 0; i < loaded.ribs.size(); ++i) {
        const auto [low, high] =
            std::minmax({sag.stiff.reaction_n[i], sag.usual.reaction_n[i], sag.soft.reaction_n[i]});
        const RibLoad load{low, sag.usual.reaction_n[i], high};
        checks.push_back(bearing_check(design, loaded.plug, *loaded.ribs[i], load));
        checks.push_back(buckling_check(design, *loaded.ribs[i], load));
    }
    return checks;
}

}  // namespace cradlewright
