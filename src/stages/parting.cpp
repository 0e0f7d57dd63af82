// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: parting.md beside this file.
#include "cradlewright/stages/parting.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <numeric>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "stages/min_cut.hpp"
#include "stages/parting_edges.hpp"

namespace cradlewright {
namespace {

using Labels = std::vector<std::uint8_t>;  // 0 undecided, 1 and 2 the halves

constexpr double crease_slope = 0.3;      // neighbours across the cut that differ more meet at a crease
constexpr double tiny_loop_share = 0.04;  // loops shorter than this share of the longest are dropped
constexpr int field_passes = 3;
constexpr int rings_about_cut = 8;
constexpr int wall_steps = 6;                 // a band this many faces high is a wall: the line may run level on it
constexpr std::size_t least_sure_faces = 30;  // fewer that hang together are noise, not a decision
constexpr double cost_scale = 4096;           // whole-number costs per mm of cut

FaceId neighbour(const PosedPlug& posed, FaceId f, std::size_t k) {
    return (*posed.plug.adjacency)[3 * std::size_t{f} + k];
}

double edge_length(const TriMesh& mesh, FaceId f, std::size_t k) {
    const Triangle& t = mesh.triangles[f];
    return norm(mesh.vertices[t[(k + 1) % 3]] - mesh.vertices[t[k]]);
}

Labels label_sure_faces(const PosedPlug& posed, const ReleaseMap& map) {
    const TriMesh& mesh = posed.mesh();
    const double band = std::sin(map.band_rad);
    Labels label(mesh.face_count(), 0);
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const double s = map.slope[f];
        if (mesh.origin_of(f) == FaceOrigin::assumed)
            label[f] = s > 0 ? 1 : 2;
        else if (s > band)
            label[f] = (map.covered[f] & covered_above) ? 2 : 1;
        else if (s < -band)
            label[f] = 2;
    }
    return label;
}

/// Hands specks of sure faces amid the band back to it. Real patches are larger; smaller ones are slivers and noise.
void forget_specks(const PosedPlug& posed, Labels& label) {
    std::vector<std::uint8_t> seen(label.size(), 0);
    std::vector<FaceId> speck;
    for (FaceId seed = 0; seed < label.size(); ++seed) {
        if (label[seed] == 0 || seen[seed] || posed.mesh().origin_of(seed) == FaceOrigin::assumed) continue;
        speck.assign(1, seed);
        seen[seed] = 1;
        bool touches_other = false;
        for (std::size_t i = 0; i < speck.size(); ++i)
            for (std::size_t k = 0; k < 3; ++k) {
                const FaceId g = neighbour(posed, speck[i], k);
                if (g == no_id) continue;
                if (label[g] == label[seed] && !seen[g]) {
                    seen[g] = 1;
                    speck.push_back(g);
                }
                touches_other = touches_other || (label[g] != 0 && label[g] != label[seed]);
            }
        if (speck.size() >= least_sure_faces || touches_other) continue;
        for (const FaceId f : speck) label[f] = 0;
    }
}

/// Steps from the faces of one side through undecided faces; -1 where none leads.
std::vector<std::int32_t> steps_from(const PosedPlug& posed, const Labels& label, std::uint8_t side) {
    std::vector<std::int32_t> steps(label.size(), -1);
    std::vector<FaceId> front, next;
    const auto spread = [&](FaceId f, std::int32_t at) {
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = neighbour(posed, f, k);
            if (g == no_id || label[g] != 0 || steps[g] >= 0) continue;
            steps[g] = at;
            next.push_back(g);
        }
    };
    for (FaceId f = 0; f < label.size(); ++f)
        if (label[f] == side) spread(f, 1);
    for (std::int32_t at = 2; !next.empty(); ++at) {
        front.swap(next);
        next.clear();
        for (const FaceId f : front) spread(f, at);
    }
    return steps;
}

