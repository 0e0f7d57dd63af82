// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/plug_opening.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"
#include "geom/decimate.hpp"
#include "geom/degenerate_faces.hpp"
#include "geom/join_scans.hpp"
#include "geom/mirror_half.hpp"
#include "geom/point_clusters.hpp"
#include "geom/register_scan.hpp"
#include "geom/self_crossings.hpp"
#include "geom/space_order.hpp"

namespace cradlewright {

namespace {

// All assumed, in deviations of the noise: beyond 5 a point is no noise; two scans of one surface differ by both.
constexpr double noise_reach = 5;
constexpr double least_misfit_mm =
    1;  // two scans that fit worse show two plugs, or drift; a rim this uneven is no plane
constexpr double pick_reach_share = 0.02;   // of the scan's size: how far picked points may be off
constexpr double same_points_share = 1e-3;  // of the points' size: less spread than this is one line

/// The widest gap that is bridged is as wide as the largest round hole that is closed.
double bridge_mm(const PlugOptions& options) { return options.hole_perimeter.mm() / std::numbers::pi; }

RepairOptions repair_options(const PlugOptions& options, bool caps_openings) {
    return {
        .weld_mm = options.weld.mm(), .hole_perimeter_mm = options.hole_perimeter.mm(), .caps_openings = caps_openings};
}

double size_of(const TriMesh& mesh) { return norm(bounding_box(mesh).size()); }

/// The first scan's findings hold for the whole but for what the last mending saw of the finished surface.
RepairedMesh finished(TriMesh mesh, RepairReport first, const PlugOptions& options, const std::string& place) {
    order_in_space(mesh);
    RepairedMesh whole = repair_mesh(std::move(mesh), repair_options(options, true), place);
    first.faces_out = whole.report.faces_out;
    first.mean_edge_mm = whole.report.mean_edge_mm;
    first.holes_closed += whole.report.holes_closed;
    first.closed_holes.insert(first.closed_holes.end(), whole.report.closed_holes.begin(),
                              whole.report.closed_holes.end());
    std::stable_sort(first.closed_holes.begin(), first.closed_holes.end(),
                     [](const ClosedHole& a, const ClosedHole& b) { return a.perimeter_mm > b.perimeter_mm; });
    first.largest_closed_hole_mm = std::max(first.largest_closed_hole_mm, whole.report.largest_closed_hole_mm);
    whole.report = std::move(first);
    return whole;
}

using FacePairs = std::vector<std::pair<FaceId, FaceId>>;

/// Those at places so small that what is cut out there is closed as a hole.
FacePairs small_crossings(const TriMesh& mesh, const FacePairs& pairs, const PlugOptions& options) {
    constexpr double margin_edges = 3;  // what goes round them, and some raggedness
    const double edge = mean_edge_length(mesh);
    std::vector<Vec3> middles;
    for (const auto& [f, g] : pairs) {
        const auto a = mesh.corners(f), b = mesh.corners(g);
        middles.push_back((a[0] + a[1] + a[2] + b[0] + b[1] + b[2]) / 6);
    }
    FacePairs small;
    for (const PointCluster& place : cluster_points(middles, 2 * edge)) {
        const double around_mm = 2 * std::numbers::pi * (place.reach_mm + margin_edges * edge);
        if (around_mm > options.hole_perimeter.mm()) continue;
        for (const std::size_t i : place.members) small.push_back(pairs[i]);
    }
    return small;
}

/// The faces that cross others, and those at their corners.
std::vector<char> crossing_regions(const TriMesh& mesh, const FacePairs& pairs) {
    std::vector<char> is_near(mesh.vertices.size(), 0), drop(mesh.face_count(), 0);
    for (const auto& [f, g] : pairs)
        for (const FaceId face : {f, g})
            for (const VertexId v : mesh.triangles[face]) is_near[v] = 1;
    for (FaceId f = 0; f < drop.size(); ++f)
        for (const VertexId v : mesh.triangles[f])
            if (is_near[v] != 0) drop[f] = 1;
    return drop;
}

/// Where a seam crosses itself the faces go and the hole is closed anew, as long as that helps and opens nothing.
TriMesh with_sound_seam(TriMesh joined, const PlugOptions& options, const std::string& place) {
    constexpr int most_rounds = 3;
    const auto mend = [&](TriMesh mesh) {
        return repair_mesh(std::move(mesh), repair_options(options, false), place).mesh;
    };
    TriMesh best = mend(std::move(joined));
    auto pairs = crossing_faces(best);
    for (int round = 0; round < most_rounds && !pairs.empty(); ++round) {
        TriMesh next = best;
        drop_faces(next, crossing_regions(next, small_crossings(next, pairs, options)));
        next = mend(std::move(next));
        if (next.openings.size() > best.openings.size()) break;
        auto left = crossing_faces(next);
        if (left.size() >= pairs.size()) break;
        best = std::move(next);
        pairs = std::move(left);
    }
    return best;
}

class Joining {
public:
    Joining(const RepairedMesh& first, RepairedMesh second, const PlugOptions& options, const std::string& place)
        : first_(first), second_(std::move(second)), options_(options), place_(place) {
        out_.how = PlugOpening::join;
        noise_mm_ = std::hypot(first.report.noise_mm, second_.report.noise_mm);
        edge_mm_ = std::max(first.report.mean_edge_mm, second_.report.mean_edge_mm);
    }

