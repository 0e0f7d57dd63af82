// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/cradle_hold.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/mechanics/section.hpp"
#include "cradlewright/mechanics/stand.hpp"
#include "cradlewright/stages/plug_beam.hpp"
#include "stages/cradle_parts.hpp"

namespace cradlewright {
namespace {

constexpr double none_rad = -std::numbers::pi / 2;
constexpr double off_level_rad = 5 * std::numbers::pi / 180;
constexpr double contact_step_mm = 2;
constexpr std::size_t least_contacts = 2;  // 4 mm of saddle: less is crushed before it holds
constexpr double least_wall_mm = 1.5;      // of the plug that faces a stop below its top
constexpr double inside_mm = 1.2;          // so far behind the wall there must be plug

/// A place where the plug bears on a saddle.
struct Contact {
    double x = 0;
    Vec3 outward;  // of the plug's surface, fixture
};

/// Contacts rib by rib: where the plug's surface is a pad's thickness from the saddle, at the face that it meets first.
std::vector<std::vector<Contact>> find_contacts(const PosedPlug& posed, const Cradle& cradle,
                                                const Settings& settings) {
    std::vector<Vec3> places;
    std::vector<std::vector<Vec2>> samples;
    for (const Rib& rib : cradle.ribs) {
        samples.push_back(piece_middles(rib.saddle, contact_step_mm));
        for (const std::vector<Vec2>& saddle : rib.more_saddles)
            for (const Vec2& p : piece_middles(saddle, contact_step_mm)) samples.back().push_back(p);
        for (const Vec2& p : samples.back()) places.push_back(posed.pose.to_scan({rib.station_mm, p.x, p.y}));
    }
    if (places.empty()) return {};
    const double pad = settings.cradle.pad.mm(), allowed = settings.limits.seat_deviation.mm();
    const MeshIndex index(posed.mesh(), faces_near(posed.mesh(), places, pad + allowed + 10));
    std::vector<std::vector<Contact>> contacts;
    for (std::size_t r = 0; r < samples.size(); ++r) {
        const Rib& rib = cradle.ribs[r];
        if (samples[r].empty()) continue;
        contacts.emplace_back();
        for (const Vec2& p : samples[r]) {
            double nearest = std::numeric_limits<double>::infinity();
            Vec3 outward;
            for (const double side : {-0.5, 0.0, 0.5}) {
                const Vec3 q = posed.pose.to_scan({rib.station_mm + side * rib.part.thickness_mm, p.x, p.y});
                const MeshIndex::Nearest hit = index.nearest(q);
                if (hit.distance_mm >= nearest) continue;
                nearest = hit.distance_mm;
                outward = normalized(posed.pose.scan_to_fixture.direction_to_parent(q - hit.point));
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
    if (angles.size() < least_contacts) return none_rad;
    std::nth_element(angles.begin(), angles.begin() + (least_contacts - 1), angles.end(), std::greater<>());
    return angles[least_contacts - 1];
}

double middle_of(const PosedPlug& posed) { return posed.box_fixture.center().x; }
std::size_t half_of(const PosedPlug& posed, double x) { return x > middle_of(posed) ? 1 : 0; }

SlideWay way_of(const PosedPlug& posed, std::string side, Vec3 direction,
                const std::vector<std::vector<Contact>>& ribs) {
    SlideWay way{std::move(side), direction, {none_rad, none_rad}, {}};
    for (const auto& rib : ribs) {
        if (rib.empty()) continue;
        double& half = way.saddle_rad[half_of(posed, rib.front().x)];
        half = std::max(half, climb(rib, direction));
    }
    if (direction.x != 0) way.saddle_rad.fill(std::max(way.saddle_rad[0], way.saddle_rad[1]));
    return way;
}

double middle_x(const PlatePart& stop) { return stop.frame.origin.x - stop.thickness_mm / 2; }

/// Where the plug must be if its wall faces the stop: the plane x = first, and points of it.
std::pair<double, std::vector<Vec2>> behind_wall(const PosedPlug& posed, const PlatePart& stop, Vec3 direction) {
    const Box2 face = bounding_box(stop.outline);
    const double height = face.high.y - least_wall_mm;
    std::vector<Vec2> points;
    if (direction.x != 0) {
        for (const double share : {0.3, 0.4, 0.5, 0.6, 0.7})
            points.push_back({face.low.x + share * face.size().x, height});
        return {direction.x < 0 ? posed.box_fixture.low.x + inside_mm : posed.box_fixture.high.x - inside_mm, points};
    }
    // The edge toward the plug, at that height.
    double edge = direction.y > 0 ? face.high.x : face.low.x;
    for (const std::vector<Vec2>& chain : to_polygons(stop.outline))
        for (std::size_t i = 0; i < chain.size(); ++i) {
            const Vec2 a = chain[i], b = chain[(i + 1) % chain.size()];
            if ((a.y < height) == (b.y < height)) continue;
            const double y = a.x + (b.x - a.x) * (height - a.y) / (b.y - a.y);
            edge = direction.y > 0 ? std::min(edge, y) : std::max(edge, y);
        }
    points.push_back({edge - direction.y * (stop_felt_mm + inside_mm), height});
    return {middle_x(stop), points};
}

bool faces_wall(const PosedPlug& posed, const PlatePart& stop, Vec3 direction) {
    const auto [plane, points] = behind_wall(posed, stop, direction);
    const Frame3 station{{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};
    const std::vector<Slice> slices =
        slice_mesh(posed.mesh(), compose(inverse(posed.pose.scan_to_fixture), station), std::vector<double>{plane});
    Polygons section;
    for (const SliceLoop& loop : slices.front())
        if (loop.is_closed) section.push_back(loop.points);
    return std::all_of(points.begin(), points.end(), [&](Vec2 p) { return contains(section, p); });
}

}  // namespace

double slide_limit_rad(const Settings& settings) { return settings.limits.tip_factor * off_level_rad; }

double sure_friction_rad(const Settings& settings) { return 0.5 * slide_angle_rad(settings.limits.friction); }

bool SlideWay::needs_stop(std::size_t half, const Settings& settings) const {
    return !has_stop[half] && saddle_rad[half] + sure_friction_rad(settings) < slide_limit_rad(settings);
}

bool SlideWay::is_held(const Settings& settings) const { return !needs_stop(0, settings) && !needs_stop(1, settings); }

double SlideWay::climb_rad() const {
    double weaker = std::numbers::pi / 2;
    for (std::size_t half = 0; half < 2; ++half)
        if (!has_stop[half]) weaker = std::min(weaker, saddle_rad[half]);
    return weaker;
}

std::vector<SlideWay> slide_ways(const PosedPlug& posed, const Cradle& cradle, const Settings& settings) {
    const auto contacts = find_contacts(posed, cradle, settings);
    std::vector<SlideWay> ways{way_of(posed, "front", {0, 1, 0}, contacts), way_of(posed, "back", {0, -1, 0}, contacts),
                               way_of(posed, "end-b", {1, 0, 0}, contacts),
                               way_of(posed, "end-a", {-1, 0, 0}, contacts)};
    for (const PlatePart& stop : cradle.stops)
        for (SlideWay& way : ways) {
            if (!stop.id.starts_with("stop-" + way.side) || !faces_wall(posed, stop, way.direction)) continue;
            if (way.direction.x != 0)
                way.has_stop.fill(true);
            else
                way.has_stop[half_of(posed, middle_x(stop))] = true;
        }
    return ways;
}

double stop_load_n(const PosedPlug& posed, const Settings& settings, double saddle_rad) {
    const Vec3 box = posed.box_fixture.size();
    const double known = posed.plug.mass_kg;
    const double mass = std::isfinite(known) ? known : settings.plug.density.kg_mm3() * box.x * box.y * box.z;
    const double weight = standard_gravity * (mass + wet_laminate_kg_mm2(settings) * box.x * box.y);
    const bool has_saddle = saddle_rad > none_rad;
    const double slope = slide_limit_rad(settings) - (has_saddle ? saddle_rad : 0);
    const double friction = has_saddle ? std::tan(sure_friction_rad(settings)) : 0;
    return stop_force_n(weight, slope, friction) + settings.limits.squeegee_load.n();
}

bool StopStrength::is_enough(const Settings& settings) const {
    return dip_mm <= settings.limits.seat_deviation.mm() && crush_share <= 1;
}

StopStrength stop_strength(const Settings& settings, double load_n, double width_mm, double depth_mm, double top_mm,
                           double wall_mm) {
    const Material& board = material(stock(settings, settings.cradle.rib_stock).material);
    const double crush = material(settings.plug.material).crush_mpa.low;
    StopStrength strength;
    strength.dip_mm = stood_block_dip_mm(load_n, top_mm, board.e_mpa.low, width_mm, depth_mm);
    if (crush > 0)
        strength.crush_share = saddle_pressure_mpa(load_n, width_mm, wall_mm) / (settings.limits.bearing * crush);
    return strength;
}

}  // namespace cradlewright
