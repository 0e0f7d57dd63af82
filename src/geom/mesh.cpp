// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/mesh.hpp"

#include <algorithm>
#include <numeric>

#include "cradlewright/base/error.hpp"
#include "geom/edge_chains.hpp"

namespace cradlewright {

namespace {

/// Half-edge k of face f has id 3 f + k and runs from corner k to corner k + 1.
using HalfEdgeId = std::uint32_t;

/// A half-edge filed under its smaller vertex.
struct FiledEdge {
    VertexId larger;
    HalfEdgeId half_edge;
    friend constexpr auto operator<=>(const FiledEdge&, const FiledEdge&) = default;
};

bool starts_at_larger(const TriMesh& mesh, const FiledEdge& e) {
    return mesh.triangles[e.half_edge / 3][e.half_edge % 3] == e.larger;
}

/// Two half-edges of one edge: each face becomes the other's neighbour.
void join(const TriMesh& mesh, const FiledEdge& a, const FiledEdge& b, std::vector<FaceId>& adjacency) {
    const bool edge_has_two_faces = adjacency[a.half_edge] == no_id && adjacency[b.half_edge] == no_id;
    CRADLEWRIGHT_PRECONDITION(edge_has_two_faces);
    const bool is_oriented = starts_at_larger(mesh, a) != starts_at_larger(mesh, b);
    CRADLEWRIGHT_PRECONDITION(is_oriented);
    adjacency[a.half_edge] = b.half_edge / 3;
    adjacency[b.half_edge] = a.half_edge / 3;
}

/// Pairs the half-edges of one vertex. Usual vertices have about six, where plain search wins; the hub of a fan may
/// have any number, where it would be quadratic.
void pair_up(const TriMesh& mesh, FiledEdge* first, FiledEdge* last, std::vector<FaceId>& adjacency) {
    constexpr std::ptrdiff_t largest_for_search = 24;
    if (last - first > largest_for_search) {
        std::sort(first, last);
        for (FiledEdge* e = first; e != last && e + 1 != last; ++e)
            if (e->larger == (e + 1)->larger) join(mesh, *e, *(e + 1), adjacency);
        return;
    }
    for (FiledEdge* e = first; e != last; ++e)
        for (FiledEdge* other = e + 1; other != last; ++other)
            if (e->larger == other->larger) join(mesh, *e, *other, adjacency);
}

/// ends[v] is one past the places of the half-edges whose smaller vertex is v; one entry more than vertices.
std::vector<std::uint32_t> bucket_ends(const TriMesh& mesh) {
    std::vector<std::uint32_t> ends(mesh.vertices.size() + 1, 0);
    for (const Triangle& t : mesh.triangles)
        for (std::size_t k = 0; k < 3; ++k) ++ends[std::min(t[k], t[next_corner(k)])];
    std::partial_sum(ends.begin(), ends.end(), ends.begin());
    return ends;
}

/// Products xx yy zz xy yz zx of one point's coordinates.
using Products = std::array<double, 6>;

void add_products(Vec3 p, double factor, Products& sum) {
    sum[0] += factor * p.x * p.x;
    sum[1] += factor * p.y * p.y;
    sum[2] += factor * p.z * p.z;
    sum[3] += factor * p.x * p.y;
    sum[4] += factor * p.y * p.z;
    sum[5] += factor * p.z * p.x;
}

std::array<Vec3, 3> corners_from(const TriMesh& mesh, FaceId f, Vec3 origin) {
    const auto c = mesh.corners(f);
    return {c[0] - origin, c[1] - origin, c[2] - origin};
}

}  // namespace

MassProperties mass_properties(const TriMesh& mesh) {
    MassProperties m;
    if (mesh.triangles.empty()) return m;
    // Measured from the middle of the box: a far-away origin would cost digits.
    const Vec3 middle = bounding_box(mesh).center();
    Vec3 area_moment{}, volume_moment{};
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = corners_from(mesh, f, middle);
        const Vec3 a = area_vector(c);
        const Vec3 sum = c[0] + c[1] + c[2];
        const double area = norm(a) / 2, volume = dot(c[0], a) / 6;  // of the tetrahedron on `middle`
        m.area_mm2 += area;
        m.volume_mm3 += volume;
        area_moment += sum * (area / 3);
        volume_moment += sum * (volume / 4);
        // Integral of x_i x_j over a triangle: area / 12 (sum over corners of p_i p_j + s_i s_j), s = sum of the
        // corners.
        for (const Vec3 p : {c[0], c[1], c[2], sum}) add_products(p, area / 12, m.area_moments);
    }
    m.area_centroid = m.area_mm2 > 0 ? middle + area_moment / m.area_mm2 : middle;
    m.centroid = m.volume_mm3 != 0 ? middle + volume_moment / m.volume_mm3 : m.area_centroid;
    add_products(m.area_centroid - middle, -m.area_mm2, m.area_moments);  // parallel axes
    return m;
}

Box3 bounding_box(const TriMesh& mesh) {
    Box3 box;
    for (const Vec3 p : mesh.vertices) box.add(p);
    return box;
}

std::vector<FaceId> face_adjacency(const TriMesh& mesh) {
    const std::size_t half_edges = 3 * mesh.face_count();
    CRADLEWRIGHT_PRECONDITION(half_edges < no_id);
    std::vector<FaceId> adjacency(half_edges, no_id);
    // Counting sort by smaller vertex. Filling each bucket from its back turns the ends into the starts, and going
    // through the faces backwards keeps the buckets in face order.
    std::vector<std::uint32_t> place = bucket_ends(mesh);
    std::vector<FiledEdge> filed(half_edges);
    for (std::size_t f = mesh.face_count(); f-- > 0;) {
        const Triangle& t = mesh.triangles[f];
        for (std::size_t k = 3; k-- > 0;) {
            const auto [smaller, larger] = std::minmax(t[k], t[next_corner(k)]);
            filed[--place[smaller]] = {larger, static_cast<HalfEdgeId>(3 * f + k)};
        }
    }
    for (std::size_t v = 0; v + 1 < place.size(); ++v)
        pair_up(mesh, filed.data() + place[v], filed.data() + place[v + 1], adjacency);
    return adjacency;
}

std::vector<Vec3> face_normals(const TriMesh& mesh) {
    std::vector<Vec3> normals(mesh.face_count());
    for (FaceId f = 0; f < mesh.face_count(); ++f) normals[f] = normalized(area_vector(mesh.corners(f)));
    return normals;
}

double mean_edge_length(const TriMesh& mesh) {
    if (mesh.triangles.empty()) return 0;
    double sum = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(f);
        sum += norm(c[1] - c[0]) + norm(c[2] - c[1]) + norm(c[0] - c[2]);
    }
    return sum / static_cast<double>(3 * mesh.face_count());
}

}  // namespace cradlewright
