// SPDX-License-Identifier: GPL-3.0-or-later
// Does the mould's edge grip: the edge is where the bead leaves the plug, or the panel line without a bead.
#include <algorithm>
#include <cmath>
#include <vector>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"

namespace cradlewright {
namespace {

constexpr double step_mm = 0.25;            // between the heights at which the overhang is measured
constexpr double look_without_bead_mm = 5;  // how far above a bare panel line

/// A place of half 1's edge.
struct EdgePlace {
    Vec3 at, outward;  ///< fixture frame; outward square to the pull
    double look_mm = 0;
    double radius_mm = 0, strip_mm = 0;  ///< of the bead; 0 = none
};

/// Places where the plug may still widen above the edge: where a bead's foot turns away from the pull, and all of a
/// bare panel line, whose normals are no more exact than the scan.
std::vector<EdgePlace> doubtful_places(const Design& design) {
    const Vec3 pull = design.posed.pose.pull_fixture;
    std::vector<EdgePlace> places;
    if (!(design.beads.radius_mm > 0)) {
        for (const PartingLoop& loop : design.parting.loops)
            for (std::size_t i = 0; i < loop.panel_line.size(); ++i)
                places.push_back({loop.panel_line[i], loop.outward[i], look_without_bead_mm, 0, 0});
        return places;
    }
    for (const BeadRun& run : design.beads.runs)
        for (const BeadSection& s : run.sections) {
            if (!s.is_valid) continue;
            const Vec3 normal = s.center - s.on_plug;
            const double lift = dot(normal, pull);
            const Vec3 outward = normal - pull * lift;
            if (lift >= 0 || norm(outward) == 0) continue;
            places.push_back({s.on_plug, normalized(outward), 2 * std::max(s.plug_strip_mm, run.radius_mm),
                              run.radius_mm, s.plug_strip_mm});
        }
    return places;
}

struct Overhang {
    double depth_mm = 0, rise_mm = 0;  ///< how far the plug reaches out over the place, and how high above it
};

/// Rays from outside meet the plug's outline at rising heights; how far out it stands beside the place itself is taken
/// off, since a smoothed panel line runs a little inside a coarse mesh.
Overhang overhang_at(const EdgePlace& place, const Design& design, const MeshIndex& index) {
    const Pose& pose = design.posed.pose;
    const Vec3 inward = pose.scan_to_fixture.direction_to_local(-place.outward);
    const auto outline_at = [&](double rise) {
        const Vec3 from = place.at + pose.pull_fixture * rise + place.outward * place.look_mm;
        const auto hit = index.first_hit(pose.to_scan(from), inward);
        // A face met from behind belongs to another part of the plug, inside which the ray began.
        const bool is_outline = hit && dot(area_vector(design.posed.mesh().corners(hit->face)), inward) < 0;
        return is_outline ? place.look_mm - hit->distance_mm : -place.look_mm;
    };
    const double beside_mm = std::max(0.0, outline_at(0));
    Overhang worst;
    for (double rise = step_mm; rise <= place.look_mm; rise += step_mm) {
        const double depth = outline_at(rise) - beside_mm;
        if (depth > worst.depth_mm) worst = {depth, rise};
    }
    return worst;
}

/// A bead whose foot lies above the widest place: its strip on the plug grows with its radius.
std::string lock_advice(const Design& design, const EdgePlace& place, const Overhang& lock) {
    if (!(place.radius_mm > 0) || !(place.strip_mm > 0))
        return "take " + length_to_set(design.settings, lock.depth_mm, Rounding::up) +
               " off the plug above the panel line there";
    // The strip bends, so it is longer than its chord: by at most pi / 2 up to the widest place.
    constexpr double most_bend = 1.5708;
    const double more_mm = most_bend * std::hypot(lock.rise_mm, lock.depth_mm);
    return "set bead.radius to " +
           length_to_set(design.settings, place.radius_mm * (1 + more_mm / place.strip_mm), Rounding::up) +
           ", so that the mould's edge lies above the widest line";
}

}  // namespace

std::vector<Check> check_release_lock(const Design& design) {
    if (!design.parting.is_found()) return {unknown_check("release.lock", "half 1", design.parting.reason)};
    const auto has_valid = [](const BeadRun& run) { return run.valid_count() > 0; };
    if (design.beads.radius_mm > 0 && std::ranges::none_of(design.beads.runs, has_valid))
        return {unknown_check("release.lock", "half 1", "the bead finds no place between plug and panels")};
    const std::vector<EdgePlace> places = doubtful_places(design);
    Overhang worst;
    const EdgePlace* where = nullptr;
    if (!places.empty()) {
        std::vector<Vec3> in_scan;
        double reach = 0;
        for (const EdgePlace& place : places) {
            in_scan.push_back(design.posed.pose.to_scan(place.at));
            reach = std::max(reach, 1.5 * place.look_mm);
        }
        const MeshIndex index(design.posed.mesh(), faces_near(design.posed.mesh(), in_scan, reach));
        for (const EdgePlace& place : places) {
            const Overhang here = overhang_at(place, design, index);
            if (here.depth_mm <= worst.depth_mm) continue;
            worst = here;
            where = &place;
        }
    }
    const double doubt = where ? 2 * design.posed.plug.noise_mm : 0;
    Check c;
    c.id = "release.lock";
    c.subject = "half 1";
    c.value = Quantity::of(Length::mm(worst.depth_mm));
    c.low = Quantity::of(Length::mm(std::max(0.0, worst.depth_mm - doubt)));
    c.high = Quantity::of(Length::mm(worst.depth_mm + doubt));
    c.limit = Quantity::of(design.settings.release.undercut_limit);
    c.relation = Relation::at_most;
    if (where) c.at = where->at;
    c.formula =
        "0 where n . pull >= 0 at the bead's tangent, else how far the plug reaches out above that place; on a "
        "round edge r (1 - cos(u / r))";
    c.source = Source::derived("removal condition at the mould's edge; shrinkage grips are a check of their own");
    c = judged(std::move(c));
    c.advice = c.verdict == Verdict::pass ? "the mould's edge lets go everywhere" : lock_advice(design, *where, worst);
    return {std::move(c)};
}

}  // namespace cradlewright
