// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/bead.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/mechanics/ply_bend.hpp"
#include "stages/near_surface.hpp"

// Method: bead.md. Sphere tracing: J. C. Hart, "Sphere Tracing" (1996); longer strides that are taken back when the two
// spheres do not overlap: B. Keinert et al., "Enhanced Sphere Tracing" (2014) [both from memory]. We choose the stride
// from the direction of the nearest point instead of a fixed factor. Area by Gauss-Legendre; volume by Pappus.

namespace cradlewright {

namespace {

// Multiples of the radius. The ball starts this far out, which reaches corners down to 2 atan(1/2.5) = 44 deg.
constexpr double start_reach = 2.5;
// Every ball between start and plug, on either side of the panel, lies within this of the point half-way out:
// hypot(start_reach / 2, 1) + 1.
constexpr double touch_reach = 2.61;
// The line turns by more than this at one point: the ball swings round it in steps.
constexpr double swing_step_rad = 0.2;
// Neighbouring planes closer than this are mitred along the bisector (contract, stage 5).
constexpr double bisector_below_rad = 5 * std::numbers::pi / 180;
constexpr double same_plane_rad = 1e-6;

struct Plane {
    Vec3 point, normal;
    [[nodiscard]] double height(Vec3 p) const { return dot(p - point, normal); }
    [[nodiscard]] Vec3 project(Vec3 p) const { return p - normal * height(p); }
    [[nodiscard]] Vec3 along(Vec3 direction) const { return normalized(direction - normal * dot(direction, normal)); }
};

/// A section plane: through `joint`, spanned by the panel's normal and `outward`.
struct Station {
    Vec3 joint, outward;
};

Vec3 turned(Vec3 v, Vec3 axis, double angle_rad) { return rotation_about(axis, angle_rad).direction_to_parent(v); }

/// Angle from `a` to `b`, counter-clockwise seen against `axis`.
double signed_angle(Vec3 a, Vec3 b, Vec3 axis) { return std::atan2(dot(cross(a, b), axis), dot(a, b)); }

/// Outward of a stretch of line that runs counter-clockwise round the plug, seen from above.
Vec3 outward_of(Vec3 step, const Plane& top) { return normalized(cross(top.along(step), top.normal)); }

// ---- where the sections stand ---------------------------------------------------------------------------------------

/// One panel's run with what its neighbours do to it.
struct RunPlan {
    const FlangePanel* panel = nullptr;
    Plane top;
    std::vector<std::size_t> samples;  ///< of the loop's panel_line
    bool is_ring = false;              ///< the panel goes all the way round
    std::vector<Station> stations{};
    /// A neighbour that rises above this panel: the corner is a ball on plug and both planes.
    struct Valley {
        Plane top;
        Vec3 joint, base, outward;  ///< ball centres on both planes: base + s outward
    };
    std::optional<Valley> before{}, after{};
};

std::vector<std::size_t> samples_of(const FlangePanel& panel, std::size_t count, bool is_ring) {
    std::vector<std::size_t> samples;
    const std::size_t steps = is_ring ? count - 1 : (panel.last + count - panel.first) % count;
    for (std::size_t k = 0; k <= steps; ++k) samples.push_back((panel.first + k) % count);
    return samples;
}

/// Swings the section round `joint` from one direction to the next, both ends included; a turn to the inside of the
/// outline is not swept, since the plug is there.
void add_swing(std::vector<Station>& stations, Vec3 joint, Vec3 from, Vec3 to, Vec3 axis) {
    const double turn_rad = signed_angle(from, to, axis);
    const int steps = turn_rad > swing_step_rad ? static_cast<int>(std::ceil(turn_rad / swing_step_rad)) : 1;
    stations.push_back({joint, from});
    for (int k = 1; k < steps; ++k) stations.push_back({joint, turned(from, axis, turn_rad * k / steps)});
    if (steps > 1) stations.push_back({joint, to});
}

/// Direction of the mitre between two panels at their shared point, pointing away from the plug.
Vec3 mitre_direction(const Plane& a, const Plane& b, Vec3 outward_a, Vec3 outward_b) {
    const Vec3 bisector = normalized(outward_a + outward_b);
    const Vec3 line = cross(a.normal, b.normal);
    if (norm(line) < std::sin(bisector_below_rad)) return bisector;
    const Vec3 along = normalized(line) * (dot(line, bisector) < 0 ? -1.0 : 1.0);
    // Panels hinged along the line itself have no mitre across it.
    return dot(along, bisector) < 0.5 ? bisector : along;
}

std::optional<RunPlan::Valley> find_valley(const Plane& own, const Plane& other, Vec3 joint, Vec3 mitre,
                                           Vec3 toward_other, double radius_mm) {
    const Vec3 line = cross(own.normal, other.normal);
    if (norm(line) < same_plane_rad || dot(other.normal, toward_other) >= 0) return std::nullopt;
    // Solve for the point joint + p own.normal + q other.normal at height radius over both planes.
    const double c = dot(own.normal, other.normal);
    const double own_rise = radius_mm - own.height(joint), other_rise = radius_mm - other.height(joint);
    const double determinant = 1 - c * c;
    const double p = (own_rise - c * other_rise) / determinant, q = (other_rise - c * own_rise) / determinant;
    const Vec3 outward = normalized(line) * (dot(line, mitre) < 0 ? -1.0 : 1.0);
    return RunPlan::Valley{other, joint, joint + own.normal * p + other.normal * q, outward};
}

class Planner {
public:
    Planner(const Parting& parting, const Flange& flange, double radius_mm) : parting_(parting), radius_(radius_mm) {
        std::vector<std::vector<const FlangePanel*>> by_loop(parting.loops.size());
        for (const FlangePanel& panel : flange.panels) {
            CRADLEWRIGHT_PRECONDITION(panel.loop < by_loop.size());
            by_loop[panel.loop].push_back(&panel);
        }
        for (const auto& panels : by_loop) plan_loop(panels);
    }
    std::vector<RunPlan> take() { return std::move(plans_); }

private:
    void plan_loop(const std::vector<const FlangePanel*>& panels) {
        const std::size_t begin = plans_.size();
        for (const FlangePanel* panel : panels) {
            const auto& line = parting_.loops[panel->loop].panel_line;
            CRADLEWRIGHT_PRECONDITION(line.size() >= 3 && panel->first < line.size() && panel->last < line.size());
            const bool is_ring =
                panels.size() == 1 && (panel->first == panel->last || (panel->last + 1) % line.size() == panel->first);
            plans_.push_back({.panel = panel,
                              .top = {panel->point, normalized(panel->normal)},
                              .samples = samples_of(*panel, line.size(), is_ring),
                              .is_ring = is_ring});
        }
        const std::size_t count = panels.size();
        for (std::size_t k = 0; k < count; ++k)
            set_stations(plans_[begin + k], plans_[begin + (k + count - 1) % count], plans_[begin + (k + 1) % count]);
    }

