// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/join_scans.hpp"

#include <algorithm>
#include <limits>
#include <optional>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"
#include "geom/boundary_loops.hpp"
#include "geom/degenerate_faces.hpp"
#include "geom/mesh_edges.hpp"
#include "geom/mesh_shells.hpp"
#include "geom/mesh_weld.hpp"
#include "geom/scan_overlap.hpp"
#include "geom/zip_loops.hpp"

namespace cradlewright {

namespace {

constexpr double covered_cosine = 0;  // anything but the far side of a thin plug

std::string place_text(Vec3 p) { return fixed(p.x, 1) + ", " + fixed(p.y, 1) + ", " + fixed(p.z, 1) + " mm"; }

double area_of(const TriMesh& mesh) {
    double sum = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) sum += norm(area_vector(mesh.corners(f))) / 2;
    return sum;
}

struct Surface {
    TriMesh mesh;
    std::vector<SideId> mate;
    std::vector<BoundaryLoop> rims;

    [[nodiscard]] PointLoop points(const BoundaryLoop& rim) const {
        PointLoop out;
        for (const VertexId v : rim.vertices) out.push_back(mesh.vertices[v]);
        return out;
    }
};

Surface with_rims(TriMesh mesh) {
    Surface s{std::move(mesh), {}, {}};
    s.mate = match_sides(s.mesh.triangles, s.mesh.vertices.size()).mate;
    split_touching_vertices(s.mesh, s.mate);
    s.rims = find_boundary_loops(s.mesh, s.mate);
    return s;
}

/// Points of the first scan's rims, and halfway between.
PointLoop rim_points(const Surface& first) {
    PointLoop points;
    for (const BoundaryLoop& rim : first.rims) {
        const PointLoop loop = first.points(rim);
        for (std::size_t i = 0; i < loop.size(); ++i) {
            points.push_back(loop[i]);
            points.push_back((loop[i] + loop[(i + 1) % loop.size()]) * 0.5);
        }
    }
    return points;
}

/// Vertices of the second scan that lie on the first, or belong to a face that the first's rim runs over.
std::vector<char> covered_vertices(const Surface& first, const TriMesh& second, double overlap_mm) {
    const ScanCover cover(first.mesh);
    const std::vector<Vec3> normals = vertex_normals(second);
    std::vector<char> is_covered(second.vertices.size(), 0);
    for (VertexId v = 0; v < is_covered.size(); ++v)
        is_covered[v] = cover.find(second.vertices[v], normals[v], overlap_mm, covered_cosine) ? 1 : 0;
    const MeshIndex index(second);
    for (const Vec3 p : rim_points(first)) {
        const MeshIndex::Nearest near = index.nearest(p);
        if (near.face == no_id || near.distance_mm > overlap_mm) continue;
        for (const VertexId v : second.triangles[near.face]) is_covered[v] = 1;
    }
    return is_covered;
}

/// What the second scan adds: its largest piece off the first.
TriMesh uncovered(const Surface& first, TriMesh second, double overlap_mm) {
    const std::vector<char> is_covered = covered_vertices(first, second, overlap_mm);
    std::vector<char> drop(second.face_count(), 0);
    for (FaceId f = 0; f < drop.size(); ++f)
        for (const VertexId v : second.triangles[f])
            if (is_covered[v] != 0) drop[f] = 1;
    second.openings.clear();
    drop_faces(second, drop);
    if (second.triangles.empty()) return second;
    std::vector<SideId> mate = match_sides(second.triangles, second.vertices.size()).mate;
    const Shells shells = orient_shells(second.triangles, mate);
    std::vector<double> area(shells.count, 0);
    for (FaceId f = 0; f < second.face_count(); ++f)
        area[shells.shell_of[f]] += norm(area_vector(second.corners(f))) / 2;
    keep_shell(second, mate, shells,
               static_cast<std::uint32_t>(std::max_element(area.begin(), area.end()) - area.begin()));
    number_by_first_use(second);
    return second;
}

class Joiner {
public:
    Joiner(const TriMesh& first, const TriMesh& second, const JoinOptions& options, const std::string& place)
        : options_(options), place_(place), first_(with_rims(first)) {
        if (first_.rims.empty())
            fail("the first scan has no opening, so there is nothing for the second to close", "leave out the second");
        TriMesh rest = uncovered(first_, second, options.overlap_mm);
        const double whole = area_of(second);
        out_.overlap = whole > 0 ? 1 - area_of(rest) / whole : 1;
        if (rest.triangles.empty())
            fail("the second scan lies wholly on the first and adds nothing", "give the scan of the other side");
        second_ = with_rims(std::move(rest));
        if (second_.rims.empty())
            fail("the second scan is closed and does not meet the first one's rim", "check plug.second-points");
    }

