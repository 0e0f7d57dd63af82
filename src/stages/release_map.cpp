// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/release_map.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/parallel.hpp"
#include "cradlewright/geom/column_grid.hpp"

namespace cradlewright {
namespace {

// Noise of sigma on the corners of a triangle of edge h tilts its normal by about 1.6 sigma / h (both axes together,
// from the height-to-corner lever of an equilateral triangle; derived).
constexpr double tilt_per_noise = 1.6;
// Passes are added until the filtered normal is about this quiet.
constexpr double wanted_quiet_rad = 0.012;
constexpr int most_passes = 40;
constexpr double least_band_rad = 0.0035;  // 0.2 deg: below the tilt a builder can set
constexpr double least_crease_rad = 0.61;  // 35 deg: neighbours that differ more stand across a crease
// Faces steeper to the pull than this can neither be parting nor low draft; their normals stay raw.
constexpr double active_slope = 0.75;
// A wall along the pull ends at its own rim: faces look from this share of an edge outside, plus the noise.
constexpr double step_out_share = 0.05;
constexpr std::size_t faces_a_piece = 1 << 14;

/// Side by side: `work` may write what belongs to its own face only.
template <class Work>
void for_each_face(const TriMesh& mesh, Work&& work) {
    for_each_piece(mesh.face_count(), faces_a_piece, [&](std::size_t first, std::size_t last) {
        for (std::size_t f = first; f < last; ++f) work(static_cast<FaceId>(f));
    });
}

int passes_for(double noise_rad) {
    if (noise_rad <= wanted_quiet_rad) return noise_rad > 0.002 ? 1 : 0;
    // A pass over four faces divides uncorrelated tilt by two at first, then by the square root of the passes.
    const double ratio = noise_rad / wanted_quiet_rad;
    return std::min(most_passes, static_cast<int>(std::ceil(ratio * ratio / 2)));
}

void smooth_normals(const std::vector<FaceId>& adjacency, const std::vector<float>& weight,
                    const std::vector<FaceId>& active, double crease_cos, int passes, std::vector<Vec3>& normals) {
    std::vector<Vec3> next(active.size());
    const auto smoothed = [&](FaceId f) {
        const Vec3 own = normals[f];
        Vec3 sum = own * double{weight[f]};
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = adjacency[3 * std::size_t{f} + k];
            if (g != no_id && dot(own, normals[g]) > crease_cos) sum += normals[g] * double{weight[g]};
        }
        return normalized(sum);
    };
    for (int pass = 0; pass < passes; ++pass) {
        for_each_piece(active.size(), faces_a_piece, [&](std::size_t first, std::size_t last) {
            for (std::size_t i = first; i < last; ++i) next[i] = smoothed(active[i]);
        });
        for (std::size_t i = 0; i < active.size(); ++i) normals[active[i]] = next[i];
    }
}

/// Normals, smoothed where `is_active` says so of the raw one.
template <class IsActive>
std::vector<Vec3> quiet_normals(const PosedPlug& posed, const ReleaseMap& map, int passes, IsActive&& is_active) {
    const TriMesh& mesh = posed.mesh();
    std::vector<Vec3> normals(mesh.face_count());
    std::vector<float> weight(mesh.face_count());
    for_each_face(mesh, [&](FaceId f) {
        const Vec3 area = area_vector(mesh.corners(f));
        normals[f] = normalized(area);
        weight[f] = static_cast<float>(norm(area));
    });
    if (passes > 0) {
        std::vector<FaceId> active;
        for (FaceId f = 0; f < mesh.face_count(); ++f)
            if (is_active(normals[f])) active.push_back(f);
        const double crease = std::min(1.3, std::max(least_crease_rad, 5 * map.normal_noise_rad));
        smooth_normals(*posed.plug.adjacency, weight, active, std::cos(crease), passes, normals);
    }
    return normals;
}

std::vector<std::uint8_t> look_along(const PosedPlug& posed, Vec3 up, const std::vector<float>& slope, double edge) {
    const TriMesh& mesh = posed.mesh();
    const Frame3 frame = frame_from_normal({}, up, posed.pose.plug_in_scan.x);
    const ColumnGrid grid(mesh, frame, 1.5 * edge);
    std::vector<std::uint8_t> covered(mesh.face_count(), 0);
    const auto look_from = [&](FaceId f) {
        const auto c = mesh.corners(f);
        const Vec3 out = normalized(area_vector(c)) * (step_out_share * edge + 4 * posed.plug.noise_mm);
        const Vec3 p = frame.to_local((c[0] + c[1] + c[2]) / 3), step = frame.direction_to_local(out);
        const Vec2 eye{p.x + step.x, p.y + step.y};
        // A steep face moves in height by noise / slope, and its own edge spans some height: not yet a cover.
        const double steep = std::max(std::abs(double{slope[f]}), 0.05);
        const double slack = (4 * posed.plug.noise_mm + 0.05 * edge) / steep + 0.25 * edge;
        const ColumnGrid::Cover cover = grid.cover(eye, p.z - slack, p.z + slack);
        if (cover.is_above) covered[f] |= covered_above;
        if (cover.is_below) covered[f] |= covered_below;
    };
    for_each_face(mesh, look_from);
    return covered;
}

}  // namespace

ReleaseMap map_release(const PosedPlug& posed) {
    const TriMesh& mesh = posed.mesh();
    ReleaseMap map;
    map.mean_edge_mm = mean_edge_length(mesh);
    map.normal_noise_rad = map.mean_edge_mm > 0 ? tilt_per_noise * posed.plug.noise_mm / map.mean_edge_mm : 0;

    const int passes = passes_for(map.normal_noise_rad);
    map.band_rad = std::max(least_band_rad, 3 * map.normal_noise_rad / std::sqrt(1.0 + 4.0 * passes));

    const auto see = [&](Vec3 up, std::vector<float>& slope, std::vector<std::uint8_t>& covered) {
        const std::vector<Vec3> normals =
            quiet_normals(posed, map, passes, [&](Vec3 normal) { return std::abs(dot(normal, up)) < active_slope; });
        slope.resize(mesh.face_count());
        for (FaceId f = 0; f < mesh.face_count(); ++f) slope[f] = static_cast<float>(dot(normals[f], up));
        covered = look_along(posed, up, slope, map.mean_edge_mm);
    };
    see(posed.pose.pull_scan, map.slope, map.covered);
    if (posed.pose.has_own_pull_2()) see(-posed.pose.pull2_scan, map.slope2, map.covered2);
    return map;
}

std::vector<Vec3> smoothed_normals(const PosedPlug& posed, const ReleaseMap& map) {
    return quiet_normals(posed, map, passes_for(map.normal_noise_rad), [](Vec3) { return true; });
}

}  // namespace cradlewright
