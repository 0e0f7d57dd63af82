// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: flange.md beside this file.
#include "cradlewright/stages/flange.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <span>

#include "base/parallel.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"

namespace cradlewright {
namespace {

constexpr std::size_t most_pieces = 24;      // of one edge
constexpr std::size_t direction_window = 4;  // points on either side that settle the line's direction
constexpr double inward_mm = 2;              // the raw strip starts inside the plug and is cut back
constexpr int thickness_samples = 16;        // slices through the sheet less one
constexpr double smooth_joint_rad = 0.17;    // 10 deg: runs that meet flatter need no corner piece
constexpr double mitre_plane_rad = 0.0873;   // 5 deg: contract 2.5
constexpr double edge_match_mm = 0.05;       // an outline edge this near a guide line follows it
constexpr double lost_share = 0.02;

/// Plan of the flange: x, y square to the pull, height along it.
struct PlanPoint {
    Vec2 at;
    double height = 0;
};

/// height = at_origin + gradient . xy
struct PlanPlane {
    double at_origin = 0;
    Vec2 gradient;
    [[nodiscard]] double height(Vec2 p) const { return at_origin + dot(gradient, p); }
    [[nodiscard]] Vec3 normal() const { return normalized(Vec3{-gradient.x, -gradient.y, 1}); }
};

struct Run {
    std::string edge;
    std::size_t first = 0, count = 0;  // points first .. first + count of the loop
    std::vector<PlanPoint> points;
    std::vector<Vec2> outward;
    PlanPlane plane;
    Vec2 along;  // unit, direction of travel
    double slope_rad = 0, width_mm = 0, off_plane_mm = 0;
    bool is_whole_loop = false;
    std::size_t skip_first = 0, skip_last = 0;  // points by a corner, where the line may step to the next edge's height
    [[nodiscard]] std::span<const PlanPoint> settling() const {
        return std::span(points).subspan(skip_first, points.size() - skip_first - skip_last);
    }
};

/// Where two neighbouring runs meet, in plan. `direction` points away from the plug.
struct Mitre {
    Vec2 at, direction;
    Vec2 bisector;           // away from the plug, halving the corner
    double turn_rad = 0;     // positive at a corner that sticks out
    double set_back_mm = 0;  // of either panel in plan: on a ridge the square-cut edges would meet below the tops
    /// Where a panel's edge passes: of the one behind the mitre (side +1) or of the one ahead (-1).
    [[nodiscard]] Vec2 edge(double side) const { return at - perp(direction) * (side * set_back_mm); }
};

/// `is_whole`: the chain closes, its last point is its first.
std::vector<Vec2> outward_along(const std::vector<PlanPoint>& points, bool is_whole) {
    const std::size_t n = points.size();
    std::vector<Vec2> outward(n);
    for (std::size_t i = 0; i < n; ++i) {
        if (is_whole) {
            const std::size_t round = n - 1, window = std::min(direction_window, round / 4);
            const Vec2 before = points[(i + round - window) % round].at, after = points[(i + window) % round].at;
            outward[i] = -perp(normalized(after - before));
            continue;
        }
        const std::size_t a = i > direction_window ? i - direction_window : 0;
        const std::size_t b = std::min(n - 1, i + direction_window);
        outward[i] = -perp(normalized(points[b].at - points[a].at));
    }
    return outward;
}

/// Shifts a fitted plane so that the largest deviations above and below are equal, and returns that deviation.
double balance(PlanPlane& plane, std::span<const PlanPoint> points) {
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (const PlanPoint& p : points) {
        const double off = p.height - plane.height(p.at);
        low = std::min(low, off);
        high = std::max(high, off);
    }
    plane.at_origin += 0.5 * (low + high);
    return 0.5 * (high - low);
}

/// Plane through a run: set slope across, least squares along.
void fit_run(Run& run) {
    const std::span<const PlanPoint> points = run.settling();
    const Vec2 start = points.front().at, end = points.back().at;
    Vec2 mean_outward{};
    for (const Vec2& o : run.outward) mean_outward += o;
    run.along = norm(end - start) > 1e-9 ? normalized(end - start) : perp(normalized(mean_outward));
    const Vec2 across = -perp(run.along);
    const double fall = std::tan(run.slope_rad);
    double ss = 0, sh = 0, s1 = 0, h1 = 0;
    const auto n = static_cast<double>(points.size());
    for (const PlanPoint& p : points) {
        s1 += dot(p.at, run.along) / n;
        h1 += (p.height + fall * dot(p.at, across)) / n;
    }
    for (const PlanPoint& p : points) {
        const double s = dot(p.at, run.along) - s1;
        ss += s * s;
        sh += s * (p.height + fall * dot(p.at, across) - h1);
    }
    const double rise = ss > 0 ? sh / ss : 0;
    run.plane.gradient = run.along * rise - across * fall;
    run.plane.at_origin = h1 - rise * s1;
    run.off_plane_mm = balance(run.plane, points);
}

/// Free least-squares plane of a closed loop.
void fit_loop(Run& run) {
    Eigen::Matrix3d m = Eigen::Matrix3d::Zero();
    Eigen::Vector3d b = Eigen::Vector3d::Zero();
    for (const PlanPoint& p : run.points) {
        const Eigen::Vector3d row(p.at.x, p.at.y, 1);
        m += row * row.transpose();
        b += row * p.height;
    }
    const Eigen::Vector3d solution = m.ldlt().solve(b);
    run.plane = {solution(2), {solution(0), solution(1)}};
    run.along = normalized(run.points[1].at - run.points[0].at);
    run.off_plane_mm = balance(run.plane, run.points);
    run.is_whole_loop = true;
}

class FlangeLayer {
public:
    FlangeLayer(const PosedPlug& posed, const Parting& parting, const Settings& settings)
        : posed_(posed),
          parting_(parting),
          settings_(settings),
          plan_(frame_from_normal({}, posed.pose.pull_fixture, {1, 0, 0})),
          thickness_(stock(settings, settings.flange.stock).thickness_mm),
          near_(make_index()) {}

