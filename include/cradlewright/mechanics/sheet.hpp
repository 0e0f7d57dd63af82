// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "cradlewright/base/vec.hpp"

/// \file Thin flat sheets of any outline on any supports, bent by forces square to them. Small dips only (below half
/// the thickness plate theory holds; beyond it the sheet is stiffer than computed).
namespace cradlewright {

/// Bending stiffness of a sheet, N mm, along its x and y.
struct SheetStiffness {
    double d11 = 0, d12 = 0, d22 = 0, d66 = 0;
};
/// D = E t^3 / (12 (1 - nu^2)) both ways. Source: key "timoshenko-plates", eq. (3).
/// Precondition: -1 < poisson < 1.
SheetStiffness isotropic_sheet(double e_mpa, double poisson, double thickness_mm);
/// Different along x and y, as plywood. `poisson_xy`: shrink along y by pull along x. Source: key "timoshenko-plates",
/// ch. 11. Precondition: poisson_xy^2 ey / ex < 1.
SheetStiffness orthotropic_sheet(double ex_mpa, double ey_mpa, double gxy_mpa, double poisson_xy, double thickness_mm);

/// Rectangular cells that make up a sheet.
struct SheetGrid {
    Vec2 low;  ///< corner of cell (0, 0)
    double step_x_mm = 1, step_y_mm = 1;
    std::size_t columns = 0, rows = 0;
    std::vector<std::uint8_t> is_solid;  ///< columns * rows, row by row

    [[nodiscard]] Vec2 node(std::size_t column, std::size_t row) const {
        return {low.x + step_x_mm * static_cast<double>(column), low.y + step_y_mm * static_cast<double>(row)};
    }
};

/// A force spread evenly over a rectangle.
struct PatchLoad {
    Vec2 center;
    double length_x_mm = 0, length_y_mm = 0;
    double force_n = 0;
    Vec2 along{1, 0};  ///< unit: the rectangle's x
};

/// A sheet glued to points: rigid there, free to turn. Non-conforming rectangles of 12 unknowns.
/// Source: O. C. Zienkiewicz, The Finite Element Method, 3rd ed. 1977, ch. 10 (rectangle with corner nodes), from
/// memory. Accurate to 2 % on 16 cells between supports; the outline is followed in whole cells. Cost: O(nodes b^2) to
/// make, O(nodes b) a load, b three times the shorter side's nodes.
class BentSheet {
public:
    /// Precondition: solid cells hang together and are held at three points that do not lie on one line.
    /// Points outside the solid cells are left out.
    BentSheet(const SheetGrid& grid, const SheetStiffness& stiffness, std::span<const Vec2> supports);
    ~BentSheet();
    BentSheet(BentSheet&&) noexcept;
    BentSheet& operator=(BentSheet&&) noexcept;

    /// False when too few points hold the sheet; then nothing can be computed.
    [[nodiscard]] bool is_held() const;
    /// Dip at each node ((columns + 1) * (rows + 1), row by row; 0 off the sheet), mm, positive along the force.
    /// What of a patch lies off the sheet is taken by the rest of it. Precondition: is_held().
    [[nodiscard]] std::vector<double> dips(std::span<const PatchLoad> loads) const;

private:
    struct Body;
    std::unique_ptr<Body> body_;
};

/// Dip under a force on the free edge of a long sheet clamped along a line `reach_mm` away, spread over `spread_mm` of
/// the edge: c P a^2 / D. nu = 0.3. Source: key "jaramillo"; c = 0.1665 for a point and 0.1599, 0.1477, 0.1207 for
/// spread / reach 0.5, 1, 2 recomputed by Fourier integral; between them linear, beyond the last as a line load
/// P a^3 / (3 D spread) where that is less.
double clamped_edge_dip_mm(double force_n, double reach_mm, double spread_mm, double d_n_mm);
/// Dip under a force in the middle of a strip between two simply supported long sides: 0.01695 P b^2 / D.
/// Source: key "timoshenko-plates", Table 23 (a/b = infinity).
double long_panel_dip_mm(double force_n, double width_mm, double d_n_mm);

}  // namespace cradlewright
