// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/plug_places.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

constexpr double least_places = 2000, most_places = 20000;
constexpr double crease_cos = 0.5;  // across a sharper fold the neighbour says nothing about this face

/// Point k of a sequence that fills the triangle evenly. Source: M. Roberts, the R2 sequence (2018) [from memory].
Vec3 point_in(const std::array<Vec3, 3>& c, std::size_t k) {
    const auto part = [&](double step) {
        const double t = 0.5 + step * static_cast<double>(k);
        return t - std::floor(t);
    };
    double u = part(0.7548776662466927), v = part(0.5698402909980532);
    if (u + v > 1) u = 1 - u, v = 1 - v;
    return c[0] + (c[1] - c[0]) * u + (c[2] - c[0]) * v;
}

Vec3 smooth_normal(const Plug& plug, const std::vector<Vec3>& area, FaceId f) {
    Vec3 sum = area[f];
    for (std::size_t k = 0; k < 3; ++k) {
        const FaceId g = (*plug.adjacency)[3 * std::size_t{f} + k];
        if (g != no_id && dot(area[f], area[g]) > crease_cos * norm(area[f]) * norm(area[g])) sum += area[g];
    }
    return normalized(sum);
}

}  // namespace

std::vector<PlugPlace> even_places(const Plug& plug, double spacing_mm) {
    CRADLEWRIGHT_PRECONDITION(spacing_mm > 0);
    const TriMesh& mesh = *plug.mesh;
    std::vector<Vec3> area(mesh.face_count());
    double total = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        area[f] = area_vector(mesh.corners(f)) / 2;
        total += norm(area[f]);
    }
    std::vector<PlugPlace> places;
    const double step = total / std::clamp(total / (spacing_mm * spacing_mm), least_places, most_places);
    double passed = 0, next = 0.5 * step;
    // Even steps of area along the faces, which the mended plug holds in an order along a curve through space.
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        passed += norm(area[f]);
        for (; next < passed; next += step)
            places.push_back(
                {point_in(mesh.corners(f), places.size()), normalized(area[f]), smooth_normal(plug, area, f), f});
    }
    return places;
}

}  // namespace cradlewright
