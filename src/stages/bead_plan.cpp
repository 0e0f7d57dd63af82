// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/bead_plan.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numbers>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace {

// The line turns by more than this at one point: the ball swings round it in steps.
constexpr double swing_step_rad = 0.2;
// A turn at one point that keeps less than this share over the window is a kink of the scan, not a corner of the plug.
constexpr double corner_share = 0.6;
// Between planes closer than this no corner is rolled: a ball on one of them sinks into the other by r (1 - cos 5 deg)
// at most, 0.05 mm for 13 mm, and their own line may lie far from the mitre.
constexpr double bisector_below_rad = 5 * std::numbers::pi / 180;

Vec3 turned(Vec3 v, Vec3 axis, double angle_rad) { return rotation_about(axis, angle_rad).direction_to_parent(v); }

/// Angle from `a` to `b`, counter-clockwise seen against `axis`.
double signed_angle(Vec3 a, Vec3 b, Vec3 axis) { return std::atan2(dot(cross(a, b), axis), dot(a, b)); }

/// Outward of a line that runs counter-clockwise round the plug, seen from above.
Vec3 outward_of(Vec3 along_line, const Plane& top) { return normalized(cross(top.along(along_line), top.normal)); }

class LineReader {
public:
    LineReader(const std::vector<Vec3>& line, double window_mm)
        : line_(line), window_(window_mm), is_corner_(line.size(), false) {}

    /// Mean direction over the window before or after a point; the window ends at the first corner it meets.
    [[nodiscard]] Vec3 arriving(std::size_t i) const {
        return normalized(line_[i] - line_[reach(i, line_.size() - 1)]);
    }
    [[nodiscard]] Vec3 leaving(std::size_t i) const { return normalized(line_[reach(i, 1)] - line_[i]); }

    /// Turn at one point and over the windows, as rotation vectors.
    [[nodiscard]] bool turns_for_good(std::size_t i, double corner_rad) const {
        const std::size_t n = line_.size();
        const Vec3 in = normalized(line_[i] - line_[(i + n - 1) % n]), out = normalized(line_[(i + 1) % n] - line_[i]);
        const double here = angle_between(in, out);
        if (here <= corner_rad) return false;
        const Vec3 far_in = arriving(i), far_out = leaving(i);
        return dot(cross(in, out), cross(far_in, far_out)) > 0 && angle_between(far_in, far_out) >= corner_share * here;
    }
    void set_corners(std::vector<bool> is_corner) { is_corner_ = std::move(is_corner); }

private:
    /// Index at least a window away by steps of `step` (modulo the count), never past half the line.
    [[nodiscard]] std::size_t reach(std::size_t i, std::size_t step) const {
        const std::size_t n = line_.size();
        std::size_t at = (i + step) % n;
        double run_mm = norm(line_[at] - line_[i]);
        for (std::size_t k = 1; k < n / 2 && run_mm < window_ && !is_corner_[at]; ++k) {
            const std::size_t next = (at + step) % n;
            run_mm += norm(line_[next] - line_[at]);
            at = next;
        }
        return at;
    }

    const std::vector<Vec3>& line_;
    double window_;
    std::vector<bool> is_corner_;
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
    if (turn_rad <= swing_step_rad) {
        stations.push_back({joint, normalized(from + to), axis});
        return;
    }
    const int steps = static_cast<int>(std::ceil(turn_rad / swing_step_rad));
    for (int k = 0; k <= steps; ++k) stations.push_back({joint, turned(from, axis, turn_rad * k / steps), axis});
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

Plane top_near(const FlangePanel& panel, Vec3 place) {
    const FlangePanel::Top top = panel.top_near(place);
    return {top.point, normalized(top.normal)};
}

Plane flipped(const Plane& plane) { return {plane.point, -plane.normal}; }

std::optional<RunPlan::Valley> find_valley(const Plane& own, const Plane& other, Vec3 joint, Vec3 mitre,
                                           Vec3 toward_other, double radius_mm) {
    const Vec3 line = cross(own.normal, other.normal);
    if (norm(line) < std::sin(bisector_below_rad) || dot(other.normal, toward_other) >= 0) return std::nullopt;
    // Solve for the point joint + p own.normal + q other.normal at height radius over both planes.
    const double c = dot(own.normal, other.normal);
    const double own_rise = radius_mm - own.height(joint), other_rise = radius_mm - other.height(joint);
    const double determinant = 1 - c * c;
    const double p = (own_rise - c * other_rise) / determinant, q = (other_rise - c * own_rise) / determinant;
    const Vec3 outward = normalized(line) * (dot(line, mitre) < 0 ? -1.0 : 1.0);
    return RunPlan::Valley{other, joint, joint + own.normal * p + other.normal * q, outward};
}

/// Plans the runs of one loop.
class LoopPlanner {
public:
    LoopPlanner(const std::vector<Vec3>& line, double radius_mm)
        : line_(line), radius_(radius_mm), turns_(line_turns(line, window_mm(radius_mm), swing_step_rad)) {}

    [[nodiscard]] std::vector<RunPlan> plan(const std::vector<const FlangePanel*>& panels) const {
        std::vector<RunPlan> plans;
        for (const FlangePanel* panel : panels) plans.push_back(plan_of(*panel, panels.size() == 1));
        const std::size_t count = plans.size();
        for (std::size_t k = 0; k < count; ++k)
            set_stations(plans[k], plans[(k + count - 1) % count], plans[(k + 1) % count]);
        return plans;
    }

private:
    /// Kinks smaller than the ball do not steer it; 3 mm is a sample and a half of the usual line.
    static double window_mm(double radius_mm) { return std::clamp(radius_mm / 2, 3.0, 8.0); }

