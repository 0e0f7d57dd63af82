// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/mesh_weld.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

PointWelder::PointWelder(std::size_t expected) {
    const std::size_t slots = std::bit_ceil(std::max<std::size_t>(16, 2 * expected));
    table_.assign(slots, no_id);
    shift_ = 64 - std::countr_zero(slots);
    points_.reserve(expected);
}

VertexId PointWelder::find(Vec3 p) const {
    p = p + Vec3{};
    const std::size_t mask = table_.size() - 1;
    for (std::size_t s = slot_of(p); table_[s] != no_id; s = (s + 1) & mask)
        if (points_[table_[s]] == p) return table_[s];
    return no_id;
}

void PointWelder::add_all(std::span<const Vec3> points, std::span<VertexId> ids) {
    CRADLEWRIGHT_PRECONDITION(points.size() == ids.size());
    // Points are far apart in the table: its slot is fetched first, what the slot leads to half as far ahead.
    constexpr std::size_t ahead = 16;
    const auto slot_at = [&](std::size_t i) { return &table_[slot_of(points[i] + Vec3{})]; };
    for (std::size_t i = 0; i < points.size(); ++i) {
        if (i + ahead < points.size()) __builtin_prefetch(slot_at(i + ahead));
        if (i + ahead / 2 < points.size())
            if (const VertexId id = *slot_at(i + ahead / 2); id != no_id) __builtin_prefetch(&points_[id]);
        ids[i] = add(points[i]);
    }
}

void PointWelder::grow() {
    table_.assign(2 * table_.size(), no_id);
    --shift_;
    const std::size_t mask = table_.size() - 1;
    for (std::size_t i = 0; i < points_.size(); ++i) {
        std::size_t s = slot_of(points_[i]);
        while (table_[s] != no_id) s = (s + 1) & mask;
        table_[s] = static_cast<VertexId>(i);
    }
}

namespace {

void renumber(std::vector<Triangle>& triangles, const std::vector<VertexId>& new_id) {
    for (Triangle& t : triangles)
        for (VertexId& v : t) v = new_id[v];
}

std::size_t weld_equal(TriMesh& mesh) {
    const std::size_t before = mesh.vertices.size();
    PointWelder welder(before);
    std::vector<VertexId> new_id(before);
    welder.add_all(mesh.vertices, new_id);
    if (welder.size() == before) return 0;
    mesh.vertices = welder.take();
    renumber(mesh.triangles, new_id);
    return before - mesh.vertices.size();
}

/// Vertices that stand for a group, in a grid of cells as wide as the welding distance: neighbours lie in 27 cells.
class WeldGrid {
public:
    WeldGrid(double distance, std::size_t expected) : distance_(distance), cells_(expected) {}

    /// The nearest representative within the distance (lowest number if two are equally near), or no_id.
    [[nodiscard]] VertexId nearest(Vec3 p, const std::vector<Vec3>& points) const {
        VertexId best = no_id;
        double best_distance = distance_ * distance_;
        const Vec3 cell = cell_of(p);
        for (int i = 0; i < 27; ++i) {
            const Vec3 step{static_cast<double>(i % 3 - 1), static_cast<double>(i / 3 % 3 - 1),
                            static_cast<double>(i / 9 - 1)};
            const VertexId c = cells_.find(cell + step);
            if (c == no_id) continue;
            for (VertexId v = first_[c]; v != no_id; v = next_[v]) {
                const Vec3 d = points[v] - p;
                const double d2 = dot(d, d);
                if (d2 < best_distance || (d2 == best_distance && v < best)) {
                    best_distance = d2;
                    best = v;
                }
            }
        }
        return best;
    }
    /// Representatives are added in order: `v` is the number of those before it.
    void add(VertexId v, Vec3 p) {
        const VertexId c = cells_.add(cell_of(p));
        if (c == first_.size()) first_.push_back(no_id);
        next_.push_back(first_[c]);
        first_[c] = v;
    }

private:
    [[nodiscard]] Vec3 cell_of(Vec3 p) const {
        return {std::floor(p.x / distance_), std::floor(p.y / distance_), std::floor(p.z / distance_)};
    }
    double distance_;
    PointWelder cells_;
    std::vector<VertexId> first_, next_;
};

std::size_t weld_near(TriMesh& mesh, double distance) {
    const std::size_t before = mesh.vertices.size();
    WeldGrid grid(distance, before);
    std::vector<Vec3> kept;
    kept.reserve(before);
    std::vector<VertexId> new_id(before);
    for (std::size_t i = 0; i < before; ++i) {
        new_id[i] = grid.nearest(mesh.vertices[i], kept);
        if (new_id[i] != no_id) continue;
        new_id[i] = static_cast<VertexId>(kept.size());
        grid.add(new_id[i], mesh.vertices[i]);
        kept.push_back(mesh.vertices[i]);
    }
    if (kept.size() == before) return 0;
    mesh.vertices = std::move(kept);
    renumber(mesh.triangles, new_id);
    return before - mesh.vertices.size();
}

constexpr double split_share = 0.05;  // of the shortest edge, see weld_split_vertices

/// The shortest edge at each marked vertex; infinite at the others.
std::vector<double> shortest_edges(const TriMesh& mesh, const std::vector<char>& is_marked) {
    std::vector<double> shortest(mesh.vertices.size(), std::numeric_limits<double>::infinity());
    for (const Triangle& t : mesh.triangles)
        for (unsigned k = 0; k < 3; ++k) {
            const VertexId a = t[k], b = t[(k + 1) % 3];
            if (is_marked[a] == 0 && is_marked[b] == 0) continue;
            const double length = norm(mesh.vertices[b] - mesh.vertices[a]);
            if (is_marked[a] != 0) shortest[a] = std::min(shortest[a], length);
            if (is_marked[b] != 0) shortest[b] = std::min(shortest[b], length);
        }
    return shortest;
}

double mean_of_marked(const std::vector<double>& values, const std::vector<char>& is_marked) {
    double sum = 0;
    std::size_t count = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        if (is_marked[i] == 0 || !(values[i] < std::numeric_limits<double>::infinity())) continue;
        sum += values[i];
        ++count;
    }
    return count > 0 ? sum / static_cast<double>(count) : 0;
}

