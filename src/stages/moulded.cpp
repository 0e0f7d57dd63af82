// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/moulded.hpp"

#include <cmath>
#include <limits>

#include "base/quantile.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "geom/point_index.hpp"

namespace cradlewright {

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
    double nearest = std::numeric_limits<double>::infinity();
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

}  // namespace cradlewright
