// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: parting.md beside this file.
#include "cradlewright/stages/parting.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "stages/parting_edges.hpp"
#include "stages/parting_line.hpp"

namespace cradlewright {
namespace {

constexpr double tiny_loop_share = 0.04;  // loops shorter than this share of the longest are dropped
constexpr int rings_about_cut = 8;

/// Faces within some rings of the cut, in face order.
std::vector<FaceId> faces_about_cut(const PosedPlug& posed, const std::vector<std::uint8_t>& label, int rings) {
    std::vector<std::uint8_t> is_in(label.size(), 0);
    std::vector<FaceId> front, next, all;
    for (FaceId f = 0; f < label.size(); ++f)
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = neighbour(posed, f, k);
            if (g == no_id || label[g] == label[f] || is_in[f]) continue;
            is_in[f] = 1;
            front.push_back(f);
        }
    all = front;
    for (int ring = 1; ring < rings; ++ring) {
        next.clear();
        for (const FaceId f : front)
            for (std::size_t k = 0; k < 3; ++k) {
                const FaceId g = neighbour(posed, f, k);
                if (g == no_id || is_in[g]) continue;
                is_in[g] = 1;
                next.push_back(g);
            }
        all.insert(all.end(), next.begin(), next.end());
        front.swap(next);
    }
    std::sort(all.begin(), all.end());
    return all;
}

double projected_area(const PosedPlug& posed, const std::vector<Vec3>& points) {
    const Frame3 frame = frame_from_normal({}, posed.pose.pull_fixture, {1, 0, 0});
    std::vector<Vec2> flat;
    for (const Vec3& p : points) {
        const Vec3 q = frame.to_local(p);
        flat.push_back({q.x, q.y});
    }
    return signed_area(flat);
}

double out_of_plane(const std::vector<Vec3>& points) {
    Vec3 middle{};
    for (const Vec3& p : points) middle += p / static_cast<double>(points.size());
    Eigen::Matrix3d m = Eigen::Matrix3d::Zero();
    for (const Vec3& p : points) {
        const Eigen::Vector3d d(p.x - middle.x, p.y - middle.y, p.z - middle.z);
        m += d * d.transpose();
    }
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(m);
    const Vec3 normal{solver.eigenvectors()(0, 0), solver.eigenvectors()(1, 0), solver.eigenvectors()(2, 0)};
    double worst = 0;
    for (const Vec3& p : points) worst = std::max(worst, std::abs(dot(p - middle, normal)));
    return worst;
}

void drop_tiny(std::vector<RawLoop>& loops, const TriMesh& mesh, Parting& parting) {
    double longest = 0;
    std::vector<double> length;
    for (const RawLoop& loop : loops) {
        length.push_back(polyline_length(positions(mesh, loop.curve), true));
        longest = std::max(longest, length.back());
    }
    std::vector<RawLoop> kept;
    for (std::size_t i = 0; i < loops.size(); ++i) {
        if (length[i] >= tiny_loop_share * longest)
            kept.push_back(std::move(loops[i]));
        else
            ++parting.tiny_loops_dropped;
    }
    loops = std::move(kept);
}

}  // namespace

Parting find_parting(const PosedPlug& posed, const ReleaseMap& map, const PartingOptions& options) {
    const TriMesh& mesh = posed.mesh();
    CRADLEWRIGHT_PRECONDITION(map.slope.size() == mesh.face_count());
    Parting parting;
    parting.band_deg = Angle::rad(map.band_rad).deg();

    const Halves halves = label_halves(posed, map);
    parting.half = halves.label;
    parting.tiny_loops_dropped = halves.islands_absorbed;
    parting.tiny_area_mm2 = halves.absorbed_area_mm2;
    if (!halves.has_both()) {
        const bool has_one = halves.has(1);
        parting.half.assign(mesh.face_count(), has_one ? 1 : 2);
        parting.reason = std::string("no parting line: no part of the surface faces ") +
                         (has_one ? "away from" : "along") + " the pull; change --tilt or --pull";
        return parting;
    }

    std::vector<RawLoop> raw = trace_cut(posed, map, halves);
    drop_tiny(raw, mesh, parting);
    const MeshIndex near(mesh, faces_about_cut(posed, halves.label, rings_about_cut));
    struct Sided {
        StraightLoop straight;
        double area = 0;
    };
    std::vector<Sided> sided;
    for (const RawLoop& loop : raw) {
        Sided s{straighten(posed, map, loop, near, options.tolerances), 0};
        s.area = projected_area(posed, s.straight.loop.panel_line);
        s.straight.loop.is_inner = s.area < 0;
        parting.out_of_plane_mm = std::max(parting.out_of_plane_mm, out_of_plane(s.straight.loop.panel_line));
        sided.push_back(std::move(s));
    }
    std::stable_sort(sided.begin(), sided.end(), [](const Sided& a, const Sided& b) { return a.area > b.area; });
    std::size_t inner = 0;
    for (Sided& s : sided) {
        PartingLoop& loop = s.straight.loop;
        loop.edges = name_edges(posed, loop, s.straight.corners, loop.is_inner ? ++inner : 0);
        for (PartingEdge& edge : loop.edges)
            if (const auto told = options.edges.find(edge.id); told != options.edges.end())
                edge.rule = told->second.rule;
        parting.loops.push_back(std::move(loop));
    }
    return parting;
}

}  // namespace cradlewright
