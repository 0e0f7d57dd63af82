// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/mechanics/stand.hpp"
#include "geom/convex_hull.hpp"

namespace cradlewright {
namespace {

// How far out of level a bench may be, or be knocked, before anything may move; times limits.tip-factor.
constexpr double off_level_rad = 5 * std::numbers::pi / 180;
const Source off_level_source = Source::common_practice("5 deg out of level, safety factor on tipping and sliding");

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

/// A place where the plug bears on a saddle.
struct Contact {
    double x = 0;
    Vec3 outward;  // of the plug's surface, fixture
};
constexpr double contact_step_mm = 2;
constexpr std::size_t least_contacts = 2;  // 4 mm of saddle: less is crushed before it holds

std::vector<Vec2> samples_along(const std::vector<Vec2>& chain) {
    std::vector<Vec2> points;
    for (std::size_t i = 0; i + 1 < chain.size(); ++i) {
        const int n = std::max(1, static_cast<int>(std::ceil(norm(chain[i + 1] - chain[i]) / contact_step_mm)));
        for (int k = 0; k < n; ++k) points.push_back(chain[i] + (chain[i + 1] - chain[i]) * ((k + 0.5) / n));
    }
    return points;
}

/// Contacts rib by rib: where the plug's surface is a pad's thickness from the saddle, at the face that it meets first.
std::vector<std::vector<Contact>> find_contacts(const Design& design) {
    std::vector<Vec3> places;
    std::vector<std::vector<Vec2>> samples;
    for (const Rib& rib : design.cradle.ribs) {
        samples.push_back(samples_along(rib.saddle));
        for (const std::vector<Vec2>& saddle : rib.more_saddles)
            for (const Vec2& p : samples_along(saddle)) samples.back().push_back(p);
        for (const Vec2& p : samples.back()) places.push_back(design.posed.pose.to_scan({rib.station_mm, p.x, p.y}));
    }
    if (places.empty()) return {};
    const double pad = design.settings.cradle.pad.mm(), allowed = design.settings.limits.seat_deviation.mm();
    const MeshIndex index(design.posed.mesh(), faces_near(design.posed.mesh(), places, pad + allowed + 10));
    std::vector<std::vector<Contact>> contacts;
    for (std::size_t r = 0; r < samples.size(); ++r) {
        const Rib& rib = design.cradle.ribs[r];
        if (samples[r].empty()) continue;
        contacts.emplace_back();
        for (const Vec2& p : samples[r]) {
            double nearest = std::numeric_limits<double>::infinity();
            Vec3 outward;
            for (const double side : {-0.5, 0.0, 0.5}) {
                const Vec3 q = design.posed.pose.to_scan({rib.station_mm + side * rib.part.thickness_mm, p.x, p.y});
                const MeshIndex::Nearest hit = index.nearest(q);
                if (hit.distance_mm >= nearest) continue;
                nearest = hit.distance_mm;
                outward = normalized(design.posed.pose.scan_to_fixture.direction_to_parent(q - hit.point));
            }
            if (std::abs(nearest - pad) <= allowed) contacts.back().push_back({rib.station_mm, outward});
        }
    }
    return contacts;
}

/// Rise, rad, that the plug must climb to move along a level direction: over a surface that faces outward `n` it rises
/// by (n . d) / -n.z. The steepest that a stretch of saddle offers.
double climb(const std::vector<Contact>& contacts, Vec3 direction) {
    std::vector<double> angles;
    for (const Contact& c : contacts) angles.push_back(std::atan2(dot(c.outward, direction), -c.outward.z));
    if (angles.size() < least_contacts) return -std::numbers::pi / 2;
    std::nth_element(angles.begin(), angles.begin() + (least_contacts - 1), angles.end(), std::greater<>());
    return angles[least_contacts - 1];
}

/// Across the span both halves of the cradle must hold, or a push at one end turns the plug.
double climb_across(const std::vector<std::vector<Contact>>& ribs, Vec3 direction) {
    double low_x = std::numeric_limits<double>::infinity(), high_x = -low_x;
    for (const auto& rib : ribs)
        for (const Contact& c : rib) low_x = std::min(low_x, c.x), high_x = std::max(high_x, c.x);
    std::array<double, 2> halves{-std::numbers::pi / 2, -std::numbers::pi / 2};
    for (const auto& rib : ribs) {
        if (rib.empty()) continue;
        double& half = halves[rib.front().x > 0.5 * (low_x + high_x) ? 1 : 0];
        half = std::max(half, climb(rib, direction));
    }
    return std::min(halves[0], halves[1]);
}

double climb_along(const std::vector<std::vector<Contact>>& ribs, Vec3 direction) {
    double steepest = -std::numbers::pi / 2;
    for (const auto& rib : ribs) steepest = std::max(steepest, climb(rib, direction));
    return steepest;
}

/// A stop holds when the plug's end wall faces it below its top.
bool stop_holds(const Design& design, const std::string& end) {
    constexpr double least_wall_mm = 1.5, inside_mm = 1.2;
    const auto stop = std::find_if(design.cradle.stops.begin(), design.cradle.stops.end(),
                                   [&](const PlatePart& part) { return part.id == "stop-" + end; });
    if (stop == design.cradle.stops.end()) return false;
    const bool is_low_end = end == "end-a";
    const double wall =
        is_low_end ? design.posed.box_fixture.low.x + inside_mm : design.posed.box_fixture.high.x - inside_mm;
    const Frame3 station{{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};
    const std::vector<Slice> slices = slice_mesh(
        design.posed.mesh(), compose(inverse(design.posed.pose.scan_to_fixture), station), std::vector<double>{wall});
    Polygons wall_section;
    for (const SliceLoop& loop : slices.front())
        if (loop.is_closed) wall_section.push_back(loop.points);
    const Box2 face = bounding_box(stop->outline);
    for (const double share : {0.3, 0.4, 0.5, 0.6, 0.7}) {
        const Vec2 p{face.low.x + share * face.size().x, face.high.y - least_wall_mm};
        if (!contains(wall_section, p)) return false;
    }
    return true;
}

/// Points halfway down a panel's edge, one each contact_step_mm, fixture.
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
            if (is_beside && dot(outward, direction) > facing) length += contact_step_mm;
        }
        if (length >= least_length_mm) return true;
    }
    return false;
}

