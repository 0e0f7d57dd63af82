// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/bead.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/mechanics/ply_bend.hpp"
#include "stages/bead_plan.hpp"
#include "stages/bead_totals.hpp"
#include "stages/near_surface.hpp"

// Method: bead.md. Sphere tracing: J. C. Hart, "Sphere Tracing" (1996); longer strides that are taken back when the two
// spheres do not overlap: B. Keinert et al., "Enhanced Sphere Tracing" (2014) [both from memory]. We choose the stride
// from the direction of the nearest point instead of a fixed factor. Area by Gauss-Legendre; volume by Pappus.

namespace cradlewright {

namespace {

// Multiples of the radius. The ball starts this far out, which reaches corners down to 2 atan(1/2.5) = 44 deg, and is
// given up this far behind the line, where the plug turns away from the panel. Stations that find nothing are tried
// again from further out, down to 2 atan(1/6) = 19 deg: not at once, since that takes six times the faces.
constexpr double near_start = 2.5, far_start = 6, end_reach = 0.25;
// Every ball on that way, on either side of the panel, lies within this of the point half-way out.
double touch_reach(double start) { return std::hypot(start / 2 + end_reach, 1) + 1; }
// Of a ramp to its panel: both its bends at an upright wall are then 45 deg. Source: assumed.
constexpr double ramp_run_per_rise = 1;
// Of a split strip a ramp leaves at least so much to the part: half, or what a blade can be set to. Source: assumed.
constexpr double least_strip_left_mm = 2;

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
    Ball(const NearPlug& plug, double radius_mm, double tolerance_mm, double start)
        : plug_(plug), radius_(radius_mm), tolerance_(tolerance_mm), start_(start) {}

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
        for (double s = start_ * radius_; s > 0;) {
            const NearPlug::Clearance near = at(path, s, no_id);
            if (near.is_outside && near.distance_mm >= radius_) return s;
            s -= std::max(least_step, near.is_outside ? radius_ - near.distance_mm : radius_ + near.distance_mm);
        }
        return std::nullopt;
    }

    const NearPlug& plug_;
    double radius_, tolerance_, start_;
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

/// Area, centroid, strip and foot of a ramp of the given height. The clay at each height reaches from the flat inward
/// to the plug; empty where the plug does not stand that high beside the line.
std::optional<BeadSection> measure_ramp(const NearPlug& plug, double height_mm, const Station& station, Vec3 normal) {
    const double reach_mm = ramp_run_per_rise * height_mm;
    const auto wall = [&](double share) {
        const Vec3 from = station.joint + station.outward * reach_mm + normal * (height_mm * share);
        return plug.distance_along(from, -station.outward, 2 * reach_mm);
    };
    const std::optional<double> top = wall(1);
    if (!top) return std::nullopt;
    BeadSection section;
    section.joint = station.joint;
    section.on_panel = station.joint + station.outward * reach_mm;
    section.on_plug = section.on_panel + normal * height_mm - station.outward * *top;
    section.center = (section.on_plug + section.on_panel) / 2;
    section.corner_rad = angle_between(section.on_plug - section.joint, station.outward);
    Vec3 moment{};
    std::vector<Vec3> profile{section.joint};
    for (std::size_t k = 0; k < gauss_node.size(); ++k) {
        const double share = (1 + gauss_node[k]) / 2;
        const Vec3 on_flat = section.on_panel + (section.on_plug - section.on_panel) * share;
        const Vec3 from = section.on_panel + normal * (height_mm * share);
        const double width = std::max(0.0, wall(share).value_or(reach_mm) - dot(from - on_flat, station.outward));
        const double area = gauss_weight[k] / 2 * height_mm * width;
        section.area_mm2 += area;
        moment += (on_flat - station.outward * (width / 2)) * area;
        profile.push_back(on_flat - station.outward * width);
    }
    profile.push_back(section.on_plug);
    section.clay_center = section.area_mm2 > 0 ? moment / section.area_mm2 : section.joint;
    section.plug_strip_mm = polyline_length(profile, false);
    return section;
}

/// Which half's bead: half 1's lies on the panels, half 2's under the same planes, on half 1's flange.
enum class Side { half_1, half_2 };
double up_of(Side side) { return side == Side::half_1 ? 1 : -1; }

class BeadLayer {
public:
    BeadLayer(const NearPlug& plug, double radius_mm, double tolerance_mm, double start)
        : plug_(plug),
          ball_(plug, radius_mm, tolerance_mm, start),
          radius_(radius_mm),
          tolerance_(tolerance_mm),
          start_(start) {}

