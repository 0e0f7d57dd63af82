// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "checks/families.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/stages/moulded.hpp"
#include "geom/point_index.hpp"

namespace cradlewright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
const Source removal_source{"de-berg", "ch. 4, Lemma 4.1"};

/// Faces that the bead hides, in face order: their middles are no further from the line than the bead reaches up the
/// plug at the nearest of its sections. A face under the bead is not moulded.
std::vector<FaceId> faces_under_beads(const Design& design) {
    const double widest = design.beads.max_plug_strip_mm;
    if (!(widest > 0)) return {};
    std::vector<Vec3> feet, line, line_in_scan;
    std::vector<double> strip_mm;
    for (const BeadRun& run : design.beads.runs)
        for (const BeadSection& s : run.sections)
            if (s.is_valid) {
                feet.push_back(s.on_plug);
                strip_mm.push_back(s.plug_strip_mm);
            }
    for (const PartingLoop& loop : design.parting.loops)
        for (const Vec3& p : loop.panel_line) {
            line.push_back(p);
            line_in_scan.push_back(design.posed.pose.to_scan(p));
        }
    const PointIndex feet_index(feet), line_index(line);
    if (feet.empty() || line.empty()) return {};
    std::vector<FaceId> hidden;
    Vec3 last;             // place looked at last,
    double spare_mm = -1;  // and how far from there nothing is within reach of the line either
    for (const FaceId f : faces_near(design.posed.mesh(), line_in_scan, widest)) {
        const auto c = design.posed.mesh().corners(f);
        const Vec3 p = design.posed.pose.to_fixture((c[0] + c[1] + c[2]) / 3);
        if (norm(p - last) < spare_mm) continue;
        const double distance_mm = line_index.nearest(p, infinity)->distance_mm;
        last = p;
        spare_mm = distance_mm - widest;
        if (distance_mm <= widest && distance_mm <= strip_mm[feet_index.nearest(p, infinity)->index])
            hidden.push_back(f);
    }
    return hidden;
}

std::string half_name(int half) { return "half " + std::to_string(half); }

Check undercut_check(const Design& design, int number, const HalfRelease& half) {
    Check c;
    c.id = "release.undercut";
    c.subject = half_name(number);
    c.value = c.low = c.high = Quantity::of(Length::mm(half.undercut_depth_mm));
    c.limit = Quantity::of(design.settings.release.undercut_limit);
    c.relation = Relation::at_most;
    c.formula = "largest shift square to the pull that frees a face the half covers";
    c.source = removal_source;
    const auto deepest =
        std::max_element(half.patches.begin(), half.patches.end(),
                         [](const LockedPatch& a, const LockedPatch& b) { return a.depth_mm < b.depth_mm; });
    c.advice = "the half lifts off clear";
    if (deepest != half.patches.end()) {
        c.at = deepest->at;
        c.advice = "fill the place to take out " + fixed(deepest->depth_mm, 1) + " mm over " +
                   fixed(deepest->area_mm2 / 100, 1) + " cm2, or make that part of the mould a loose piece";
        if (number == 1 && design.release.is_feasible)
            c.advice += "; a pull along " + fixed(design.release.best_pull_plug.x, 3) + "," +
                        fixed(design.release.best_pull_plug.y, 3) + "," + fixed(design.release.best_pull_plug.z, 3) +
                        " of the plug would leave " + fixed(design.release.best_draft_deg, 1) + " deg of draft";
    }
    return judged(std::move(c));
}

}  // namespace

