// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <cmath>
#include <vector>

#include "cradlewright/base/error.hpp"
#include "plugs.hpp"
#include "weave.hpp"

namespace cradlewright::demo {
namespace {

/// Coefficients of the published half thickness per 5 t: sqrt(x), x, x^2, x^3, x^4; the last leaves the tail open.
/// Source: NASA TM-4741 (1996), 4-digit thickness form.
constexpr std::array<double, 5> thickness_terms = {0.2969, -0.1260, -0.3516, 0.2843, -0.1015};

struct Camber {
    double height = 0, slope = 0;
};
/// Source: NASA TM-4741 (1996), 4-digit camber line: two parabolas that meet at the place of most camber.
Camber camber(const FoilSection& s, double x) {
    if (s.camber == 0) return {};
    const double p = s.camber_place;
    const double k = x < p ? s.camber / (p * p) : s.camber / ((1 - p) * (1 - p));
    const double offset = x < p ? 0 : 1 - 2 * p;
    return {k * (offset + 2 * p * x - x * x), k * 2 * (p - x)};
}

/// Composite Simpson rule; `n` even.
template <class Function>
double integral(double low, double high, int n, const Function& f) {
    const double h = (high - low) / n;
    double sum = f(low) + f(high);
    for (int i = 1; i < n; ++i) sum += f(low + h * i) * (i % 2 != 0 ? 4 : 2);
    return sum * h / 3;
}

/// Chord fraction of a section parameter s in [0, 1]: quadratic at the nose, where the section is round, and even
/// behind.
double chord_fraction(double s) { return s * s * (3 - s) / 2; }

Vec3 placed(const FoilStation& at, double behind_nose, double up) {
    const double y = at.nose_y_mm - behind_nose * at.chord_mm, z = up * at.chord_mm;
    const double c = std::cos(at.twist_rad), s = std::sin(at.twist_rad);
    return {at.x_mm, y * c - z * s, y * s + z * c};
}

Vec3 skin_point(const FoilSection& section, double x_cut, const FoilStation& at, double u) {
    const Vec2 p =
        section_point(section, x_cut * chord_fraction(std::abs(u)), u < 0 ? FoilSide::upper : FoilSide::lower);
    return placed(at, p.x, -p.y);
}

Vec3 foil_point(const FoilSection& section, double tail_mm, const FoilStation& at, double u) {
    const double x_cut = tail_cut(section, tail_mm / at.chord_mm);
    if (u <= 1) return skin_point(section, x_cut, at, u);
    const double t = u - 1;
    return skin_point(section, x_cut, at, 1) * (1 - t) + skin_point(section, x_cut, at, -1) * t;
}

double foil_area(const FoilSection& section, double tail_mm, const FoilStation& at) {
    return at.chord_mm * at.chord_mm * section_area(section, tail_cut(section, tail_mm / at.chord_mm));
}

template <class Foil>
Vec3 foil_silhouette(const Foil& foil, double v, Vec3 pull) {
    CRADLEWRIGHT_PRECONDITION(pull.x == 0 && std::abs(pull.z) >= 0.5 * norm(pull));
    // The silhouette is where the section reaches furthest forward, square to the pull: a smooth single peak near the
    // nose.
    const Vec3 forward = normalized(Vec3{0, std::abs(pull.z), pull.z > 0 ? -pull.y : pull.y});
    const auto reach = [&](double u) { return dot(surface_point(foil, u, v), forward); };
    double low = -0.6, high = 0.6;
    for (int i = 0; i < 120; ++i) {
        const double a = low + (high - low) / 3, b = high - (high - low) / 3;
        (reach(a) < reach(b) ? low : high) = reach(a) < reach(b) ? a : b;
    }
    return surface_point(foil, (low + high) / 2, v);
}

/// How many cells a loft gets along the chord (one side), across the tail and along the span.
struct FoilGrid {
    std::size_t chord = 0, tail = 0, span = 0;
    [[nodiscard]] std::size_t ring() const { return 2 * chord + tail; }
    [[nodiscard]] double parameter(double column) const {
        const auto n = static_cast<double>(chord);
        return column <= 2 * n ? column / n - 1 : 1 + (column - 2 * n) / static_cast<double>(tail);
    }
};

/// Cells half as long again along the span as across: the surface is much straighter that way.
FoilGrid foil_grid(double length_mm, double mean_chord_mm, double tail_mm, std::size_t triangles) {
    constexpr double stretch = 1.5;
    const double wanted = static_cast<double>(triangles);
    FoilGrid grid;
    grid.chord = at_least(std::sqrt(wanted * mean_chord_mm * stretch / (4 * length_mm)), 6);
    grid.tail = at_least(tail_mm * static_cast<double>(grid.chord) / mean_chord_mm, 4);
    const double caps = 4 * static_cast<double>(grid.chord * grid.tail);
    grid.span = at_least((wanted - caps) / (2 * static_cast<double>(grid.ring())), 4);
    return grid;
}

/// One ring of vertices. Those on the arrises of the tail stay on them; end rings stay in the end planes.
template <class Foil>
std::vector<VertexId> add_ring(Weave& weave, const Foil& foil, const FoilGrid& grid, std::size_t row) {
    std::vector<VertexId> ring;
    const bool is_end = row == 0 || row == grid.span;
    for (std::size_t column = 0; column < grid.ring(); ++column) {
        const bool is_arris = column == 0 || column == 2 * grid.chord;
        const double u = grid.parameter(static_cast<double>(column) + (is_arris ? 0 : weave.shift()));
        const double v = (static_cast<double>(row) + (is_end ? 0 : weave.shift())) / static_cast<double>(grid.span);
        ring.push_back(weave.add(surface_point(foil, u, v)));
    }
    return ring;
}

/// Fills a flat end with columns from the convex to the other side; the nose is a single point, the last column the
/// tail.
void add_cap(Weave& weave, const FoilGrid& grid, const std::vector<VertexId>& ring, bool is_tip) {
    std::vector<VertexId> before(grid.tail + 1, ring[grid.chord]);
    for (std::size_t i = 1; i <= grid.chord; ++i) {
        std::vector<VertexId> column = {ring[grid.chord - i]};
        const VertexId last = ring[grid.chord + i];
        for (std::size_t k = 1; k < grid.tail; ++k) {
            const double t = (static_cast<double>(k) + weave.shift()) / static_cast<double>(grid.tail);
            column.push_back(i == grid.chord ? ring[grid.ring() - k]
                                             : weave.add(weave.at(column[0]) * (1 - t) + weave.at(last) * t));
        }
        column.push_back(last);
        const auto& lower = is_tip ? column : before;
        const auto& upper = is_tip ? before : column;
        if (i > 1) weave.band(upper, lower, false, i % 2 != 0);
        for (std::size_t k = 0; i == 1 && k < grid.tail; ++k)
            is_tip ? weave.triangle(before[0], column[k + 1], column[k])
                   : weave.triangle(before[0], column[k], column[k + 1]);
        before = std::move(column);
    }
}

template <class Foil>
TriMesh make_foil(const Foil& foil, const FoilGrid& grid, const ScanOptions& options) {
    Weave weave(options);
    std::vector<VertexId> before = add_ring(weave, foil, grid, 0);
    add_cap(weave, grid, before, false);
    for (std::size_t row = 1; row <= grid.span; ++row) {
        std::vector<VertexId> ring = add_ring(weave, foil, grid, row);
        weave.band(before, ring, true, row % 2 != 0);
        before = std::move(ring);
    }
    add_cap(weave, grid, before, true);
    return weave.finish(options);
}

}  // namespace

FoilSection naca_section(int digits) {
    CRADLEWRIGHT_PRECONDITION(digits >= 1 && digits <= 9999);
    return {digits / 1000 / 100.0, digits / 100 % 10 / 10.0, digits % 100 / 100.0};
}

double half_thickness(const FoilSection& section, double x) {
    const auto& k = thickness_terms;
    return 5 * section.thickness * (k[0] * std::sqrt(x) + x * (k[1] + x * (k[2] + x * (k[3] + x * k[4]))));
}

Vec2 section_point(const FoilSection& section, double x, FoilSide side) {
    const Camber line = camber(section, x);
    const double y = side == FoilSide::upper ? half_thickness(section, x) : -half_thickness(section, x);
    const double c = 1 / std::sqrt(1 + line.slope * line.slope);
    return {x - y * line.slope * c, line.height + y * c};
}

double tail_cut(const FoilSection& section, double thickness) {
    CRADLEWRIGHT_PRECONDITION(thickness > 0 && thickness < section.thickness);
    // Newton's rule from the tail forward: the thickness is concave there, so every step stays behind the answer.
    double x = 1;
    for (int i = 0; i < 50; ++i) {
        const auto& k = thickness_terms;
        const double slope =
            5 * section.thickness * (k[0] / (2 * std::sqrt(x)) + k[1] + x * (2 * k[2] + x * (3 * k[3] + x * 4 * k[4])));
        const double step = (half_thickness(section, x) - thickness / 2) / slope;
        if (i == 0 && step <= 0) return 1;
        x -= step;
        if (std::abs(step) < 1e-14) break;  // a few units in the last place of x
    }
    return x;
}

double section_area(const FoilSection& section, double x_cut) {
    // x = s^2 takes the root out of the thickness; the camber line's curvature jumps at its highest place.
    const auto strip = [&](double s) {
        const double slope = camber(section, s * s).slope;
        return 2 * half_thickness(section, s * s) * std::sqrt(1 + slope * slope) * 2 * s;
    };
    const double end = std::sqrt(x_cut), middle = std::min(end, std::sqrt(section.camber_place));
    return integral(0, middle, 200, strip) + integral(middle, end, 200, strip);
}

FoilStation station(const Blade& blade, double v) {
    const double chord = blade.root_chord_mm + (blade.tip_chord_mm - blade.root_chord_mm) * v;
    const double twist = blade.root_twist_rad + (blade.tip_twist_rad - blade.root_twist_rad) * v;
    return {blade.span_mm * v, chord, twist, blade.pitch_axis * chord};
}

FoilStation station(const Daggerboard& board, double v) {
    // v runs evenly along the nose line: straight first, then round the corner.
    const double arc = board.corner_radius_mm * board.corner_arc_rad;
    const double straight = board.length_mm - board.corner_radius_mm * std::sin(board.corner_arc_rad);
    const double nose = v * (straight + arc);
    const double angle = std::max(0.0, nose - straight) / board.corner_radius_mm;
    const double drop = board.corner_radius_mm * (1 - std::cos(angle));
    return {std::min(nose, straight) + board.corner_radius_mm * std::sin(angle), board.chord_mm - drop, 0,
            board.chord_mm / 2 - drop};
}

Vec3 surface_point(const Blade& blade, double u, double v) {
    return foil_point(blade.section, blade.tail_mm, station(blade, v), u);
}
Vec3 surface_point(const Daggerboard& board, double u, double v) {
    return foil_point(board.section, board.tail_mm, station(board, v), u);
}
double section_area_mm2(const Blade& blade, double v) {
    return foil_area(blade.section, blade.tail_mm, station(blade, v));
}
double section_area_mm2(const Daggerboard& board, double v) {
    return foil_area(board.section, board.tail_mm, station(board, v));
}
double volume_mm3(const Blade& blade) {
    return blade.span_mm * integral(0, 1, 100, [&](double v) { return section_area_mm2(blade, v); });
}
double volume_mm3(const Daggerboard& board) {
    const double r = board.corner_radius_mm, straight = board.length_mm - r * std::sin(board.corner_arc_rad);
    const double all = straight + r * board.corner_arc_rad;
    const auto corner = [&](double angle) {
        return section_area_mm2(board, (straight + r * angle) / all) * r * std::cos(angle);
    };
    return straight * section_area_mm2(board, 0) + integral(0, board.corner_arc_rad, 100, corner);
}
Vec3 nose_silhouette(const Blade& blade, double v, Vec3 pull) { return foil_silhouette(blade, v, pull); }
Vec3 nose_silhouette(const Daggerboard& board, double v, Vec3 pull) { return foil_silhouette(board, v, pull); }

TriMesh make_scan(const Blade& blade, const ScanOptions& options) {
    const double mean_chord = (blade.root_chord_mm + blade.tip_chord_mm) / 2;
    return make_foil(blade, foil_grid(blade.span_mm, mean_chord, blade.tail_mm, options.triangles), options);
}
TriMesh make_scan(const Daggerboard& board, const ScanOptions& options) {
    return make_foil(board, foil_grid(board.length_mm, board.chord_mm, board.tail_mm, options.triangles), options);
}

}  // namespace cradlewright::demo
