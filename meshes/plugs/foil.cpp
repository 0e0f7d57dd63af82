// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
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

double span_parameter(const Blade& blade, double x_mm) { return x_mm / blade.span_mm; }
/// Where the board's nose line leaves the straight, and its whole length.
struct NoseLine {
    double straight_mm, whole_mm;
};
NoseLine nose_line(const Daggerboard& board) {
    const double straight = board.length_mm - board.corner_radius_mm * std::sin(board.corner_arc_rad);
    return {straight, straight + board.corner_radius_mm * board.corner_arc_rad};
}
double span_parameter(const Daggerboard& board, double x_mm) {
    const auto [straight, whole] = nose_line(board);
    if (x_mm <= straight) return x_mm / whole;
    const double r = board.corner_radius_mm;
    return (straight + r * std::asin((x_mm - straight) / r)) / whole;
}

template <class Foil>
LeaningEnd foil_end(const Foil& foil, FoilEnd which) {
    const double v = which == FoilEnd::root ? 0 : 1;
    const Vec3 outward{which == FoilEnd::root ? -1.0 : 1.0, 0, 0};
    LeaningEnd end;
    end.nose = surface_point(foil, 0, v);
    end.tail = surface_point(foil, foil.ridge_u, v);
    end.across = normalized(cross(end.tail - end.nose, Vec3{1, 0, 0}));
    const double c = std::cos(foil.end_lean_rad), s = std::sin(foil.end_lean_rad);
    end.normal_1 = outward * c + end.across * s;
    end.normal_2 = outward * c - end.across * s;
    return end;
}

/// Height above the plane of ridge and span; its size is how far the end has leant back there per tangent of the lean.
template <class Foil>
double height_over_ridge(const Foil& foil, const LeaningEnd& end, double u, double v) {
    return dot(surface_point(foil, u, v) - end.nose, end.across);
}

/// v at which the skin meets the leaning end. The skin's slope against the span times the lean is a few hundredths, so
/// each round gains more than a digit.
template <class Foil>
double end_parameter(const Foil& foil, const LeaningEnd& end, double u) {
    const double inward = end.normal_1.x < 0 ? 1 : -1;
    double v = span_parameter(foil, end.nose.x);
    for (int i = 0; i < 40; ++i) {
        const double back = std::tan(foil.end_lean_rad) * std::abs(height_over_ridge(foil, end, u, v));
        const double next = span_parameter(foil, end.nose.x + inward * back);
        const double step = std::abs(next - v);
        v = next;
        if (step < 1e-15) break;  // a few units in the last place of v
    }
    return v;
}

/// What the lean takes off a square end. Derived: at a depth x the part of the section higher than h = x / tan(lean)
/// over the ridge is gone; by Green its area is the integral of (height - h) along the outline, so the volume is
/// tan(lean) * integral over the outline of integral over 0 < h < h_end of (height - h) d(along the ridge) dh.
template <class Foil>
double lean_loss_mm3(const Foil& foil, FoilEnd which) {
    const LeaningEnd end = foil_end(foil, which);
    const Vec3 ridge = normalized(end.tail - end.nose);
    const double lean = std::tan(foil.end_lean_rad), inward = end.normal_1.x < 0 ? 1 : -1;
    const auto outline = [&](double u) {
        constexpr double step = 1e-5;  // one-sided at the arrises would miss the tail's corner
        const bool is_tail = u >= 1;
        const double lowest = is_tail ? 1 : -1, highest = is_tail ? 2 : 1;
        const double a = std::max(lowest, u - step), b = std::min(highest, u + step);
        const double h_end = std::abs(height_over_ridge(foil, end, u, end_parameter(foil, end, u)));
        return integral(0, h_end, 4, [&](double h) {
            const double v = span_parameter(foil, end.nose.x + inward * h * lean);
            const double height = height_over_ridge(foil, end, u, v);
            const double along = dot(surface_point(foil, b, v) - surface_point(foil, a, v), ridge) / (b - a);
            return (height - std::copysign(h, height)) * along;
        });
    };
    return lean * (integral(-1, 0, 400, outline) + integral(0, std::nextafter(1.0, 0.0), 400, outline) +
                   integral(1, 2, 20, outline));
}

