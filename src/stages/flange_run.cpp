// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/flange_run.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "cradlewright/catalog/cutting.hpp"
#include "stages/flange_plan.hpp"

namespace cradlewright {
namespace {

constexpr std::size_t most_pieces = 24;      // of one edge
constexpr std::size_t direction_window = 4;  // points on either side that settle the line's direction

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

/// Plane through a run: set slope across, least squares along.
void fit_run(Run& run) {
    const std::span<const PlanPoint> points = run.settling();
    const Vec2 start = points.front().at, end = points.back().at;
    Vec2 mean_outward{};
    for (const Vec2& o : run.outward) mean_outward += o;
    const Vec2 travel = norm(end - start) > 1e-9 ? normalized(end - start) : perp(normalized(mean_outward));
    const Vec2 across = -perp(travel);
    const double fall = std::tan(run.slope_rad);
    double ss = 0, sh = 0, s1 = 0, h1 = 0;
    const auto n = static_cast<double>(points.size());
    for (const PlanPoint& p : points) {
        s1 += dot(p.at, travel) / n;
        h1 += (p.height + fall * dot(p.at, across)) / n;
    }
    for (const PlanPoint& p : points) {
        const double s = dot(p.at, travel) - s1;
        ss += s * s;
        sh += s * (p.height + fall * dot(p.at, across) - h1);
    }
    const double rise = ss > 0 ? std::clamp(sh / ss, -steepest_rise, steepest_rise) : 0;
    run.flats = {{h1 - rise * s1, travel * rise - across * fall}};
    run.off_plane_mm = balance(run);
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
    const Vec2 gradient{solution(0), solution(1)};
    run.flats = {{solution(2), gradient * std::min(1.0, steepest_rise / std::max(norm(gradient), 1e-9))}};
    run.off_plane_mm = balance(run);
    run.is_whole_loop = true;
}

class LoopSplitter {
public:
    LoopSplitter(const PartingLoop& loop, const Frame3& plan, const Settings& settings)
        : loop_(loop),
          plan_(plan),
          settings_(settings),
          least_radius_(least_bend_radius_mm(stock(settings, settings.flange.stock))) {}

    [[nodiscard]] std::vector<Run> split() const {
        std::vector<Run> runs;
        for (const PartingEdge& edge : loop_.edges) {
            const std::size_t n = loop_.panel_line.size();
            const std::size_t count = edge.last == edge.first ? n : (edge.last + n - edge.first) % n;
            for (Run& run : split_edge(edge, count)) runs.push_back(std::move(run));
        }
        return runs;
    }

private:
    [[nodiscard]] Run cut_run(const std::string& edge, std::size_t first, std::size_t count) const {
        Run run;
        run.edge = edge;
        run.first = first;
        run.count = count;
        const std::size_t n = loop_.panel_line.size();
        for (std::size_t i = 0; i <= count; ++i) {
            const Vec3 p = plan_.to_local(loop_.panel_line[(first + i) % n]);
            run.points.push_back({{p.x, p.y}, p.z});
        }
        run.outward = outward_along(run.points, count == n);
        const auto told = settings_.edges.find(edge);
        const EdgeOptions options = told == settings_.edges.end() ? EdgeOptions{} : told->second;
        run.slope_rad = options.slope.value_or(settings_.flange.slope).rad();
        run.width_mm = options.width.value_or(settings_.flange.width).mm();
        return run;
    }

    [[nodiscard]] std::size_t points_by_corner(std::size_t count) const {
        const double step = loop_.length_mm / static_cast<double>(loop_.panel_line.size());
        return static_cast<std::size_t>(std::min(Tolerances{}.corner_run_mm / step, static_cast<double>(count) / 4));
    }

    void shape(Run& run) const {
        const auto told = settings_.edges.find(run.edge);
        const std::string wish = told == settings_.edges.end() ? EdgeOptions{}.panel : told->second.panel;
        const double planarity = settings_.flange.planarity.mm();
        fit_run(run);
        if (wish == "flat" || (wish != "curved" && run.off_plane_mm <= planarity)) return;
        Run bent = run;
        const bool bears = bend_run(bent, planarity) &&
                           (wish == "curved" || bent.bend_radius_mm == 0 || bent.bend_radius_mm >= least_radius_);
        if (bears) run = std::move(bent);
    }

