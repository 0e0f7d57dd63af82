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
#include "stages/bead_plan.hpp"
#include "stages/near_surface.hpp"

// Method: bead.md. Sphere tracing: J. C. Hart, "Sphere Tracing" (1996); longer strides that are taken back when the two
// spheres do not overlap: B. Keinert et al., "Enhanced Sphere Tracing" (2014) [both from memory]. We choose the stride
// from the direction of the nearest point instead of a fixed factor. Area by Gauss-Legendre; volume by Pappus.

namespace cradlewright {

namespace {

// Multiples of the radius. The ball starts this far out, which reaches corners down to 2 atan(1/2.5) = 44 deg, and is
// given up this far behind the line, where the plug turns away from the panel.
constexpr double start_reach = 2.5, end_reach = 0.25;
// Every ball on that way, on either side of the panel, lies within this of the point half-way out:
// hypot(start_reach / 2 + end_reach, 1) + 1.
constexpr double touch_reach = 2.81;

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
    void flag_within(Vec3 center, double radius_mm, std::vector<std::uint8_t>& flags) const {
        surface_.flag_within(pose_.to_scan(center), radius_mm, flags);
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
        for (int step = 0; step < most_steps && s >= -end_reach * radius_; ++step) {
            const double gap = here.distance_mm - radius_;
            if (here.face != no_id && gap <= tolerance_) return Rest{center(path, s), here.point};
            if (gap <= tolerance_) break;  // out of what is known, so nowhere near the line
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
        const double share = foot_height > 0 ? radius_mm * (1 - std::cos(phi)) / foot_height : 0;
        const double to_chord = std::max(0.0, dot(on_arc - section.joint - chord * share, outward));
        // Where the plane of the section misses the plug that the ball touches beside it, or passes under a thin wall
        // and meets what lies behind, the chord stands in. No hollow between line and foot is deeper than half a
        // circle.
        const auto to_plug = plug.distance_along(on_arc, -outward, to_chord + norm(chord) / 2);
        const double width = to_plug.value_or(to_chord);
        const double area = gauss_weight[k] * end_rad / 2 * radius_mm * std::sin(phi) * width;
        section.area_mm2 += area;
        moment += (on_arc - outward * (width / 2)) * area;
        profile.push_back(on_arc - outward * width);
    }
    profile.push_back(section.on_plug);
    section.clay_center = section.area_mm2 > 0 ? moment / section.area_mm2 : section.joint;
    // Beside a foot out of the plane the profile may zigzag; no longer than half a circle over the chord either.
    section.plug_strip_mm = std::min(polyline_length(profile, false), std::numbers::pi / 2 * norm(chord));
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
/// angle. On a scan a short chord has no direction to speak of; thrice the present share is then more than enough.
double strip_per_radius(const BeadSection& section, double radius_mm, Vec3 outward, Vec3 normal) {
    const Vec3 chord = section.on_plug - section.joint;
    const double present = section.plug_strip_mm / radius_mm;
    const double chord_rad = std::atan2(dot(chord, normal), dot(chord, outward));
    const double corner_rad = 2 * chord_rad - section.corner_rad;
    if (!(corner_rad > 0)) return 3 * present;
    return std::clamp(1 / std::tan(std::min(corner_rad, std::numbers::pi) / 2), present, 3 * present);
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

/// Half 2's bead at the same station, on the other side of the plane. Where the plug turns away there, half 2 needs no
/// bead and is trimmed at the panel line.
void note_join(Beads& beads, const BeadSection& upper, const BeadSection& lower, Vec3 normal) {
    const Vec3 outward = outward_at(upper, normal);
    double gap_mm = upper.plug_strip_mm, per_radius = strip_per_radius(upper, beads.radius_mm, outward, normal);
    if (lower.is_valid) {
        gap_mm += lower.plug_strip_mm;
        per_radius += strip_per_radius(lower, beads.radius_mm, outward, -normal);
    }
    beads.join_gap_per_radius = std::max(beads.join_gap_per_radius, per_radius);
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

/// Faces under the clay. The ball about line and foot holds every convex profile between them that turns by less than
/// a right angle, and is widened to meet the next section's.
std::vector<FaceId> find_hidden(const Beads& beads, const NearPlug& plug, std::size_t face_count) {
    std::vector<std::uint8_t> is_hidden(beads.runs.empty() ? 0 : face_count, 0);
    for (const BeadRun& run : beads.runs) {
        const auto valid = valid_sections(run);
        for (std::size_t k = 0; k < valid.size(); ++k) {
            const BeadSection &s = *valid[k], &next = *valid[std::min(k + 1, valid.size() - 1)];
            const double half_step_mm = std::min(norm(next.joint - s.joint), run.radius_mm) / 2;
            const double half_strip_mm = norm(s.on_plug - s.joint) / 2;
            plug.flag_within((s.on_plug + s.joint) / 2, std::hypot(half_strip_mm, half_step_mm), is_hidden);
        }
    }
    std::vector<FaceId> hidden;
    for (FaceId f = 0; f < is_hidden.size(); ++f)
        if (is_hidden[f]) hidden.push_back(f);
    return hidden;
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
    if (chosen.radius_mm > tolerance_mm) plans = plan_beads(parting, flange, chosen.radius_mm);

    const NearPlug plug(posed, anchors_of(plans, chosen.radius_mm),
                        touch_reach * std::max(chosen.radius_mm, tolerance_mm));
    const BeadLayer layer(plug, chosen.radius_mm, tolerance_mm);
    for (const RunPlan& plan : plans) lay_run(beads, plan, layer, settings.mould.use != MouldUse::single);

    for (std::size_t loop = 0; loop < parting.loops.size(); ++loop) {
        const auto& line = parting.loops[loop].panel_line;
        beads.trim_lines.push_back(LoopJoiner(beads.runs, plans, loop, line, tolerance_mm).join());
    }
    beads.hidden_faces = find_hidden(beads, plug, posed.mesh().face_count());
    for (const BeadRun& run : beads.runs) beads.clay_volume_mm3 += run.volume_mm3;
    beads.clay_mass_kg = beads.clay_volume_mm3 * settings.bead.density.kg_mm3();
    return beads;
}

}  // namespace cradlewright