    [[nodiscard]] const std::vector<Vec3>& line_of(const RunPlan& plan) const {
        return parting_.loops[plan.panel->loop].panel_line;
    }
    [[nodiscard]] Vec3 outward_between(const RunPlan& plan, std::size_t a, std::size_t b) const {
        const auto& line = line_of(plan);
        return outward_of(line[plan.samples[b]] - line[plan.samples[a]], plan.top);
    }
    [[nodiscard]] Vec3 first_outward(const RunPlan& plan) const { return outward_between(plan, 0, 1); }
    [[nodiscard]] Vec3 last_outward(const RunPlan& plan) const {
        return outward_between(plan, plan.samples.size() - 2, plan.samples.size() - 1);
    }
    [[nodiscard]] static bool follows(const RunPlan& a, const RunPlan& b) {
        return &a != &b && a.samples.back() == b.samples.front() && b.samples.size() > 1 && a.samples.size() > 1;
    }

    void set_stations(RunPlan& plan, const RunPlan& before, const RunPlan& after) {
        const std::size_t count = plan.samples.size();
        if (count < 2) return;
        const auto& line = line_of(plan);
        for (std::size_t k = 0; k < count; ++k) {
            const bool is_first = k == 0 && !plan.is_ring, is_last = k + 1 == count && !plan.is_ring;
            const Vec3 joint = plan.top.project(line[plan.samples[k]]);
            Vec3 arriving = is_first ? first_outward(plan) : outward_between(plan, (k + count - 1) % count, k);
            Vec3 leaving = is_last ? last_outward(plan) : outward_between(plan, k, (k + 1) % count);
            if (is_first && follows(before, plan)) {
                const Vec3 mitre = mitre_direction(before.top, plan.top, last_outward(before), leaving);
                arriving = plan.top.along(mitre);
                plan.before = find_valley(plan.top, before.top, line[plan.samples[k]], mitre,
                                          cross(arriving, plan.top.normal), radius_);
                if (signed_angle(arriving, leaving, plan.top.normal) < 0) arriving = leaving;
            }
            if (is_last && follows(plan, after)) {
                const Vec3 mitre = mitre_direction(plan.top, after.top, arriving, first_outward(after));
                leaving = plan.top.along(mitre);
                plan.after = find_valley(plan.top, after.top, line[plan.samples[k]], mitre,
                                         cross(plan.top.normal, leaving), radius_);
                if (signed_angle(arriving, leaving, plan.top.normal) < 0) leaving = arriving;
            }
            add_stations(plan, joint, arriving, leaving, is_first || is_last);
        }
    }