    /// As few equal pieces as stay within the planarity of their planes and can be cut from one sheet each.
    [[nodiscard]] std::vector<Run> split_edge(const PartingEdge& edge, std::size_t count) const {
        const bool is_whole = edge.first == edge.last;
        if (is_whole) {
            Run run = cut_run(edge.id, edge.first, count);
            fit_loop(run);
            const bool has_slope = std::abs(run.slope_rad) > 1e-9;
            if (loop_.is_inner || (!has_slope && run.off_plane_mm <= settings_.flange.planarity.mm())) {
                std::vector<Run> whole;
                whole.push_back(std::move(run));
                return whole;
            }
        }
        std::vector<Run> runs;
        const std::size_t fewest = is_whole ? 4 : 1, most = std::clamp(count / 2, fewest, most_pieces);
        for (std::size_t pieces = fewest; pieces <= most; ++pieces) {
            runs.clear();
            double worst = 0;
            for (std::size_t i = 0; i < pieces; ++i) {
                const std::size_t a = count * i / pieces, b = count * (i + 1) / pieces;
                runs.push_back(cut_run(edge.id, (edge.first + a) % loop_.panel_line.size(), b - a));
                if (!is_whole && i == 0) runs.back().skip_first = points_by_corner(b - a);
                if (!is_whole && i + 1 == pieces) runs.back().skip_last = points_by_corner(b - a);
                shape(runs.back());
                worst = std::max(worst, runs.back().off_plane_mm);
            }
            if (worst <= settings_.flange.planarity.mm() && std::ranges::all_of(runs, [&](const Run& run) {
                    return fits_sheet(run, &run == &runs.front() || is_whole, &run == &runs.back() || is_whole);
                }))
                break;
        }
        return runs;
    }

    /// Whether a panel along the run can be cut from one sheet, box by box as stock.fit judges. Toward another edge it
    /// may reach as far as it is wide, for the mitre.
    [[nodiscard]] bool fits_sheet(const Run& run, bool begins_edge, bool ends_edge) const {
        const Vec2 along = normalized(run.points.back().at - run.points.front().at);
        if (!(norm(along) > 0)) return true;
        Box2 box;
        const auto add = [&](Vec2 p) { box.add({dot(p, along), dot(p, perp(along))}); };
        for (std::size_t i = 0; i < run.points.size(); ++i) {
            const Vec2 p = run.points[i].at;
            add(p - run.outward[i] * panel_inward_mm);
            add(p + run.outward[i] * run.width_mm);
        }
        const double width = box.size().y, rise = run.points.back().height - run.points.front().height;
        const double length =
            std::hypot(box.size().x, rise) + (begins_edge ? run.width_mm : 0) + (ends_edge ? run.width_mm : 0);
        return share_of_sheet(settings_, stock(settings_, settings_.flange.stock), {length, width}) <= 1;
    }

    const PartingLoop& loop_;
    const Frame3& plan_;
    const Settings& settings_;
    double least_radius_;  // of the sheet
};

}  // namespace

double PlanPlane::in_plan(double width_mm, Vec2 direction) const {
    return width_mm / std::hypot(1, dot(gradient, direction));
}

std::size_t Run::flat_at(Vec2 p) const {
    std::size_t k = 0;
    while (k < rulings.size() && rulings[k].has_ahead(p)) ++k;
    return k;
}

double balance(Run& run) {
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (const PlanPoint& p : run.settling()) {
        const double off = p.height - run.plane_at(p.at).height(p.at);
        low = std::min(low, off);
        high = std::max(high, off);
    }
    for (PlanPlane& flat : run.flats) flat.at_origin += 0.5 * (low + high);
    return 0.5 * (high - low);
}

std::vector<Run> split_loop(const PartingLoop& loop, const Frame3& plan, const Settings& settings) {
    return LoopSplitter(loop, plan, settings).split();
}

}  // namespace cradlewright