    Flange lay() {
        for (std::size_t l = 0; l < parting_.loops.size(); ++l) {
            const std::vector<Run> runs = split_loop(parting_.loops[l]);
            std::vector<Flange> of_run(runs.size());
            for_each_piece(runs.size(), 1, [&](std::size_t r, std::size_t) { add_panel(of_run[r], l, runs, r); });
            for (Flange& one : of_run) append(std::move(one));
        }
        name_panels();
        return std::move(flange_);
    }

private:
    [[nodiscard]] MeshIndex make_index() const {
        std::vector<Vec3> points;
        for (const PartingLoop& loop : parting_.loops)
            for (const Vec3& p : loop.panel_line) points.push_back(posed_.pose.to_scan(p));
        const double reach = 2 * thickness_ + settings_.flange.gap_limit.mm() + 4;
        return MeshIndex(posed_.mesh(), faces_near(posed_.mesh(), points, reach));
    }

    [[nodiscard]] Run cut_run(const PartingLoop& loop, const std::string& edge, std::size_t first,
                              std::size_t count) const {
        Run run;
        run.edge = edge;
        run.first = first;
        run.count = count;
        const std::size_t n = loop.panel_line.size();
        for (std::size_t i = 0; i <= count; ++i) {
            const Vec3 p = plan_.to_local(loop.panel_line[(first + i) % n]);
            run.points.push_back({{p.x, p.y}, p.z});
        }
        run.outward = outward_along(run.points, count == n);
        const auto told = settings_.edges.find(edge);
        const EdgeOptions options = told == settings_.edges.end() ? EdgeOptions{} : told->second;
        run.slope_rad = options.slope.value_or(settings_.flange.slope).rad();
        run.width_mm = options.width.value_or(settings_.flange.width).mm();
        return run;
    }

    [[nodiscard]] std::vector<Run> split_loop(const PartingLoop& loop) const {
        std::vector<Run> runs;
        for (const PartingEdge& edge : loop.edges) {
            const std::size_t n = loop.panel_line.size();
            const std::size_t count = edge.last == edge.first ? n : (edge.last + n - edge.first) % n;
            for (Run& run : split_edge(loop, edge, count)) runs.push_back(std::move(run));
        }
        return runs;
    }

    [[nodiscard]] std::size_t points_by_corner(const PartingLoop& loop, std::size_t count) const {
        const double step = loop.length_mm / static_cast<double>(loop.panel_line.size());
        return std::min(static_cast<std::size_t>(tolerances_.corner_run_mm / step), count / 4);
    }