    static void add_stations(RunPlan& plan, Vec3 joint, Vec3 arriving, Vec3 leaving, bool is_end) {
        const double turn_rad = signed_angle(arriving, leaving, plan.top.normal);
        if (is_end || turn_rad > swing_step_rad)
            add_swing(plan.stations, joint, arriving, leaving, plan.top.normal);
        else
            plan.stations.push_back({joint, normalized(arriving + leaving)});
    }

    const Parting& parting_;
    double radius_;
    std::vector<RunPlan> plans_;
};

// ---- the plug near the line -----------------------------------------------------------------------------------------

std::vector<Vec3> to_scan(const PosedPlug& posed, std::vector<Vec3> points) {
    for (Vec3& p : points) p = posed.pose.to_scan(p);
    return points;
}

/// Questions to the part of the plug that the ball can reach. Points and directions in the fixture frame.
class NearPlug {
public:
    NearPlug(const PosedPlug& posed, const std::vector<Vec3>& anchors, double reach_mm)
        : pose_(posed.pose), reach_(reach_mm), surface_(posed.mesh(), to_scan(posed, anchors), reach_mm) {}

    struct Clearance {
        double distance_mm = 0;
        Vec3 point;  ///< nearest, when there is a face
        bool is_outside = true;
        FaceId face = no_id;  ///< no_id: nothing nearer than distance_mm is all that can be said
    };
    [[nodiscard]] Clearance clearance(Vec3 center, Vec3 anchor, FaceId hint) const {
        const auto near = surface_.nearest(pose_.to_scan(center), reach_ - norm(center - anchor), hint);
        return {near.distance_mm, pose_.to_fixture(near.point), near.is_outside, near.face};
    }
    [[nodiscard]] std::optional<double> distance_along(Vec3 origin, Vec3 direction, double range_mm) const {
        return surface_.first_hit(pose_.to_scan(origin), pose_.direction_to_scan(direction), range_mm);
    }

private:
    const Pose& pose_;
    double reach_;
    NearSurface surface_;
};

// ---- the ball -------------------------------------------------------------------------------------------------------

/// Centres base + s outward, s from start_reach radii inward.
struct BallPath {
    Vec3 base, outward, anchor;
};

class Ball {
public:
    Ball(const NearPlug& plug, double radius_mm, double tolerance_mm)
        : plug_(plug), radius_(radius_mm), tolerance_(tolerance_mm) {}