    JoinedScans join() && {
        out_.mesh = first_.mesh;
        out_.mesh.openings.clear();
        out_.mesh.face_origin.resize(out_.mesh.face_count(), FaceOrigin::scanned);
        const auto shift = static_cast<VertexId>(out_.mesh.vertices.size());
        out_.mesh.vertices.insert(out_.mesh.vertices.end(), second_.mesh.vertices.begin(), second_.mesh.vertices.end());
        for (Triangle t : second_.mesh.triangles) {
            for (VertexId& v : t) v += shift;
            out_.mesh.triangles.push_back(t);
        }
        out_.mesh.face_origin.resize(out_.mesh.face_count(), FaceOrigin::scanned);
        join_rims(shift);
        out_.mesh.face_origin.resize(out_.mesh.face_count(), FaceOrigin::patched);
        return std::move(out_);
    }

private:
    /// Longest rims first, each with the nearest one that is still free.
    void join_rims(VertexId shift) {
        std::vector<char> is_used(second_.rims.size(), 0);
        std::optional<LoopGap> missed;
        for (const BoundaryLoop& rim : first_.rims) {
            const PointLoop points = first_.points(rim);
            std::size_t best = second_.rims.size();
            LoopGap best_gap;
            best_gap.widest_mm = std::numeric_limits<double>::infinity();
            for (std::size_t i = 0; i < second_.rims.size(); ++i) {
                if (is_used[i] != 0) continue;
                const LoopGap gap = gap_between(points, second_.points(second_.rims[i]));
                if (gap.widest_mm >= best_gap.widest_mm) continue;
                best = i;
                best_gap = gap;
            }
            if (best == second_.rims.size()) break;
            if (best_gap.widest_mm > options_.bridge_mm) {
                if (!missed || best_gap.widest_mm < missed->widest_mm) missed = best_gap;
                continue;
            }
            is_used[best] = 1;
            bridge(rim, points, second_.rims[best], shift);
            out_.widest_bridge_mm = std::max(out_.widest_bridge_mm, best_gap.widest_mm);
            ++out_.seams;
        }
        if (out_.seams == 0 && missed)
            fail("the two scans do not meet: their rims are " + fixed(missed->nearest_mm, 1) + " to " +
                     fixed(missed->widest_mm, 1) + " mm apart, widest at " + place_text(missed->at) + "; " +
                     fixed(options_.bridge_mm, 1) + " mm can be bridged",
                 "scan further round the edge, correct plug.second-points, or raise plug.hole-perimeter");
    }

    void bridge(const BoundaryLoop& rim, const PointLoop& points, const BoundaryLoop& other, VertexId shift) {
        const auto n = static_cast<VertexId>(points.size());
        for (Triangle t : zip_loops(points, second_.points(other))) {
            for (VertexId& v : t) v = v < n ? rim.vertices[v] : shift + other.vertices[v - n];
            out_.mesh.triangles.push_back(t);
        }
    }

    [[noreturn]] void fail(const std::string& problem, const std::string& hint) const {
        throw Error(ErrorCode::bad_input, place_, problem, hint);
    }

    JoinOptions options_;
    const std::string& place_;
    Surface first_, second_;
    JoinedScans out_;
};

}  // namespace

JoinedScans join_scans(const TriMesh& first, const TriMesh& second, const JoinOptions& options,
                       const std::string& place) {
    return Joiner(first, second, options, place).join();
}

}  // namespace cradlewright