/// Splits the undecided band by the shortest cut, with a mild wish for level faces and for the wanted place in the
/// band. Out: faces of the band where it is a wall.
std::vector<std::uint8_t> cut_band(const PosedPlug& posed, const ReleaseMap& map, Labels& label) {
    std::vector<std::uint8_t> is_wall(label.size(), 0);
    std::vector<std::uint32_t> node(label.size(), no_id);
    std::vector<FaceId> band;
    for (FaceId f = 0; f < label.size(); ++f)
        if (label[f] == 0) {
            node[f] = static_cast<std::uint32_t>(band.size());
            band.push_back(f);
        }
    if (band.empty()) return is_wall;

    const std::vector<std::int32_t> from_one = steps_from(posed, label, 1), from_two = steps_from(posed, label, 2);
    const double wanted = posed.plug.has_assumed_cap ? 1.0 : 0.5;  // open underside: the lowest line
    const double band_sine = std::sin(map.band_rad);
    const auto weight = [&](FaceId f) {
        const double level = std::min(1.0, std::abs(double{map.slope[f]}) / band_sine);
        double place = 0;
        if (from_one[f] > 0 && from_two[f] > 0)
            place = double(from_one[f]) / double(from_one[f] + from_two[f]) - wanted;
        return 1 + 0.5 * level * level + 2 * place * place;
    };

    for (const FaceId f : band)
        is_wall[f] = from_one[f] > 0 && from_two[f] > 0 && from_one[f] + from_two[f] > wall_steps;
    MinCut cut(band.size());
    for (const FaceId f : band)
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = neighbour(posed, f, k);
            if (g == no_id) continue;
            const bool is_inside = label[g] == 0;
            if (is_inside && g < f) continue;
            const double w = is_inside ? 0.5 * (weight(f) + weight(g)) : weight(f);
            const auto cost =
                static_cast<std::int64_t>(std::llround(cost_scale * w * edge_length(posed.mesh(), f, k))) + 1;
            if (is_inside)
                cut.link(node[f], node[g], cost);
            else if (label[g] == 1)
                cut.tie_to_one(node[f], cost);
            else
                cut.tie_to_two(node[f], cost);
        }
    const std::vector<std::uint8_t> side = cut.solve();
    for (std::size_t i = 0; i < band.size(); ++i) label[band[i]] = side[i];
    return is_wall;
}

struct Components {
    std::vector<std::uint32_t> of_face;
    std::vector<double> area;
    std::vector<std::uint8_t> label;
    std::vector<double> largest_neighbour;  // area of the largest component that touches it
};

Components find_components(const PosedPlug& posed, const Labels& label, const std::vector<float>& area) {
    Components c;
    c.of_face.assign(label.size(), no_id);
    std::vector<FaceId> stack;
    for (FaceId seed = 0; seed < label.size(); ++seed) {
        if (c.of_face[seed] != no_id) continue;
        const auto id = static_cast<std::uint32_t>(c.area.size());
        c.area.push_back(0);
        c.label.push_back(label[seed]);
        stack.assign(1, seed);
        c.of_face[seed] = id;
        while (!stack.empty()) {
            const FaceId f = stack.back();
            stack.pop_back();
            c.area[id] += double{area[f]};
            for (std::size_t k = 0; k < 3; ++k) {
                const FaceId g = neighbour(posed, f, k);
                if (g == no_id || c.of_face[g] != no_id || label[g] != label[f]) continue;
                c.of_face[g] = id;
                stack.push_back(g);
            }
        }
    }
    c.largest_neighbour.assign(c.area.size(), 0);
    for (FaceId f = 0; f < label.size(); ++f)
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = neighbour(posed, f, k);
            if (g == no_id || c.of_face[g] == c.of_face[f]) continue;
            double& most = c.largest_neighbour[c.of_face[f]];
            most = std::max(most, c.area[c.of_face[g]]);
        }
    return c;
}

