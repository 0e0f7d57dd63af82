// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/hardware_room.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace cradlewright {
namespace {

constexpr double under_mm = 1;  // below a panel's underside lies what carries it, glue or not
constexpr double into_mm = 4;   // and its shape is asked so deep, clear of bevels and rounded tops
constexpr double rim_step_mm = 0.5;
constexpr double kiss_mm = 0.001;  // what just fits, fits, however its coordinates round

double wrapped(double s, double length) {
    const double rest = std::fmod(s, length);
    return rest < 0 ? rest + length : rest;
}

void widen(std::map<std::string, double>& foot, const std::vector<BeadRun>& runs) {
    for (const BeadRun& run : runs)
        for (const BeadSection& section : run.sections)
            if (section.is_valid) {
                double& widest = foot[run.panel];
                widest = std::max(widest, norm(section.on_panel - section.joint));
            }
}

}  // namespace

std::optional<Spot> spot_on(const FlangePanel& panel, Vec3 line_point, Vec3 outward, double reach_mm) {
    Spot spot;
    spot.panel = &panel;
    spot.reach_mm = reach_mm;
    // On a bent panel the place may lie on another flat than the line beside it.
    Vec3 near = line_point;
    for (const int flats : {0, 1}) {
        if (flats > 0 && !panel.is_curved()) break;
        const FlangePanel::Top top = panel.top_near(near);
        spot.normal = normalized(top.normal);
        spot.out = normalized(outward - spot.normal * dot(outward, spot.normal));
        if (!(norm(spot.out) > 0)) return std::nullopt;
        const Vec3 joint = line_point - spot.normal * dot(line_point - top.point, spot.normal);
        near = spot.at = joint + spot.out * reach_mm;
    }
    const Frame3& frame = frame_near(panel.part, spot.at);
    const Vec3 flat = frame.to_local(spot.at), flat_out = frame.direction_to_local(spot.out);
    spot.flat = {flat.x, flat.y};
    spot.flat_out = {flat_out.x, flat_out.y};
    return spot;
}

// ---- along the line

LoopWalk::LoopWalk(const PartingLoop& loop, std::size_t number, const PosedPlug& posed, const Flange& flange)
    : loop_(&loop), panel_of_(loop.panel_line.size(), nullptr) {
    const std::size_t n = loop.panel_line.size();
    far_.push_back(0);
    for (std::size_t i = 0; i < n; ++i)
        far_.push_back(far_.back() + norm(loop.panel_line[(i + 1) % n] - loop.panel_line[i]));
    length_ = far_.back();
    start_ = start(posed);
    for (const FlangePanel& panel : flange.panels) {
        if (panel.loop != number || panel.part.outline.outer.vertices.empty()) continue;
        std::size_t i = panel.first;
        do {
            panel_of_[i] = &panel;
            i = (i + 1) % n;
        } while (i != panel.last);
    }
}

double LoopWalk::start(const PosedPlug& posed) const {
    const Pose& pose = posed.pose;
    const std::size_t n = loop_->panel_line.size();
    Vec3 middle{};
    for (std::size_t i = 0; i < n; ++i)
        middle += (loop_->panel_line[i] + loop_->panel_line[(i + 1) % n]) * (0.5 * (far_[i + 1] - far_[i]) / length_);
    const Vec3 along = pose.scan_to_fixture.direction_to_parent(pose.plug_in_scan.x);
    const Frame3 plan = frame_from_normal(middle, pose.pull_fixture, along);
    double best = -std::numeric_limits<double>::infinity(), start = 0;
    for (std::size_t i = 0; i < n; ++i) {
        const Vec3 a = plan.to_local(loop_->panel_line[i]), b = plan.to_local(loop_->panel_line[(i + 1) % n]);
        if ((a.y < 0) == (b.y < 0)) continue;
        const double share = a.y / (a.y - b.y), x = a.x + (b.x - a.x) * share;
        if (x <= best) continue;
        best = x;
        start = far_[i] + share * (far_[i + 1] - far_[i]);
    }
    return start;
}

double LoopWalk::along(std::size_t i) const { return wrapped(far_[i] - start_, length_); }