/// How many cells a loft gets along the chord (one side), across the tail and each half of an end, and along the span.
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
    const auto wanted = static_cast<double>(triangles);
    FoilGrid grid;
    grid.chord = at_least(std::sqrt(wanted * mean_chord_mm * stretch / (4 * length_mm)), 6);
    grid.tail = at_least(tail_mm * static_cast<double>(grid.chord) / mean_chord_mm, 4);
    const double caps = 8 * static_cast<double>(grid.chord * grid.tail);
    grid.span = at_least((wanted - caps) / (2 * static_cast<double>(grid.ring())), 4);
    return grid;
}

template <class Foil>
class FoilMesh {
public:
    FoilMesh(const Foil& foil, const FoilGrid& grid, const ScanOptions& options)
        : foil_(foil),
          grid_(grid),
          weave_(options),
          root_(foil_end(foil, FoilEnd::root)),
          tip_(foil_end(foil, FoilEnd::tip)) {
        for (std::size_t column = 0; column < grid.ring(); ++column) {
            const double u = grid.parameter(static_cast<double>(column));
            reach_.push_back({end_parameter(foil, root_, u), end_parameter(foil, tip_, u)});
        }
    }

    TriMesh make(const ScanOptions& options) {
        std::vector<VertexId> before = end_ring(root_);
        cap(before, root_);
        for (std::size_t row = 1; row <= grid_.span; ++row) {
            std::vector<VertexId> ring = row < grid_.span ? inner_ring(row) : end_ring(tip_);
            weave_.band(before, ring, true, row % 2 != 0);
            before = std::move(ring);
        }
        cap(before, tip_);
        return weave_.finish(options);
    }

private:
    struct Reach {
        double root, tip;
    };

    /// Vertices on the arrises of the tail stay on them.
    double shifted(std::size_t column) {
        const bool is_arris = column == 0 || column == 2 * grid_.chord;
        return grid_.parameter(static_cast<double>(column) + (is_arris ? 0 : weave_.shift()));
    }
    /// The rows lean less and less away from the ends.
    std::vector<VertexId> inner_ring(std::size_t row) {
        std::vector<VertexId> ring;
        for (std::size_t column = 0; column < grid_.ring(); ++column) {
            const double u = shifted(column);
            const double t = (static_cast<double>(row) + weave_.shift()) / static_cast<double>(grid_.span);
            ring.push_back(weave_.add(surface_point(foil_, u, std::lerp(reach_[column].root, reach_[column].tip, t))));
        }
        return ring;
    }
    /// Lies in the planes of the end, its nose on the ridge.
    std::vector<VertexId> end_ring(const LeaningEnd& end) {
        std::vector<VertexId> ring;
        for (std::size_t column = 0; column < grid_.ring(); ++column) {
            const double u = column == grid_.chord ? 0 : shifted(column);
            ring.push_back(weave_.add(surface_point(foil_, u, end_parameter(foil_, end, u))));
        }
        return ring;
    }

    /// Vertices of the ridge from nose to tail: between the outline's spacing, close at the nose, and an even one, so
    /// that no triangle at the nose is much slimmer than the rest.
    std::vector<VertexId> ridge_of(const std::vector<VertexId>& ring) {
        const VertexId nose = ring[grid_.chord], tail = foil_.ridge_u < 0 ? ring[0] : ring[2 * grid_.chord];
        std::vector<VertexId> ridge = {nose};
        for (std::size_t i = 1; i < grid_.chord; ++i) {
            const double even = static_cast<double>(i) / static_cast<double>(grid_.chord);
            const double t = (even + chord_fraction(even)) / 2;
            ridge.push_back(weave_.add(weave_.at(nose) * (1 - t) + weave_.at(tail) * t));
        }
        ridge.push_back(tail);
        return ridge;
    }

