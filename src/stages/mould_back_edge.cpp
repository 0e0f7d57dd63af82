// SPDX-License-Identifier: GPL-3.0-or-later
// Method and limits: mould_back.md.
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/triangulate.hpp"
#include "stages/cradle_parts.hpp"
#include "stages/mould_back_parts.hpp"

namespace cradlewright {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr double cell_mm = 0.3;                     // width of the columns in which lowest points are kept
constexpr double slab_sample_mm = 1.5;              // spacing of slices through and beside a plate
constexpr double chain_off_mm = 0.01;               // points that the edge does without
constexpr double on_line_mm = 0.03;                 // an outline edge this near a working line is a fit edge
constexpr double blunt_mm = 12;                     // what sticks out thinner than this breaks off
constexpr double foot_mm = 40, foot_relief_mm = 3;  // feet at both ends, clear of the bench between them
constexpr double above_mm = 50;
// A hand in a work glove. Source: common practice for hand holes in plates, 90 to 120 by 30 to 40 mm.
constexpr double hole_length_mm = 100, hole_height_mm = 34, hole_wall_mm = 20;

/// The lowest point of a section in each column.
class Lowest {
public:
    Lowest(double low, double high) : low_(low), cells_(static_cast<std::size_t>((high - low) / cell_mm) + 1) {
        for (Vec2& p : cells_) p.y = infinite;
    }

    void add(Vec2 a, Vec2 b) {
        const int pieces = static_cast<int>(std::ceil(std::abs(b.x - a.x) / cell_mm)) + 1;
        for (int k = 0; k <= pieces; ++k) take(a + (b - a) * (static_cast<double>(k) / pieces));
    }
    [[nodiscard]] double x_of(std::size_t cell) const { return low_ + cell_mm * (static_cast<double>(cell) + 0.5); }
    [[nodiscard]] const std::vector<Vec2>& cells() const { return cells_; }

private:
    void take(Vec2 p) {
        const double at = (p.x - low_) / cell_mm;
        if (!(at >= 0) || at >= static_cast<double>(cells_.size())) return;
        Vec2& kept = cells_[static_cast<std::size_t>(at)];
        if (p.y < kept.y) kept = p;
    }

    double low_;
    std::vector<Vec2> cells_;
};

void add_all(Lowest& lowest, const BackSection& section) {
    for (const std::vector<Vec2>& chain : section.chains)
        for (std::size_t k = 0; k + 1 < chain.size(); ++k) lowest.add(chain[k], chain[k + 1]);
}

/// Lowers each column to the underside of the balls, or their sections, about the lowest points.
void lower_by_balls(std::vector<double>& under, const Lowest& lowest, double radius) {
    const auto reach = static_cast<std::ptrdiff_t>(radius / cell_mm) + 1;
    const auto count = static_cast<std::ptrdiff_t>(under.size());
    for (std::ptrdiff_t c = 0; c < count; ++c) {
        const Vec2 p = lowest.cells()[static_cast<std::size_t>(c)];
        if (p.y == infinite) continue;
        for (std::ptrdiff_t k = std::max<std::ptrdiff_t>(0, c - reach); k <= std::min(count - 1, c + reach); ++k) {
            const double d = lowest.x_of(static_cast<std::size_t>(k)) - p.x, square = radius * radius - d * d;
            if (square < 0) continue;
            double& u = under[static_cast<std::size_t>(k)];
            if (p.y - radius < u) u = std::min(u, p.y - std::sqrt(square));
        }
    }
}

struct Range {
    double low = infinite, high = -infinite;
    void add(double v) {
        low = std::min(low, v);
        high = std::max(high, v);
    }
};
Range range_of(const BackSection& section) {
    Range range;
    for (const std::vector<Vec2>& chain : section.chains)
        for (const Vec2& p : chain) range.add(p.x);
    return range;
}

std::vector<Vec2> box(double x_low, double x_high, double z_low, double z_high) {
    return {{x_low, z_low}, {x_high, z_low}, {x_high, z_high}, {x_low, z_high}};
}

class PlateShaper {
public:
    explicit PlateShaper(const BackShape& shape) : shape_(shape) {
        for (const Vec2& p : shape.edge) top_ = std::max(top_, p.y + above_mm);
    }