    [[nodiscard]] RunPlan plan_of(const FlangePanel& panel, bool is_only) const {
        const std::size_t count = line_.size();
        CRADLEWRIGHT_PRECONDITION(panel.first < count && panel.last < count);
        const bool is_ring = is_only && (panel.first == panel.last || (panel.last + 1) % count == panel.first);
        RunPlan plan;
        plan.panel = &panel;
        plan.samples = samples_of(panel, count, is_ring);
        plan.first_top = top_near(panel, line_[plan.samples.front()]);
        plan.last_top = top_near(panel, line_[plan.samples.back()]);
        plan.is_ring = is_ring;
        return plan;
    }

    [[nodiscard]] static bool follows(const RunPlan& a, const RunPlan& b) {
        return &a != &b && a.samples.back() == b.samples.front() && b.samples.size() > 1 && a.samples.size() > 1;
    }

    [[nodiscard]] Vec3 mitre_between(const RunPlan& a, const RunPlan& b) const {
        const LineTurn& turn = turns_[b.samples.front()];
        return mitre_direction(a.last_top, b.first_top, outward_of(turn.arriving, a.last_top),
                               outward_of(turn.leaving, b.first_top));
    }

    void set_stations(RunPlan& plan, const RunPlan& before, const RunPlan& after) const {
        const std::size_t count = plan.samples.size();
        if (count < 2) return;
        for (std::size_t k = 0; k < count; ++k) {
            const LineTurn& turn = turns_[plan.samples[k]];
            const Plane top = top_near(*plan.panel, line_[plan.samples[k]]);
            Vec3 from = outward_of(turn.arriving, top), to = outward_of(turn.leaving, top);
            if (k == 0 && !plan.is_ring) from = follows(before, plan) ? start_mitre(plan, before, to) : to;
            if (k + 1 == count && !plan.is_ring) to = follows(plan, after) ? end_mitre(plan, after, from) : from;
            add_swing(plan.stations, top.project(line_[plan.samples[k]]), from, to, top.normal);
        }
    }

    /// First direction of a run's swing at its mitre; where the outline turns inward, the run's own.
    Vec3 start_mitre(RunPlan& plan, const RunPlan& before, Vec3 own) const {
        const Vec3 mitre = plan.first_top.along(mitre_between(before, plan));
        const Vec3 joint = line_[plan.samples.front()], toward = cross(mitre, plan.first_top.normal);
        plan.before = find_valley(plan.first_top, before.last_top, joint, mitre, toward, radius_);
        plan.before_below =
            find_valley(flipped(plan.first_top), flipped(before.last_top), joint, mitre, toward, radius_);
        return signed_angle(mitre, own, plan.first_top.normal) > 0 ? mitre : own;
    }
    Vec3 end_mitre(RunPlan& plan, const RunPlan& after, Vec3 own) const {
        const Vec3 mitre = plan.last_top.along(mitre_between(plan, after));
        const Vec3 joint = line_[plan.samples.back()], toward = cross(plan.last_top.normal, mitre);
        plan.after = find_valley(plan.last_top, after.first_top, joint, mitre, toward, radius_);
        plan.after_below = find_valley(flipped(plan.last_top), flipped(after.first_top), joint, mitre, toward, radius_);
        return signed_angle(own, mitre, plan.last_top.normal) > 0 ? mitre : own;
    }

    const std::vector<Vec3>& line_;
    double radius_;
    std::vector<LineTurn> turns_;
};

}  // namespace

std::vector<LineTurn> line_turns(const std::vector<Vec3>& line, double window_mm, double corner_rad) {
    CRADLEWRIGHT_PRECONDITION(line.size() >= 3);
    LineReader reader(line, window_mm);
    std::vector<bool> is_corner(line.size());
    for (std::size_t i = 0; i < line.size(); ++i) is_corner[i] = reader.turns_for_good(i, corner_rad);
    reader.set_corners(is_corner);
    std::vector<LineTurn> turns(line.size());
    for (std::size_t i = 0; i < line.size(); ++i) {
        turns[i] = {reader.arriving(i), reader.leaving(i), is_corner[i]};
        if (!is_corner[i]) turns[i].arriving = turns[i].leaving = normalized(turns[i].arriving + turns[i].leaving);
    }
    return turns;
}

std::vector<RunPlan> plan_beads(const Parting& parting, const Flange& flange, double radius_mm) {
    std::vector<std::vector<const FlangePanel*>> by_loop(parting.loops.size());
    for (const FlangePanel& panel : flange.panels) {
        CRADLEWRIGHT_PRECONDITION(panel.loop < by_loop.size());
        by_loop[panel.loop].push_back(&panel);
    }
    std::vector<RunPlan> plans;
    for (std::size_t loop = 0; loop < by_loop.size(); ++loop) {
        if (by_loop[loop].empty()) continue;
        auto own = LoopPlanner(parting.loops[loop].panel_line, radius_mm).plan(by_loop[loop]);
        std::ranges::move(own, std::back_inserter(plans));
    }
    return plans;
}

}  // namespace cradlewright