    void cap(const std::vector<VertexId>& ring, const LeaningEnd& end) {
        const bool is_tip = end.normal_1.x > 0;
        const std::size_t n = grid_.chord;
        const std::vector<VertexId> ridge = ridge_of(ring);
        std::vector<VertexId> side_1(ring.begin() + static_cast<std::ptrdiff_t>(n),
                                     ring.begin() + static_cast<std::ptrdiff_t>(2 * n + 1));
        std::vector<VertexId> side_2(ring.rend() - static_cast<std::ptrdiff_t>(n + 1), ring.rend());
        std::vector<VertexId> tail(ring.begin() + static_cast<std::ptrdiff_t>(2 * n), ring.end());
        tail.push_back(ring[0]);  // from half 1's corner to half 2's
        const bool is_tail_in_1 = foil_.ridge_u < 0;
        if (is_tail_in_1) std::reverse(tail.begin(), tail.end());  // from the ridge outward
        half_cap(ridge, side_1, is_tail_in_1 ? tail : std::vector<VertexId>{}, is_tip);
        half_cap(ridge, side_2, is_tail_in_1 ? std::vector<VertexId>{} : tail, !is_tip);
    }

    /// Fills the plane between ridge and outline with columns from one to the other. They start in the nose and end in
    /// the tail, or in the arris where the tail belongs to the other half.
    void half_cap(const std::vector<VertexId>& ridge, const std::vector<VertexId>& outline,
                  const std::vector<VertexId>& tail, bool is_turned) {
        const std::size_t last = grid_.chord;
        std::vector<VertexId> before(grid_.tail + 1, ridge[0]);
        for (std::size_t i = 1; i <= last; ++i) {
            const std::vector<VertexId> column = i < last ? column_between(ridge[i], outline[i]) : tail;
            if (i == 1)
                fan(before[0], column, is_turned);
            else if (column.empty())
                fan(ridge[last], before, !is_turned);
            else
                weave_.band(is_turned ? before : column, is_turned ? column : before, false, i % 2 != 0);
            before = column;
        }
    }
    std::vector<VertexId> column_between(VertexId from, VertexId to) {
        std::vector<VertexId> column = {from};
        for (std::size_t k = 1; k < grid_.tail; ++k) {
            const double t = (static_cast<double>(k) + weave_.shift()) / static_cast<double>(grid_.tail);
            column.push_back(weave_.add(weave_.at(from) * (1 - t) + weave_.at(to) * t));
        }
        column.push_back(to);
        return column;
    }
    void fan(VertexId centre, const std::vector<VertexId>& rim, bool is_turned) {
        for (std::size_t k = 0; k + 1 < rim.size(); ++k)
            is_turned ? weave_.triangle(centre, rim[k + 1], rim[k]) : weave_.triangle(centre, rim[k], rim[k + 1]);
    }

    const Foil& foil_;
    FoilGrid grid_;
    Weave weave_;
    LeaningEnd root_, tip_;
    std::vector<Reach> reach_;  ///< of each column, where it meets the ends
};

template <class Foil>
TriMesh make_foil(const Foil& foil, const FoilGrid& grid, const ScanOptions& options) {
    return FoilMesh<Foil>(foil, grid, options).make(options);
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
    const auto [straight, whole] = nose_line(board);
    const double nose = v * whole;
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
    const double square = blade.span_mm * integral(0, 1, 100, [&](double v) { return section_area_mm2(blade, v); });
    return square - lean_loss_mm3(blade, FoilEnd::root) - lean_loss_mm3(blade, FoilEnd::tip);
}
double volume_mm3(const Daggerboard& board) {
    const double r = board.corner_radius_mm;
    const auto [straight, whole] = nose_line(board);
    const auto corner = [&, all = whole, before = straight](double angle) {
        return section_area_mm2(board, (before + r * angle) / all) * r * std::cos(angle);
    };
    const double square = straight * section_area_mm2(board, 0) + integral(0, board.corner_arc_rad, 100, corner);
    return square - lean_loss_mm3(board, FoilEnd::root) - lean_loss_mm3(board, FoilEnd::tip);
}
LeaningEnd leaning_end(const Blade& blade, FoilEnd which) { return foil_end(blade, which); }
LeaningEnd leaning_end(const Daggerboard& board, FoilEnd which) { return foil_end(board, which); }
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
