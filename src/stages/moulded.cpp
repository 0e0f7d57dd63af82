// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/moulded.hpp"

#include <cmath>
#include <limits>

#include "base/quantile.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "geom/point_index.hpp"

namespace cradlewright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Faces that the bead hides, in face order: their middles are no further from the line than the bead reaches up the
/// plug at the nearest of its sections. A face under the bead is not moulded.
std::vector<FaceId> faces_under_beads(const PosedPlug& posed, const Parting& parting, const Beads& beads) {
    const double widest = beads.max_plug_strip_mm;
    if (!(widest > 0)) return {};
    std::vector<Vec3> feet, line, line_in_scan;
    std::vector<double> strip_mm;
    for (const BeadRun& run : beads.runs)
        for (const BeadSection& s : run.sections)
            if (s.is_valid) {
                feet.push_back(s.on_plug);
                strip_mm.push_back(s.plug_strip_mm);
            }
    for (const PartingLoop& loop : parting.loops)
        for (const Vec3& p : loop.panel_line) {
            line.push_back(p);
            line_in_scan.push_back(posed.pose.to_scan(p));
        }
    const PointIndex feet_index(feet), line_index(line);
    if (feet.empty() || line.empty()) return {};
    std::vector<FaceId> hidden;
    Vec3 last;             // place looked at last,
    double spare_mm = -1;  // and how far from there nothing is within reach of the line either
    for (const FaceId f : faces_near(posed.mesh(), line_in_scan, widest)) {
        const auto c = posed.mesh().corners(f);
        const Vec3 p = posed.pose.to_fixture((c[0] + c[1] + c[2]) / 3);
        if (norm(p - last) < spare_mm) continue;
        const double distance_mm = line_index.nearest(p, infinity)->distance_mm;
        last = p;
        spare_mm = distance_mm - widest;
        if (distance_mm <= widest && distance_mm <= strip_mm[feet_index.nearest(p, infinity)->index])
            hidden.push_back(f);
    }
    return hidden;
}

}  // namespace

MouldedDraft moulded_draft(const PosedPlug& posed, const Parting& parting, const std::vector<float>& draft_rad,
                           std::uint8_t half, const std::vector<FaceId>& hidden, double share) {
    const TriMesh& mesh = posed.mesh();
    CRADLEWRIGHT_PRECONDITION(draft_rad.size() == mesh.face_count() && parting.half.size() == mesh.face_count());
    std::vector<WeightedValue> drafts;
    std::vector<FaceId> faces;
    auto skip = hidden.begin();
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        while (skip != hidden.end() && *skip < f) ++skip;
        if (skip != hidden.end() && *skip == f) continue;
        if (parting.half[f] != half || mesh.origin_of(f) == FaceOrigin::assumed) continue;
        const auto area = static_cast<float>(norm(area_vector(mesh.corners(f))) / 2);
        drafts.push_back({half == 1 ? draft_rad[f] : -draft_rad[f], area});
        faces.push_back(f);
    }
    MouldedDraft found;
    found.rad = weighted_quantile(drafts, share);
    double nearest = infinity;
    for (std::size_t i = 0; i < faces.size(); ++i) {
        const double off = std::abs(static_cast<double>(drafts[i].value) - found.rad);
        if (off < nearest) nearest = off, found.face = faces[i];
    }
    return found;
}

std::vector<FaceId> faces_under_ball(const PosedPlug& posed, const Parting& parting,
                                     const std::vector<float>& draft_rad, double radius_mm) {
    std::vector<Vec3> line, line_in_scan;
    for (const PartingLoop& loop : parting.loops)
        for (const Vec3& p : loop.panel_line) {
            line.push_back(p);
            line_in_scan.push_back(posed.pose.to_scan(p));
        }
    if (line.empty() || !(radius_mm > 0)) return {};
    const PointIndex index(line);
    // Up a wall the foot is a radius from the line; under 44 deg between plug and panel no ball is rolled, and there it
    // is r cot(22 deg).
    const double reach = 2.5 * radius_mm;
    std::vector<FaceId> hidden;
    for (const FaceId f : faces_near(posed.mesh(), line_in_scan, reach)) {
        const auto c = posed.mesh().corners(f);
        const Vec3 p = posed.pose.to_fixture((c[0] + c[1] + c[2]) / 3);
        const auto near = index.nearest(p, reach);
        if (!near) continue;
        const double side = parting.half[f] == 1 ? 1 : -1;
        const double height = side * dot(p - line[near->index], posed.pose.pull_fixture);
        if (height < radius_mm * (1 - std::sin(side * double{draft_rad[f]}))) hidden.push_back(f);
    }
    return hidden;
}

HiddenFaces hidden_by_beads(const PosedPlug& posed, const Parting& parting, const Beads& beads,
                            const std::vector<float>& draft_rad) {
    return {faces_under_beads(posed, parting, beads), faces_under_ball(posed, parting, draft_rad, beads.radius_mm)};
}

void leave_out_hidden(const PosedPlug& posed, const ReleaseMap& map, const Parting& parting, const HiddenFaces& hidden,
                      const ReleaseOptions& options, Release& release) {
    const auto set = [&](HalfRelease& half, std::uint8_t number, const std::vector<FaceId>& faces) {
        const MouldedDraft draft =
            moulded_draft(posed, parting, release.draft_of(number), number, faces, options.draft_quantile);
        half.draft_p01_deg = Angle::rad(draft.rad).deg();
        half.draft_at.reset();
        if (draft.face == no_id) return;
        const auto c = posed.mesh().corners(draft.face);
        half.draft_at = posed.pose.to_fixture((c[0] + c[1] + c[2]) / 3);
    };
    set(release.half1, 1, hidden.half1);
    set(release.half2, 2, hidden.half2);
    leave_out_undercut(posed, map, parting, options, hidden.half1, hidden.half2, release);
}

}  // namespace cradlewright