    /// As few equal pieces as stay within the planarity of their planes.
    [[nodiscard]] std::vector<Run> split_edge(const PartingLoop& loop, const PartingEdge& edge,
                                              std::size_t count) const {
        const bool is_whole = edge.first == edge.last;
        if (is_whole) {
            Run run = cut_run(loop, edge.id, edge.first, count);
            fit_loop(run);
            const bool has_slope = std::abs(run.slope_rad) > 1e-9;
            if (loop.is_inner || (!has_slope && run.off_plane_mm <= settings_.flange.planarity.mm())) {
                std::vector<Run> whole;
                whole.push_back(std::move(run));
                return whole;
            }
        }
        std::vector<Run> runs;
        for (std::size_t pieces = is_whole ? 4 : 1; pieces <= most_pieces; ++pieces) {
            runs.clear();
            double worst = 0;
            for (std::size_t i = 0; i < pieces; ++i) {
                const std::size_t a = count * i / pieces, b = count * (i + 1) / pieces;
                if (b - a < 2) return runs;
                runs.push_back(cut_run(loop, edge.id, (edge.first + a) % loop.panel_line.size(), b - a));
                if (!is_whole && i == 0) runs.back().skip_first = points_by_corner(loop, b - a);
                if (!is_whole && i + 1 == pieces) runs.back().skip_last = points_by_corner(loop, b - a);
                fit_run(runs.back());
                worst = std::max(worst, runs.back().off_plane_mm);
            }
            if (worst <= settings_.flange.planarity.mm()) break;
        }
        return runs;
    }

    [[nodiscard]] Mitre mitre_between(const Run& before, const Run& after) const {
        Mitre mitre = mitre_of_tops(before, after);
        const Vec2 ahead = perp(mitre.direction);
        const auto lean = [&](const Run& run) { return std::sin(std::atan(dot(run.plane.gradient, ahead))); };
        mitre.set_back_mm = std::max(0.0, 0.5 * thickness_ * (lean(before) - lean(after)));
        return mitre;
    }

    [[nodiscard]] static Mitre mitre_of_tops(const Run& before, const Run& after) {
        Mitre mitre;
        mitre.at = after.points.front().at;
        const Vec2 a = before.outward.back(), b = after.outward.front();
        mitre.bisector = mitre.direction = normalized(a + b);
        mitre.turn_rad = std::atan2(cross(a, b), dot(a, b));
        const double between = std::acos(std::clamp(dot(before.plane.normal(), after.plane.normal()), -1.0, 1.0));
        const Vec2 change = before.plane.gradient - after.plane.gradient;
        if (between < mitre_plane_rad || norm(change) == 0) return mitre;
        // Line on which both planes have one height, if it leaves the corner outward.
        const double offset = after.plane.at_origin - before.plane.at_origin;
        const double miss = (dot(change, mitre.at) - offset) / norm(change);
        Vec2 line = perp(normalized(change));
        if (dot(line, mitre.direction) < 0) line = -line;
        if (dot(line, mitre.direction) < 0.5 || std::abs(miss) > 0.25 * before.width_mm) return mitre;
        mitre.at = mitre.at - normalized(change) * miss;
        mitre.direction = line;
        return mitre;
    }

    /// Union of quads from just inside the plug to the full width, with corner pieces at both ends.
    [[nodiscard]] Polygons strip_in_plan(const Run& run, const Mitre& start, const Mitre& end) const {
        std::vector<Vec2> at, out;
        const auto extension = [&](const Mitre& m) {
            return m.turn_rad > smooth_joint_rad ? run.width_mm * std::tan(std::min(m.turn_rad / 2, 1.05)) + 2 : 0.0;
        };
        if (const double e = extension(start); e > 0) {
            at.push_back(run.points.front().at - perp(run.outward.front()) * e);
            out.push_back(run.outward.front());
        }
        for (std::size_t i = 0; i < run.points.size(); ++i) {
            at.push_back(run.points[i].at);
            out.push_back(run.outward[i]);
        }
        if (const double e = extension(end); e > 0) {
            at.push_back(run.points.back().at + perp(run.outward.back()) * e);
            out.push_back(run.outward.back());
        }
        Polygons quads;
        for (std::size_t i = 0; i + 1 < at.size(); ++i) {
            const auto reach = [&](std::size_t k) {
                return run.width_mm / std::sqrt(1 + dot(run.plane.gradient, out[k]) * dot(run.plane.gradient, out[k]));
            };
            std::vector<Vec2> quad{at[i] - out[i] * inward_mm, at[i] + out[i] * reach(i),
                                   at[i + 1] + out[i + 1] * reach(i + 1), at[i + 1] - out[i + 1] * inward_mm};
            if (signed_area(quad) < 0) std::reverse(quad.begin(), quad.end());
            quads.push_back(std::move(quad));
        }
        return unite(quads);
    }

