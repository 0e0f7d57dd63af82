// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "checks/families.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/mechanics/stand.hpp"
#include "cradlewright/stages/cradle_hold.hpp"

namespace cradlewright {
namespace {

// How far out of level a bench may be, or be knocked, before anything may move; times limits.tip-factor.
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
        std::vector<std::vector<Vec2>> saddles = rib.more_saddles;
        saddles.push_back(rib.saddle);
        for (const std::vector<Vec2>& saddle : saddles) {
            for (const double side : {-0.5, 0.5})
                for (const Vec2 end : {saddle.front(), saddle.back()})
                    support.points.push_back({rib.station_mm + side * rib.part.thickness_mm, end.x});
            for (const Vec2& p : saddle) support.height = std::min(support.height, p.y);
        }
    }
    return support;
}

constexpr double edge_step_mm = 2;

std::vector<Vec2> samples_along(const std::vector<Vec2>& chain) {
    std::vector<Vec2> points;
    for (std::size_t i = 0; i + 1 < chain.size(); ++i) {
        const int n = std::max(1, static_cast<int>(std::ceil(norm(chain[i + 1] - chain[i]) / edge_step_mm)));
        for (int k = 0; k < n; ++k) points.push_back(chain[i] + (chain[i + 1] - chain[i]) * ((k + 0.5) / n));
    }
    return points;
}

/// Points halfway down a panel's edge, one each edge_step_mm, fixture.
std::vector<Vec3> edge_middles(const FlangePanel& panel) {
    std::vector<Vec3> points;
    std::vector<const Loop*> loops{&panel.part.outline.outer};
    for (const Loop& hole : panel.part.outline.holes) loops.push_back(&hole);
    for (const Loop* loop : loops) {
        std::vector<Vec2> chain = flatten(*loop, 0.05);
        if (chain.empty()) continue;
        chain.push_back(chain.front());
        for (const Vec2& p : samples_along(chain))
            points.push_back(panel.part.frame.to_parent(Vec3{p.x, p.y, -panel.part.thickness_mm / 2}));
    }
    return points;
}

/// Does an edge of a panel stand in the plug's way? It does where the plug, within the widest gap allowed, faces it
/// over the sheet's thickness.
bool panels_hold(const Design& design, Vec3 direction) {
    constexpr double least_length_mm = 15, grazing_mm = 0.3;
    const double facing = std::cos(std::numbers::pi / 4);
    const Pose& pose = design.posed.pose;
    std::vector<Vec3> places;
    for (const FlangePanel& panel : design.flange.panels)
        for (const Vec3& p : edge_middles(panel)) places.push_back(pose.to_scan(p));
    if (places.empty()) return false;
    const double reach = design.settings.flange.gap_limit.mm();
    const MeshIndex index(design.posed.mesh(), faces_near(design.posed.mesh(), places, reach));
    for (const FlangePanel& panel : design.flange.panels) {
        double length = 0;
        for (const Vec3& p : edge_middles(panel)) {
            const MeshIndex::Nearest hit = index.nearest(pose.to_scan(p));
            if (hit.distance_mm > reach) continue;
            const Vec3 there = panel.part.frame.to_local(pose.to_fixture(hit.point));
            const bool is_beside = there.z < -grazing_mm && there.z > grazing_mm - panel.part.thickness_mm;
            const Vec3 outward = pose.scan_to_fixture.direction_to_parent(
                normalized(area_vector(design.posed.mesh().corners(hit.face))));
            if (is_beside && dot(outward, direction) > facing) length += edge_step_mm;
        }
        if (length >= least_length_mm) return true;
    }
    return false;
}

Check slide_check(const Design& design, const SlideWay& way) {
    const double friction = slide_angle_rad(design.settings.limits.friction);
    const double limit = slide_limit_rad(design.settings), climb = way.climb_rad();
    const bool has_stop = way.has_stop[0] || way.has_stop[1];
    const bool has_panel = !way.is_held(design.settings) && panels_hold(design, way.direction);
    const bool is_stopped = has_panel || (way.has_stop[0] && way.has_stop[1]);
    Check c;
    c.id = "pose.slide";
    c.subject = "toward " + way.side;
    c.value = c.high = Quantity::of(Angle::rad(is_stopped ? std::numbers::pi / 2 : climb + friction));
    c.low = is_stopped ? c.value : Quantity::of(Angle::rad(climb + sure_friction_rad(design.settings)));
    c.limit = Quantity::of(Angle::rad(limit));
    c.relation = Relation::at_least;
    c.formula = "steepest rise the plug must climb + atan(friction); 90 deg where a stop or a panel's edge bears";
    c.source = {"from-memory", "Coulomb friction on an incline; friction 0.10, pessimistic half of it"};
    if (c.value.value >= c.limit.value) {
        c.advice = std::string("held by ") + (has_panel ? "a panel's edge" : has_stop ? "the stop" : "the saddles");
        return judged(std::move(c));
    }
    // Enough for half the friction, the pessimistic end of the spread.
    const double wanted = std::ceil(100 * std::tan(std::min(1.5, 2 * (limit - climb)))) / 100;
    c.advice = "nothing below the panels holds it " + c.subject +
               ": lay it on pads that grip, tilt them until it slips, and set limits.friction to rise over run; " +
               fixed(wanted, 2) + " or more will do";
    if (design.posed.plug.has_assumed_cap)
        c.advice +=
            "; if it is hollow underneath, fit a block on the base inside its opening, which the scan cannot show";
    return judged(std::move(c));
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
    const double angle = tip_angle_rad(margin, std::max(1.0, center.z - support.height));
    c.value = c.low = c.high = Quantity::of(Angle::rad(angle));
    c.limit = Quantity::of(Angle::rad(slide_limit_rad(design.settings)));
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
    std::vector<Check> checks;
    for (const SlideWay& way : slide_ways(design.posed, design.cradle, design.settings))
        checks.push_back(slide_check(design, way));
    return checks;
}

}  // namespace cradlewright
