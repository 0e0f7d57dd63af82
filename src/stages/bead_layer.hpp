// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <utility>
#include <vector>

#include "cradlewright/stages/bead.hpp"
#include "stages/bead_plan.hpp"
#include "stages/near_surface.hpp"

/// \file Sections of clay between plug and panel, one station at a time. Fixture frame, mm. See bead.md.
namespace cradlewright {

// Multiples of the radius. The ball starts this far out, which reaches corners down to 2 atan(1/2.5) = 44 deg, and is
// given up this far behind the line, where the plug turns away from the panel. Stations that find nothing are tried
// again from further out, down to 2 atan(1/6) = 19 deg: not at once, since that takes six times the faces.
inline constexpr double near_start = 2.5, far_start = 6, end_reach = 0.25;
// Every ball on that way, on either side of the panel, lies within this of the point half-way out.
inline double touch_reach(double start) { return std::hypot(start / 2 + end_reach, 1) + 1; }

// ---- the plug near the line -----------------------------------------------------------------------------------------

inline std::vector<Vec3> to_scan(const PosedPlug& posed, std::vector<Vec3> points) {
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

/// Fills area, centroid and strip of a section whose ball has its place.
void measure_clay(BeadSection& section, const NearPlug& plug, double radius_mm, Vec3 outward, Vec3 normal);
/// A ramp's section; empty where the plug does not stand that high beside the line.
std::optional<BeadSection> measure_ramp(const NearPlug& plug, double height_mm, const Station& station, Vec3 normal);

/// Which half's bead: half 1's lies on the panels, half 2's under the same planes, on half 1's flange.
enum class Side { half_1, half_2 };
inline double up_of(Side side) { return side == Side::half_1 ? 1 : -1; }

class BeadLayer {
public:
    BeadLayer(const NearPlug& plug, double radius_mm, double tolerance_mm, double start)
        : plug_(plug),
          ball_(plug, radius_mm, tolerance_mm, start),
          radius_(radius_mm),
          tolerance_(tolerance_mm),
          start_(start) {}

    [[nodiscard]] BeadSection at_station(const Station& station, Side side) const {
        const Vec3 normal = station.normal * up_of(side);
        return section_on({station.joint + normal * radius_, station.outward, anchor_of(station, radius_, start_)},
                          station.joint, normal);
    }

    [[nodiscard]] BeadSection ramp_at(const Station& station, Side side, double height_mm) const {
        const Vec3 normal = station.normal * up_of(side);
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
        const auto seen = [&](const Plane& top) { return Plane{top.point, top.normal * up_of(side)}; };
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
        if (has_before) kept.insert(kept.begin(), corner_ball(*before, seen(plan.first_top)));
        if (has_after) kept.push_back(corner_ball(*after, seen(plan.last_top)));
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
        const Vec3 anchor = anchor_of({valley.joint, valley.outward, top.normal}, radius_, start_);
        return section_on({valley.base, valley.outward, anchor}, top.project(valley.joint), top.normal);
    }

    const NearPlug& plug_;
    Ball ball_;
    double radius_, tolerance_, start_;
};

}  // namespace cradlewright