    Region outline(OutlineFit& fit) {
        if (shape_.edge.size() < 2) return {};
        low_ = shape_.edge.front().x, high_ = shape_.edge.back().x;
        std::vector<Vec2> body{{low_, 0}, {high_, 0}};
        body.insert(body.end(), shape_.edge.rbegin(), shape_.edge.rend());
        const Polygons solid = without_thin(subtract({thinned(body, chain_off_mm)}, unite(cuts())), blunt_mm);
        const std::vector<Vec2>* best = nullptr;
        for (const std::vector<Vec2>& piece : solid)
            if (best == nullptr || signed_area(piece) > signed_area(*best)) best = &piece;
        if (best == nullptr || signed_area(*best) <= 0) return {};
        Loop loop;
        for (std::size_t i = 0; i < best->size(); ++i) {
            const Vec2 a = (*best)[i], b = (*best)[(i + 1) % best->size()];
            loop.vertices.push_back({a, 0, is_fit((a + b) * 0.5) ? CutKind::fit : CutKind::rough});
        }
        Region region;
        region.outer = fitted(loop, Tolerances{}.arc_fit_mm, fit);
        if (shape_.has_hand_hole)
            if (const std::optional<Loop> hole = hand_hole(*best)) region.holes.push_back(*hole);
        return region;
    }

private:
    [[nodiscard]] Polygons cuts() const {
        Polygons cuts;
        for (const BackSlot& s : shape_.slots)
            cuts.push_back(s.is_open_below ? box(s.low, s.high, -1, s.z) : box(s.low, s.high, s.z, top_));
        for (const auto& [low, high] : shape_.clearings) {
            double least = infinite;
            for (const double x : {low, 0.5 * (low + high), high}) least = std::min(least, height_on(shape_.edge, x));
            // Never through: at least half of the plate stays.
            cuts.push_back(box(low, high, std::max(least / 2, least - back_clearing_mm), top_));
        }
        double left = low_ + foot_mm, right = high_ - foot_mm;
        for (const BackSlot& s : shape_.slots) {  // no thin toe between a slot and the hollow
            if (!s.is_open_below) continue;
            if (left > s.high && left < s.high + blunt_mm) left = s.high;
            if (right < s.low && right > s.low - blunt_mm) right = s.low;
        }
        if (right - left > foot_mm) cuts.push_back(box(left, right, -1, foot_relief_mm));
        return cuts;
    }

    [[nodiscard]] bool is_fit(Vec2 p) const {
        if (std::abs(p.y) < on_line_mm) return true;
        const auto is_on = [&](const BackSlot& s) {
            const bool is_side = std::abs(p.x - s.low) < on_line_mm || std::abs(p.x - s.high) < on_line_mm;
            const bool is_within = p.x > s.low - on_line_mm && p.x < s.high + on_line_mm;
            return is_within && (is_side || std::abs(p.y - s.z) < on_line_mm);
        };
        if (std::ranges::any_of(shape_.slots, is_on)) return true;
        if (p.x <= low_ || p.x >= high_) return false;
        // Beside steep walls the height over a place says little: the distance along the normal does.
        const double rise = height_on(shape_.edge, p.x + cell_mm) - height_on(shape_.edge, p.x - cell_mm);
        return std::abs(p.y - height_on(shape_.edge, p.x)) < on_line_mm * std::hypot(1, rise / (2 * cell_mm));
    }

    /// A level slot with round ends, as near the plate's middle as there is room.
    [[nodiscard]] std::optional<Loop> hand_hole(const std::vector<Vec2>& outline) const {
        constexpr double grid_mm = 5, radius = hole_height_mm / 2, half = (hole_length_mm - hole_height_mm) / 2;
        const Polygons core = offset({outline}, -(radius + hole_wall_mm), 0.1);
        if (core.empty()) return std::nullopt;
        Box2 room;
        for (const std::vector<Vec2>& loop : core)
            for (const Vec2& p : loop) room.add(p);
        const Vec2 wanted{0.5 * (low_ + high_), 0.5 * (room.low.y + room.high.y)};
        std::optional<Vec2> best;
        for (double y = room.low.y; y <= room.high.y; y += grid_mm)
            for (double x = room.low.x + half; x <= room.high.x - half; x += grid_mm) {
                const Vec2 p{x, y};
                if (best && norm(p - wanted) >= norm(*best - wanted)) continue;
                // Over a slot the other plate stands.
                bool is_free = std::ranges::none_of(shape_.slots, [&](const BackSlot& s) {
                    return s.low - hole_wall_mm < x + half + radius && s.high + hole_wall_mm > x - half - radius;
                });
                for (int k = -2; k <= 2 && is_free; ++k) is_free = contains(core, {x + half * k / 2, y});
                if (is_free) best = p;
            }
        if (!best) return std::nullopt;
        const Vec2 c = *best;
        // Clockwise, as holes are; a half turn has bulge 1, clockwise -1.
        return Loop{{{{c.x + half, c.y - radius}, 0, CutKind::rough},
                     {{c.x - half, c.y - radius}, -1, CutKind::rough},
                     {{c.x - half, c.y + radius}, 0, CutKind::rough},
                     {{c.x + half, c.y + radius}, -1, CutKind::rough}}};
    }