    struct Rest {
        Vec3 center, foot;
    };
    /// The outermost place on the path where the ball rests on the plug.
    [[nodiscard]] std::optional<Rest> roll_in(const BallPath& path) const {
        const auto start = free_start(path);
        if (!start) return std::nullopt;
        double s = *start;
        NearPlug::Clearance here = at(path, s, no_id);
        constexpr int most_steps = 200;  // a plug nearly flush with the panel closes in slowly; 40 is the most seen
        for (int step = 0; step < most_steps && s > -radius_; ++step) {
            const double gap = here.distance_mm - radius_;
            if (gap <= tolerance_) return Rest{center(path, s), here.point};
            double stride = here.face != no_id ? long_stride(path, s, here) : gap;
            NearPlug::Clearance next = at(path, s - stride, here.face);
            if (stride > gap && stride > gap + next.distance_mm - radius_)
                next = at(path, s - (stride = gap), here.face);
            s -= stride;
            here = next;
        }
        return std::nullopt;
    }

private:
    static Vec3 center(const BallPath& path, double s) { return path.base + path.outward * s; }
    [[nodiscard]] NearPlug::Clearance at(const BallPath& path, double s, FaceId hint) const {
        return plug_.clearance(center(path, s), path.anchor, hint);
    }

    /// If the plug is flat at the nearest point, the free spheres of both ends of this stride just touch.
    [[nodiscard]] double long_stride(const BallPath& path, double s, const NearPlug::Clearance& here) const {
        const Vec3 toward = normalized(here.point - center(path, s));
        const double cosine = std::clamp(-dot(toward, path.outward), 0.0, 1.0);
        return 2 * (here.distance_mm - radius_) / (1 + cosine);
    }

    /// Far end of the path's outermost free stretch; steps over a part of the plug that stands in the way out there.
    [[nodiscard]] std::optional<double> free_start(const BallPath& path) const {
        const double least_step = radius_ / 20;
        for (double s = start_reach * radius_; s > 0;) {
            const NearPlug::Clearance near = at(path, s, no_id);
            if (near.is_outside && near.distance_mm >= radius_) return s;
            s -= std::max(least_step, near.is_outside ? radius_ - near.distance_mm : radius_ + near.distance_mm);
        }
        return std::nullopt;
    }

    const NearPlug& plug_;
    double radius_, tolerance_;
};

// Five-point Gauss-Legendre on [-1, 1]. Source: M. Abramowitz, I. Stegun, Table 25.4 [from memory].
constexpr std::array<double, 5> gauss_node{-0.9061798459386640, -0.5384693101056831, 0, 0.5384693101056831,
                                           0.9061798459386640};
constexpr std::array<double, 5> gauss_weight{0.2369268850561891, 0.4786286704993665, 0.5688888888888889,
                                             0.4786286704993665, 0.2369268850561891};

double angle_between(Vec3 a, Vec3 b) { return std::atan2(norm(cross(a, b)), dot(a, b)); }

/// Fills area, centroid and strip. The clay at the height of an arc point reaches from that point inward to the plug,
/// and the angle along the arc makes the integrand smooth where the arc leaves the panel.
void measure_clay(BeadSection& section, const NearPlug& plug, double radius_mm, Vec3 outward, Vec3 normal) {
    const double foot_height = std::clamp(dot(section.on_plug - section.on_panel, normal), 0.0, 2 * radius_mm);
    const double end_rad = std::acos(1 - foot_height / radius_mm);
    const Vec3 chord = section.on_plug - section.joint;
    std::vector<Vec3> profile{section.joint};
    Vec3 moment{};
    for (std::size_t k = 0; k < gauss_node.size(); ++k) {
        const double phi = end_rad * (1 + gauss_node[k]) / 2;
        const Vec3 on_arc =
            section.center - outward * (radius_mm * std::sin(phi)) - normal * (radius_mm * std::cos(phi));
        const auto to_plug = plug.distance_along(on_arc, -outward, start_reach * radius_mm);
        // Where the plane of the section misses the plug that the ball touches beside it, the chord stands in.
        const double share = foot_height > 0 ? radius_mm * (1 - std::cos(phi)) / foot_height : 0;
        const double to_chord = dot(on_arc - section.joint - chord * share, outward);
        const double width = to_plug ? *to_plug : std::max(0.0, to_chord);
        const double area = gauss_weight[k] * end_rad / 2 * radius_mm * std::sin(phi) * width;
        section.area_mm2 += area;
        moment += (on_arc - outward * (width / 2)) * area;
        profile.push_back(on_arc - outward * width);
    }
    profile.push_back(section.on_plug);
    section.clay_center = section.area_mm2 > 0 ? moment / section.area_mm2 : section.joint;
    section.plug_strip_mm = polyline_length(profile, false);
}

class BeadLayer {
public:
    BeadLayer(const NearPlug& plug, double radius_mm, double tolerance_mm)
        : plug_(plug), ball_(plug, radius_mm, tolerance_mm), radius_(radius_mm), tolerance_(tolerance_mm) {}