/// Hands patches that do not hang together with their half to the half around them, smallest first.
void absorb_islands(const PosedPlug& posed, Labels& label, Parting& parting) {
    const TriMesh& mesh = posed.mesh();
    std::vector<float> area(label.size());
    for (FaceId f = 0; f < label.size(); ++f) area[f] = static_cast<float>(0.5 * norm(area_vector(mesh.corners(f))));
    for (int round = 0; round < 32; ++round) {
        const Components c = find_components(posed, label, area);
        std::array<double, 3> main_area{};
        for (std::size_t i = 0; i < c.area.size(); ++i)
            main_area[c.label[i]] = std::max(main_area[c.label[i]], c.area[i]);
        std::vector<std::uint8_t> flips(c.area.size(), 0);
        bool is_done = true;
        for (std::size_t i = 0; i < c.area.size(); ++i) {
            if (c.area[i] >= main_area[c.label[i]] || c.area[i] >= c.largest_neighbour[i]) continue;
            flips[i] = 1;
            is_done = false;
            ++parting.tiny_loops_dropped;
            parting.tiny_area_mm2 += c.area[i];
        }
        if (is_done) return;
        for (FaceId f = 0; f < label.size(); ++f)
            if (flips[c.of_face[f]]) label[f] = static_cast<std::uint8_t>(3 - label[f]);
    }
}

/// Faces within some rings of the cut, in face order.
std::vector<FaceId> faces_about_cut(const PosedPlug& posed, const Labels& label, int rings) {
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

/// Signed value of a face near the cut: its slope, scaled to +-1, never on the other half's side.
class FaceField {
public:
    FaceField(const PosedPlug& posed, const ReleaseMap& map, const Labels& label, const std::vector<FaceId>& about)
        : posed_(posed), map_(map), label_(label) {
        std::vector<float> steps;
        for (const FaceId f : about)
            for (std::size_t k = 0; k < 3; ++k) {
                const FaceId g = neighbour(posed, f, k);
                if (g != no_id && g > f && label[g] != label[f]) steps.push_back(std::abs(map.slope[f] - map.slope[g]));
            }
        if (!steps.empty()) {
            const auto quarter = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 4);
            std::nth_element(steps.begin(), quarter, steps.end());
            scale_ = std::clamp(2.0 * double{*quarter}, 0.02, 0.3);
        }
        scale_ = std::max(scale_, std::sin(map.band_rad));
    }

    /// Ends of the cut's edges that lie on creases: the line runs exactly there.
    [[nodiscard]] std::vector<VertexId> crease_vertices(const std::vector<FaceId>& about) const {
        std::vector<VertexId> vertices;
        for (const FaceId f : about)
            for (std::size_t k = 0; k < 3; ++k) {
                if (label_[f] != 1 || !is_crease(f, k)) continue;
                const Triangle& t = posed_.mesh().triangles[f];
                vertices.push_back(t[k]);
                vertices.push_back(t[(k + 1) % 3]);
            }
        return vertices;
    }

    [[nodiscard]] double value(FaceId f) const {
        const double side = label_[f] == 1 ? 1 : -1;
        return side * std::clamp(side * double{map_.slope[f]} / scale_, 0.05, 1.0);
    }

private:
    [[nodiscard]] bool is_crease(FaceId f, std::size_t k) const {
        const FaceId g = neighbour(posed_, f, k);
        return g != no_id && label_[g] != label_[f] &&
               std::abs(double{map_.slope[f]} - double{map_.slope[g]}) > crease_slope;
    }

    const PosedPlug& posed_;
    const ReleaseMap& map_;
    const Labels& label_;
    double scale_ = 0.1;
};

/// Per-vertex field whose zero set is the cut, smooth near it and +-1 by label elsewhere.
std::vector<double> cut_field(const PosedPlug& posed, const ReleaseMap& map, const Labels& label,
                              const std::vector<FaceId>& about) {
    const TriMesh& mesh = posed.mesh();
    std::vector<double> field(mesh.vertices.size(), 1);
    for (FaceId f = 0; f < mesh.face_count(); ++f)
        if (label[f] == 2)
            for (const VertexId v : mesh.triangles[f]) field[v] = -1;

    const FaceField face_field(posed, map, label, about);
    std::vector<double> value(about.size()), area(about.size());
    for (std::size_t i = 0; i < about.size(); ++i) {
        value[i] = face_field.value(about[i]);
        area[i] = norm(area_vector(mesh.corners(about[i])));
    }
    std::vector<double> sum(mesh.vertices.size(), 0), weight(mesh.vertices.size(), 0);
    for (int pass = 0; pass < field_passes; ++pass) {
        for (const FaceId f : about)
            for (const VertexId v : mesh.triangles[f]) sum[v] = weight[v] = 0;
        for (std::size_t i = 0; i < about.size(); ++i)
            for (const VertexId v : mesh.triangles[about[i]]) {
                sum[v] += area[i] * value[i];
                weight[v] += area[i];
            }
        for (std::size_t i = 0; i < about.size(); ++i) {
            double mean = 0;
            for (const VertexId v : mesh.triangles[about[i]]) {
                if (weight[v] > 0) field[v] = sum[v] / weight[v];
                mean += field[v] / 3;
            }
            value[i] = mean;
        }
    }
    for (const VertexId v : face_field.crease_vertices(about)) field[v] = 0;
    return field;
}