    /// What lies beyond a mitre, near it. `side` +1: ahead of it along the line, -1: behind. Inside the plug it follows
    /// the bisector, however aslant the mitre leaves.
    [[nodiscard]] static Polygons beyond(const Mitre& m, double width, double side) {
        const double back = 0.5 * width, far = 4 * width, deep = 4 * width;
        const Vec2 ahead = perp(m.bisector) * side, from = m.edge(side);
        std::vector<Vec2> box{from - m.bisector * back, from, from + m.direction * far,
                              from + m.direction * far + ahead * deep, from - m.bisector * back + ahead * deep};
        if (signed_area(box) < 0) std::reverse(box.begin(), box.end());
        return {box};
    }

    void append(Flange&& more) {
        std::move(more.panels.begin(), more.panels.end(), std::back_inserter(flange_.panels));
        if (!more.note.empty()) add_note(flange_, more.note);
    }

    void add_panel(Flange& out, std::size_t l, const std::vector<Run>& runs, std::size_t r) const {
        const PartingLoop& loop = parting_.loops[l];
        const Run& run = runs[r];
        std::vector<Mitre> mitres;
        Polygons plan_shape;
        if (loop.is_inner) {
            std::vector<Vec2> inside;
            for (const PlanPoint& p : run.points) inside.push_back(p.at);
            if (signed_area(inside) < 0) std::reverse(inside.begin(), inside.end());
            plan_shape = offset({inside}, inward_mm);
        } else if (run.is_whole_loop) {
            plan_shape = strip_in_plan(run, {}, {});
        } else {
            const Mitre start = mitre_between(runs[(r + runs.size() - 1) % runs.size()], run);
            const Mitre end = mitre_between(run, runs[(r + 1) % runs.size()]);
            plan_shape = strip_in_plan(run, start, end);
            plan_shape = subtract(plan_shape, beyond(end, run.width_mm, 1));
            plan_shape = subtract(plan_shape, beyond(start, run.width_mm, -1));
            mitres = {start, end};
        }
        shape_panel(out, l, run, plan_shape, mitres);
    }

    /// Panel frame in the fixture: z = top face's normal, +y away from the plug, x against the direction of travel.
    [[nodiscard]] Frame3 panel_frame(const Run& run) const {
        const Vec2 middle = run.points[run.points.size() / 2].at;
        const Vec3 origin = plan_.to_parent(Vec3{middle.x, middle.y, run.plane.height(middle)});
        const Vec3 normal = plan_.direction_to_parent(run.plane.normal());
        return frame_from_normal(origin, normal, plan_.direction_to_parent(Vec3{-run.along.x, -run.along.y, 0}));
    }

    [[nodiscard]] Vec2 to_pattern(const Run& run, const Frame3& frame, Vec2 plan) const {
        const Vec3 q = frame.to_local(plan_.to_parent(Vec3{plan.x, plan.y, run.plane.height(plan)}));
        return {q.x, q.y};
    }