struct Way {
    const char* name;
    Vec3 direction;
    double climb_rad;
    bool has_stop;
};

// Rubber on wood. Source: from memory.
constexpr double most_friction = 1;

Check slide_check(const Design& design, const Way& way) {
    const double friction = slide_angle_rad(design.settings.limits.friction);
    const double limit = design.settings.limits.tip_factor * off_level_rad;
    const bool has_panel =
        !way.has_stop && way.climb_rad + 0.5 * friction < limit && panels_hold(design, way.direction);
    const bool is_stopped = way.has_stop || has_panel;
    Check c;
    c.id = "pose.slide";
    c.subject = way.name;
    c.value = c.high = Quantity::of(Angle::rad(is_stopped ? std::numbers::pi / 2 : way.climb_rad + friction));
    c.low = is_stopped ? c.value : Quantity::of(Angle::rad(way.climb_rad + 0.5 * friction));
    c.limit = Quantity::of(Angle::rad(limit));
    c.relation = Relation::at_least;
    c.formula = "steepest rise the plug must climb + atan(friction); 90 deg where a stop or a panel's edge bears";
    c.source = {"from-memory", "Coulomb friction on an incline; friction 0.10, pessimistic half of it"};
    c = judged(std::move(c));
    if (c.verdict == Verdict::pass) {
        c.advice = std::string("held by ") + (way.has_stop ? "the stop" : has_panel ? "a panel's edge" : "the saddles");
        return c;
    }
    // Enough for half the friction, the pessimistic end of the spread.
    const double wanted_rad = 2 * (limit - way.climb_rad), most_rad = std::atan(most_friction);
    const std::string held = std::string("nothing below the panels holds it ") + way.name + ": ";
    if (wanted_rad <= most_rad)
        c.advice = held + "lay it on pads that grip, tilt them until it slips, and set limits.friction to rise over " +
                   "run; " + fixed(rounded_to(std::tan(wanted_rad), 0.01, Rounding::up), 2) + " or more will do";
    else
        c.advice = held + "no pad grips so well: lay it flatter by " +
                   fixed(rounded_to(Angle::rad(0.5 * (wanted_rad - most_rad)).deg(), 0.1, Rounding::up), 1) +
                   " deg (pose.tilt, pose.turn)";
    return c;
}

