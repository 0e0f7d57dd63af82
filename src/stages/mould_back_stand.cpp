// SPDX-License-Identifier: GPL-3.0-or-later
// How a turned-over half stands, and what its plates take of the shopping list.
#include <algorithm>
#include <cmath>
#include <limits>

#include "cradlewright/base/units.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/mechanics/resin.hpp"
#include "cradlewright/mechanics/stand.hpp"
#include "cradlewright/stages/mould_back.hpp"
#include "geom/convex_hull.hpp"
#include "stages/mould_back_parts.hpp"

namespace cradlewright {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

}  // namespace

bool MouldBack::has_plates() const {
    return std::ranges::any_of(halves, [](const BackHalf& half) { return !half.plates.empty(); });
}

const BackHalf* find_plated(const MouldBack& back, int half) {
    const auto found = std::ranges::find(back.halves, half, &BackHalf::half);
    return found == back.halves.end() || found->plates.empty() ? nullptr : &*found;
}

double MouldBack::free_width_mm() const {
    double widest = 0;
    for (const BackHalf& half : halves) widest = std::max(widest, half.plates.empty() ? infinite : half.free_width_mm);
    return halves.empty() ? infinite : widest;
}

double MouldBack::tab_mm() const {
    double sum = 0;
    for (const BackHalf& half : halves)
        for (const BackPlate& plate : half.plates) sum += plate.tab_mm;
    return sum;
}

double MouldBack::strip_length_mm() const { return tab_mm() / 2; }

BackStations clear_stations(double low_mm, double high_mm, std::size_t count, double thickness_mm,
                            const std::vector<std::pair<double, double>>& obstacles, double most_free_mm,
                            double most_shift_mm) {
    constexpr double step_mm = 1, pitch_share = 0.3;
    constexpr double conflict_cost = 1e6;  // mm2: no shift is worth a plate that meets hardware
    const double pitch = count > 1 ? (high_mm - low_mm) / static_cast<double>(count - 1) : infinite;
    const int window = static_cast<int>(std::min(most_shift_mm, pitch_share * pitch) / step_mm);
    const auto size = static_cast<std::size_t>(2 * window + 1);
    const auto place = [&](std::size_t i, std::size_t k) {
        const double wanted = count > 1 ? low_mm + pitch * static_cast<double>(i) : 0.5 * (low_mm + high_mm);
        return wanted + step_mm * (static_cast<double>(k) - window);
    };
    const auto meets = [&](double x) {
        return std::ranges::count_if(obstacles, [&](const std::pair<double, double>& o) {
            return std::abs(o.first - x) < o.second + thickness_mm / 2;
        });
    };
    // Cheapest way to each place of a station over all places of the one before it.
    std::vector<std::vector<double>> cost(count, std::vector<double>(size, infinite));
    std::vector<std::vector<std::size_t>> from(count, std::vector<std::size_t>(size, 0));
    for (std::size_t i = 0; i < count; ++i)
        for (std::size_t k = 0; k < size; ++k) {
            const double x = place(i, k), shift = x - place(i, static_cast<std::size_t>(window));
            double best = i == 0 ? 0 : infinite;
            for (std::size_t j = 0; i > 0 && j < size; ++j)
                if (x - place(i - 1, j) - thickness_mm <= most_free_mm + 1e-6 && cost[i - 1][j] < best) {
                    best = cost[i - 1][j];
                    from[i][k] = j;
                }
            cost[i][k] = best + shift * shift + conflict_cost * static_cast<double>(meets(x));
        }
    BackStations found;
    auto k = static_cast<std::size_t>(std::ranges::min_element(cost.back()) - cost.back().begin());
    for (std::size_t i = count; i-- > 0; k = from[i][k]) found.at.push_back(place(i, k));
    std::ranges::reverse(found.at);
    for (const double x : found.at) found.conflicts += static_cast<std::size_t>(meets(x));
    return found;
}

