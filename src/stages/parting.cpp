// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: parting.md beside this file.
#include "cradlewright/stages/parting.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "stages/parting_edges.hpp"
#include "stages/parting_line.hpp"
#include "stages/parting_rules.hpp"

namespace cradlewright {
namespace {

constexpr double tiny_loop_share = 0.04;  // loops shorter than this share of the longest are dropped
constexpr int rings_about_cut = 8;
constexpr double most_off_told_mm = 30;  // of a told edge's ends from the line
constexpr double least_wall_mm = 3;      // lower ones are no news

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

void settle_moved(const PosedPlug& posed, const ReleaseMap& map, PartingLoop& loop) {
    std::vector<Vec3> points;
    for (const Vec3& p : loop.panel_line) points.push_back(posed.pose.to_scan(p));
    const MeshIndex near(posed.mesh(), faces_near(posed.mesh(), points, 2 * map.mean_edge_mm + 1));
    settle_line(posed, near, loop);
}

/// Sentences for the builder, in order.
class Remarks {
public:
    void add(const std::string& one) { text_ += (text_.empty() ? "" : "; ") + one; }
    [[nodiscard]] const std::string& text() const { return text_; }

private:
    std::string text_;
};

std::string many(std::size_t count, const std::string& one, const std::string& more) {
    return std::to_string(count) + " " + (count == 1 ? one : more);
}

/// Where much of the line runs on walls: their middling height, else 0.
double wall_height(std::vector<double> heights) {
    std::erase_if(heights, [](double h) { return h < least_wall_mm; });
    if (heights.empty()) return 0;
    const auto middle = heights.begin() + static_cast<std::ptrdiff_t>(heights.size() / 2);
    std::nth_element(heights.begin(), middle, heights.end());
    return *middle;
}

void remark_loops(Remarks& remarks, const PosedPlug& posed, const Parting& parting) {
    if (posed.plug.has_assumed_cap) remarks.add("the underside is open, so on walls the line runs at their lower rim");
    const auto inner = static_cast<std::size_t>(
        std::count_if(parting.loops.begin(), parting.loops.end(), [](const PartingLoop& l) { return l.is_inner; }));
    if (parting.loops.size() > 1)
        remarks.add(many(parting.loops.size() - inner, "line round the plug", "lines round parts of the plug") + ", " +
                    std::to_string(inner) + " round openings");
    if (parting.tiny_loops_dropped > 0)
        remarks.add(many(parting.tiny_loops_dropped, "small patch", "small patches") + " (" +
                    fixed(parting.tiny_area_mm2, 0) +
                    " mm2 in all) got no line of their own and stay with the half around them");
    std::size_t bridges = 0;
    double length = 0;
    for (const PartingLoop& loop : parting.loops)
        for (const PartingBridge& bridge : loop.bridges) {
            ++bridges;
            length += bridge.length_mm;
        }
    if (bridges > 0)
        remarks.add("the outline jumps in height at " + many(bridges, "place", "places") +
                    ": the line is bridged there over " + fixed(length, 0) + " mm of surface that is locked");
}

void remark_edges(Remarks& remarks, const PartingOptions& options, const Parting& parting) {
    std::vector<std::string> ids;
    for (const PartingLoop& loop : parting.loops)
        for (const PartingEdge& edge : loop.edges) {
            ids.push_back(edge.id);
            if (!edge.finding.empty()) remarks.add(edge.id + ": " + edge.finding);
        }
    std::string known;
    for (const std::string& id : ids) known += (known.empty() ? "" : ", ") + id;
    for (const auto& [name, told] : options.edges) {
        const bool is_whole = name == "rim" && !told.polyline.empty();
        if (is_whole || std::find(ids.begin(), ids.end(), name) != ids.end()) continue;
        remarks.add("edge." + name + " is told but there is " + (told.from ? "no line near its ends" : "no such edge") +
                    "; edges are " + known);
    }
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
        sided.push_back(std::move(s));
    }
    std::stable_sort(sided.begin(), sided.end(), [](const Sided& a, const Sided& b) { return a.area > b.area; });
    std::size_t inner = 0;
    std::vector<double> walls;
    for (Sided& s : sided) {
        PartingLoop& loop = s.straight.loop;
        loop.edges = name_edges(posed, loop, s.straight.corners, loop.is_inner ? ++inner : 0);
        cut_told_edges(posed, options.edges, most_off_told_mm, loop);
        if (apply_edge_rules(posed, map, options, loop, parting.half)) settle_moved(posed, map, loop);
        parting.out_of_plane_mm = std::max(parting.out_of_plane_mm, out_of_plane(loop.panel_line));
        walls.insert(walls.end(), s.straight.wall_mm.begin(), s.straight.wall_mm.end());
        parting.loops.push_back(std::move(loop));
    }
    Remarks remarks;
    remark_loops(remarks, posed, parting);
    if (const double high = wall_height(walls); high > 0 && !posed.plug.has_assumed_cap)
        remarks.add("on walls along the pull, about " + fixed(high, 0) + " mm high, the line runs at the middle");
    remark_edges(remarks, options, parting);
    parting.reason = remarks.text();
    return parting;
}

}  // namespace cradlewright
