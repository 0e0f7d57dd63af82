// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: parting.md beside this file.
#include "stages/parting_line.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <optional>
#include <utility>

#include "cradlewright/geom/polyline.hpp"
#include "stages/parting_edges.hpp"
#include "stages/parting_smooth.hpp"

namespace cradlewright {
namespace {

constexpr double plan_share = 0.03;      // of an edge: how well a point is placed as seen along the pull
constexpr double straight_share = 0.08;  // of a face: a side bent more than this beside a corner has no sharp one
constexpr double kink_rad = 0.25;        // turns within the corner run that smoothing leaves alone
constexpr double close_share = 0.15;     // of the longest back step: a turn may be shared by points so close
constexpr double back_step_rad = 2.1;    // 120 deg: sharper turns at a single raw point are no corners
constexpr double corner_leave = 5;       // how much more in doubt samples beside a corner are
constexpr double held_mm = 1e-4;         // doubt of a corner's place in plan

struct Sample {
    Vec3 at;
    double doubt_mm = 0;
};

/// A closed chain that is read by distance from its first point.
class Chain {
public:
    Chain(std::vector<Vec3> points, std::vector<double> doubt) : points_(std::move(points)), doubt_(std::move(doubt)) {
        arc_.push_back(0);
        for (std::size_t i = 0; i < points_.size(); ++i)
            arc_.push_back(arc_.back() + norm(points_[(i + 1) % points_.size()] - points_[i]));
    }
    [[nodiscard]] const std::vector<Vec3>& points() const { return points_; }
    [[nodiscard]] const std::vector<double>& doubts() const { return doubt_; }
    /// Distance of a point from the first.
    [[nodiscard]] double arc(std::size_t i) const { return arc_[i]; }
    [[nodiscard]] double length() const { return arc_.back(); }
    /// Signed way from one distance to another, the short way round.
    [[nodiscard]] double way(double from, double to) const {
        return to - from - length() * std::round((to - from) / length());
    }
    [[nodiscard]] Sample at(double distance) const {
        const double d = distance - length() * std::floor(distance / length());
        const auto after = std::upper_bound(arc_.begin(), arc_.end() - 1, d);
        const auto i = static_cast<std::size_t>(std::max<std::ptrdiff_t>(1, after - arc_.begin())) - 1;
        const std::size_t k = (i + 1) % points_.size();
        const double run = arc_[i + 1] - arc_[i], share = run > 0 ? (d - arc_[i]) / run : 0;
        return {points_[i] * (1 - share) + points_[k] * share, doubt_[i] * (1 - share) + doubt_[k] * share};
    }
    /// The point within `reach` of a distance that stands out most from the stretch: its apex.
    [[nodiscard]] double apex(double distance, double reach) const {
        const Vec3 from = at(distance - reach).at, to = at(distance + reach).at;
        double best = distance, most = norm(at(distance).at - from) + norm(at(distance).at - to);
        for (std::size_t i = 0; i < points_.size(); ++i) {
            if (std::abs(way(distance, arc_[i])) > reach) continue;
            const double out = norm(points_[i] - from) + norm(points_[i] - to);
            if (out <= most) continue;
            most = out;
            best = arc_[i];
        }
        return best;
    }

private:
    std::vector<Vec3> points_;
    std::vector<double> doubt_, arc_;
};

/// Places where the chain turns more than `turn_rad`, as distances along it, sorted.
std::vector<double> turns(const Chain& chain, double step, double turn_rad, double run_mm) {
    const auto n = static_cast<std::size_t>(std::max(8.0, std::round(chain.length() / step)));
    const double even = chain.length() / static_cast<double>(n);
    std::vector<Vec3> points;
    for (std::size_t i = 0; i < n; ++i) points.push_back(chain.at(even * static_cast<double>(i)).at);
    std::vector<double> found;
    for (const std::size_t c : find_corners(points, turn_rad, run_mm)) {
        const double at = chain.apex(even * static_cast<double>(c), std::max(2 * step, 0.5 * run_mm));
        found.push_back(at >= chain.length() ? at - chain.length() : at);
    }
    std::sort(found.begin(), found.end());
    const auto is_same = [&](double a, double b) { return b - a < 0.5 * step; };
    found.erase(std::unique(found.begin(), found.end(), is_same), found.end());
    if (found.size() > 1 && is_same(found.back(), found.front() + chain.length())) found.pop_back();  // at the seam
    return found;
}

/// Straight line through a stretch of the chain seen along z of the frame: a point and a direction.
struct PlanLine {
    Vec2 at, along;
    double off_mm = 0;  ///< largest distance of the stretch from it
};
PlanLine fit_line(const Chain& chain, const Frame3& plan, double from, double to) {
    constexpr int samples = 9;
    std::array<Vec2, samples> points;
    Vec2 middle{};
    for (int i = 0; i < samples; ++i) {
        const Vec3 q = plan.to_local(chain.at(from + (to - from) * i / (samples - 1)).at);
        points[static_cast<std::size_t>(i)] = {q.x, q.y};
        middle += Vec2{q.x, q.y} / samples;
    }
    double xx = 0, xy = 0, yy = 0;
    for (const Vec2 p : points) {
        const Vec2 d = p - middle;
        xx += d.x * d.x;
        xy += d.x * d.y;
        yy += d.y * d.y;
    }
    const double angle = 0.5 * std::atan2(2 * xy, xx - yy);
    PlanLine line{middle, {std::cos(angle), std::sin(angle)}};
    for (const Vec2 p : points) line.off_mm = std::max(line.off_mm, std::abs(cross(line.along, p - middle)));
    return line;
}

/// Straight stretches from `reach` to four times that on either side of a corner, as far as there is room.
struct Sides {
    PlanLine before, after;
};
std::optional<Sides> straight_sides(const Chain& chain, const Frame3& plan, double corner, double room, double reach) {
    const double far = std::min(4 * reach, room);
    if (far < 1.5 * reach) return {};
    const Sides sides{fit_line(chain, plan, corner - far, corner - reach),
                      fit_line(chain, plan, corner + reach, corner + far)};
    if (std::max(sides.before.off_mm, sides.after.off_mm) > straight_share * reach) return {};
    return sides;
}

/// A scan's cut rounds a sharp corner off by up to a face. Puts the corner back where the sides meet, if they are
/// straight right up to it; heights stay.
std::optional<Vec3> sharpened(const Chain& chain, const Frame3& plan, double corner, double room, double reach) {
    const std::optional<Sides> sides = straight_sides(chain, plan, corner, room, reach);
    if (!sides) return {};
    const auto& [a, b] = *sides;
    const double across = cross(a.along, b.along);
    if (std::abs(across) < 0.2) return {};
    const Vec2 meet = a.at + a.along * (cross(b.at - a.at, b.along) / across);
    const Vec3 q = plan.to_local(chain.at(corner).at);
    if (norm(meet - Vec2{q.x, q.y}) >= reach) return {};
    return plan.to_parent(Vec3{meet.x, meet.y, q.z});
}

/// Half the way from a corner to the nearer of its neighbours.
double room_at(const Chain& chain, const std::vector<double>& corners, std::size_t i) {
    const auto gap = [&](double from, double to) { return to > from ? to - from : to - from + chain.length(); };
    const std::size_t n = corners.size();
    return 0.5 * std::min(gap(corners[i], corners[(i + 1) % n]), gap(corners[(i + n - 1) % n], corners[i]));
}

struct CorneredChain {
    Chain chain;
    std::vector<double> corners;  ///< distances along it, sorted
};

/// Finds the corners and makes those sharp that are: what lies within `reach` of one becomes straight.
CorneredChain make_corners(const Chain& raw, const Frame3& plan, double step, double reach,
                           const Tolerances& tolerances) {
    const std::vector<double> corners = turns(raw, step, tolerances.corner_rad, tolerances.corner_run_mm);
    if (corners.empty()) return {raw, {}};
    struct Knot {
        double arc;
        Vec3 at;
        double doubt;
        bool is_corner;
    };
    std::vector<Knot> knots;
    std::vector<double> sharp_corners;
    for (std::size_t i = 0; i < corners.size(); ++i) {
        const std::optional<Vec3> sharp = sharpened(raw, plan, corners[i], room_at(raw, corners, i), reach);
        const Sample own = raw.at(corners[i]);
        knots.push_back({corners[i], sharp.value_or(own.at), own.doubt_mm, true});
        if (sharp) sharp_corners.push_back(corners[i]);
    }
    for (std::size_t i = 0; i < raw.points().size(); ++i) {
        const bool is_by_corner = std::any_of(sharp_corners.begin(), sharp_corners.end(),
                                              [&](double c) { return std::abs(raw.way(c, raw.arc(i))) < reach; });
        if (!is_by_corner) knots.push_back({raw.arc(i), raw.points()[i], raw.doubts()[i], false});
    }
    std::sort(knots.begin(), knots.end(), [](const Knot& a, const Knot& b) { return a.arc < b.arc; });
    std::vector<Vec3> points;
    std::vector<double> doubts;
    for (const Knot& k : knots) {
        points.push_back(k.at);
        doubts.push_back(k.doubt);
    }
    CorneredChain result{Chain(std::move(points), std::move(doubts)), {}};
    for (std::size_t i = 0; i < knots.size(); ++i)
        if (knots[i].is_corner) result.corners.push_back(result.chain.arc(i));
    return result;
}

struct EvenChain {
    std::vector<Sample> samples;
    std::vector<std::size_t> corners;
    std::vector<std::size_t> tight;     ///< the corners whose sides are straight right beside them
    std::vector<std::uint8_t> is_kink;  ///< per sample: the outline may bend sharply here; corners among them
};

/// Evenly spaced between corners; every corner is a sample.
EvenChain space_evenly(const CorneredChain& cornered, const Frame3& plan, double step, const Tolerances& tolerances) {
    const Chain& chain = cornered.chain;
    EvenChain even;
    std::vector<double> stops = cornered.corners;
    if (stops.empty()) stops.push_back(0);
    for (std::size_t i = 0; i < stops.size(); ++i) {
        const double from = stops[i], to = i + 1 < stops.size() ? stops[i + 1] : stops[0] + chain.length();
        const auto count = static_cast<std::size_t>(std::max(1.0, std::round((to - from) / step)));
        if (!cornered.corners.empty()) {
            if (straight_sides(chain, plan, from, room_at(chain, stops, i), 0.5 * tolerances.corner_run_mm))
                even.tight.push_back(even.samples.size());
            even.corners.push_back(even.samples.size());
        }
        for (std::size_t k = 0; k < count; ++k)
            even.samples.push_back(chain.at(from + (to - from) * static_cast<double>(k) / static_cast<double>(count)));
    }
    std::vector<Vec3> points;
    for (const Sample& sample : even.samples) points.push_back(sample.at);
    even.is_kink.assign(points.size(), 0);
    for (const std::size_t c : even.corners) even.is_kink[c] = 1;
    for (const std::size_t c : find_corners(points, kink_rad, tolerances.corner_run_mm)) even.is_kink[c] = 1;
    return even;
}

std::vector<Vec3> smooth(const EvenChain& even, const Frame3& frame, double step, double run_mm, double plan_doubt_mm) {
    const std::size_t n = even.samples.size();
    std::vector<double> plan_doubt(n, plan_doubt_mm), height_doubt;
    std::vector<std::uint8_t> is_corner(n, 0);
    for (const std::size_t c : even.corners) is_corner[c] = 1;
    for (const std::size_t c : even.corners) plan_doubt[c] = held_mm;
    for (const Sample& s : even.samples) height_doubt.push_back(s.doubt_mm);
    // Real corners are a little round in plan: what lies beside one shall not keep the whole side loose.
    const auto beside = std::min(static_cast<std::size_t>(0.5 * run_mm / step), n / 16);
    for (const std::size_t c : even.tight)
        for (std::size_t d = 1; d <= beside; ++d)
            for (const std::size_t i : {(c + d) % n, (c + n - d) % n}) plan_doubt[i] *= corner_leave;

    Eigen::MatrixXd plan(static_cast<Eigen::Index>(n), 2), height(static_cast<Eigen::Index>(n), 1);
    for (std::size_t i = 0; i < n; ++i) {
        const Vec3 q = frame.to_local(even.samples[i].at);
        plan.row(static_cast<Eigen::Index>(i)) << q.x, q.y;
        height(static_cast<Eigen::Index>(i), 0) = q.z;
    }
    plan = ChainSmoother(plan_doubt, even.is_kink).smooth_curve(plan, step);
    height = ChainSmoother(height_doubt, is_corner).smooth(height, step);
    std::vector<Vec3> line;
    line.reserve(n);
    for (Eigen::Index i = 0; i < plan.rows(); ++i)
        line.push_back(frame.to_parent(Vec3{plan(i, 0), plan(i, 1), height(i, 0)}));
    return line;
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

/// Long thin triangles make the cut step back by a fraction of their length now and then; the points at which it turns
/// round go. Goes on round the seam until every point has been seen beside its last neighbours.
void drop_back_steps(std::vector<Vec3>& points, std::vector<double>& doubt, double longest) {
    std::size_t i = 0, calm = 0;
    while (points.size() > 8 && calm < points.size()) {
        const std::size_t n = points.size();
        const Vec3 before = points[(i + n - 1) % n], after = points[(i + 1) % n];
        const double next = norm(after - points[i]);
        const bool is_short = std::min(norm(points[i] - before), next) < longest;
        const bool is_back = angle_between(points[i] - before, after - points[i]) >= back_step_rad;
        // The turn may be shared by two points close together.
        const bool is_back_with_next = next < close_share * longest &&
                                       angle_between(points[i] - before, points[(i + 2) % n] - after) >= back_step_rad;
        if (!is_short || (!is_back && !is_back_with_next)) {
            i = (i + 1) % n;
            ++calm;
            continue;
        }
        points.erase(points.begin() + static_cast<std::ptrdiff_t>(i));
        doubt.erase(doubt.begin() + static_cast<std::ptrdiff_t>(i));
        i = (i + n - 1 - 2) % (n - 1);
        calm -= std::min<std::size_t>(calm, 2);
    }
}

/// How far points jump up and down along the pull among their neighbours, as one standard deviation: a crease sharper
/// than the mesh looks the same as a round nose that the mesh does not resolve, but runs straight.
std::vector<double> roughness(const std::vector<Vec3>& points, Vec3 pull) {
    const std::size_t n = points.size();
    std::vector<double> off(n);
    for (std::size_t i = 0; i < n; ++i) {
        const Vec3 before = points[(i + n - 1) % n], after = points[(i + 1) % n];
        const double to = norm(points[i] - before), from = norm(after - points[i]);
        off[i] = std::abs(dot(points[i] - before - (after - before) * (to / (to + from)), pull));
    }
    // Of three values that scatter alike, one lies off the mean of its neighbours by sqrt(1.5) of their deviation; the
    // median of its size is 0.6745 of that (normal distribution).
    const double per_median = 1 / (0.6745 * std::sqrt(1.5));
    std::vector<double> rough = steadied(off, 2, Zeros::counted);
    for (double& r : rough) r *= per_median;
    return rough;
}

/// The raw points in the fixture, from the lexicographically least on, without doubled ones and back steps.
Chain chain_in_fixture(const PosedPlug& posed, const ReleaseMap& map, const RawLoop& raw) {
    std::vector<Vec3> points = positions(posed.mesh(), raw.curve);
    for (Vec3& p : points) p = posed.pose.to_fixture(p);
    const auto start = static_cast<std::size_t>(std::min_element(points.begin(), points.end()) - points.begin());
    std::vector<Vec3> kept;
    std::vector<double> doubt;
    for (std::size_t i = 0; i < points.size(); ++i) {
        const std::size_t k = (start + i) % points.size();
        if (!kept.empty() && kept.back() == points[k]) continue;
        kept.push_back(points[k]);
        doubt.push_back(raw.height_doubt_mm[k]);
    }
    if (kept.size() > 1 && kept.back() == kept.front()) {
        kept.pop_back();
        doubt.pop_back();
    }
    drop_back_steps(kept, doubt, 3 * map.mean_edge_mm);
    const std::vector<double> rough = roughness(kept, posed.pose.pull_fixture);
    for (std::size_t i = 0; i < doubt.size(); ++i) doubt[i] = std::hypot(doubt[i], rough[i]);
    return {std::move(kept), std::move(doubt)};
}

/// Per point of the line, the raw point it comes from: the nearest one, the first of equals. Looks along x, outward
/// from the point, as far as the best one found allows.
std::vector<std::size_t> nearest_raw(const PosedPlug& posed, const RawLoop& raw, const std::vector<Vec3>& line) {
    std::vector<Vec3> points = positions(posed.mesh(), raw.curve);
    for (Vec3& p : points) p = posed.pose.to_fixture(p);
    std::vector<std::size_t> order(points.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return std::pair{points[a].x, a} < std::pair{points[b].x, b};
    });
    std::vector<std::size_t> nearest;
    for (const Vec3& q : line) {
        std::pair best{std::numeric_limits<double>::infinity(), order.front()};
        // False once no further one can be nearer.
        const auto look = [&](std::size_t i) {
            const Vec3 d = points[i] - q;
            best = std::min(best, {dot(d, d), i});
            return d.x * d.x <= best.first;
        };
        const auto from =
            std::lower_bound(order.begin(), order.end(), q.x, [&](std::size_t i, double x) { return points[i].x < x; });
        for (auto i = from; i != order.end() && look(*i);) ++i;
        for (auto i = from; i != order.begin() && look(*(i - 1));) --i;
        nearest.push_back(best.second);
    }
    return nearest;
}

/// Stretches of points that lie on bridges. Gaps of a point or two do not break one. A single point is none, nor is a
/// stretch that stays within `level_mm` along the pull: there the line only turns a corner.
std::vector<PartingBridge> find_bridges(const std::vector<std::uint8_t>& is_bridge, const std::vector<Vec3>& line,
                                        Vec3 pull, double level_mm) {
    const std::size_t n = line.size();
    std::vector<std::uint8_t> on(is_bridge);
    for (std::size_t i = 0; i < n; ++i)
        for (std::size_t gap = 2; gap <= 3; ++gap)
            if (is_bridge[i] && is_bridge[(i + gap) % n])
                for (std::size_t k = 1; k < gap; ++k) on[(i + k) % n] = 1;
    std::vector<PartingBridge> bridges;
    for (std::size_t i = 0; i < n; ++i) {
        if (!on[i] || on[(i + n - 1) % n]) continue;
        PartingBridge bridge{i, i, 0};
        double low = dot(line[i], pull), high = low;
        for (std::size_t next = (i + 1) % n; on[next]; next = (next + 1) % n) {
            bridge.length_mm += norm(line[next] - line[bridge.last]);
            bridge.last = next;
            low = std::min(low, dot(line[next], pull));
            high = std::max(high, dot(line[next], pull));
        }
        if (bridge.last != bridge.first && high - low > level_mm) bridges.push_back(bridge);
    }
    return bridges;
}

}  // namespace

void settle_line(const PosedPlug& posed, const MeshIndex& near, PartingLoop& loop) {
    const std::vector<Vec3>& line = loop.panel_line;
    loop.length_mm = polyline_length(line, true);
    loop.surface_line = {{}, true};
    for (const Vec3& p : line)
        loop.surface_line.points.push_back(surface_point(posed.mesh(), near.nearest(posed.pose.to_scan(p))));
    const std::size_t n = line.size();
    loop.outward.clear();
    for (std::size_t i = 0; i < n; ++i) {
        const Vec3 tangent = line[(i + 1) % n] - line[(i + n - 1) % n];
        loop.outward.push_back(normalized(cross(tangent, posed.pose.pull_fixture)));
    }
}

StraightLoop straighten(const PosedPlug& posed, const ReleaseMap& map, const RawLoop& raw, const MeshIndex& near,
                        const Tolerances& tolerances) {
    const Chain chain = chain_in_fixture(posed, map, raw);
    const double step = std::min(std::max(tolerances.surface_step_mm, map.mean_edge_mm), chain.length() / 60);
    const Frame3 plan = frame_from_normal({}, posed.pose.pull_fixture, {1, 0, 0});
    const EvenChain even =
        space_evenly(make_corners(chain, plan, step, map.mean_edge_mm, tolerances), plan, step, tolerances);

    StraightLoop result;
    result.corners = even.corners;
    PartingLoop& loop = result.loop;
    loop.silhouette = chain.points();
    // Nobody cuts closer than the tolerance of the arcs.
    const double plan_doubt = std::hypot(posed.plug.noise_mm, plan_share * map.mean_edge_mm, tolerances.arc_fit_mm);
    loop.panel_line = smooth(even, plan, step, tolerances.corner_run_mm, plan_doubt);
    settle_line(posed, near, loop);
    std::vector<std::uint8_t> is_bridge;
    for (const std::size_t k : nearest_raw(posed, raw, loop.panel_line)) {
        is_bridge.push_back(raw.is_bridge[k]);
        result.wall_mm.push_back(raw.wall_mm[k]);
    }
    loop.bridges = find_bridges(is_bridge, loop.panel_line, posed.pose.pull_fixture, map.mean_edge_mm);
    return result;
}

}  // namespace cradlewright