    const BackShape& shape_;
    double low_ = 0, high_ = 0, top_ = 0;
};

}  // namespace

std::vector<double> slab_heights(double thickness_mm, double reach_mm) {
    std::vector<double> heights;
    const int within = std::max(1, static_cast<int>(std::ceil(thickness_mm / slab_sample_mm)));
    for (int i = 0; i <= within; ++i) heights.push_back(thickness_mm * (static_cast<double>(i) / within - 0.5));
    const int beside = std::max(1, static_cast<int>(std::ceil(reach_mm / slab_sample_mm)));
    // The last ones stand for walls that run along the plate's faces.
    constexpr double outermost = 0.98;
    for (int i = 1; i <= beside; ++i)
        for (const double side : {-1.0, 1.0})
            heights.push_back(
                side * (thickness_mm / 2 + reach_mm * (i < beside ? static_cast<double>(i) / beside : outermost)));
    return heights;
}

BackEdge edge_under(const std::vector<BackSection>& sections, double reach_mm) {
    Range all;
    Range covered{-infinite, infinite};
    for (const BackSection& section : sections) {
        const Range own = range_of(section);
        all.add(own.low), all.add(own.high);
        if (section.away_mm > 0) continue;
        covered = {std::max(covered.low, own.low), std::min(covered.high, own.high)};
    }
    if (!(covered.low < covered.high)) return {};
    const double low = std::max(all.low, covered.low - reach_mm) - cell_mm;
    const double high = std::min(all.high, covered.high + reach_mm) + cell_mm;
    Lowest within(low, high);
    for (const BackSection& section : sections)
        if (section.away_mm <= 0) add_all(within, section);
    std::vector<double> under(within.cells().size(), infinite);
    lower_by_balls(under, within, reach_mm);
    for (const BackSection& section : sections) {
        if (section.away_mm <= 0 || section.away_mm >= reach_mm) continue;
        Lowest beside(low, high);
        add_all(beside, section);
        lower_by_balls(under, beside, std::sqrt(reach_mm * reach_mm - section.away_mm * section.away_mm));
    }
    BackEdge result;
    for (std::size_t k = 0; k < under.size(); ++k) {
        if (const double x = within.x_of(k); x >= covered.low && x <= covered.high && under[k] < infinite)
            result.edge.push_back({x, under[k]});
        if (within.cells()[k].y < infinite) result.surface.push_back(within.cells()[k]);
    }
    return result;
}

Region shape_back_plate(const BackShape& shape, OutlineFit& fit) { return PlateShaper(shape).outline(fit); }

TriMesh flange_surface(const Flange& flange, const std::vector<BeadRun>& runs) {
    TriMesh mesh;
    const auto add = [&](Vec3 a, Vec3 b, Vec3 c) {
        const auto first = static_cast<VertexId>(mesh.vertices.size());
        mesh.vertices.insert(mesh.vertices.end(), {a, b, c});
        mesh.triangles.push_back({first, first + 1, first + 2});
    };
    for (const FlangePanel& panel : flange.panels)
        for (const PlatePart& flat : flats_of(panel.part)) {
            const Triangulation top = triangulate(to_polygons(flat.outline, Tolerances{}.chord_mm));
            const auto at = [&](VertexId v) { return flat.frame.to_parent(top.points[v]); };
            for (const Triangle& t : top.triangles) add(at(t[0]), at(t[1]), at(t[2]));
        }
    constexpr int chords = 6;
    for (const BeadRun& run : runs) {
        if (run.kind == BeadKind::none) continue;
        const std::size_t n = run.sections.size();
        for (std::size_t k = 0; k + (run.is_ring ? 0 : 1) < n; ++k) {
            const BeadSection &a = run.sections[k], &b = run.sections[(k + 1) % n];
            if (!a.is_valid || !b.is_valid) continue;
            const std::vector<Vec3> p = clay_face(a, run.kind, chords), q = clay_face(b, run.kind, chords);
            for (std::size_t i = 0; i + 1 < p.size(); ++i) {
                add(p[i], p[i + 1], q[i + 1]);
                add(p[i], q[i + 1], q[i]);
            }
        }
    }
    return mesh;
}

}  // namespace cradlewright
