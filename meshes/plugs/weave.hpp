// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "plugs.hpp"
#include "random.hpp"

/// \file From a parametric surface to triangles: shared by all plugs, not part of their public face.
namespace cradlewright::demo {

/// Collects vertices and triangles and knows how irregular they shall be.
class Weave {
public:
    explicit Weave(const ScanOptions& options)
        : is_regular_(options.triangulation == Triangulation::regular), random_(options.seed) {
        mesh_.vertices.reserve(options.triangles / 2 + 1000);
        mesh_.triangles.reserve(options.triangles + options.triangles / 16 + 1000);
    }

    VertexId add(Vec3 p) {
        mesh_.vertices.push_back(p);
        return static_cast<VertexId>(mesh_.vertices.size() - 1);
    }
    /// Random shift in cells, 0 in a regular weave.
    double shift() { return is_regular_ ? 0 : random_.between(-largest_shift, largest_shift); }
    void triangle(VertexId a, VertexId b, VertexId c) { mesh_.triangles.push_back({a, b, c}); }
    /// Two triangles of a cell, corners counter-clockwise from outside; `is_odd` alternates in a regular weave.
    void cell(VertexId a, VertexId b, VertexId c, VertexId d, bool is_odd);
    /// Cells between two rows of equal length; wraps round when closed. Rows run counter-clockwise around `lower` to
    /// `upper`.
    void band(std::span<const VertexId> lower, std::span<const VertexId> upper, bool is_closed, bool is_odd);

    [[nodiscard]] const Vec3& at(VertexId v) const { return mesh_.vertices[v]; }
    /// Hands the mesh over after scale, noise, defects, numbering and pose.
    TriMesh finish(const ScanOptions& options);

private:
    /// Of a cell, either way: cells stay convex enough that no triangle turns over.
    static constexpr double largest_shift = 0.22;
    bool is_regular_;
    Random random_;
    TriMesh mesh_;
};

/// Spreads parameters evenly along curves, closer together where the curves bend.
class EvenSteps {
public:
    using Curve = std::function<Vec3(double)>;
    /// Even in arc length plus `bend_mm` times the angle turned, averaged over the curves.
    EvenSteps(double low, double high, double bend_mm, std::span<const Curve> curves);
    /// Parameter at the fraction t of the whole way; t in [0, 1].
    [[nodiscard]] double at(double t) const;
    /// The whole way: arc length plus bends, mm.
    [[nodiscard]] double length() const { return sum_.back(); }

private:
    double low_, high_;
    std::vector<double> sum_;
};

/// `value` rounded, at least `least`.
std::size_t at_least(double value, std::size_t least);

}  // namespace cradlewright::demo