LoopWalk::Place LoopWalk::place(double s) const {
    const double far = wrapped(s + start_, length_);
    const auto next = std::upper_bound(far_.begin() + 1, far_.end() - 1, far);
    const auto i = static_cast<std::size_t>(next - far_.begin()) - 1;
    const double piece = far_[i + 1] - far_[i];
    return {i, piece > 0 ? std::min(1.0, (far - far_[i]) / piece) : 0};
}

const FlangePanel* LoopWalk::panel(double s) const { return panel_of_[place(s).index]; }

std::optional<Spot> LoopWalk::spot(double s, double reach_mm) const {
    const Place p = place(s);
    const FlangePanel* panel = panel_of_[p.index];
    if (panel == nullptr) return std::nullopt;
    const std::size_t next = (p.index + 1) % loop_->panel_line.size();
    const Vec3 at = loop_->panel_line[p.index] * (1 - p.share) + loop_->panel_line[next] * p.share;
    // At a corner the loop's own outward looks between two panels.
    const std::size_t n = loop_->panel_line.size();
    const bool is_ring = panel->first == panel->last;
    const std::size_t from = !is_ring && p.index == panel->first ? next : p.index;
    const std::size_t to = !is_ring && next == panel->last ? p.index : next;
    const bool is_one_piece = (panel->last + n - panel->first) % n == 1;
    const Vec3 outward = is_one_piece ? loop_->outward[p.index] + loop_->outward[next]
                                      : loop_->outward[from] * (1 - p.share) + loop_->outward[to] * p.share;
    return spot_on(*panel, at, outward, reach_mm);
}

// ---- on and under the panels

FlangeRoom::FlangeRoom(const Flange& flange, const Cradle& cradle, const Beads& beads) : cradle_(cradle) {
    for (const FlangePanel& panel : flange.panels) foot_[panel.id] = 0;
    widen(foot_, beads.runs);
    if (beads.groove) widen(foot_, beads.groove->runs);
}

double FlangeRoom::foot_mm(const FlangePanel& panel) const { return foot_.at(panel.id); }

const Polygons& FlangeRoom::inset(const FlangePanel& panel, double by_mm) {
    const auto [entry, is_new] = insets_.try_emplace({panel.id, by_mm});
    if (is_new) {
        const Polygons whole = to_polygons(panel.part.outline);
        entry->second = by_mm > 0 ? offset(whole, kiss_mm - by_mm) : whole;
    }
    return entry->second;
}

bool FlangeRoom::is_on_panel(const Spot& spot, double clear_mm) {
    return contains(inset(*spot.panel, clear_mm), spot.flat);
}

void FlangeRoom::grow_uprights(double by_mm) {
    if (!uprights_.empty() && uprights_.front().by_mm == by_mm) return;
    uprights_.clear();
    const auto add = [&](const PlatePart& part) {
        if (!part.outline.outer.vertices.empty())
            uprights_.push_back({&part, offset(to_polygons(part.outline), by_mm), by_mm});
    };
    for (const PlatePart* plate : standing_plates(cradle_)) add(*plate);
    for (const Stringer& stringer : cradle_.stringers) add(stringer.part);
}

bool FlangeRoom::is_clear_below(const Spot& spot, double clear_mm) {
    grow_uprights(clear_mm);
    const double thickness = spot.panel->part.thickness_mm;
    return std::none_of(uprights_.begin(), uprights_.end(), [&](const Upright& upright) {
        for (const double depth : {under_mm, into_mm}) {
            const Vec3 p = spot.at - spot.normal * (thickness + depth);
            const Vec3 q = upright.part->frame.to_local(p);
            if (q.z > -upright.part->thickness_mm - clear_mm && q.z < clear_mm && contains(upright.grown, {q.x, q.y}))
                return true;
        }
        return false;
    });
}

double FlangeRoom::rim_mm(const LoopWalk& walk, double s, double from_mm) {
    const FlangePanel* panel = walk.panel(s);
    if (panel == nullptr) return 0;
    const auto is_on = [&](double reach) {
        const std::optional<Spot> spot = walk.spot(s, reach);
        return spot && is_on_panel(*spot, 0);
    };
    if (!is_on(from_mm)) return 0;
    double in = from_mm, out = from_mm;
    while (is_on(out)) {
        in = out;
        out += rim_step_mm;
    }
    for (int i = 0; i < 24; ++i) (is_on((in + out) / 2) ? in : out) = (in + out) / 2;
    return in;
}

}  // namespace cradlewright