    [[nodiscard]] BeadSection at_station(const Station& station, Vec3 normal) const {
        return section_on({station.joint + normal * radius_, station.outward, anchor_of(station, radius_)},
                          station.joint, normal);
    }

    /// The sections with those that sink into a rising neighbour replaced by one ball in the corner.
    [[nodiscard]] std::vector<BeadSection> with_corners(std::vector<BeadSection> sections, const RunPlan& plan) const {
        std::vector<BeadSection> kept;
        bool has_before = false, has_after = false;
        for (std::size_t k = 0; k < sections.size(); ++k) {
            const bool sinks_before = sinks_into(sections[k], plan.before);
            const bool sinks_after = sinks_into(sections[k], plan.after);
            // Both neighbours may have the same plane, as on the ends of a long plug: the nearer one counts.
            const bool is_nearer_after = sinks_after && (!sinks_before || 2 * k >= sections.size());
            has_after |= is_nearer_after;
            has_before |= sinks_before && !is_nearer_after;
            if (!sinks_before && !sinks_after) kept.push_back(std::move(sections[k]));
        }
        if (has_before) kept.insert(kept.begin(), corner_ball(*plan.before, plan.top));
        if (has_after) kept.push_back(corner_ball(*plan.after, plan.top));
        return kept;
    }

    static Vec3 anchor_of(const Station& station, double radius_mm) {
        return station.joint + station.outward * (radius_mm * start_reach / 2);
    }

private:
    [[nodiscard]] BeadSection section_on(const BallPath& path, Vec3 joint, Vec3 normal) const {
        BeadSection section;
        section.joint = joint;
        const auto rest = ball_.roll_in(path);
        section.is_valid = rest.has_value();
        if (!rest) return section;
        section.center = rest->center;
        section.on_plug = rest->foot;
        section.on_panel = rest->center - normal * radius_;
        section.corner_rad = std::numbers::pi - angle_between(section.on_plug - section.center, -normal);
        measure_clay(section, plug_, radius_, path.outward, normal);
        return section;
    }

    [[nodiscard]] bool sinks_into(const BeadSection& section, const std::optional<RunPlan::Valley>& valley) const {
        return valley && section.is_valid && valley->top.height(section.center) < radius_ - tolerance_;
    }

    [[nodiscard]] BeadSection corner_ball(const RunPlan::Valley& valley, const Plane& top) const {
        const Vec3 anchor = anchor_of({valley.joint, valley.outward}, radius_);
        return section_on({valley.base, valley.outward, anchor}, top.project(valley.joint), top.normal);
    }