    [[nodiscard]] BeadSection at_station(const Station& station, Vec3 normal) const {
        return section_on({station.joint + normal * radius_, station.outward, anchor_of(station, radius_, start_)},
                          station.joint, normal);
    }

    [[nodiscard]] BeadSection ramp_at(const Station& station, Vec3 normal, double height_mm) const {
        if (height_mm > tolerance_)
            if (const auto section = measure_ramp(plug_, height_mm, station, normal)) return *section;
        BeadSection bare;
        bare.joint = station.joint;
        bare.is_valid = false;
        return bare;
    }

    /// The sections with those that sink into a rising neighbour replaced by one ball in the corner.
    [[nodiscard]] std::vector<BeadSection> with_corners(std::vector<BeadSection> sections, const RunPlan& plan,
                                                        Side side) const {
        const auto& before = side == Side::half_1 ? plan.before : plan.before_below;
        const auto& after = side == Side::half_1 ? plan.after : plan.after_below;
        const Plane top{plan.top.point, plan.top.normal * up_of(side)};
        std::vector<BeadSection> kept;
        bool has_before = false, has_after = false;
        for (std::size_t k = 0; k < sections.size(); ++k) {
            const bool sinks_before = sinks_into(sections[k], before);
            const bool sinks_after = sinks_into(sections[k], after);
            // Both neighbours may have the same plane, as on the ends of a long plug: the nearer one counts.
            const bool is_nearer_after = sinks_after && (!sinks_before || 2 * k >= sections.size());
            has_after |= is_nearer_after;
            has_before |= sinks_before && !is_nearer_after;
            if (!sinks_before && !sinks_after) kept.push_back(std::move(sections[k]));
        }
        if (has_before) kept.insert(kept.begin(), corner_ball(*before, top));
        if (has_after) kept.push_back(corner_ball(*after, top));
        return kept;
    }

    static Vec3 anchor_of(const Station& station, double radius_mm, double start) {
        return station.joint + station.outward * (radius_mm * start / 2);
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
        const Vec3 anchor = anchor_of({valley.joint, valley.outward}, radius_, start_);
        return section_on({valley.base, valley.outward, anchor}, top.project(valley.joint), top.normal);
    }

