// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "checks/families.hpp"

namespace cradlewright {
namespace {

// How far out of level a bench may be, or be knocked, before anything may move; times limits.tip-factor.
constexpr double off_level_rad = 5 * std::numbers::pi / 180;
const Source off_level_source = Source::common_practice("5 deg out of level, safety factor on tipping and sliding");

/// Convex hull, counter-clockwise. Source: A. M. Andrew, monotone chain (1979) [from memory].
std::vector<Vec2> hull_of(std::vector<Vec2> points) {
    std::sort(points.begin(), points.end());
    points.erase(std::unique(points.begin(), points.end()), points.end());
    if (points.size() < 3) return points;
    std::vector<Vec2> hull;
    const auto grow = [&](auto begin, auto end) {
        const std::size_t start = hull.size();
        for (auto it = begin; it != end; ++it) {
            while (hull.size() >= start + 2 && cross(hull.back() - hull[hull.size() - 2], *it - hull.back()) <= 0)
                hull.pop_back();
            hull.push_back(*it);
        }
        hull.pop_back();
    };
    grow(points.begin(), points.end());
    grow(points.rbegin(), points.rend());
    return hull;
}

/// Least distance inside the hull's edges; negative outside.
double margin_inside(Vec2 p, const std::vector<Vec2>& hull) {
    if (hull.size() < 3) return -std::numeric_limits<double>::infinity();
    double margin = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < hull.size(); ++i) {
        const Vec2 a = hull[i], b = hull[(i + 1) % hull.size()];
        margin = std::min(margin, cross(normalized(b - a), p - a));
    }
    return margin;
}

struct Support {
    std::vector<Vec2> points;  // ends of the saddles on both faces of each rib, (x, y)
    double height = 0;         // lowest saddle point
};

Support find_support(const Design& design) {
    Support support;
    support.height = std::numeric_limits<double>::infinity();
    for (const Rib& rib : design.cradle.ribs) {
        if (rib.saddle.size() < 2) continue;
        for (const double side : {-0.5, 0.5})
            for (const Vec2 end : {rib.saddle.front(), rib.saddle.back()})
                support.points.push_back({rib.station_mm + side * rib.part.thickness_mm, end.x});
        for (const Vec2& p : rib.saddle) support.height = std::min(support.height, p.y);
    }
    return support;
}

/// Steepest rise of the saddles toward +y and -y, rad: the plug must climb it to slide that way.
std::array<double, 2> flank_angles(const Design& design) {
    constexpr double window_mm = 3;
    std::array<double, 2> steepest{-1.6, -1.6};
    for (const Rib& rib : design.cradle.ribs) {
        const auto& s = rib.saddle;
        if (s.size() < 2) continue;
        const auto rise = [&](std::size_t from, std::size_t to) {
            return std::atan2(s[to].y - s[from].y, std::abs(s[to].x - s[from].x));
        };
        std::size_t a = 0, b = s.size() - 1;
        while (a + 1 < s.size() && s[a].x - s[0].x < window_mm) ++a;
        while (b > 0 && s.back().x - s[b].x < window_mm) --b;
        steepest[0] = std::max(steepest[0], rise(b, s.size() - 1));
        steepest[1] = std::max(steepest[1], rise(a, 0));
    }
    return steepest;
}

double lowest_of(const Rib& rib) {
    double z = std::numeric_limits<double>::infinity();
    for (const Vec2& p : rib.saddle) z = std::min(z, p.y);
    return z;
}

/// Steepest rise of the rest line from rib to rib, toward +x and -x.
std::array<double, 2> span_angles(const Design& design) {
    std::array<double, 2> steepest{-1.6, -1.6};
    const Rib* previous = nullptr;
    for (const Rib& rib : design.cradle.ribs) {
        if (rib.saddle.size() < 2) continue;
        if (previous) {
            const double slope =
                std::atan2(lowest_of(rib) - lowest_of(*previous), rib.station_mm - previous->station_mm);
            steepest[0] = std::max(steepest[0], slope);
            steepest[1] = std::max(steepest[1], -slope);
        }
        previous = &rib;
    }
    return steepest;
}

/// A stop holds when the plug's end faces it below the stop's top by at least 5 mm.
bool stop_holds(const Design& design, const std::string& end) {
    constexpr double least_contact_mm = 5, reach_mm = 3;
    for (const PlatePart& stop : design.cradle.stops) {
        if (stop.id != "stop-" + end) continue;
        const double top = bounding_box(stop.outline).high.y;
        double lowest = std::numeric_limits<double>::infinity();
        const double wall =
            end == "end-a" ? design.posed.box_fixture.low.x + reach_mm : design.posed.box_fixture.high.x - reach_mm;
        for (const Vec3& v : design.posed.mesh().vertices) {
            const Vec3 p = design.posed.pose.to_fixture(v);
            if (end == "end-a" ? p.x <= wall : p.x >= wall) lowest = std::min(lowest, p.z);
        }
        return top - lowest >= least_contact_mm;
    }
    return false;
}

}  // namespace

