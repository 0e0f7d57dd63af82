// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "plugs.hpp"
#include "weave.hpp"

namespace cradlewright::demo {
namespace {

/// A D-shaped ring: round in front, squarer behind, its height running evenly from back to front.
struct Ring {
    Vec2 front, back;  ///< (x, z)
    double half_width = 0;
};

constexpr double front_exponent = 2.2, back_exponent = 4;
constexpr double widest_place = 0.4;  ///< of the way from back to front

constexpr double lip_radius_mm = 10;  ///< about; steps are halved where the surface bends like this

constexpr std::size_t wall_rings = 6;
constexpr std::size_t first_outer_wall = 10, first_inner_wall = 19, ring_count = 26;

/// Control rings of a straight stretch: `steps` from the first to the last, each end going its own way.
void add_stretch(std::vector<Ring>& rings, const Ring& from, const Ring& to) {
    for (std::size_t i = 0; i < wall_rings; ++i) {
        const double t = static_cast<double>(i) / (wall_rings - 1);
        rings.push_back({from.front + (to.front - from.front) * t, from.back + (to.back - from.back) * t,
                         from.half_width + (to.half_width - from.half_width) * t});
    }
}

/// Once round the wall. Sizes are our own; the slopes of the walls come from the parameters.
std::vector<Ring> control_rings(const Scoop& scoop) {
    std::vector<Ring> rings = {
        {{68, 0}, {-50, 0}, 46},  // underside, outward
        {{91, 0}, {-66, 0}, 60},      {{114, 0}, {-82, 0}, 74},    {{138, 0}, {-98, 0}, 88},
        {{152, 2}, {-110, 2}, 99},  // rounded edge of the foot
        {{156, 10}, {-114, 10}, 103}, {{148, 18}, {-107, 18}, 97}, {{128, 22}, {-99, 21}, 88},  // top of the foot
        {{106, 25}, {-93, 24}, 78},   {{84, 28}, {-88, 27}, 69},
    };
    const double front_x = 70, front_rise = 65, back_x = -84, back_rise = 75, wall_z = 33;
    add_stretch(rings, {{front_x, wall_z}, {back_x, wall_z}, 63},
                {{front_x + front_rise * std::tan(scoop.front_lean_rad), wall_z + front_rise},
                 {back_x + back_rise * std::tan(scoop.back_lean_rad), wall_z + back_rise},
                 56});
    rings.insert(rings.end(), {
                                  {{90, 107}, {-56, 119}, 58},  // lip
                                  {{84, 115}, {-51, 127}, 53},
                                  {{72, 113}, {-46, 125}, 46},
                              });
    const double drop_front = 95, drop_back = 106, drop_side = 100, sink = std::tan(scoop.opening_draft_rad);
    const Ring bottom{
        {64 - drop_front * sink, 103 - drop_front}, {-42 + drop_back * sink, 114 - drop_back}, 41 - drop_side * sink};
    add_stretch(rings, {{64, 103}, {-42, 114}, 41}, bottom);
    const double round = 1.7;  // lower edge of the opening
    rings.push_back({{bottom.front.x + round, 0}, {bottom.back.x - round, 0}, bottom.half_width + round});
    return rings;
}

/// Superellipse that is one half-length long in front of its widest place and another behind.
Vec3 ring_point(const Ring& ring, double a) {
    const double c = std::cos(a), s = std::sin(a);
    const double n = c >= 0 ? front_exponent : back_exponent;
    const double r = std::pow(std::pow(std::abs(c), n) + std::pow(std::abs(s), n), -1 / n);
    const double middle = ring.back.x + widest_place * (ring.front.x - ring.back.x);
    const double x = middle + c * r * (c >= 0 ? ring.front.x - middle : middle - ring.back.x);
    const double t = (x - ring.back.x) / (ring.front.x - ring.back.x);
    return {x, s * r * ring.half_width, ring.back.y + (ring.front.y - ring.back.y) * t};
}

/// The rings as a curve of rings: uniform periodic cubic B-spline.
/// Source: C. de Boor, "A Practical Guide to Splines" (1978) [from memory]: four neighbours with weights that sum to 1.
class Wall {
public:
    explicit Wall(const Scoop& scoop) : rings_(control_rings(scoop)) {}

    [[nodiscard]] Vec3 at(double a, double w) const {
        const auto count = static_cast<double>(rings_.size());
        const double place = (w - std::floor(w)) * count;
        const auto first = static_cast<std::size_t>(place);
        const double t = place - static_cast<double>(first), r = 1 - t;
        const std::array<double, 4> weight = {r * r * r / 6, (3 * t * t * t - 6 * t * t + 4) / 6,
                                              (3 * r * r * r - 6 * r * r + 4) / 6, t * t * t / 6};
        Vec3 sum;
        for (std::size_t k = 0; k < 4; ++k)
            sum += ring_point(rings_[(first + k + rings_.size() - 1) % rings_.size()], a) * weight[k];
        return sum;
    }

private:
    std::vector<Ring> rings_;
};

/// Segment i of the spline mixes rings i - 1 to i + 2, so the straight part starts one ring in and ends two rings
/// early.
Stretch straight_part(std::size_t first) {
    return {static_cast<double>(first + 1) / ring_count, static_cast<double>(first + wall_rings - 2) / ring_count};
}

}  // namespace

Vec3 surface_point(const Scoop& scoop, double a, double w) { return Wall(scoop).at(a, w); }
Stretch outer_wall(const Scoop&) { return straight_part(first_outer_wall); }
Stretch inner_wall(const Scoop&) { return straight_part(first_inner_wall); }

TriMesh make_scan(const Scoop& scoop, const ScanOptions& options) {
    const Wall wall(scoop);
    const double full = 2 * std::numbers::pi;
    const EvenSteps::Curve ring_curve = [&](double a) { return wall.at(a, outer_wall(scoop).from); };
    const EvenSteps round(0, full, lip_radius_mm, {&ring_curve, 1});
    std::vector<EvenSteps::Curve> sections;
    for (int i = 0; i < 8; ++i) sections.emplace_back([&, i](double w) { return wall.at(full * i / 8, w); });
    const EvenSteps along(0, 1, lip_radius_mm, sections);
    const double wanted = static_cast<double>(options.triangles);
    const std::size_t columns = at_least(std::sqrt(wanted * round.length() / (2 * along.length())), 12);
    const std::size_t rows = at_least(wanted / (2 * static_cast<double>(columns)), 26);

    Weave weave(options);
    const auto fraction = [&](std::size_t i, std::size_t count) {
        const double t = (static_cast<double>(i) + weave.shift()) / static_cast<double>(count);
        return t - std::floor(t);
    };
    std::vector<std::vector<VertexId>> ring(rows);
    for (std::size_t row = 0; row < rows; ++row)
        for (std::size_t column = 0; column < columns; ++column) {
            const double a = round.at(fraction(column, columns));
            ring[row].push_back(weave.add(wall.at(a, along.at(fraction(row, rows)))));
        }
    for (std::size_t row = 0; row < rows; ++row) weave.band(ring[row], ring[(row + 1) % rows], true, row % 2 != 0);
    return weave.finish(options);
}

}  // namespace cradlewright::demo
