// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "checks/tipping.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/mechanics/stand.hpp"
#include "cradlewright/stages/cradle_hold.hpp"
#include "geom/convex_hull.hpp"

namespace cradlewright {
namespace {

struct Support {
    std::vector<Vec2> points;  // ends of the saddles on both faces of each rib, (x, y)
    double height = 0;         // lowest saddle point
};

Support find_support(const Cradle& cradle) {
    Support support;
    support.height = std::numeric_limits<double>::infinity();
    for (const Rib& rib : cradle.ribs) {
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

/// Points halfway down a panel's edge, one each edge_step_mm, fixture.
std::vector<Vec3> edge_middles(const FlangePanel& panel) {
    std::vector<Vec3> points;
    std::vector<const Loop*> loops{&panel.part.outline.outer};
    for (const Loop& hole : panel.part.outline.holes) loops.push_back(&hole);
    for (const Loop* loop : loops) {
        std::vector<Vec2> chain = flatten(*loop, 0.05);
        if (chain.empty()) continue;
        chain.push_back(chain.front());
        for (const Vec2& p : piece_middles(chain, edge_step_mm))
            points.push_back(placed(panel.part, Vec3{p.x, p.y, -panel.part.thickness_mm / 2}));
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
            const Vec3 there = on_pattern(panel.part, pose.to_fixture(hit.point));
            const bool is_beside = there.z < -grazing_mm && there.z > grazing_mm - panel.part.thickness_mm;
            const Vec3 outward = pose.scan_to_fixture.direction_to_parent(
                normalized(area_vector(design.posed.mesh().corners(hit.face))));
            if (is_beside && dot(outward, direction) > facing) length += edge_step_mm;
        }
        if (length >= least_length_mm) return true;
    }
    return false;
}

// Rubber on wood. Source: from memory.
constexpr double most_friction = 1;

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
    c = judged(std::move(c));
    if (c.verdict == Verdict::pass) {
        c.advice = std::string("held by ") + (has_panel ? "a panel's edge" : has_stop ? "the stop" : "the saddles");
        return c;
    }
    // Enough for half the friction, the pessimistic end of the spread.
    const double wanted_rad = 2 * (limit - climb), most_rad = std::atan(most_friction);
    const std::string held = "nothing below the panels holds it " + c.subject + ": ";
    if (wanted_rad <= most_rad)
        c.advice = held + "lay it on pads that grip, tilt them until it slips, and set limits.friction to rise over " +
                   "run; " + fixed(rounded_to(std::tan(wanted_rad), 0.01, Rounding::up), 2) + " or more will do";
    else
        c.advice = held + "no pad grips so well: lay it flatter by " +
                   fixed(rounded_to(Angle::rad(0.5 * (wanted_rad - most_rad)).deg(), 0.1, Rounding::up), 1) +
                   " deg (pose.tilt, pose.turn)";
    if (design.posed.plug.has_assumed_cap)
        c.advice +=
            "; if it is hollow underneath, fit a block on the base inside its opening, which the scan cannot show";
    return c;
}

// Skin, filler and ballast put the centre of mass beside that of an even solid. Source: assumed.
constexpr double uneven_share = 0.02;

StandTip stand_of(const Design& design, const Cradle& cradle) {
    const Support support = find_support(cradle);
    const Vec3 center = design.posed.pose.to_fixture(design.posed.plug.mass_properties.centroid);
    const Vec3 size = design.posed.box_fixture.size();
    return stand_tip(margin_inside({center.x, center.y}, convex_hull(support.points)),
                     uneven_share * std::min(size.x, size.y), center.z - support.height);
}

/// The first of some wider saddles on which the plug stands, tried by building that cradle.
std::string wider_support(const Design& design, double limit_rad) {
    const auto stands = [&](const Settings& settings) {
        const Cradle cradle = build_cradle(design.posed, design.parting, design.flange, settings);
        return !find_support(cradle).points.empty() && stand_of(design, cradle).low_rad >= limit_rad;
    };
    Settings tried = design.settings;
    constexpr double step_deg = 5, steepest_deg = 85;  // the setting's range
    for (double deg = rounded_to(tried.cradle.steepest.deg() + step_deg, step_deg, Rounding::down); deg <= steepest_deg;
         deg += step_deg) {
        tried.cradle.steepest = Angle::deg(deg);
        if (stands(tried)) return "set cradle.steepest to " + fixed(deg, 0) + " deg, so that they reach further up";
    }
    tried = design.settings;
    constexpr double step_mm = 2;
    for (double mm = rounded_to(tried.cradle.panel_margin.mm() - step_mm, step_mm, Rounding::up); mm >= 0;
         mm -= step_mm) {
        tried.cradle.panel_margin = Length::mm(mm);
        if (stands(tried))
            return "set cradle.panel-margin to " + length_to_set(design.settings, mm, Rounding::down) +
                   ", so that they reach further up";
    }
    tried = design.settings;
    tried.cradle.stations_mm.clear();
    tried.cradle.ribs = std::max<double>(2, static_cast<double>(design.cradle.ribs.size()));
    if (!design.settings.cradle.stations_mm.empty() && stands(tried))
        return "leave cradle.stations out and set cradle.ribs to " + fixed(tried.cradle.ribs, 0) +
               ", so that the outer ones stand at the ends";
    return "no wider saddle holds it: clamp a prop under the side it tips to, and set limits.tip-factor to 1";
}

}  // namespace

std::vector<Check> check_pose_tip(const Design& design) {
    const Plug& plug = design.posed.plug;
    if (std::isnan(plug.mass_kg))
        return {unknown_check("pose.tip", "plug",
                              "the scan is open: its centre of mass is not known; cap or complete the scan")};
    if (find_support(design.cradle).points.empty())
        return {unknown_check("pose.tip", "plug", "no rib carries the plug")};
    const Vec3 center = design.posed.pose.to_fixture(plug.mass_properties.centroid);
    const StandTip stand = stand_of(design, design.cradle);
    Check c = tip_check(
        "pose.tip", "plug on its saddles", stand,
        "atan(b / h): b centre of mass to the edge of the support polygon, within 2 % of the plug's size, h its height "
        "above the lowest saddle",
        design.settings);
    c.at = center;
    if (c.verdict != Verdict::pass)
        c.advice = "the centre of mass lies " + length_text(design.settings, std::abs(stand.margin_mm)) +
                   (stand.margin_mm < 0 ? " outside" : " inside") +
                   " the saddles: " + wider_support(design, c.limit.value);
    return {std::move(c)};
}

std::vector<Check> check_pose_slide(const Design& design) {
    if (find_support(design.cradle).points.empty())
        return {unknown_check("pose.slide", "plug", "no rib carries the plug")};
    std::vector<Check> checks;
    for (const SlideWay& way : slide_ways(design.posed, design.cradle, design.settings))
        checks.push_back(slide_check(design, way));
    return checks;
}

}  // namespace cradlewright
