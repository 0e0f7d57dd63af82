// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/space_order.hpp"

#include <algorithm>
#include <numeric>

#include "cradlewright/base/error.hpp"
#include "geom/mesh_weld.hpp"

namespace cradlewright {

namespace {

constexpr unsigned bits_an_axis = 10;
constexpr unsigned digit_bits = 10;
constexpr std::uint32_t digits = 1u << digit_bits;

/// A point and its place along the curve.
struct Placed {
    std::uint32_t place, point;
};

/// Two empty bits between each two of the lower ten. Source: textbook bit tricks [from memory].
std::uint32_t spread(std::uint32_t v) {
    v = (v | (v << 16)) & 0x030000ffu;
    v = (v | (v << 8)) & 0x0300f00fu;
    v = (v | (v << 4)) & 0x030c30c3u;
    return (v | (v << 2)) & 0x09249249u;
}

std::vector<Placed> place_points(std::span<const Vec3> points) {
    Box3 box;
    for (const Vec3 p : points) box.add(p);
    const Vec3 size = box.size();
    const double largest = std::max({size.x, size.y, size.z});
    constexpr double last_cell = (1u << bits_an_axis) - 1;
    const double scale = largest > 0 ? last_cell / largest : 0;
    const auto cell = [scale](double from_low) { return spread(static_cast<std::uint32_t>(from_low * scale)); };
    std::vector<Placed> placed;
    placed.reserve(points.size());
    for (const Vec3 p : points) {
        const Vec3 d = p - box.low;
        const auto number = static_cast<std::uint32_t>(placed.size());
        placed.push_back({(cell(d.x) << 2) | (cell(d.y) << 1) | cell(d.z), number});
    }
    return placed;
}

/// Radix sort, which is stable.
void sort_by_place(std::vector<Placed>& placed) {
    std::vector<Placed> sorted(placed.size());
    for (unsigned shift = 0; shift < 3 * bits_an_axis; shift += digit_bits) {
        std::vector<std::uint32_t> start(digits + 1, 0);
        const auto digit = [shift](const Placed& p) { return (p.place >> shift) & (digits - 1); };
        for (const Placed& p : placed) ++start[digit(p) + 1];
        std::partial_sum(start.begin(), start.end(), start.begin());
        for (const Placed& p : placed) sorted[start[digit(p)]++] = p;
        placed.swap(sorted);
    }
}

template <class Value>
std::vector<Value> in_order(const std::vector<Value>& values, const std::vector<std::uint32_t>& order) {
    std::vector<Value> out;
    out.reserve(values.size());
    for (const std::uint32_t i : order) out.push_back(values[i]);
    return out;
}

}  // namespace

std::vector<std::uint32_t> space_order(std::span<const Vec3> points) {
    CRADLEWRIGHT_PRECONDITION(std::all_of(points.begin(), points.end(), is_finite));
    std::vector<Placed> placed = place_points(points);
    sort_by_place(placed);
    std::vector<std::uint32_t> order;
    order.reserve(points.size());
    for (const Placed& p : placed) order.push_back(p.point);
    return order;
}

void order_in_space(TriMesh& mesh) {
    std::vector<Vec3> middles;
    middles.reserve(mesh.face_count());
    for (const Triangle& t : mesh.triangles) {
        for (const VertexId v : t) CRADLEWRIGHT_PRECONDITION(v < mesh.vertices.size());
        middles.push_back((mesh.vertices[t[0]] + mesh.vertices[t[1]] + mesh.vertices[t[2]]) / 3);
    }
    const std::vector<std::uint32_t> order = space_order(middles);
    mesh.triangles = in_order(mesh.triangles, order);
    if (!mesh.face_origin.empty()) mesh.face_origin = in_order(mesh.face_origin, order);
    number_by_first_use(mesh);
}

}  // namespace cradlewright