    /// Where the sheet may not be for coming within `gap_mm` of the plug anywhere over its thickness, in the panel's
    /// frame, inside the box: sections of the plug through the sheet grown by the gap, and those within the gap above
    /// and below it by what is left of a ball of that radius.
    [[nodiscard]] Polygons keep_out(const Frame3& frame, const Box2& box, double gap_mm) const {
        const Vec2 reach{gap_mm + 1, gap_mm + 1};
        const Box2 where{box.low - reach, box.high + reach};
        const Polygons window{{where.low, {where.high.x, where.low.y}, where.high, {where.low.x, where.high.y}}};
        std::vector<double> heights, radius;
        for (int i = 0; i <= thickness_samples; ++i) {
            heights.push_back(-thickness_ * i / thickness_samples);
            radius.push_back(gap_mm);
        }
        for (const double share : {0.25, 0.5, 0.75, 0.95})
            for (const double surface : {0.0, -thickness_}) {
                heights.push_back(surface + (surface < 0 ? -share : share) * gap_mm);
                radius.push_back(gap_mm * std::sqrt(1 - share * share));
            }
        const Frame3 in_scan = compose(inverse(posed_.pose.scan_to_fixture), frame);
        const std::vector<Slice> slices = slice_mesh(posed_.mesh(), in_scan, heights);
        Polygons all;
        for (std::size_t i = 0; i < slices.size(); ++i) {
            Polygons near;
            for (const SliceLoop& loop : slices[i]) {
                Box2 own;
                for (const Vec2& p : loop.points) own.add(p);
                const bool is_apart = own.low.x > where.high.x || own.high.x < where.low.x ||
                                      own.low.y > where.high.y || own.high.y < where.low.y;
                if (loop.is_closed && !is_apart) near.push_back(loop.points);
            }
            for (std::vector<Vec2>& loop : offset(intersect(near, window), radius[i])) all.push_back(std::move(loop));
        }
        return unite(all);
    }

    void shape_panel(Flange& out, std::size_t l, const Run& run, const Polygons& plan_shape,
                     const std::vector<Mitre>& mitres) const {
        if (plan_shape.empty()) {
            add_note(out, "edge " + run.edge + ": its neighbours leave no room for a panel of " +
                              fixed(run.width_mm, 0) + " mm");
            return;
        }
        FlangePanel panel;
        panel.edge = run.edge;
        panel.loop = l;
        panel.first = run.first;
        panel.last = (run.first + run.count) % parting_.loops[l].panel_line.size();
        panel.width_mm = run.width_mm;
        panel.slope_rad = run.is_whole_loop ? std::acos(std::clamp(run.plane.normal().z, -1.0, 1.0)) : run.slope_rad;
        panel.off_plane_mm = run.off_plane_mm;
        panel.is_inner = parting_.loops[l].is_inner;
        PlatePart& part = panel.part;
        part.kind = PartKind::panel;
        part.frame = panel_frame(run);
        part.thickness_mm = thickness_;
        part.stock = settings_.flange.stock;
        panel.point = part.frame.origin;
        panel.normal = part.frame.z;

        Polygons strip;
        Box2 box;
        for (const std::vector<Vec2>& chain : plan_shape) {
            strip.emplace_back();
            for (const Vec2& p : chain) {
                strip.back().push_back(to_pattern(run, part.frame, p));
                box.add(strip.back().back());
            }
        }
        // The outline may be off by the tolerance of its arcs.
        const Polygons out_of_bounds = keep_out(part.frame, box, settings_.flange.gap.mm() + tolerances_.arc_fit_mm);
        const Polygons shape = largest_piece(out, subtract(strip, out_of_bounds), run.edge);
        if (shape.empty()) return;
        std::vector<std::vector<Vec2>> guides;
        for (std::size_t i = 0; i < mitres.size(); ++i) {
            const Mitre& m = mitres[i];
            const Vec2 from = m.edge(i == 0 ? -1 : 1);
            guides.push_back({to_pattern(run, part.frame, from - m.direction * run.width_mm),
                              to_pattern(run, part.frame, from + m.direction * (3 * run.width_mm))});
        }
        const std::vector<std::vector<bool>> faces_plug = edges_along(shape, out_of_bounds);
        part.outline = outline_of(shape, faces_plug, guides, part.fit);
        measure_gap(panel, shape, faces_plug);
        out.panels.push_back(std::move(panel));
    }

    static void add_note(Flange& out, const std::string& text) {
        if (out.note.find(text) == std::string::npos) out.note += (out.note.empty() ? "" : "; ") + text;
    }

    [[nodiscard]] static Polygons largest_piece(Flange& out, const Polygons& pieces, const std::string& edge) {
        std::size_t best = pieces.size();
        double best_area = 0, total = 0;
        for (std::size_t i = 0; i < pieces.size(); ++i) {
            const double area = signed_area(pieces[i]);
            total += std::max(0.0, area);
            if (area > best_area) {
                best_area = area;
                best = i;
            }
        }
        if (best == pieces.size()) return {};
        if (total - best_area > lost_share * total)
            add_note(out, "edge " + edge + ": the plug cuts its panel apart, only the largest piece is kept");
        Polygons kept{pieces[best]};
        for (const std::vector<Vec2>& chain : pieces)
            if (signed_area(chain) < 0 && is_inside(chain.front(), pieces[best])) kept.push_back(chain);
        return kept;
    }

