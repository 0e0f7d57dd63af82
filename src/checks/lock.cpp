// SPDX-License-Identifier: GPL-3.0-or-later
// Does the mould's edge grip: overrun, split, bead and shrinkage together, measured in stages/edge_lock.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "cradlewright/stages/mould_skin.hpp"

namespace cradlewright {
namespace {

double limit_of(const Design& design) { return design.settings.release.undercut_limit.mm(); }

/// "overrun 0.43 mm, bead -0.23 mm, shrinkage 0.02 mm": the parts that are not nothing.
std::string parts_text(const Settings& settings, const EdgeLock& lock) {
    std::string text;
    const auto add = [&](const char* name, double mm) {
        constexpr double least_shown_mm = 0.005;
        if (std::abs(mm) < least_shown_mm) return;
        text += (text.empty() ? "" : ", ") + std::string(name) + " " + length_text(settings, mm);
    };
    add("overrun", lock.overrun_mm);
    add("split", lock.split_mm);
    add("bead", lock.bead_mm);
    add("shrinkage", lock.shrinkage_mm);
    return text;
}

const PartingEdge* edge_of(const Design& design, const std::string& id) {
    for (const PartingLoop& loop : design.parting.loops)
        for (const PartingEdge& edge : loop.edges)
            if (edge.id == id) return &edge;
    return nullptr;
}

std::string off_the_plug(const Design& design, const EdgeLock& lock) {
    return "take " + length_to_set(design.settings, lock.overhang_mm(), Rounding::up) +
           " off the plug above the mould's edge there";
}

/// An overrun to set so that the edge lies where what is left above it passes; empty where none was told.
std::string smaller_overrun(const Design& design, const EdgeLock& lock) {
    const auto told = design.settings.edges.find(lock.edge);
    if (told == design.settings.edges.end() || !told->second.overrun) return {};
    const double left_mm = std::max(0.0, std::abs(told->second.overrun->mm()) - lock.arc_back_mm);
    const std::string sign = told->second.overrun->mm() < 0 && left_mm > 0 ? "-" : "";
    return "edge." + lock.edge + ".overrun to " + sign + length_to_set(design.settings, left_mm, Rounding::down);
}

/// A bead whose foot lies above the widest place: its strip on the plug grows with its radius.
std::string wider_bead(const Design& design, const EdgeLock& lock) {
    // The strip bends, so it is longer than its chord: by at most pi / 2 up to the widest place.
    const double more_mm = std::numbers::pi / 2 * std::hypot(lock.rise_mm, lock.overhang_mm());
    const double radius_mm = lock.bead_radius_mm * (1 + more_mm / lock.strip_mm);
    return "bead.radius to " + length_to_set(design.settings, radius_mm, Rounding::up) +
           ", so that the mould's edge lies above the widest line";
}

std::string overrun_advice(const Design& design, const EdgeLock& lock) {
    const std::string overrun = smaller_overrun(design, lock);
    if (lock.bead_radius_mm > 0 && lock.strip_mm > 0)
        return "set " + wider_bead(design, lock) + (overrun.empty() ? "" : ", or " + overrun);
    return overrun.empty() ? off_the_plug(design, lock) : "set " + overrun;
}

/// The other half of the same edge, when that is held by its part of the strip as well.
bool holds_both(const Design& design, const EdgeLock& lock) {
    return std::ranges::any_of(design.locks, [&](const EdgeLock& other) {
        return other.edge == lock.edge && other.half != lock.half && other.holds == LockCause::split &&
               other.depth_mm.high > limit_of(design);
    });
}

std::string split_advice(const Design& design, const EdgeLock& lock) {
    const PartingEdge* edge = edge_of(design, lock.edge);
    const auto told = design.settings.edges.find(lock.edge);
    if (!edge || !(edge->strip_mm > 0) || told == design.settings.edges.end() || !told->second.split ||
        holds_both(design, lock))
        return off_the_plug(design, lock) + ", where its strip leans against this half";
    const double way = (lock.half == 1 ? -1 : 1) * lock.arc_back_mm / edge->strip_mm;
    constexpr double step = 0.01;
    const double share = rounded_to(*told->second.split + way, step, lock.half == 1 ? Rounding::down : Rounding::up);
    return "set edge." + lock.edge + ".split to " + fixed(std::clamp(share, 0.0, 1.0), 2) +
           ", so that this half takes less of the strip that leans against it";
}

/// A calmer resin, or where none is calm enough the draft with which the wedges free the mould.
std::string shrinkage_advice(const Design& design, const EdgeLock& lock, double allowed_mm) {
    const Settings& settings = design.settings;
    const Laminate laminate = make_laminate(settings, settings.laminate_mould, "laminate.mould.plies");
    const double allowed = (allowed_mm + std::max(0.0, lock.drop_mm)) / lock.half_width_mm;
    const double volume = calmest_resin(settings, laminate, allowed);
    const double grip_mm = lock.half_width_mm * mould_shrinkage(settings, laminate, resin_shrinkage(settings)).high;
    const double draft = std::atan(std::max(0.0, grip_mm - allowed_mm) / settings.release.wedge_lift.mm());
    const std::string lean = "lean the wall above the mould's edge to " +
                             fixed(rounded_to(Angle::rad(draft).deg(), 0.1, Rounding::up), 1) + " deg of draft";
    if (!(volume > 0)) return lean;
    return "take a resin that shrinks by at most " + fixed(100 * volume, 1) +
           " % of its volume (mould.resin-shrinkage), or " + lean;
}

std::string lock_advice(const Design& design, const EdgeLock& lock) {
    const double limit = limit_of(design), out = lock.overhang_mm();
    const double out_high = out > 0 ? out + 2 * design.posed.plug.noise_mm : 0;
    const bool frees_overhang = lock.holds != LockCause::shrinkage || out_high > limit;
    std::string todo;
    if (frees_overhang && out > 0) todo = lock.split_mm > 0 ? split_advice(design, lock) : overrun_advice(design, lock);
    const double grip_high = lock.depth_mm.high - out_high;
    if (!frees_overhang || grip_high > limit)
        todo +=
            (todo.empty() ? "" : "; and ") + shrinkage_advice(design, lock, limit - (frees_overhang ? 0.0 : out_high));
    if (lock.holds == LockCause::none)
        return "it lets go, but may grip at the high end of the resin's shrinkage; to be sure: " + todo;
    return std::string(lock_cause_name(lock.holds)) + " holds it (" + parts_text(design.settings, lock) + "): " + todo;
}

Check lock_check(const Design& design, const EdgeLock& lock) {
    Check c;
    c.id = "release.lock";
    c.subject = "half " + std::to_string(lock.half) + ", " + lock.edge;
    c.value = Quantity::of(Length::mm(lock.depth_mm.value));
    c.low = Quantity::of(Length::mm(lock.depth_mm.low));
    c.high = Quantity::of(Length::mm(lock.depth_mm.high));
    c.limit = Quantity::of(design.settings.release.undercut_limit);
    c.relation = Relation::at_most;
    c.at = lock.at;
    c.formula =
        "what the plug reaches out over the mould's edge, 0 where n . pull >= 0 at the bead's tangent; on a round edge "
        "(r + R)(1 - cos d), without a bead r (1 - cos(u / r)); plus the mould's shrinkage times half the width, less "
        "what the wall draws in within the wedges' lift";
    c.source = Source::derived("removal condition at the mould's edge; shrinkage as in mould.shrinkage");
    c = judged(std::move(c));
    if (c.verdict != Verdict::pass) {
        c.advice = lock_advice(design, lock);
        return c;
    }
    const std::string parts = parts_text(design.settings, lock);
    c.advice = "the mould's edge lets go" + (parts.empty() ? "" : ": " + parts);
    return c;
}

}  // namespace

std::vector<Check> check_release_lock(const Design& design) {
    if (!design.parting.is_found()) return {unknown_check("release.lock", "half 1", design.parting.reason)};
    if (design.locks.empty())
        return {unknown_check("release.lock", "half 1", "the bead finds no place between plug and panels")};
    std::vector<Check> checks;
    for (const EdgeLock& lock : design.locks) checks.push_back(lock_check(design, lock));
    return checks;
}

}  // namespace cradlewright
