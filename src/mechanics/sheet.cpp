// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/mechanics/sheet.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <tuple>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "mechanics/band_matrix.hpp"

namespace cradlewright {
namespace {

constexpr std::size_t unknowns = 12;  // dip and two slopes at four corners
using Row = std::array<double, unknowns>;
using Square = std::array<Row, unknowns>;

constexpr std::array<double, 3> gauss_at{0.5 - 0.5 * 0.774596669241483, 0.5, 0.5 + 0.5 * 0.774596669241483};
constexpr std::array<double, 3> gauss_weight{5.0 / 18, 8.0 / 18, 5.0 / 18};

// Supports are springs this many times stiffer than the sheet over one cell: far above, yet well within double.
constexpr double support_over_sheet = 1e5;
constexpr double patch_points = 5;  // a patch load acts at so many points each way

/// 1, x, y, x2, xy, y2, x3, x2y, xy2, y3, x3y, xy3.
Row terms(double x, double y) {
    return {1, x, y, x * x, x * y, y * y, x * x * x, x * x * y, x * y * y, y * y * y, x * x * x * y, x * y * y * y};
}
Row terms_x(double x, double y) {
    return {0, 1, 0, 2 * x, y, 0, 3 * x * x, 2 * x * y, y * y, 0, 3 * x * x * y, y * y * y};
}
Row terms_y(double x, double y) {
    return {0, 0, 1, 0, x, 2 * y, 0, x * x, 2 * x * y, 3 * y * y, x * x * x, 3 * x * y * y};
}
std::array<Row, 3> curvatures(double x, double y) {
    return {{{0, 0, 0, 2, 0, 0, 6 * x, 2 * y, 0, 0, 6 * x * y, 0},
             {0, 0, 0, 0, 0, 2, 0, 0, 2 * x, 6 * y, 0, 6 * x * y},
             {0, 0, 0, 0, 2, 0, 0, 4 * x, 4 * y, 0, 6 * x * x, 6 * y * y}}};
}

/// Gauss-Jordan with row exchange.
Square inverse_of(Square a) {
    Square inverse{};
    for (std::size_t i = 0; i < unknowns; ++i) inverse[i][i] = 1;
    for (std::size_t c = 0; c < unknowns; ++c) {
        std::size_t pivot = c;
        for (std::size_t r = c + 1; r < unknowns; ++r)
            if (std::abs(a[r][c]) > std::abs(a[pivot][c])) pivot = r;
        std::swap(a[c], a[pivot]);
        std::swap(inverse[c], inverse[pivot]);
        const double scale = 1 / a[c][c];
        for (std::size_t k = 0; k < unknowns; ++k) {
            a[c][k] *= scale;
            inverse[c][k] *= scale;
        }
        for (std::size_t r = 0; r < unknowns; ++r) {
            if (r == c) continue;
            const double factor = a[r][c];
            for (std::size_t k = 0; k < unknowns; ++k) {
                a[r][k] -= factor * a[c][k];
                inverse[r][k] -= factor * inverse[c][k];
            }
        }
    }
    return inverse;
}

/// One cell in its own coordinates 0..1 both ways; slopes are times the cell's sides, so nothing depends on scale.
class Cell {
public:
    Cell(double step_x, double step_y, const SheetStiffness& d) {
        Square corners{};
        for (std::size_t n = 0; n < 4; ++n) {
            const double x = n % 2 == 0 ? 0 : 1, y = n / 2 == 0 ? 0 : 1;
            corners[3 * n] = terms(x, y);
            corners[3 * n + 1] = terms_x(x, y);
            corners[3 * n + 2] = terms_y(x, y);
        }
        coefficients_ = inverse_of(corners);
        const double area = step_x * step_y;
        const std::array<double, 3> to_mm{1 / (step_x * step_x), 1 / (step_y * step_y), 1 / area};
        for (std::size_t i = 0; i < 3; ++i)
            for (std::size_t j = 0; j < 3; ++j)
                add_point(gauss_at[i], gauss_at[j], area * gauss_weight[i] * gauss_weight[j], to_mm, d);
    }