// Skin, filler and ballast put the centre of mass beside that of an even solid. Source: assumed.
constexpr double uneven_share = 0.02;

struct Stand {
    double margin_mm = 0;
    double angle_rad = 0, low_rad = 0, high_rad = 0;
};
Stand stand_of(const Design& design, const Cradle& cradle) {
    const Support support = find_support(cradle);
    const Vec3 center = design.posed.pose.to_fixture(design.posed.plug.mass_properties.centroid);
    const Vec3 size = design.posed.box_fixture.size();
    const double doubt = uneven_share * std::min(size.x, size.y), height = std::max(1.0, center.z - support.height);
    Stand stand;
    stand.margin_mm = margin_inside({center.x, center.y}, convex_hull(support.points));
    stand.angle_rad = tip_angle_rad(stand.margin_mm, height);
    stand.low_rad = tip_angle_rad(stand.margin_mm - doubt, height);
    stand.high_rad = tip_angle_rad(stand.margin_mm + doubt, height);
    return stand;
}

/// The first of some wider saddles on which the plug stands, tried by building that cradle.
std::string wider_support(const Design& design, double limit_rad) {
    const auto stands = [&](const Settings& settings) {
        const Cradle cradle = build_cradle(design.posed, design.flange, settings);
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
    const Stand stand = stand_of(design, design.cradle);
    Check c;
    c.id = "pose.tip";
    c.subject = "plug on its saddles";
    c.value = Quantity::of(Angle::rad(stand.angle_rad));
    c.low = Quantity::of(Angle::rad(stand.low_rad));
    c.high = Quantity::of(Angle::rad(stand.high_rad));
    c.limit = Quantity::of(Angle::rad(design.settings.limits.tip_factor * off_level_rad));
    c.relation = Relation::at_least;
    c.at = center;
    c.formula =
        "atan(b / h): b centre of mass to the edge of the support polygon, within 2 % of the plug's size, h its height "
        "above the lowest saddle";
    c.source = off_level_source;
    c = judged(std::move(c));
    c.advice = c.verdict == Verdict::pass
                   ? "stands still with " + length_text(design.settings, stand.margin_mm) + " to spare"
                   : "the centre of mass lies " + length_text(design.settings, std::abs(stand.margin_mm)) +
                         (stand.margin_mm < 0 ? " outside" : " inside") +
                         " the saddles: " + wider_support(design, c.limit.value);
    return {std::move(c)};
}

std::vector<Check> check_pose_slide(const Design& design) {
    if (find_support(design.cradle).points.empty())
        return {unknown_check("pose.slide", "plug", "no rib carries the plug")};
    const auto contacts = find_contacts(design);
    const std::array<Way, 4> ways{
        Way{"toward front", {0, 1, 0}, climb_across(contacts, {0, 1, 0}), false},
        Way{"toward back", {0, -1, 0}, climb_across(contacts, {0, -1, 0}), false},
        Way{"toward end-b", {1, 0, 0}, climb_along(contacts, {1, 0, 0}), stop_holds(design, "end-b")},
        Way{"toward end-a", {-1, 0, 0}, climb_along(contacts, {-1, 0, 0}), stop_holds(design, "end-a")}};
    std::vector<Check> checks;
    for (const Way& way : ways) checks.push_back(slide_check(design, way));
    return checks;
}

}  // namespace cradlewright
