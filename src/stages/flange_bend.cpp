// SPDX-License-Identifier: GPL-3.0-or-later
// Bent panels: the envelope of planes through the line's tangent, as flats hinged along rulings. A developable's
// tangent planes turn about its rulings, so the ruling between two of them is the line in which they cut each other.
// Source: M. do Carmo, Differential Geometry of Curves and Surfaces, 3-5 [from memory]. We take planes through chords
// instead of tangents: neighbours then cut each other at a point of the line, whatever its noise.
#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "stages/flange_run.hpp"

namespace cradlewright {
namespace {

constexpr std::size_t fewest_flats = 2, most_flats = 40;
constexpr double least_flat_mm = 12;      // at the line: shorter ones follow the scan's noise
constexpr double least_between_mm = 2;    // of two rulings anywhere on the sheet
constexpr double most_longer_mm = 0.05;   // the smooth sheet than its flats; half of what a pattern may be off
constexpr double most_aslant_rad = 0.7;   // of a ruling to the normal of the line: 40 deg
constexpr double slope_slack_rad = 0.01;  // what the slope may miss where noise would turn a ruling too far
constexpr double no_bend_rad = 1e-5;      // 0.1 mm on 10 m
constexpr double inside_mm = 2;           // the sheet reaches so far into the plug before it is cut

/// Heights at the knots such that the flats between them, level across but for the slope, fit best.
std::vector<double> knot_heights(const Run& run, const std::vector<std::size_t>& knots) {
    const auto n = static_cast<Eigen::Index>(knots.size());
    Eigen::MatrixXd m = Eigen::MatrixXd::Zero(n, n);
    Eigen::VectorXd b = Eigen::VectorXd::Zero(n);
    const double fall = std::tan(run.slope_rad);
    for (Eigen::Index k = 0; k + 1 < n; ++k) {
        const std::size_t first = knots[static_cast<std::size_t>(k)], last = knots[static_cast<std::size_t>(k) + 1];
        const Vec2 from = run.points[first].at, chord = run.points[last].at - from;
        const double length = norm(chord);
        const Vec2 along = normalized(chord), across = -perp(along);
        const std::size_t low = std::max(first, run.skip_first),
                          high = std::min(last, run.points.size() - 1 - run.skip_last);
        for (std::size_t i = low; i < high || (i == high && k + 2 == n); ++i) {
            const Vec2 p = run.points[i].at - from;
            const double t = dot(p, along) / length, height = run.points[i].height + fall * dot(p, across);
            const Eigen::Vector2d share(1 - t, t);
            m.block<2, 2>(k, k) += share * share.transpose();
            b.segment<2>(k) += share * height;
        }
    }
    const Eigen::VectorXd heights = m.ldlt().solve(b);
    return {heights.data(), heights.data() + n};
}

/// Direction in plan of the ruling between two planes, turned toward `outward` as far as it may be aslant.
Vec2 ruling_direction(Vec2 change, Vec2 outward) {
    if (norm(change) < no_bend_rad) return outward;
    Vec2 direction = perp(normalized(change));
    if (dot(direction, outward) < 0) direction = -direction;
    const double aslant = std::atan2(cross(outward, direction), dot(outward, direction));
    const double kept = std::clamp(aslant, -most_aslant_rad, most_aslant_rad);
    return outward * std::cos(kept) + perp(outward) * std::sin(kept);
}

/// Flats through the chords between knots, hinged at the knots. False where one misses the slope or stands on end.
bool hinge(Run& run, const std::vector<std::size_t>& knots, const std::vector<double>& heights) {
    run.flats.clear();
    run.rulings.clear();
    const double fall = std::tan(run.slope_rad);
    Vec2 across_before{};
    for (std::size_t k = 0; k + 1 < knots.size(); ++k) {
        const Vec2 at = run.points[knots[k]].at, chord = run.points[knots[k + 1]].at - at;
        const Vec2 along = normalized(chord), across = -perp(along);
        const double rise = (heights[k + 1] - heights[k]) / norm(chord);
        if (!(std::abs(rise) <= steepest_rise)) return false;
        Vec2 gradient = along * rise - across * fall;
        if (k > 0) {
            const Vec2 before = run.flats.back().gradient;
            const Vec2 direction = ruling_direction(gradient - before, normalized(across_before + across));
            const Vec2 turn = perp(direction);
            gradient = before + turn * ((rise - dot(before, along)) / dot(turn, along));
            run.rulings.push_back({at, direction});
            if (std::abs(std::atan(-dot(gradient, across)) - run.slope_rad) > slope_slack_rad) return false;
        }
        run.flats.push_back({heights[k] - dot(gradient, at), gradient});
        across_before = across;
    }
    return true;
}

double turn_at(const Run& run, std::size_t ruling) {
    return angle_between(run.flats[ruling].normal(), run.flats[ruling + 1].normal());
}

Vec3 on_flat(const PlanPlane& flat, Vec2 p) { return {p.x, p.y, flat.height(p)}; }

/// Width of a flat between its rulings, at a distance from the line; negative where they have met.
double width_between(const Run& run, std::size_t flat, double out_mm) {
    const PlanRuling &a = run.rulings[flat - 1], &b = run.rulings[flat];
    const Vec2 p = a.at + a.direction * out_mm;
    if (b.has_ahead(p)) return -1;
    const Vec3 from = on_flat(run.flats[flat], b.at),
               along = normalized(on_flat(run.flats[flat], b.at + b.direction) - from),
               apart = on_flat(run.flats[flat], p) - from;
    return norm(apart - along * dot(apart, along));
}

/// Do all rulings keep apart on the sheet? Sets the smallest radius of bend: of a smooth sheet that turns by the angle
/// of a ruling over the width from the middle of one flat to that of the next.
bool rulings_keep_apart(Run& run) {
    const std::size_t flats = run.flats.size();
    const auto length_at_line = [&](std::size_t k) {
        const Vec2 from = k > 0 ? run.rulings[k - 1].at : run.points.front().at,
                   to = k < flats - 1 ? run.rulings[k].at : run.points.back().at;
        return norm(to - from);
    };
    double least = std::numeric_limits<double>::infinity();
    for (const double out : {-inside_mm, run.width_mm}) {
        std::vector<double> width(flats);
        for (std::size_t k = 0; k < flats; ++k) width[k] = length_at_line(k);
        for (std::size_t k = 1; k + 1 < flats; ++k)
            if ((width[k] = width_between(run, k, out)) < least_between_mm) return false;
        if (flats > 2) {  // the first and last have one ruling only
            width.front() = std::min(width.front(), width[1]);
            width.back() = std::min(width.back(), width[flats - 2]);
        }
        for (std::size_t k = 0; k + 1 < flats; ++k)
            if (turn_at(run, k) > no_bend_rad)
                least = std::min(least, 0.5 * (width[k] + width[k + 1]) / turn_at(run, k));
    }
    run.bend_radius_mm = std::isfinite(least) ? least : 0;
    return true;
}

/// By how much arcs that turn as much are longer than their chords: length x turn^2 / 24 (derived).
double longer_by(const Run& run, const std::vector<std::size_t>& knots) {
    double longer = 0;
    for (std::size_t k = 0; k < run.rulings.size(); ++k) {
        const double turn = turn_at(run, k);
        longer += norm(run.points[knots[k + 2]].at - run.points[knots[k]].at) / 2 * turn * turn / 24;
    }
    return longer;
}

}  // namespace

bool bend_run(Run& run, double planarity_mm) {
    const std::size_t steps = run.points.size() - 1;
    double length = 0;
    for (std::size_t i = 0; i < steps; ++i) length += norm(run.points[i + 1].at - run.points[i].at);
    const std::size_t most = std::min(most_flats, static_cast<std::size_t>(length / least_flat_mm));
    for (std::size_t flats = fewest_flats; flats <= most; ++flats) {
        std::vector<std::size_t> knots;
        for (std::size_t k = 0; k <= flats; ++k) knots.push_back(steps * k / flats);
        // The ends have heights only if their flats reach well past what does not count.
        if (steps / flats < 2 * std::max({run.skip_first, run.skip_last, std::size_t{2}})) return false;
        Run bent = run;
        if (!hinge(bent, knots, knot_heights(run, knots)) || !rulings_keep_apart(bent)) continue;
        bent.off_plane_mm = balance(bent);
        if (bent.off_plane_mm > planarity_mm || longer_by(bent, knots) > most_longer_mm) continue;
        if (bent.bend_radius_mm == 0) {
            bent.flats.resize(1);
            bent.rulings.clear();
        }
        run = std::move(bent);
        return true;
    }
    return false;
}

}  // namespace cradlewright