    const NearPlug& plug_;
    Ball ball_;
    double radius_, tolerance_;
};

// ---- totals ---------------------------------------------------------------------------------------------------------

/// Clay between two sections: mean area times the way of its centroid. Source: second theorem of Pappus, per step.
double clay_between(const BeadSection& a, const BeadSection& b) {
    return (a.area_mm2 + b.area_mm2) / 2 * norm(b.clay_center - a.clay_center);
}

std::vector<const BeadSection*> valid_sections(const BeadRun& run) {
    std::vector<const BeadSection*> valid;
    for (const BeadSection& section : run.sections)
        if (section.is_valid) valid.push_back(&section);
    return valid;
}

/// Clay along one run. Sections that found no place are bridged where the ball merely steps over an inside corner of
/// the outline; a longer stretch has no bead.
double clay_along(const BeadRun& run, double bridge_mm) {
    double volume_mm3 = 0;
    const BeadSection* last = nullptr;
    bool is_bridge = false;
    for (const BeadSection& section : run.sections) {
        if (!section.is_valid) {
            is_bridge = true;
            continue;
        }
        if (last && (!is_bridge || norm(section.center - last->center) <= bridge_mm))
            volume_mm3 += clay_between(*last, section);
        last = &section;
        is_bridge = false;
    }
    return volume_mm3;
}

void measure_run(BeadRun& run) {
    constexpr double bridge_radii = 4;
    const auto valid = valid_sections(run);
    if (valid.empty()) return;
    std::vector<Vec3> feet;
    run.corner_min_rad = run.corner_max_rad = valid.front()->corner_rad;
    for (const BeadSection* section : valid) {
        feet.push_back(section->on_plug);
        run.corner_min_rad = std::min(run.corner_min_rad, section->corner_rad);
        run.corner_max_rad = std::max(run.corner_max_rad, section->corner_rad);
    }
    if (feet.size() > 1) run.length_mm = polyline_length(feet, false);
    run.volume_mm3 = clay_along(run, bridge_radii * run.radius_mm);
}

/// For a plug that is an arc from panel line to foot, the chord's direction is the mean of the end tangents, which
/// gives the corner angle at the panel line; no smaller ball on a convex plug hides more than r cot(a/2) for that
/// angle.
double strip_per_radius(const BeadSection& section, double radius_mm, Vec3 outward, Vec3 normal) {
    const Vec3 chord = section.on_plug - section.joint;
    const double chord_rad = std::atan2(dot(chord, normal), dot(chord, outward));
    constexpr double least_rad = 0.1;
    const double corner_rad = std::clamp(2 * chord_rad - section.corner_rad, least_rad, std::numbers::pi);
    return std::max(section.plug_strip_mm / radius_mm, 1 / std::tan(corner_rad / 2));
}

Vec3 outward_at(const BeadSection& section, Vec3 normal) {
    const Vec3 out = section.on_panel - section.joint;
    return normalized(out - normal * dot(out, normal));
}

void note_strip(Beads& beads, const BeadSection& section, Vec3 normal) {
    const double per_radius = strip_per_radius(section, beads.radius_mm, outward_at(section, normal), normal);
    beads.strip_per_radius = std::max(beads.strip_per_radius, per_radius);
    if (section.plug_strip_mm <= beads.max_plug_strip_mm) return;
    beads.max_plug_strip_mm = section.plug_strip_mm;
    beads.max_plug_strip_at = section.on_plug;
}

/// Half 2's bead at the same station, on the other side of the plane.
void note_join(Beads& beads, const BeadSection& upper, const BeadSection& lower, Vec3 normal) {
    if (!lower.is_valid) return;
    const Vec3 outward = outward_at(upper, normal);
    beads.join_gap_per_radius =
        std::max(beads.join_gap_per_radius, strip_per_radius(upper, beads.radius_mm, outward, normal) +
                                                strip_per_radius(lower, beads.radius_mm, outward, -normal));
    const double gap_mm = upper.plug_strip_mm + lower.plug_strip_mm;
    if (gap_mm <= beads.join_gap_mm) return;
    beads.join_gap_mm = gap_mm;
    beads.join_gap_at = upper.joint;
}

/// Joins consecutive runs of one loop and draws its trim line.
class LoopJoiner {
public:
    LoopJoiner(std::vector<BeadRun>& runs, const std::vector<RunPlan>& plans, std::size_t loop,
               const std::vector<Vec3>& line, double tolerance_mm)
        : runs_(runs), plans_(plans), line_(line), tolerance_(tolerance_mm) {
        for (std::size_t k = 0; k < plans.size(); ++k)
            if (plans[k].panel->loop == loop && plans[k].samples.size() > 1) own_.push_back(k);
    }

