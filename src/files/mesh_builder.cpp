// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <system_error>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "files/scan_formats.hpp"
#include "geom/mesh_weld.hpp"

namespace cradlewright {

bool is_usable(Vec3 p) {
    return std::abs(p.x) <= largest_coordinate && std::abs(p.y) <= largest_coordinate &&
           std::abs(p.z) <= largest_coordinate;
}

void fail_scan(const std::string& place, const std::string& problem, std::string_view hint) {
    throw Error(ErrorCode::bad_input, place, problem, hint);
}

void fail_reading(const std::string& place, int reason) {
    if (reason == 0)
        throw Error(ErrorCode::io, place, "became shorter while it was read", "wait until its export or copy is done");
    throw Error(ErrorCode::io, place, "cannot be read: " + std::generic_category().message(reason));
}

void fail_no_triangles(const std::string& place) {
    fail_scan(place, "has no triangles", "export the scan as a surface, not as points");
}

void fail_not_finite(const std::string& place, std::size_t facet_number) {
    fail_scan(place, "facet " + std::to_string(facet_number) + " has a corner that is not a finite number",
              "export the scan again");
}

void MeshBuilder::fail_facet(std::string_view problem) const {
    fail_scan(place_, "facet " + std::to_string(facets_) + " " + std::string(problem), "export the scan again");
}

void MeshBuilder::add_face(std::span<const std::size_t> corners) {
    ++facets_;
    if (corners.size() < 3) fail_facet("has fewer than three corners");
    for (const std::size_t v : corners) {
        if (v >= mesh_.vertices.size()) fail_facet("uses a vertex that the file does not have");
        if (!is_usable(mesh_.vertices[v])) fail_not_finite(place_, facets_);
    }
    const auto id = [&](std::size_t i) { return static_cast<VertexId>(corners[i]); };
    const auto diagonal = [&](std::size_t i, std::size_t j) {
        return norm(mesh_.vertices[corners[i]] - mesh_.vertices[corners[j]]);
    };
    if (corners.size() == 4 && diagonal(1, 3) < diagonal(0, 2)) {
        mesh_.triangles.push_back({id(0), id(1), id(3)});
        mesh_.triangles.push_back({id(1), id(2), id(3)});
        return;
    }
    for (std::size_t i = 2; i < corners.size(); ++i) mesh_.triangles.push_back({id(0), id(i - 1), id(i)});
}

FileMesh MeshBuilder::finish() && {
    if (mesh_.triangles.empty()) fail_no_triangles(place_);
    number_by_first_use(mesh_);
    weld_vertices(mesh_, 0);
    FileMesh out;
    out.mesh = std::move(mesh_);
    return out;
}

}  // namespace cradlewright