    [[nodiscard]] static Vec2 middle_of_edge(const std::vector<Vec2>& chain, std::size_t i) {
        return (chain[i] + chain[(i + 1) % chain.size()]) * 0.5;
    }

    /// Per edge of each chain: does it run along one of the lines?
    [[nodiscard]] static std::vector<std::vector<bool>> edges_along(const Polygons& shape, const Polygons& lines) {
        std::vector<std::vector<bool>> along;
        for (const std::vector<Vec2>& chain : shape) {
            along.emplace_back();
            for (std::size_t i = 0; i < chain.size(); ++i) {
                const Vec2 middle = middle_of_edge(chain, i);
                along.back().push_back(std::any_of(lines.begin(), lines.end(), [&](const std::vector<Vec2>& line) {
                    return distance_to_polyline(middle, line, true) < edge_match_mm;
                }));
            }
        }
        return along;
    }

    [[nodiscard]] static Loop classified(const std::vector<Vec2>& chain, const std::vector<bool>& faces_plug,
                                         const std::vector<std::vector<Vec2>>& guides) {
        Loop loop;
        for (std::size_t i = 0; i < chain.size(); ++i) {
            const Vec2 middle = middle_of_edge(chain, i);
            bool is_fit = faces_plug[i];
            for (const std::vector<Vec2>& g : guides)
                is_fit = is_fit || distance_to_polyline(middle, g, false) < edge_match_mm;
            loop.vertices.push_back({chain[i], 0, is_fit ? CutKind::fit : CutKind::rough});
        }
        return loop;
    }

    [[nodiscard]] Region outline_of(const Polygons& shape, const std::vector<std::vector<bool>>& faces_plug,
                                    const std::vector<std::vector<Vec2>>& guides, OutlineFit& fit) const {
        const double tolerance = tolerances_.arc_fit_mm;
        Region region;
        region.outer = fitted(classified(shape.front(), faces_plug.front(), guides), tolerance, fit);
        for (std::size_t i = 1; i < shape.size(); ++i)
            region.holes.push_back(fitted(classified(shape[i], faces_plug[i], guides), tolerance, fit));
        return region;
    }

    /// Clearance along the edge that faces the plug: at each place the least over the sheet's thickness.
    void measure_gap(FlangePanel& panel, const Polygons& shape,
                     const std::vector<std::vector<bool>>& faces_plug) const {
        panel.min_gap_mm = std::numeric_limits<double>::infinity();
        if (near_.is_empty()) return;
        for (std::size_t k = 0; k < shape.size(); ++k)
            for (std::size_t i = 0; i < shape[k].size(); ++i) {
                if (!faces_plug[k][i]) continue;
                const Vec2 middle = middle_of_edge(shape[k], i);
                double gap = std::numeric_limits<double>::infinity();
                for (int d = 0; d <= 2; ++d) {
                    const Vec3 p = panel.part.frame.to_parent(Vec3{middle.x, middle.y, -thickness_ * d / 2});
                    gap = std::min(gap, near_.nearest(posed_.pose.to_scan(p)).distance_mm);
                }
                panel.min_gap_mm = std::min(panel.min_gap_mm, gap);
                if (gap <= panel.max_gap_mm) continue;
                panel.max_gap_mm = gap;
                panel.max_gap_at = panel.part.frame.to_parent(middle);
            }
    }

    void name_panels() {
        std::map<std::string, int> count;
        for (FlangePanel& panel : flange_.panels) {
            const std::string number = std::to_string(++count[panel.edge]);
            panel.id = panel.part.id = "panel-" + panel.edge + "-" + number;
            panel.part.note = "drawn face is the top; fit edge toward the plug";
        }
    }

    const PosedPlug& posed_;
    const Parting& parting_;
    const Settings& settings_;
    Tolerances tolerances_;
    Frame3 plan_;
    double thickness_;
    MeshIndex near_;
    Flange flange_;
};

}  // namespace

Flange lay_flange(const PosedPlug& posed, const Parting& parting, const Settings& settings) {
    if (!parting.is_found()) return {};
    return FlangeLayer(posed, parting, settings).lay();
}

}  // namespace cradlewright
