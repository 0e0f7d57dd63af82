// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cradlewright/geom/mesh.hpp"
#include "geom/mesh_edges.hpp"

namespace cradlewright {

/// Connected pieces of surface, numbered in order of their first face.
struct Shells {
    std::vector<std::uint32_t> shell_of;  ///< one a face
    std::vector<char> is_turned;          ///< one a face, or empty when no face had to be turned over
    std::size_t count = 0, turned = 0;
};

/// Finds the shells and turns faces over until mates run in opposite directions; in each shell the minority is turned.
/// In: sides matched. Out: `triangles` turned, `mate` renamed to match. Where a shell is one-sided (a Moebius strip, or
/// a wrong mate at a crowded edge) it is cut along mates that ran the wrong way round in the file. Cost: O(F).
Shells orient_shells(std::vector<Triangle>& triangles, std::vector<SideId>& mate);

/// Turns every face over and renames mates.
void turn_over(std::vector<Triangle>& triangles, std::vector<SideId>& mate);

/// Keeps the faces of one shell, with their origin and mates.
void keep_shell(TriMesh& mesh, std::vector<SideId>& mate, const Shells& shells, std::uint32_t shell);

/// Gives each further fan of faces round a vertex a vertex of its own, so that every vertex has one fan. The new vertex
/// of an open fan is drawn apart, into its fan, by a thousandth of the mean edge there. Precondition: oriented. Returns
/// how many vertices were added. Cost: O(F).
std::size_t split_touching_vertices(TriMesh& mesh, const std::vector<SideId>& mate);

/// After a split two different edges may still join the same two vertices; each but the first gets a vertex in its
/// middle. Returns the sides matched anew.
SideMates separate_double_edges(TriMesh& mesh, std::vector<SideId> mate);

}  // namespace cradlewright