    [[nodiscard]] const Square& stiffness() const { return stiffness_; }
    /// Dip at a place within the cell by its 12 unknowns.
    [[nodiscard]] Row shape(double x, double y) const { return in_unknowns(terms(x, y)); }

private:
    [[nodiscard]] Row in_unknowns(const Row& in_terms) const {
        Row out{};
        for (std::size_t t = 0; t < unknowns; ++t)
            for (std::size_t u = 0; u < unknowns; ++u) out[u] += in_terms[t] * coefficients_[t][u];
        return out;
    }
    void add_point(double x, double y, double weight, const std::array<double, 3>& to_mm, const SheetStiffness& d) {
        std::array<Row, 3> k = curvatures(x, y);
        for (std::size_t i = 0; i < 3; ++i) {
            k[i] = in_unknowns(k[i]);
            for (double& v : k[i]) v *= to_mm[i];
        }
        for (std::size_t a = 0; a < unknowns; ++a)
            for (std::size_t b = 0; b < unknowns; ++b)
                stiffness_[a][b] +=
                    weight * (d.d11 * k[0][a] * k[0][b] + d.d22 * k[1][a] * k[1][b] +
                              d.d12 * (k[0][a] * k[1][b] + k[1][a] * k[0][b]) + d.d66 * k[2][a] * k[2][b]);
    }

    Square coefficients_{}, stiffness_{};
};

}  // namespace

SheetStiffness isotropic_sheet(double e_mpa, double poisson, double thickness_mm) {
    CRADLEWRIGHT_PRECONDITION(poisson > -1 && poisson < 1);
    const double d = e_mpa * thickness_mm * thickness_mm * thickness_mm / (12 * (1 - poisson * poisson));
    return {d, poisson * d, d, (1 - poisson) / 2 * d};
}

SheetStiffness orthotropic_sheet(double ex_mpa, double ey_mpa, double gxy_mpa, double poisson_xy, double thickness_mm) {
    const double coupling = 1 - poisson_xy * poisson_xy * ey_mpa / ex_mpa;
    CRADLEWRIGHT_PRECONDITION(coupling > 0);
    const double i = thickness_mm * thickness_mm * thickness_mm / 12;
    return {ex_mpa * i / coupling, poisson_xy * ey_mpa * i / coupling, ey_mpa * i / coupling, gxy_mpa * i};
}

struct BentSheet::Body {
    SheetGrid grid;
    Cell cell;
    std::vector<std::size_t> number;  // of a node's first unknown; none = not on the sheet
    BandMatrix matrix{0, 0};
    bool is_held = false;
    static constexpr std::size_t none = static_cast<std::size_t>(-1);

    Body(const SheetGrid& g, const SheetStiffness& stiffness) : grid(g), cell(g.step_x_mm, g.step_y_mm, stiffness) {
        CRADLEWRIGHT_PRECONDITION(g.is_solid.size() == g.columns * g.rows && g.step_x_mm > 0 && g.step_y_mm > 0);
        number_nodes();
    }

    [[nodiscard]] std::size_t node_index(std::size_t column, std::size_t row) const {
        return row * (grid.columns + 1) + column;
    }
    [[nodiscard]] std::array<std::size_t, 4> corners(std::size_t column, std::size_t row) const {
        return {node_index(column, row), node_index(column + 1, row), node_index(column, row + 1),
                node_index(column + 1, row + 1)};
    }
    template <class Visit>
    void for_each_cell(const Visit& visit) const {
        for (std::size_t r = 0; r < grid.rows; ++r)
            for (std::size_t c = 0; c < grid.columns; ++c)
                if (grid.is_solid[r * grid.columns + c] != 0) visit(c, r);
    }