    const NearPlug& plug_;
    Ball ball_;
    double radius_, tolerance_, start_;
};

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

std::string bead_id(const std::string& panel_id) {
    constexpr std::string_view prefix = "panel-";
    return "bead-" + (panel_id.starts_with(prefix) ? panel_id.substr(prefix.size()) : panel_id);
}

std::vector<Vec3> anchors_of(const std::vector<RunPlan>& plans, double radius_mm) {
    std::vector<Vec3> anchors;
    for (const RunPlan& plan : plans) {
        for (const Station& station : plan.stations)
            anchors.push_back(BeadLayer::anchor_of(station, radius_mm, near_start));
        for (const auto& valley : {plan.before, plan.after, plan.before_below, plan.after_below})
            if (valley)
                anchors.push_back(BeadLayer::anchor_of({valley->joint, valley->outward}, radius_mm, near_start));
    }
    return anchors;
}

/// What the clay of one panel is shaped to, on either half's side.
struct Shape {
    BeadKind kind = BeadKind::round;
    double ramp_height_mm = 0;
};
/// A ramp as high as the bead at a square wall; on a split edge lower, so that the strip shows in the part.
double ramp_height_mm(double radius_mm, double strip_mm, bool is_split) {
    return is_split ? std::min(radius_mm, strip_mm - std::min(strip_mm / 2, least_strip_left_mm)) : radius_mm;
}
Shape shape_at(const Parting& parting, const FlangePanel& panel, const Settings& settings, double radius_mm,
               Side side) {
    const auto told = settings.edges.find(panel.edge);
    const std::string word = told == settings.edges.end() ? "" : told->second.bead;
    if (word == "none") return {BeadKind::none, 0};
    double strip_mm = 0;
    bool is_split = false;
    for (const PartingEdge& edge : parting.loops[panel.loop].edges) {
        if (edge.id != panel.edge || !(edge.strip_mm > 0)) continue;
        is_split = true;
        strip_mm = side == Side::half_1 ? edge.strip_up_mm : edge.strip_mm - edge.strip_up_mm;
    }
    if (word == "round" || (word.empty() && !is_split)) return {BeadKind::round, 0};
    return {BeadKind::ramp, ramp_height_mm(radius_mm, strip_mm, is_split)};
}

/// One panel's sections on one side.
std::vector<BeadSection> lay_sections(const RunPlan& plan, const Shape& shape, const BeadLayer& layer, Side side) {
    const Vec3 up = plan.top.normal * up_of(side);
    std::vector<BeadSection> sections;
    if (shape.kind == BeadKind::none) return sections;
    for (const Station& station : plan.stations)
        sections.push_back(shape.kind == BeadKind::ramp ? layer.ramp_at(station, up, shape.ramp_height_mm)
                                                        : layer.at_station(station, up));
    return sections;
}

/// Tries the stations that found no ball again from further out, as far as the panel is wide.
void try_from_afar(std::vector<BeadSection>& sections, const PosedPlug& posed, const RunPlan& plan, double radius_mm,
                   double tolerance_mm, Side side) {
    const double start = std::min(far_start, plan.panel->width_mm / radius_mm);
    if (!(start > near_start)) return;
    std::vector<Vec3> anchors;
    for (std::size_t k = 0; k < sections.size(); ++k)
        if (!sections[k].is_valid) anchors.push_back(BeadLayer::anchor_of(plan.stations[k], radius_mm, start));
    if (anchors.empty()) return;
    const NearPlug plug(posed, anchors, touch_reach(start) * radius_mm);
    const BeadLayer layer(plug, radius_mm, tolerance_mm, start);
    const Vec3 up = plan.top.normal * up_of(side);
    for (std::size_t k = 0; k < sections.size(); ++k)
        if (!sections[k].is_valid) sections[k] = layer.at_station(plan.stations[k], up);
}

BeadRun blank_run(const RunPlan& plan, const Shape& shape, double radius_mm) {
    BeadRun run;
    run.id = bead_id(plan.panel->id);
    run.edge = plan.panel->edge;
    run.panel = plan.panel->id;
    run.kind = shape.kind;
    run.is_ring = plan.is_ring;
    if (shape.kind == BeadKind::round) run.radius_mm = radius_mm;
    if (shape.kind == BeadKind::ramp) run.ramp_height_mm = shape.ramp_height_mm;
    return run;
}

/// Lays the runs of both halves over one plan after the other.
class RunLayer {
public:
    RunLayer(const PosedPlug& posed, const Parting& parting, const Settings& settings, const BeadLayer& layer,
             double tolerance_mm, Beads& beads)
        : posed_(posed),
          parting_(parting),
          settings_(settings),
          layer_(layer),
          tolerance_(tolerance_mm),
          beads_(beads) {}

    void lay(const RunPlan& plan) {
        const Vec3 up = plan.top.normal;
        auto [run, sections] = begin(plan, Side::half_1);
        if (beads_.groove) {
            auto [below, sections_below] = begin(plan, Side::half_2);
            for (std::size_t k = 0; k < std::min(sections.size(), sections_below.size()); ++k)
                if (sections[k].is_valid) note_join(beads_, sections[k], sections_below[k], up);
            finish(below, std::move(sections_below), plan, Side::half_2);
            beads_.groove->runs.push_back(std::move(below));
        }
        finish(run, std::move(sections), plan, Side::half_1);
        for (const BeadSection& section : run.sections) {
            if (!section.is_valid) continue;
            note_strip(beads_, section, up);
            note_groove(section);
        }
        beads_.runs.push_back(std::move(run));
    }

private:
    [[nodiscard]] std::pair<BeadRun, std::vector<BeadSection>> begin(const RunPlan& plan, Side side) const {
        const Shape shape = shape_at(parting_, *plan.panel, settings_, beads_.radius_mm, side);
        std::vector<BeadSection> sections = lay_sections(plan, shape, layer_, side);
        if (shape.kind == BeadKind::round) try_from_afar(sections, posed_, plan, beads_.radius_mm, tolerance_, side);
        return {blank_run(plan, shape, beads_.radius_mm), std::move(sections)};
    }

