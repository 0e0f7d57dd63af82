// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/mirror_half.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"

namespace cradlewright {

namespace {

/// Brings rim and overhang on to the plane and says which points then lie in it.
std::vector<char> flatten_rim(MirroredHalf& half, const Opening& opening) {
    std::vector<char> is_on_plane(half.mesh.vertices.size(), 0);
    for (const VertexId v : opening.loop) is_on_plane[v] = 1;
    for (VertexId v = 0; v < is_on_plane.size(); ++v) {
        Vec3& p = half.mesh.vertices[v];
        const double beyond = dot(p - half.on_plane, half.normal);
        if (is_on_plane[v] == 0 && beyond < 0) continue;
        is_on_plane[v] = 1;
        p = p - half.normal * beyond;
        half.largest_move_mm = std::max(half.largest_move_mm, std::abs(beyond));
    }
    return is_on_plane;
}

/// The point that would have to move furthest.
std::pair<Vec3, double> furthest_beyond(const TriMesh& mesh, const MirroredHalf& half, const Opening& opening) {
    std::pair<Vec3, double> worst{half.on_plane, 0};
    const auto look_at = [&](Vec3 p, double distance) {
        if (distance > worst.second) worst = {p, distance};
    };
    for (const Vec3 p : mesh.vertices) look_at(p, dot(p - half.on_plane, half.normal));
    for (const VertexId v : opening.loop)
        look_at(mesh.vertices[v], std::abs(dot(mesh.vertices[v] - half.on_plane, half.normal)));
    return worst;
}

}  // namespace

MirroredHalf mirror_half(const TriMesh& half, double most_move_mm, const std::string& place) {
    if (half.openings.empty())
        throw Error(ErrorCode::bad_input, place, "the scan has no opening, so there is no plane to mirror it in",
                    "leave out plug.opening = \"mirror\"");
    const Opening& opening = half.openings.front();
    MirroredHalf out{half, opening.center, opening.normal, 0};
    out.mesh.openings.clear();
    const auto [at, distance] = furthest_beyond(half, out, opening);
    if (distance > most_move_mm)
        throw Error(ErrorCode::bad_input, place,
                    "the scan is no half to be mirrored: it reaches " + fixed(distance, 2) +
                        " mm off the plane of its opening at " + fixed(at.x, 1) + ", " + fixed(at.y, 1) + ", " +
                        fixed(at.z, 1) + " mm; " + fixed(most_move_mm, 2) + " mm is the most",
                    "trim it along the plane of symmetry, or choose another plug.opening");
    const std::vector<char> is_on_plane = flatten_rim(out, opening);
    std::erase_if(out.mesh.triangles, [&](const Triangle& t) {
        return std::all_of(t.begin(), t.end(), [&](VertexId v) { return is_on_plane[v] != 0; });
    });
    out.mesh.face_origin.assign(out.mesh.face_count(), FaceOrigin::scanned);

    std::vector<VertexId> image(out.mesh.vertices.size());
    const std::size_t own = out.mesh.vertices.size(), faces = out.mesh.face_count();
    for (VertexId v = 0; v < own; ++v) {
        image[v] = v;
        if (is_on_plane[v] != 0) continue;
        const Vec3 p = out.mesh.vertices[v];
        image[v] = static_cast<VertexId>(out.mesh.vertices.size());
        out.mesh.vertices.push_back(p - out.normal * (2 * dot(p - out.on_plane, out.normal)));
    }
    for (std::size_t f = 0; f < faces; ++f) {
        const Triangle t = out.mesh.triangles[f];
        out.mesh.triangles.push_back({image[t[0]], image[t[2]], image[t[1]]});
    }
    out.mesh.face_origin.resize(out.mesh.face_count(), FaceOrigin::mirrored);
    return out;
}

}  // namespace cradlewright