    /// Across the shorter side first, for a narrow band.
    void number_nodes() {
        std::vector<bool> is_used((grid.columns + 1) * (grid.rows + 1), false);
        for_each_cell([&](std::size_t c, std::size_t r) {
            for (const std::size_t n : corners(c, r)) is_used[n] = true;
        });
        number.assign(is_used.size(), none);
        const bool columns_inner = grid.columns < grid.rows;
        const std::size_t outer = columns_inner ? grid.rows : grid.columns;
        const std::size_t inner = columns_inner ? grid.columns : grid.rows;
        std::size_t next = 0;
        for (std::size_t o = 0; o <= outer; ++o)
            for (std::size_t i = 0; i <= inner; ++i) {
                const std::size_t n = columns_inner ? node_index(i, o) : node_index(o, i);
                if (!is_used[n]) continue;
                number[n] = next;
                next += 3;
            }
        std::size_t reach = 0;
        for_each_cell([&](std::size_t c, std::size_t r) {
            const auto n = corners(c, r);
            const auto [low, high] = std::minmax({number[n[0]], number[n[1]], number[n[2]], number[n[3]]});
            reach = std::max(reach, high - low + 2);
        });
        matrix = BandMatrix(next, reach);
    }

    [[nodiscard]] std::array<std::size_t, unknowns> unknowns_of(std::size_t column, std::size_t row) const {
        std::array<std::size_t, unknowns> all{};
        const auto n = corners(column, row);
        for (std::size_t i = 0; i < 4; ++i)
            for (std::size_t k = 0; k < 3; ++k) all[3 * i + k] = number[n[i]] + k;
        return all;
    }
    void add(std::size_t column, std::size_t row, const Square& square) {
        const auto at = unknowns_of(column, row);
        for (std::size_t a = 0; a < unknowns; ++a)
            for (std::size_t b = 0; b < unknowns; ++b) matrix.add(at[a], at[b], square[a][b]);
    }

    struct Place {
        std::size_t column = 0, row = 0;
        double x = 0, y = 0;  // within the cell, 0..1
        bool is_on_sheet = false;
    };
    [[nodiscard]] Place place_of(Vec2 p) const {
        const auto split = [](double v, std::size_t count) {
            const double whole = std::clamp(std::floor(v), 0.0, static_cast<double>(count) - 1);
            return std::pair{static_cast<std::size_t>(whole), v - whole};
        };
        constexpr double slack = 1e-9;  // of a cell: points on the outline belong to it
        Place place;
        std::tie(place.column, place.x) = split((p.x - grid.low.x) / grid.step_x_mm, grid.columns);
        std::tie(place.row, place.y) = split((p.y - grid.low.y) / grid.step_y_mm, grid.rows);
        place.is_on_sheet = place.x >= -slack && place.x <= 1 + slack && place.y >= -slack && place.y <= 1 + slack &&
                            grid.is_solid[place.row * grid.columns + place.column] != 0;
        return place;
    }

    void build(std::span<const Vec2> supports, const SheetStiffness& stiffness) {
        for_each_cell([&](std::size_t c, std::size_t r) { add(c, r, cell.stiffness()); });
        const double side = std::min(grid.step_x_mm, grid.step_y_mm);
        const double spring = support_over_sheet * std::max(stiffness.d11, stiffness.d22) / (side * side);
        std::vector<Vec2> used;
        for (const Vec2& p : supports) {
            const Place place = place_of(p);
            if (!place.is_on_sheet) continue;
            used.push_back(p);
            const Row n = cell.shape(place.x, place.y);
            Square square{};
            for (std::size_t a = 0; a < unknowns; ++a)
                for (std::size_t b = 0; b < unknowns; ++b) square[a][b] = spring * n[a] * n[b];
            add(place.column, place.row, square);
        }
        is_held = spans_a_plane(used, side);
        if (is_held) matrix.factor();
    }

