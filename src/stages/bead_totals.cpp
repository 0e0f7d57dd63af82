// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/bead_totals.hpp"

#include <algorithm>

#include "cradlewright/geom/polyline.hpp"

namespace cradlewright {

namespace {

/// Clay between two sections: mean area times the way of its centroid. Source: second theorem of Pappus, per step.
double clay_between(const BeadSection& a, const BeadSection& b) {
    return (a.area_mm2 + b.area_mm2) / 2 * norm(b.clay_center - a.clay_center);
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

}  // namespace

std::vector<const BeadSection*> valid_sections(const BeadRun& run) {
    std::vector<const BeadSection*> valid;
    for (const BeadSection& section : run.sections)
        if (section.is_valid) valid.push_back(&section);
    return valid;
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
    run.volume_mm3 = clay_along(run, bridge_radii * std::max(run.radius_mm, run.ramp_height_mm));
}

namespace {

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

}  // namespace

std::vector<Vec3> join_runs(std::vector<BeadRun>& runs, const std::vector<RunPlan>& plans, std::size_t loop,
                            const std::vector<Vec3>& line, double tolerance_mm) {
    return LoopJoiner(runs, plans, loop, line, tolerance_mm).join();
}

}  // namespace cradlewright