bool is_numbered_by_first_use(const TriMesh& mesh) {
    VertexId next = 0;
    for (const Triangle& t : mesh.triangles)
        for (const VertexId v : t) {
            if (v > next) return false;
            if (v == next) ++next;
        }
    return next == mesh.vertices.size();
}

}  // namespace

std::size_t weld_vertices(TriMesh& mesh, double distance_mm) {
    const std::size_t equal = weld_equal(mesh);
    return distance_mm > 0 ? equal + weld_near(mesh, distance_mm) : equal;
}

std::size_t weld_split_vertices(TriMesh& mesh, const std::vector<char>& is_marked) {
    CRADLEWRIGHT_PRECONDITION(is_marked.size() == mesh.vertices.size());
    const std::vector<double> shortest = shortest_edges(mesh, is_marked);
    // The grid's cells are as wide as a usual joint; beyond a longer reach only very uneven triangles would go.
    const double reach = split_share * mean_of_marked(shortest, is_marked);
    if (!(reach > 0)) return 0;
    WeldGrid grid(reach, mesh.vertices.size() / 2);
    std::vector<Vec3> stand_ins;
    std::vector<VertexId> vertex_of, new_id(mesh.vertices.size());
    std::size_t joined = 0;
    for (VertexId v = 0; v < new_id.size(); ++v) {
        new_id[v] = v;
        if (is_marked[v] == 0) continue;
        const VertexId near = grid.nearest(mesh.vertices[v], stand_ins);
        const double limit = near == no_id ? 0 : split_share * std::min(shortest[v], shortest[vertex_of[near]]);
        if (near != no_id && norm(stand_ins[near] - mesh.vertices[v]) <= limit) {
            new_id[v] = vertex_of[near];
            ++joined;
            continue;
        }
        grid.add(static_cast<VertexId>(stand_ins.size()), mesh.vertices[v]);
        stand_ins.push_back(mesh.vertices[v]);
        vertex_of.push_back(v);
    }
    if (joined > 0) renumber(mesh.triangles, new_id);
    return joined;
}

void number_by_first_use(TriMesh& mesh) {
    if (is_numbered_by_first_use(mesh)) return;
    std::vector<VertexId> new_id(mesh.vertices.size(), no_id);
    std::vector<Vec3> vertices;
    vertices.reserve(mesh.vertices.size());
    for (Triangle& t : mesh.triangles)
        for (VertexId& v : t) {
            if (new_id[v] == no_id) {
                new_id[v] = static_cast<VertexId>(vertices.size());
                vertices.push_back(mesh.vertices[v]);
            }
            v = new_id[v];
        }
    for (Opening& opening : mesh.openings)
        for (VertexId& v : opening.loop) v = new_id[v];
    mesh.vertices = std::move(vertices);
}

}  // namespace cradlewright