    /// Three points off one line by more than a cell.
    static bool spans_a_plane(const std::vector<Vec2>& points, double least) {
        if (points.empty()) return false;
        const auto farthest = [&](const auto& measure) {
            return *std::max_element(points.begin(), points.end(),
                                     [&](Vec2 a, Vec2 b) { return measure(a) < measure(b); });
        };
        const Vec2 first = points.front();
        const Vec2 second = farthest([&](Vec2 p) { return norm(p - first); });
        const Vec2 along = normalized(second - first);
        const Vec2 third = farthest([&](Vec2 p) { return std::abs(cross(along, p - first)); });
        return norm(second - first) > least && std::abs(cross(along, third - first)) > 0.5 * least;
    }

    void add_force(std::vector<double>& right, Vec2 p, double force_n) const {
        const Place place = place_of(p);
        if (!place.is_on_sheet) return;
        const auto at = unknowns_of(place.column, place.row);
        const Row n = cell.shape(place.x, place.y);
        for (std::size_t a = 0; a < unknowns; ++a) right[at[a]] += force_n * n[a];
    }
};

BentSheet::BentSheet(const SheetGrid& grid, const SheetStiffness& stiffness, std::span<const Vec2> supports)
    : body_(std::make_unique<Body>(grid, stiffness)) {
    body_->build(supports, stiffness);
}
BentSheet::~BentSheet() = default;
BentSheet::BentSheet(BentSheet&&) noexcept = default;
BentSheet& BentSheet::operator=(BentSheet&&) noexcept = default;

bool BentSheet::is_held() const { return body_->is_held; }

std::vector<double> BentSheet::dips(std::span<const PatchLoad> loads) const {
    CRADLEWRIGHT_PRECONDITION(body_->is_held);
    std::vector<double> right(body_->matrix.size(), 0.0);
    for (const PatchLoad& load : loads) {
        const auto count_x = load.length_x_mm > 0 ? patch_points : 1, count_y = load.length_y_mm > 0 ? patch_points : 1;
        std::vector<Vec2> points;
        for (double i = 0; i < count_x; ++i)
            for (double j = 0; j < count_y; ++j)
                points.push_back(load.center + load.along * (((i + 0.5) / count_x - 0.5) * load.length_x_mm) +
                                 perp(load.along) * (((j + 0.5) / count_y - 0.5) * load.length_y_mm));
        std::erase_if(points, [&](Vec2 p) { return !body_->place_of(p).is_on_sheet; });
        for (const Vec2& p : points) body_->add_force(right, p, load.force_n / static_cast<double>(points.size()));
    }
    const std::vector<double> u = body_->matrix.solve(std::move(right));
    std::vector<double> dips(body_->number.size(), 0.0);
    for (std::size_t n = 0; n < dips.size(); ++n)
        if (body_->number[n] != Body::none) dips[n] = u[body_->number[n]];
    return dips;
}

double clamped_edge_dip_mm(double force_n, double reach_mm, double spread_mm, double d_n_mm) {
    CRADLEWRIGHT_PRECONDITION(reach_mm > 0 && spread_mm >= 0 && d_n_mm > 0);
    struct Known {
        double spread, factor;
    };
    constexpr std::array<Known, 4> known{{{0, 0.16654}, {0.5, 0.15989}, {1, 0.14774}, {2, 0.12066}}};
    const double spread = spread_mm / reach_mm;
    double factor = std::min(known.back().factor, 1 / (3 * std::max(spread, known.back().spread)));
    for (std::size_t i = 0; i + 1 < known.size(); ++i) {
        const Known &a = known[i], &b = known[i + 1];
        if (spread > b.spread) continue;
        factor = a.factor + (b.factor - a.factor) * (spread - a.spread) / (b.spread - a.spread);
        break;
    }
    return factor * force_n * reach_mm * reach_mm / d_n_mm;
}

double long_panel_dip_mm(double force_n, double width_mm, double d_n_mm) {
    CRADLEWRIGHT_PRECONDITION(width_mm > 0 && d_n_mm > 0);
    return 0.01695 * force_n * width_mm * width_mm / d_n_mm;
}

}  // namespace cradlewright
