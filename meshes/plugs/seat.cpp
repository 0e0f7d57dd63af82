// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "plugs.hpp"
#include "weave.hpp"

namespace cradlewright::demo {
namespace {

struct OutlinePoint {
    Vec2 at, normal;
};

/// The crest in plan: a superellipse in polar form, one half-length in front and another behind; tangents agree where
/// they meet, since both are level there. A higher crest stands further in, so that level sections of the lip are
/// parallel curves: only then is its draft the same everywhere.
OutlinePoint outline(const Seat& seat, double a) {
    const double half = std::cos(a) >= 0 ? seat.front_mm : seat.back_mm;
    const double x = std::cos(a) / half, y = std::sin(a) / seat.half_width_mm;
    const double n = seat.exponent;
    const double r = std::pow(std::pow(std::abs(x), n) + std::pow(std::abs(y), n), -1 / n);
    const Vec2 slope{std::copysign(std::pow(std::abs(x), n - 1), x) / half,
                     std::copysign(std::pow(std::abs(y), n - 1), y) / seat.half_width_mm};
    const Vec2 normal = normalized(slope);
    const double inward = (crest_height(seat, a) - seat.crest_mm) * std::tan(seat.lip_draft_rad);
    return {Vec2{std::cos(a), std::sin(a)} * r - normal * inward, normal};
}

/// Leaves the middle evenly in all directions and meets the crest level and square to it in plan: a cubic in w.
Vec3 dish_point(const Seat& seat, const OutlinePoint& crest, double height, double w) {
    const Vec2 end_slope = crest.normal * dot(crest.at, crest.normal);
    const Vec2 p = crest.at * w + (end_slope - crest.at) * (w * w * (w - 1));
    return {p.x, p.y, seat.bottom_mm + (height - seat.bottom_mm) * w * w * (3 - 2 * w)};
}

/// The roll turns from level to the lip's draft; the lip is straight in each section square to the outline.
Vec3 rim_point(const Seat& seat, const OutlinePoint& crest, double height, double w) {
    const double turn = (std::numbers::pi / 2 - seat.lip_draft_rad) * std::min(w - 1, 1.0);
    const double roll_z = height - seat.roll_mm * (1 - std::cos(turn));
    const double fall = w > 2 ? roll_z * (w - 2) : 0;
    const Vec2 p = crest.at + crest.normal * (seat.roll_mm * std::sin(turn) + fall * std::tan(seat.lip_draft_rad));
    return {p.x, p.y, roll_z - fall};
}

/// Steps along sections all round the plan.
EvenSteps section_steps(const Seat& seat, double low, double high) {
    constexpr int directions = 12;
    std::vector<EvenSteps::Curve> sections;
    for (int i = 0; i < directions; ++i)
        sections.emplace_back(
            [&seat, a = 2 * std::numbers::pi * i / directions](double w) { return surface_point(seat, a, w); });
    return {low, high, seat.roll_mm, sections};
}

struct SeatGrid {
    std::size_t rings = 0, rim_rows = 0;
};
/// Dish of 6 n^2 triangles in n rings of 6 k vertices, rim of 12 n m.
SeatGrid seat_grid(double dish_radius_mm, double rim_mm, std::size_t triangles) {
    const double rows_per_ring = rim_mm / dish_radius_mm;
    SeatGrid grid;
    grid.rings = at_least(std::sqrt(static_cast<double>(triangles) / (6 + 12 * rows_per_ring)), 4);
    const auto n = static_cast<double>(grid.rings);
    grid.rim_rows = at_least((static_cast<double>(triangles) - 6 * n * n) / (12 * n), 2);
    return grid;
}

/// Between a ring of 6 (k - 1) and one of 6 k vertices: each sixth has one vertex more outside.
void add_ring_cells(Weave& weave, const std::vector<VertexId>& inner, const std::vector<VertexId>& outer,
                    std::size_t k) {
    for (std::size_t sixth = 0; sixth < 6; ++sixth) {
        for (std::size_t j = 0; j < k; ++j) {
            const VertexId middle = inner[(sixth * (k - 1) + j) % inner.size()];
            weave.triangle(middle, outer[sixth * k + j], outer[(sixth * k + j + 1) % outer.size()]);
            if (j + 1 < k)
                weave.triangle(middle, outer[sixth * k + j + 1], inner[(sixth * (k - 1) + j + 1) % inner.size()]);
        }
    }
}

}  // namespace

double crest_height(const Seat& seat, double a) {
    return seat.crest_mm + seat.saddle_mm * std::cos(2 * a) - seat.tail_rise_mm * std::cos(a);
}

Vec3 surface_point(const Seat& seat, double a, double w) {
    const OutlinePoint crest = outline(seat, a);
    const double height = crest_height(seat, a);
    return w <= 1 ? dish_point(seat, crest, height, w) : rim_point(seat, crest, height, w);
}

TriMesh make_scan(const Seat& seat, const ScanOptions& options) {
    const EvenSteps::Curve crest = [&](double a) { return surface_point(seat, a, 1); };
    const EvenSteps round(0, 2 * std::numbers::pi, 0, {&crest, 1});
    const EvenSteps dish = section_steps(seat, 0, 1), rim = section_steps(seat, 1, 3);
    const SeatGrid grid = seat_grid(dish.length(), rim.length(), options.triangles);
    const auto n = static_cast<double>(grid.rings);

    Weave weave(options);
    const auto ring = [&](std::size_t count, const EvenSteps& steps, double w, double shift_share) {
        std::vector<VertexId> ids;
        for (std::size_t j = 0; j < count; ++j) {
            double t = (static_cast<double>(j) + weave.shift()) / static_cast<double>(count);
            t -= std::floor(t);
            ids.push_back(weave.add(surface_point(seat, round.at(t), steps.at(w + shift_share * weave.shift()))));
        }
        return ids;
    };
    std::vector<VertexId> before = {weave.add(surface_point(seat, 0, 0))};
    for (std::size_t k = 1; k <= grid.rings; ++k) {
        std::vector<VertexId> ids = ring(6 * k, dish, static_cast<double>(k) / n, k < grid.rings ? 1 / n : 0);
        add_ring_cells(weave, before, ids, k);
        before = std::move(ids);
    }
    const auto m = static_cast<double>(grid.rim_rows);
    for (std::size_t row = 1; row <= grid.rim_rows; ++row) {
        std::vector<VertexId> ids =
            ring(before.size(), rim, static_cast<double>(row) / m, row < grid.rim_rows ? 1 / m : 0);
        weave.band(ids, before, true, row % 2 != 0);
        before = std::move(ids);
    }
    return weave.finish(options);
}

}  // namespace cradlewright::demo
