// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

using VertexId = std::uint32_t;
using FaceId = std::uint32_t;
inline constexpr std::uint32_t no_id = 0xffffffffu;

using Triangle = std::array<VertexId, 3>;

/// Where a face came from.
enum class FaceOrigin : std::uint8_t {
    scanned,   ///< in the file
    patched,   ///< closes a small hole
    mirrored,  ///< mirror image of the scanned half, as told
    assumed,   ///< closes an opening at its table plane; no measurement stands behind it
    extended,  ///< of a piece set on to an end, as told
};

/// A boundary loop that was in the scan and is too large to be a mere hole.
struct Opening {
    std::vector<VertexId> loop;  ///< k >= 3 vertices in order, first not repeated
    double perimeter_mm = 0;
    Vec3 center;             ///< mean of the loop, mesh frame
    Vec3 normal;             ///< unit normal of the loop's best plane, pointing out of the body
    double flatness_mm = 0;  ///< largest distance of a loop vertex from that plane
    bool is_capped = false;
};

/// Triangles as flat arrays; nothing derived is kept. Coordinates in mm.
struct TriMesh {
    std::vector<Vec3> vertices;
    std::vector<Triangle> triangles;      ///< counter-clockwise seen from outside once oriented
    std::vector<FaceOrigin> face_origin;  ///< one per triangle, or empty when all are scanned
    std::vector<Opening> openings;

    [[nodiscard]] std::size_t face_count() const { return triangles.size(); }
    [[nodiscard]] FaceOrigin origin_of(FaceId f) const {
        return face_origin.empty() ? FaceOrigin::scanned : face_origin[f];
    }
    [[nodiscard]] std::array<Vec3, 3> corners(FaceId f) const {
        const Triangle& t = triangles[f];
        return {vertices[t[0]], vertices[t[1]], vertices[t[2]]};
    }
};

/// Twice the area times the unit normal, right-handed.
inline Vec3 area_vector(const std::array<Vec3, 3>& c) { return cross(c[1] - c[0], c[2] - c[0]); }

/// Integrals over the faces. The area values hold for any mesh; volume and centroid mean what they say only for a
/// closed, oriented one (without volume the centroid is area_centroid). An empty mesh gives zeros.
/// Cost: O(F). Source: divergence theorem; B. Mirtich, "Fast and Accurate Computation of Polyhedral Mass Properties"
/// (1996) [from memory] for the moments.
struct MassProperties {
    double area_mm2 = 0;
    double volume_mm3 = 0;  ///< signed: negative when the mesh is inside out
    Vec3 centroid{};        ///< of the volume
    Vec3 area_centroid{};   ///< of the surface
    /// Integrals of x^2, y^2, z^2, x y, y z, z x over the surface, from area_centroid, mm4.
    std::array<double, 6> area_moments{};
};
MassProperties mass_properties(const TriMesh& mesh);
Box3 bounding_box(const TriMesh& mesh);

/// Face across each edge: adjacency[3 f + k] is the face beyond edge (v_k, v_k+1) of f, or no_id at a boundary.
/// Precondition, checked: every edge has at most two faces, oppositely directed (see mesh_repair).
/// Cost: O(F), and O(d log d) at a vertex with d faces; memory 8 bytes a half-edge besides the result.
std::vector<FaceId> face_adjacency(const TriMesh& mesh);

/// Unit face normals; zero for a degenerate face.
std::vector<Vec3> face_normals(const TriMesh& mesh);

/// Mean edge length over the faces, mm; 0 for an empty mesh.
double mean_edge_length(const TriMesh& mesh);

}  // namespace cradlewright