    std::vector<Vec3> join() {
        std::vector<Vec3> trim;
        for (std::size_t k = 0; k < own_.size(); ++k) {
            const std::size_t a = own_[k], b = own_[(k + 1) % own_.size()];
            const auto valid = valid_sections(runs_[a]);
            for (const BeadSection* section : valid) add(trim, section->on_plug);
            if (valid.empty()) add_bare_line(trim, plans_[a].samples.front(), plans_[a].samples.back());
            if (plans_[a].is_ring || plans_[a].samples.back() == plans_[b].samples.front())
                runs_[a].volume_mm3 += clay_across(runs_[a], runs_[b]);
            else
                add_bare_line(trim, plans_[a].samples.back(), plans_[b].samples.front());
        }
        if (trim.size() > 1 && norm(trim.back() - trim.front()) <= tolerance_) trim.pop_back();
        return trim.size() < 3 ? line_ : trim;
    }

private:
    static double clay_across(const BeadRun& a, const BeadRun& b) {
        if (a.sections.empty() || b.sections.empty()) return 0;
        const BeadSection &end = a.sections.back(), &begin = b.sections.front();
        return end.is_valid && begin.is_valid ? clay_between(end, begin) : 0;
    }
    void add(std::vector<Vec3>& trim, Vec3 point) const {
        if (trim.empty() || norm(point - trim.back()) > tolerance_) trim.push_back(point);
    }
    void add_bare_line(std::vector<Vec3>& trim, std::size_t from, std::size_t to) const {
        for (std::size_t i = from; i != to; i = (i + 1) % line_.size()) add(trim, line_[i]);
        add(trim, line_[to]);
    }