/// The cut as chains of mesh edges, half 1 on the left. Exact where the halves meet at creases, and always closed.
class LabelLoops {
public:
    LabelLoops(const PosedPlug& posed, const Labels& label) : posed_(posed), label_(label) {}

    [[nodiscard]] std::vector<SurfaceCurve> trace() const {
        std::vector<std::uint8_t> used(3 * label_.size(), 0);
        std::vector<SurfaceCurve> loops;
        for (FaceId f = 0; f < label_.size(); ++f)
            for (std::size_t k = 0; k < 3; ++k) {
                if (!is_cut(f, k) || used[3 * std::size_t{f} + k]) continue;
                SurfaceCurve loop;
                for (Side at{f, k}; !used[3 * std::size_t{at.face} + at.k]; at = next(at)) {
                    used[3 * std::size_t{at.face} + at.k] = 1;
                    SurfacePoint p{at.face, {0, 0, 0}};
                    p.weight[at.k] = 1;
                    loop.points.push_back(p);
                }
                loops.push_back(std::move(loop));
            }
        return loops;
    }

private:
    struct Side {
        FaceId face;
        std::size_t k;  // edge from corner k to corner k + 1
    };
    [[nodiscard]] bool is_cut(FaceId f, std::size_t k) const {
        const FaceId g = neighbour(posed_, f, k);
        return label_[f] == 1 && (g == no_id || label_[g] == 2);
    }
    /// Turns about the edge's end through faces of half 1 to the next edge of the cut.
    [[nodiscard]] Side next(Side at) const {
        Side turn{at.face, (at.k + 1) % 3};
        while (!is_cut(turn.face, turn.k)) {
            const FaceId g = neighbour(posed_, turn.face, turn.k);
            std::size_t back = 0;
            while (neighbour(posed_, g, back) != turn.face) ++back;
            turn = {g, (back + 1) % 3};
        }
        return turn;
    }

    const PosedPlug& posed_;
    const Labels& label_;
};

/// Low-pass filter of a closed chain that keeps pinned points. Source: key "taubin", lambda 0.5, mu -0.52.
void fair(std::vector<Vec3>& points, const std::vector<std::uint8_t>& pinned, int passes) {
    const std::size_t n = points.size();
    std::vector<Vec3> next(n);
    for (int pass = 0; pass < 2 * passes; ++pass) {
        const double step = pass % 2 == 0 ? 0.5 : -0.52;
        for (std::size_t i = 0; i < n; ++i) {
            const Vec3 middle = (points[(i + n - 1) % n] + points[(i + 1) % n]) * 0.5;
            next[i] = pinned[i] ? points[i] : points[i] + (middle - points[i]) * step;
        }
        points.swap(next);
    }
}