std::vector<Check> check_pose_tip(const Design& design) {
    const Plug& plug = design.posed.plug;
    if (std::isnan(plug.mass_kg))
        return {unknown_check("pose.tip", "plug",
                              "the scan is open: its centre of mass is not known; cap or complete the scan")};
    const Support support = find_support(design);
    if (support.points.empty()) return {unknown_check("pose.tip", "plug", "no rib carries the plug")};
    const Vec3 center = design.posed.pose.to_fixture(plug.mass_properties.centroid);
    const double margin = margin_inside({center.x, center.y}, hull_of(support.points));
    Check c;
    c.id = "pose.tip";
    c.subject = "plug on its saddles";
    const double angle = std::atan2(margin, std::max(1.0, center.z - support.height));
    c.value = c.low = c.high = Quantity::of(Angle::rad(angle));
    c.limit = Quantity::of(Angle::rad(design.settings.limits.tip_factor * off_level_rad));
    c.relation = Relation::at_least;
    c.at = center;
    c.formula =
        "atan(b / h): b centre of mass to the edge of the support polygon, h its height above the lowest saddle";
    c.source = off_level_source;
    c.advice = c.value.value >= c.limit.value
                   ? "stands still with " + fixed(margin, 0) + " mm to spare"
                   : "the centre of mass is " + fixed(margin, 0) +
                         " mm inside the saddles: tilt less, or lower cradle.panel-margin by " +
                         fixed(design.settings.cradle.panel_margin.mm() / 2, 0) +
                         " mm so that the saddles reach further";
    return {judged(std::move(c))};
}

std::vector<Check> check_pose_slide(const Design& design) {
    if (find_support(design).points.empty()) return {unknown_check("pose.slide", "plug", "no rib carries the plug")};
    const double friction = std::atan(design.settings.limits.friction);
    const auto flank = flank_angles(design), along = span_angles(design);
    struct Way {
        const char* name;
        double angle;
        bool is_stopped;
    };
    const std::array<Way, 4> ways{Way{"toward front", flank[0], false}, Way{"toward back", flank[1], false},
                                  Way{"toward end-b", along[0], stop_holds(design, "end-b")},
                                  Way{"toward end-a", along[1], stop_holds(design, "end-a")}};
    std::vector<Check> checks;
    for (const Way& way : ways) {
        Check c;
        c.id = "pose.slide";
        c.subject = way.name;
        c.value = c.high = Quantity::of(Angle::rad(way.is_stopped ? std::numbers::pi / 2 : way.angle + friction));
        c.low = way.is_stopped ? c.value : Quantity::of(Angle::rad(way.angle + 0.5 * friction));
        c.limit = Quantity::of(Angle::rad(design.settings.limits.tip_factor * off_level_rad));
        c.relation = Relation::at_least;
        c.formula = "steepest rise the plug must climb + atan(friction); 90 deg where a stop bears";
        c.source = {"from-memory", "Coulomb friction on an incline; friction 0.10, pessimistic 0.05"};
        c.advice =
            c.value.value >= c.limit.value
                ? "held " + std::string(way.is_stopped ? "by the stop" : "by the saddles")
                : "screw a padded block to the base that bears on the plug " + std::string(way.name) + ", for " +
                      fixed(design.settings.limits.tip_factor * design.posed.plug.mass_kg * standard_gravity *
                                std::max(0.0, std::sin(off_level_rad * design.settings.limits.tip_factor - way.angle)),
                            1) +
                      " N";
        checks.push_back(judged(std::move(c)));
    }
    return checks;
}

}  // namespace cradlewright