std::vector<Check> check_release_draft(const Design& design) {
    if (!design.parting.is_found()) return {unknown_check("release.draft", "plug", design.parting.reason)};
    // Half 2's bead is rolled on the other side of the same flange, where the plug has another slope.
    const std::array<std::vector<FaceId>, 2> hidden{
        faces_under_beads(design),
        faces_under_ball(design.posed, design.parting, design.release.draft_rad, design.beads.radius_mm)};
    std::vector<Check> checks;
    for (const int half : {1, 2}) {
        const double draft =
            Angle::rad(moulded_draft_rad(design.posed, design.parting, design.release.draft_rad,
                                         static_cast<std::uint8_t>(half), hidden[static_cast<std::size_t>(half - 1)],
                                         design.settings.release.draft_quantile))
                .deg();
        if (std::isnan(draft)) {
            checks.push_back(
                not_applicable_check("release.draft", half_name(half), "no measured surface belongs to this half"));
            continue;
        }
        Check c;
        c.id = "release.draft";
        c.subject = half_name(half);
        c.value = Quantity::of(Angle::deg(draft));
        const double doubt = 0.5 * design.parting.band_deg;
        c.low = Quantity::of(Angle::deg(draft - doubt));
        c.high = Quantity::of(Angle::deg(draft + doubt));
        c.limit = Quantity::of(design.settings.release.min_draft);
        c.good = Quantity::of(design.settings.release.good_draft);
        c.relation = Relation::at_least;
        c.formula = "asin(n . pull) that all but the set share of the moulded area exceeds; bead strip left out";
        c.source = {"draft-trade-articles", "1 deg lower limit, 3 deg preferred"};
        c.advice = "draft is below " + fixed(design.settings.release.good_draft.deg(), 0) +
                   " deg on part of this half: lean its steep walls by " +
                   fixed(std::max(0.0, design.settings.release.good_draft.deg() - draft), 1) +
                   " deg more, give square ends a sloped block, or turn the plug with --tilt";
        if (draft >= design.settings.release.good_draft.deg()) c.advice = "enough draft: release as usual";
        checks.push_back(judged(std::move(c)));
    }
    return checks;
}

std::vector<Check> check_release_undercut(const Design& design) {
    if (!design.parting.is_found()) return {unknown_check("release.undercut", "plug", design.parting.reason)};
    return {undercut_check(design, 1, design.release.half1), undercut_check(design, 2, design.release.half2)};
}

std::vector<Check> check_release_lock(const Design& design) {
    if (design.beads.runs.empty()) return {unknown_check("release.lock", "half 1", "no bead was laid")};
    // The mould's edge is where the bead leaves the plug: if the plug still widens above that line, the edge grips by
    // the widening over the hidden strip.
    Check c;
    c.id = "release.lock";
    c.subject = "half 1";
    double worst = 0;
    for (const BeadRun& run : design.beads.runs)
        for (const BeadSection& s : run.sections) {
            if (!s.is_valid) continue;
            const Vec3 normal = normalized(s.center - s.on_plug);
            const double draft = std::asin(std::clamp(dot(normal, design.posed.pose.pull_fixture), -1.0, 1.0));
            const double lock = draft < 0 ? -std::sin(draft) * std::max(s.plug_strip_mm, run.radius_mm) : 0;
            if (lock < worst || (c.at && lock == worst)) continue;
            worst = lock;
            c.at = s.on_plug;
        }
    c.value = c.low = c.high = Quantity::of(Length::mm(worst));
    c.limit = Quantity::of(design.settings.release.undercut_limit);
    c.relation = Relation::at_most;
    c.formula = "0 where n . pull >= 0 at the bead's tangent, else the overhang over the hidden strip";
    c.source = Source::derived("removal condition at the mould's edge; shrinkage grips are a later check");
    c.advice = worst > 0 ? "a bead larger by " + fixed(worst, 1) + " mm moves the mould's edge above the widest line"
                         : "the mould's edge lies above the widest line everywhere";
    return {judged(std::move(c))};
}

std::vector<Check> check_release_flange(const Design& design) {
    if (design.flange.panels.empty()) return {unknown_check("release.flange", "flange", "no panel was laid")};
    std::vector<Check> checks;
    for (const FlangePanel& panel : design.flange.panels) {
        // Half 2 is laid on half 1's flange, so the same plane must leave along both pulls; pull 2 = -pull 1.
        const double lift = std::asin(std::clamp(dot(panel.normal, design.posed.pose.pull_fixture), -1.0, 1.0));
        Check c;
        c.id = "release.flange";
        c.subject = panel.id;
        c.value = c.low = c.high = Quantity::of(Angle::rad(lift));
        c.limit = Quantity::of(design.settings.release.good_draft);
        c.relation = Relation::at_least;
        c.at = panel.point;
        c.formula = "asin(panel normal . pull), the same for both halves";
        c.source = removal_source;
        c.advice = "panel leans " + fixed(90 - Angle::rad(lift).deg(), 0) + " deg from square to the pull; keep edge." +
                   panel.edge + ".slope under " + fixed(90 - design.settings.release.good_draft.deg(), 0) + " deg";
        checks.push_back(judged(std::move(c)));
    }
    return checks;
}

}  // namespace cradlewright