SurfacePoint surface_point(const TriMesh& mesh, const MeshIndex::Nearest& nearest) {
    const auto c = mesh.corners(nearest.face);
    const Vec3 n = area_vector(c);
    const double whole = dot(n, n);
    SurfacePoint p{nearest.face, {1, 0, 0}};
    if (whole <= 0) return p;
    double sum = 0;
    for (std::size_t k = 0; k < 3; ++k) {
        p.weight[k] =
            std::max(0.0, dot(n, cross(c[(k + 1) % 3] - nearest.point, c[(k + 2) % 3] - nearest.point)) / whole);
        sum += p.weight[k];
    }
    for (double& w : p.weight) w /= sum;
    return p;
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

std::size_t start_index(const std::vector<Vec3>& points) {
    return static_cast<std::size_t>(std::min_element(points.begin(), points.end()) - points.begin());
}

/// On walls along the pull the cut's height is free: it runs level from where the line enters the wall to where it
/// leaves.
void level_on_walls(std::vector<Vec3>& line, const std::vector<std::uint8_t>& on_wall, Vec3 pull) {
    const std::size_t n = line.size();
    const auto start = static_cast<std::size_t>(std::find(on_wall.begin(), on_wall.end(), 0) - on_wall.begin());
    if (start == n) {
        double mean = 0;
        for (const Vec3& p : line) mean += dot(p, pull) / static_cast<double>(n);
        for (Vec3& p : line) p += pull * (mean - dot(p, pull));
        return;
    }
    for (std::size_t i = 1; i <= n;) {
        if (!on_wall[(start + i) % n]) {
            ++i;
            continue;
        }
        std::size_t end = i;
        while (on_wall[(start + end) % n]) ++end;
        const double from = dot(line[(start + i - 1) % n], pull), to = dot(line[(start + end) % n], pull);
        for (std::size_t k = i; k < end; ++k) {
            Vec3& p = line[(start + k) % n];
            const double share = static_cast<double>(k - i + 1) / static_cast<double>(end - i + 1);
            p += pull * (from + share * (to - from) - dot(p, pull));
        }
        i = end;
    }
}

/// Straightens one raw curve into a loop. Corners stay where the surface has them.
PartingLoop straighten(const PosedPlug& posed, const ReleaseMap& map, const SurfaceCurve& raw, const MeshIndex& near,
                       const std::vector<std::uint8_t>& is_wall, const Tolerances& tolerances,
                       std::vector<std::size_t>& corners) {
    PartingLoop loop;
    loop.silhouette = positions(posed.mesh(), raw);
    for (Vec3& p : loop.silhouette) p = posed.pose.to_fixture(p);
    std::rotate(loop.silhouette.begin(),
                loop.silhouette.begin() + static_cast<std::ptrdiff_t>(start_index(loop.silhouette)),
                loop.silhouette.end());

    const double length = polyline_length(loop.silhouette, true);
    const double step = std::min(std::max(tolerances.surface_step_mm, map.mean_edge_mm), length / 60);
    std::vector<Vec3> line = resample(loop.silhouette, true, step);
    std::vector<std::uint8_t> on_wall;
    for (const Vec3& p : line) on_wall.push_back(is_wall[near.nearest(posed.pose.to_scan(p)).face]);
    level_on_walls(line, on_wall, posed.pose.pull_fixture);
    const std::vector<std::uint8_t> loose(line.size(), 0);
    std::vector<Vec3> calm = line;
    fair(calm, loose, 6);
    corners = find_corners(calm, tolerances.corner_rad, tolerances.corner_run_mm);

    std::vector<std::uint8_t> pinned = loose;
    for (const std::size_t c : corners) pinned[c] = 1;
    // Noise moves the cut by sqrt(2 R sigma) along the surface; more passes average over a longer stretch of it.
    const int passes = posed.plug.noise_mm > 0.1 * tolerances.contact_mm ? 240 : 12;
    fair(line, pinned, passes);

    loop.surface_line.is_closed = true;
    for (const Vec3& p : line)
        loop.surface_line.points.push_back(surface_point(posed.mesh(), near.nearest(posed.pose.to_scan(p))));
    loop.panel_line = std::move(line);
    loop.length_mm = polyline_length(loop.panel_line, true);

    const std::size_t n = loop.panel_line.size();
    for (std::size_t i = 0; i < n; ++i) {
        const Vec3 tangent = loop.panel_line[(i + 1) % n] - loop.panel_line[(i + n - 1) % n];
        loop.outward.push_back(normalized(cross(tangent, posed.pose.pull_fixture)));
    }
    return loop;
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

void drop_tiny(std::vector<SurfaceCurve>& curves, const TriMesh& mesh, Parting& parting) {
    double longest = 0;
    std::vector<double> length;
    for (const SurfaceCurve& c : curves) {
        length.push_back(c.is_closed ? polyline_length(positions(mesh, c), true) : 0);
        longest = std::max(longest, length.back());
    }
    std::vector<SurfaceCurve> kept;
    for (std::size_t i = 0; i < curves.size(); ++i) {
        if (length[i] > 0 && length[i] >= tiny_loop_share * longest)
            kept.push_back(std::move(curves[i]));
        else
            ++parting.tiny_loops_dropped;
    }
    curves = std::move(kept);
}

/// The smooth curves of the field, unless a coarse mesh cannot carry them: then the edges of the cut themselves.
std::vector<SurfaceCurve> find_curves(const PosedPlug& posed, const ReleaseMap& map, const Labels& label,
                                      const std::vector<FaceId>& about, Parting& parting) {
    const TriMesh& mesh = posed.mesh();
    Parting ignored;
    std::vector<SurfaceCurve> edges = LabelLoops(posed, label).trace();
    drop_tiny(edges, mesh, parting);
    std::vector<SurfaceCurve> curves = zero_curves(mesh, cut_field(posed, map, label, about));
    drop_tiny(curves, mesh, ignored);
    return curves.size() == edges.size() ? curves : edges;
}

std::string reason_for_none(const Labels& label) {
    const bool has_one = std::find(label.begin(), label.end(), 1) != label.end();
    return std::string("no parting line: no part of the surface faces ") + (has_one ? "away from" : "along") +
           " the pull; change --tilt or --pull";
}

}  // namespace

Parting find_parting(const PosedPlug& posed, const ReleaseMap& map, const PartingOptions& options) {
    const TriMesh& mesh = posed.mesh();
    CRADLEWRIGHT_PRECONDITION(map.slope.size() == mesh.face_count());
    Parting parting;
    parting.band_deg = Angle::rad(map.band_rad).deg();

    Labels label = label_sure_faces(posed, map);
    const bool has_both = std::find(label.begin(), label.end(), 1) != label.end() &&
                          std::find(label.begin(), label.end(), 2) != label.end();
    if (!has_both) {
        parting.reason = reason_for_none(label);
        parting.half.assign(label.size(), std::find(label.begin(), label.end(), 1) != label.end() ? 1 : 2);
        return parting;
    }
    forget_specks(posed, label);
    const std::vector<std::uint8_t> is_wall = cut_band(posed, map, label);
    absorb_islands(posed, label, parting);
    parting.half = label;

    const std::vector<FaceId> about = faces_about_cut(posed, label, rings_about_cut);
    std::vector<SurfaceCurve> curves = find_curves(posed, map, label, about, parting);
    if (curves.empty()) {
        parting.reason = "no parting line: the cut between the halves does not close on the surface";
        return parting;
    }

    const MeshIndex near(mesh, about);
    struct Straight {
        PartingLoop loop;
        std::vector<std::size_t> corners;
        double area = 0;
    };
    std::vector<Straight> straight;
    for (const SurfaceCurve& curve : curves) {
        Straight s;
        s.loop = straighten(posed, map, curve, near, is_wall, options.tolerances, s.corners);
        s.area = projected_area(posed, s.loop.panel_line);
        s.loop.is_inner = s.area < 0;
        parting.out_of_plane_mm = std::max(parting.out_of_plane_mm, out_of_plane(s.loop.panel_line));
        straight.push_back(std::move(s));
    }
    std::stable_sort(straight.begin(), straight.end(),
                     [](const Straight& a, const Straight& b) { return a.area > b.area; });
    std::size_t inner = 0;
    for (Straight& s : straight) {
        s.loop.edges = name_edges(posed, s.loop, s.corners, s.loop.is_inner ? ++inner : 0);
        for (PartingEdge& edge : s.loop.edges)
            if (const auto told = options.edges.find(edge.id); told != options.edges.end())
                edge.rule = told->second.rule;
        parting.loops.push_back(std::move(s.loop));
    }
    return parting;
}

}  // namespace cradlewright