void weigh_plates(BackHalf& back, double tab_kg_mm, double density_kg_mm3) {
    Vec3 moment = back.centre * back.laminate_kg;
    std::vector<Vec2> touching;
    for (const BackPlate& plate : back.plates) {
        const double t = plate.part.thickness_mm;
        const Polygons outline = to_polygons(plate.part.outline);
        for (const std::vector<Vec2>& loop : outline)
            for (const Vec2& p : loop)
                if (std::abs(p.y) < 1e-3)
                    for (const double side : {-0.5, 0.5}) {
                        const double s = plate.station_mm + side * t;
                        touching.push_back(plate.is_along ? Vec2{p.x, s} : Vec2{s, p.x});
                    }
        const SectionProperties face = loop_properties(outline);
        const double kg = face.area_mm2 * t * density_kg_mm3, tabs = plate.tab_mm * tab_kg_mm;
        const Vec2 m = face.centroid;
        moment += (plate.is_along ? Vec3{m.x, plate.station_mm, m.y} : Vec3{plate.station_mm, m.x, m.y}) * (kg + tabs);
        back.plates_kg += kg;
        back.tabs_kg += tabs;
    }
    back.footprint = convex_hull(std::move(touching));
    if (back.mass_kg() > 0) back.centre = moment * (1 / back.mass_kg());
}

StandTip stand_tip(const BackHalf& half) {
    constexpr double uneven_share = 0.02;
    Box2 box;
    for (const Vec2& p : half.footprint) box.add(p);
    return stand_tip(margin_inside({half.centre.x, half.centre.y}, half.footprint),
                     uneven_share * std::min(box.size().x, box.size().y), half.centre.z);
}

double rim_load_n(const BackHalf& half) {
    double least = std::numeric_limits<double>::infinity();
    const Vec2 centre{half.centre.x, half.centre.y};
    for (std::size_t k = 0; k < half.footprint.size() && half.footprint.size() > 2; ++k) {
        const Vec2 a = half.footprint[k], along = normalized(half.footprint[(k + 1) % half.footprint.size()] - a);
        const double inside = cross(along, centre - a);
        double outside = 0;
        for (const Vec2& p : half.rim) outside = std::max(outside, -cross(along, p - a));
        if (outside > 0) least = std::min(least, std::max(0.0, inside) * standard_gravity * half.mass_kg() / outside);
    }
    return least;
}

void add_to_kit(LayupKit& kit, const MouldBack& back, const Settings& settings) {
    if (!back.has_plates()) return;
    const auto cloth = settings.cloths.find(back.tab_cloth);
    const bool is_tabbed = !back.tab_cloth.empty() && cloth != settings.cloths.end();
    const double width = settings.mould.tab_width.mm(), more = 1 + settings.kit.waste;
    for (const BackHalf& half : back.halves) {
        const auto own = std::ranges::find(kit.pours, "mould-" + std::to_string(half.half), &LayupKit::Pour::surface);
        if (own == kit.pours.end()) continue;
        double tab_mm = 0;
        for (const BackPlate& plate : half.plates) tab_mm += plate.tab_mm;
        own->strip_mm = back.strip_mm > 0 ? tab_mm / 2 : 0;
        if (!is_tabbed) continue;
        const Mix parts = mix_by_mass(more * tab_mm * width * back.tab_resin_kg_mm2, settings.kit.hardener);
        own->tab_mm2 = tab_plies * tab_mm * width;
        own->tab_resin_kg = parts.base_kg, own->tab_hardener_kg = parts.hardener_kg;
    }
    const auto add = [&](std::string item, std::string use, double amount, std::string unit, double price) {
        kit.lines.push_back({std::move(item), std::move(use), amount, std::move(unit), amount * price});
        kit.cost += amount * price;
    };
    const double thickness = stock(settings, settings.mould.stiffener_stock).thickness_mm;
    if (back.strip_mm > 0)
        add("soft foam strip " + fixed(back.strip_mm, 0) + " x " + fixed(thickness, 0) + " mm",
            "between the mould's back and its plates", back.strip_length_mm() / 1000, "m", 0);
    if (!is_tabbed) return;
    // Strips side by side across the roll.
    const double side_by_side = std::max(1.0, std::floor(cloth->second.roll_mm / width));
    const double roll = cloth->second.roll_mm;
    add(back.tab_cloth,
        "tabbing of the mould's plates, strips of " + fixed(width, 0) + " mm, x" + std::to_string(tab_plies) +
            "; on a roll of " + fixed(roll, 0) + " mm",
        tab_plies * back.tab_mm() / side_by_side / 1000, "m", cloth->second.price_per_m2 * roll / 1000);
    const double mix = more * back.tab_mm() * width * back.tab_resin_kg_mm2;
    const Mix parts = mix_by_mass(mix, settings.kit.hardener);
    add("resin " + settings.mould.resin, "tabbing, with waste", parts.base_kg, "kg",
        parts.base_kg > 0 ? settings.kit.resin_price * mix / parts.base_kg : 0);
    add("hardener", "tabbing; read the label", parts.hardener_kg, "kg", 0);
}

}  // namespace cradlewright