    TriMesh join(double mm_per_unit) {
        const auto pairs = parse_point_pairs(options_.second_points, "plug.second-points");
        const Registration fit = pairs.empty() ? in_one_frame() : placed_by(pairs, mm_per_unit);
        out_.residual_mm = fit.residual_mm;
        out_.slides = fit.slides && !pairs.empty();
        const double most = std::max(least_misfit_mm, noise_reach * noise_mm_);
        if (fit.residual_mm > most)
            throw Error(ErrorCode::bad_input, place_,
                        "the two scans do not fit: they differ by " + fixed(fit.residual_mm, 2) +
                            " mm where they overlap; " + fixed(most, 2) + " mm is the most",
                        pairs.empty() ? "tell at least three points that both show, with plug.second-points"
                                      : "check plug.second-points");
        for (Vec3& p : second_.mesh.vertices) p = fit.motion.to_parent(p);
        JoinedScans joined =
            join_scans(first_.mesh, second_.mesh, {overlap_mm(fit.residual_mm), bridge_mm(options_)}, place_);
        out_.overlap = joined.overlap;
        out_.widest_bridge_mm = joined.widest_bridge_mm;
        return std::move(joined.mesh);
    }

    [[nodiscard]] Completion completion() const { return out_; }

private:
    /// Facets of the same surface lie apart by their chord error too; a tenth of an edge is far above it.
    [[nodiscard]] double overlap_mm(double residual_mm) const {
        return noise_reach * std::max(residual_mm, noise_mm_) + 0.1 * edge_mm_;
    }

    Registration in_one_frame() const {
        const double reach = std::max(least_misfit_mm, noise_reach * noise_mm_) + 0.1 * edge_mm_;
        return compare_scans(first_.mesh, second_.mesh, {}, reach);
    }

    Registration placed_by(std::vector<std::pair<Vec3, Vec3>> pairs, double mm_per_unit) {
        double size = 0;
        for (auto& [in_first, in_second] : pairs) {
            in_first = in_first * mm_per_unit;
            in_second = in_second * mm_per_unit;
            size = std::max(size, norm(in_first - pairs.front().first));
        }
        const PairFit start = fit_pairs(pairs);
        out_.points_rms_mm = start.rms_mm;
        if (start.spread_mm <= same_points_share * size)
            throw Error(ErrorCode::bad_input, "plug.second-points", "the points lie on one line",
                        "add one off to the side");
        const double reach = pick_reach_share * size_of(first_.mesh);
        if (start.rms_mm > reach)
            throw Error(
                ErrorCode::bad_input, "plug.second-points",
                "the points of both scans do not match: " + fixed(start.rms_mm, 1) + " mm are left between them",
                "check their order and the unit");
        Registration fit = register_scan(first_.mesh, second_.mesh, start.motion, reach);
        if (fit.overlap > 0) return fit;
        fit.motion = start.motion;
        return fit;
    }

    const RepairedMesh& first_;
    RepairedMesh second_;
    const PlugOptions& options_;
    const std::string& place_;
    Completion out_;
    double noise_mm_ = 0, edge_mm_ = 0;
};

TriMesh joined(const RepairedMesh& first, ScanMesh& scan, const PlugOptions& options, const std::string& place,
               Plug& plug) {
    const std::string& second_place = options.second_scan.empty() ? place : options.second_scan;
    order_in_space(scan.second);
    Joining joining(first, repair_mesh(std::move(scan.second), repair_options(options, false), second_place), options,
                    second_place);
    TriMesh mesh = with_sound_seam(joining.join(scan.unit_factor), options, place);
    plug.completion = joining.completion();
    return mesh;
}

TriMesh mirrored(const RepairedMesh& half, const std::string& place, Plug& plug) {
    const double most_mm = std::max(least_misfit_mm, noise_reach * half.report.noise_mm);
    MirroredHalf whole = mirror_half(half.mesh, most_mm, place);
    plug.completion.how = PlugOpening::mirror;
    plug.completion.mirror_move_mm = whole.largest_move_mm;
    return std::move(whole.mesh);
}

}  // namespace

RepairedMesh complete_scan(ScanMesh& scan, const PlugOptions& options, const std::string& place, Plug& plug) {
    const bool is_completed = options.opening == PlugOpening::join || options.opening == PlugOpening::mirror;
    const bool is_thinned = options.decimate.mm() > 0;
    order_in_space(scan.soup);
    RepairedMesh first =
        repair_mesh(std::move(scan.soup), repair_options(options, !is_completed && !is_thinned), place);
    plug.completion.how = options.opening;
    if (!is_completed && !is_thinned) return first;
    TriMesh mesh = options.opening == PlugOpening::join     ? joined(first, scan, options, place, plug)
                   : options.opening == PlugOpening::mirror ? mirrored(first, place, plug)
                                                            : std::move(first.mesh);
    if (!is_thinned) return finished(std::move(mesh), std::move(first.report), options, place);
    if (is_completed) mesh = repair_mesh(std::move(mesh), repair_options(options, false), place).mesh;
    Decimated thin = decimate(mesh, options.decimate.mm());
    plug.decimated_by_mm = thin.deviation_mm;
    return finished(std::move(thin.mesh), std::move(first.report), options, place);
}

}  // namespace cradlewright