    void finish(BeadRun& run, std::vector<BeadSection> sections, const RunPlan& plan, Side side) const {
        run.sections =
            run.kind == BeadKind::round ? layer_.with_corners(std::move(sections), plan, side) : std::move(sections);
        measure_run(run);
    }

    void note_groove(const BeadSection& section) {
        if (!beads_.groove) return;
        Groove& groove = *beads_.groove;
        groove.depth_mm = std::max(groove.depth_mm, section.plug_strip_mm);
        const double width_mm = norm(section.on_panel - section.joint);
        if (width_mm <= groove.width_mm) return;
        groove.width_mm = width_mm;
        groove.widest_at = section.joint;
    }

    const PosedPlug& posed_;
    const Parting& parting_;
    const Settings& settings_;
    const BeadLayer& layer_;
    double tolerance_;
    Beads& beads_;
};

double clay_of(const std::vector<BeadRun>& runs) {
    double volume_mm3 = 0;
    for (const BeadRun& run : runs) volume_mm3 += run.volume_mm3;
    return volume_mm3;
}

/// Trim lines and clay of both halves.
void total(Beads& beads, const Parting& parting, const std::vector<RunPlan>& plans, double tolerance_mm,
           Density density) {
    for (std::size_t loop = 0; loop < parting.loops.size(); ++loop) {
        const auto& line = parting.loops[loop].panel_line;
        beads.trim_lines.push_back(join_runs(beads.runs, plans, loop, line, tolerance_mm));
        if (beads.groove)
            beads.groove->trim_lines.push_back(join_runs(beads.groove->runs, plans, loop, line, tolerance_mm));
    }
    beads.clay_volume_mm3 = clay_of(beads.runs);
    beads.clay_mass_kg = beads.clay_volume_mm3 * density.kg_mm3();
    if (!beads.groove) return;
    Groove& groove = *beads.groove;
    groove.fill_volume_mm3 = beads.clay_volume_mm3;
    groove.fill_mass_kg = beads.clay_mass_kg;
    groove.clay_volume_mm3 = clay_of(groove.runs);
    groove.clay_mass_kg = groove.clay_volume_mm3 * density.kg_mm3();
}

/// Faces under the clay. The ball about line and foot holds every convex profile between them that turns by less than
/// a right angle, and is widened to meet the next section's.
std::vector<FaceId> find_hidden(const Beads& beads, const NearPlug& plug, std::size_t face_count) {
    std::vector<std::uint8_t> is_hidden(beads.runs.empty() ? 0 : face_count, 0);
    for (const BeadRun& run : beads.runs) {
        const auto valid = valid_sections(run);
        for (std::size_t k = 0; k < valid.size(); ++k) {
            const BeadSection &s = *valid[k], &next = *valid[std::min(k + 1, valid.size() - 1)];
            const double half_step_mm = std::min(norm(next.joint - s.joint), beads.radius_mm) / 2;
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

std::string_view bead_kind_name(BeadKind kind) {
    constexpr std::string_view names[] = {"bead", "ramp", "none"};
    return names[static_cast<std::size_t>(kind)];
}

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

    if (!plans.empty() && settings.mould.use != MouldUse::single) beads.groove.emplace();

    const NearPlug plug(posed, anchors_of(plans, chosen.radius_mm),
                        touch_reach(near_start) * std::max(chosen.radius_mm, tolerance_mm));
    const BeadLayer layer(plug, chosen.radius_mm, tolerance_mm, near_start);
    RunLayer runs(posed, parting, settings, layer, tolerance_mm, beads);
    for (const RunPlan& plan : plans) runs.lay(plan);
    total(beads, parting, plans, tolerance_mm, settings.bead.density);
    beads.hidden_faces = find_hidden(beads, plug, posed.mesh().face_count());
    return beads;
}

}  // namespace cradlewright