    std::vector<BeadRun>& runs_;
    const std::vector<RunPlan>& plans_;
    const std::vector<Vec3>& line_;
    double tolerance_;
    std::vector<std::size_t> own_;
};

std::string bead_id(const std::string& panel_id) {
    constexpr std::string_view prefix = "panel-";
    return "bead-" + (panel_id.starts_with(prefix) ? panel_id.substr(prefix.size()) : panel_id);
}

std::vector<Vec3> anchors_of(const std::vector<RunPlan>& plans, double radius_mm) {
    std::vector<Vec3> anchors;
    for (const RunPlan& plan : plans) {
        for (const Station& station : plan.stations) anchors.push_back(BeadLayer::anchor_of(station, radius_mm));
        for (const auto& valley : {plan.before, plan.after})
            if (valley) anchors.push_back(BeadLayer::anchor_of({valley->joint, valley->outward}, radius_mm));
    }
    return anchors;
}

void lay_run(Beads& beads, const RunPlan& plan, const BeadLayer& layer, bool has_second_half) {
    const Vec3 up = plan.top.normal;
    std::vector<BeadSection> sections;
    for (const Station& station : plan.stations) {
        sections.push_back(layer.at_station(station, up));
        if (has_second_half && sections.back().is_valid)
            note_join(beads, sections.back(), layer.at_station(station, -up), up);
    }
    BeadRun run;
    run.id = bead_id(plan.panel->id);
    run.edge = plan.panel->edge;
    run.panel = plan.panel->id;
    run.radius_mm = beads.radius_mm;
    run.sections = layer.with_corners(std::move(sections), plan);
    measure_run(run);
    for (const BeadSection& section : run.sections)
        if (section.is_valid) note_strip(beads, section, up);
    beads.runs.push_back(std::move(run));
}

/// The run of plies that keeps the radius from being smaller.
std::string deciding_plies(const PlyCase& needed, double radius_mm) {
    constexpr double step_mm = 0.5;
    const auto fits = judge_plies(needed.laminate, radius_mm - step_mm, needed.curvature);
    const auto worst = std::ranges::max_element(fits, {}, &PlyFit::result);
    return worst == fits.end() ? std::string{} : worst->cloth;
}

}  // namespace

std::size_t BeadRun::valid_count() const {
    return static_cast<std::size_t>(std::ranges::count_if(sections, &BeadSection::is_valid));
}

double flat_bead_area_mm2(double radius_mm, double corner_rad) {
    CRADLEWRIGHT_PRECONDITION(corner_rad > 0 && corner_rad <= std::numbers::pi);
    return radius_mm * radius_mm * (1 / std::tan(corner_rad / 2) - (std::numbers::pi - corner_rad) / 2);
}

BeadRadius choose_bead_radius(const Settings& settings) {
    if (settings.bead.radius != "auto") {
        const double told_mm = parse_length(settings.bead.radius, "bead.radius").mm();
        if (!(told_mm >= 0) || !std::isfinite(told_mm))
            throw Error(ErrorCode::bad_input, "bead.radius", "a radius cannot be negative",
                        "use auto, 0 or a length such as 9.5mm");
        return {told_mm, "told"};
    }
    if (settings.mould.use == MouldUse::join_in_mould)
        return {
            0,
            "auto: no bead, since the halves are joined in the mould and a bead would leave a groove along the seam"};
    const PlyCase mould{make_laminate(settings, settings.laminate_mould, "laminate.mould.plies"), Curvature::concave};
    const PlyCase part{make_laminate(settings, settings.laminate_part, "laminate.part.plies"), Curvature::convex};
    const double mould_mm = smallest_passing_radius_mm(std::span(&mould, 1));
    const double part_mm = smallest_passing_radius_mm(std::span(&part, 1));
    if (mould_mm >= part_mm)
        return {mould_mm, "auto: " + deciding_plies(mould, mould_mm) + " of the mould laminate in the inside corner"};
    return {part_mm, "auto: " + deciding_plies(part, part_mm) + " of the part laminate over the mould's lip"};
}

Beads lay_beads(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Settings& settings) {
    const BeadRadius chosen = choose_bead_radius(settings);
    Beads beads;
    beads.radius_mm = chosen.radius_mm;
    beads.radius_from = chosen.from;
    const double tolerance_mm = Tolerances{}.contact_mm / 100;
    std::vector<RunPlan> plans;
    if (chosen.radius_mm > tolerance_mm) plans = Planner(parting, flange, chosen.radius_mm).take();

    const NearPlug plug(posed, anchors_of(plans, chosen.radius_mm),
                        touch_reach * std::max(chosen.radius_mm, tolerance_mm));
    const BeadLayer layer(plug, chosen.radius_mm, tolerance_mm);
    for (const RunPlan& plan : plans) lay_run(beads, plan, layer, settings.mould.use != MouldUse::single);

    for (std::size_t loop = 0; loop < parting.loops.size(); ++loop) {
        const auto& line = parting.loops[loop].panel_line;
        beads.trim_lines.push_back(LoopJoiner(beads.runs, plans, loop, line, tolerance_mm).join());
    }
    for (const BeadRun& run : beads.runs) beads.clay_volume_mm3 += run.volume_mm3;
    beads.clay_mass_kg = beads.clay_volume_mm3 * settings.bead.density.kg_mm3();
    return beads;
}

}  // namespace cradlewright
