// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/triangulate.hpp"

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_with_info_2.h>

#include <algorithm>
#include <deque>

namespace cradlewright {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
struct PointNumber {
    VertexId id = no_id;  // stays so where constraints cross
};
enum class Side { unknown, outside, inside };
struct FaceSide {
    Side side = Side::unknown;
};
using VertexBase = CGAL::Triangulation_vertex_base_with_info_2<PointNumber, Kernel>;
using InfoFaceBase = CGAL::Triangulation_face_base_with_info_2<FaceSide, Kernel>;
using FaceBase = CGAL::Constrained_triangulation_face_base_2<Kernel, InfoFaceBase>;
using Structure = CGAL::Triangulation_data_structure_2<VertexBase, FaceBase>;
using Cdt = CGAL::Constrained_Delaunay_triangulation_2<Kernel, Structure, CGAL::Exact_predicates_tag>;

// Inserts every loop; vertices keep the number of the first point that stands there.
void insert_loops(Cdt& cdt, const std::vector<std::vector<Vec2>>& loops, std::vector<Vec2>& points) {
    std::vector<Cdt::Vertex_handle> handles;
    for (const auto& loop : loops) {
        handles.clear();
        Cdt::Face_handle hint;
        for (const Vec2 p : loop) {
            const std::size_t known = cdt.number_of_vertices();
            const Cdt::Vertex_handle v = cdt.insert(Kernel::Point_2(p.x, p.y), hint);
            hint = v->face();
            if (cdt.number_of_vertices() > known) {
                v->info().id = static_cast<VertexId>(points.size());
            }
            points.push_back(p);
            handles.push_back(v);
        }
        for (std::size_t i = 0; i < handles.size(); ++i) {
            const Cdt::Vertex_handle next = handles[(i + 1) % handles.size()];
            if (handles[i] != next) {
                cdt.insert_constraint(handles[i], next);
            }
        }
    }
}

void insert_points(Cdt& cdt, const std::vector<Vec2>& within, std::vector<Vec2>& points) {
    Cdt::Face_handle hint;
    for (const Vec2 p : within) {
        const std::size_t known = cdt.number_of_vertices();
        const Cdt::Vertex_handle v = cdt.insert(Kernel::Point_2(p.x, p.y), hint);
        hint = v->face();
        if (cdt.number_of_vertices() > known) v->info().id = static_cast<VertexId>(points.size());
        points.push_back(p);
    }
}

// Vertices made where constraints cross come in no promised order; they are numbered by place.
void number_crossings(const Cdt& cdt, std::vector<Vec2>& points) {
    std::vector<Cdt::Vertex_handle> crossings;
    for (const Cdt::Vertex_handle v : cdt.finite_vertex_handles()) {
        if (v->info().id == no_id) {
            crossings.push_back(v);
        }
    }
    std::sort(crossings.begin(), crossings.end(),
              [](const auto& a, const auto& b) { return CGAL::lexicographically_xy_smaller(a->point(), b->point()); });
    for (const Cdt::Vertex_handle v : crossings) {
        v->info().id = static_cast<VertexId>(points.size());
        points.push_back({v->point().x(), v->point().y()});
    }
}

// Walks in from infinity; crossing a constraint enters or leaves a loop.
void mark_sides(const Cdt& cdt) {
    std::deque<Cdt::Face_handle> queue{cdt.infinite_face()};
    cdt.infinite_face()->info().side = Side::outside;
    while (!queue.empty()) {
        const Cdt::Face_handle face = queue.front();
        queue.pop_front();
        for (int k = 0; k < 3; ++k) {
            const Cdt::Face_handle beyond = face->neighbor(k);
            if (beyond->info().side != Side::unknown) {
                continue;
            }
            const bool is_inside = (face->info().side == Side::inside) != face->is_constrained(k);
            beyond->info().side = is_inside ? Side::inside : Side::outside;
            queue.push_back(beyond);
        }
    }
}

// Smallest corner first, so the text form of a triangle does not depend on the structure's history.
Triangle canonical(Triangle t) {
    std::rotate(t.begin(), std::min_element(t.begin(), t.end()), t.end());
    return t;
}

}  // namespace

Triangulation triangulate(const std::vector<std::vector<Vec2>>& loops, const std::vector<Vec2>& within) {
    Triangulation result;
    Cdt cdt;
    insert_loops(cdt, loops, result.points);
    insert_points(cdt, within, result.points);
    if (cdt.dimension() < 2) {
        return result;
    }
    number_crossings(cdt, result.points);
    mark_sides(cdt);
    for (const Cdt::Face_handle face : cdt.finite_face_handles()) {
        if (face->info().side == Side::inside) {
            result.triangles.push_back(
                canonical({face->vertex(0)->info().id, face->vertex(1)->info().id, face->vertex(2)->info().id}));
        }
    }
    std::sort(result.triangles.begin(), result.triangles.end());
    return result;
}

}  // namespace cradlewright
