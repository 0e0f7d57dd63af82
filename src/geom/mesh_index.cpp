// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/mesh_index.hpp"

#include <CGAL/AABB_traits.h>
#include <CGAL/AABB_tree.h>
#include <CGAL/AABB_triangle_primitive.h>

#include <limits>
#include <vector>

#include "cradlewright/base/error.hpp"
#include "geom/cgal.hpp"

namespace cradlewright {

namespace {

using Triangles = std::vector<cgal::Triangle>;
using Primitive = CGAL::AABB_triangle_primitive<cgal::Kernel, Triangles::const_iterator>;
using Tree = CGAL::AABB_tree<CGAL::AABB_traits<cgal::Kernel, Primitive>>;

}  // namespace

struct MeshIndex::Impl {
    Triangles triangles;
    std::vector<FaceId> faces;  // of each triangle
    Tree tree;

    void add(const TriMesh& mesh, FaceId f) {
        const auto c = mesh.corners(f);
        const cgal::Triangle t(cgal::to_cgal(c[0]), cgal::to_cgal(c[1]), cgal::to_cgal(c[2]));
        // CGAL's intersection tests are undefined for triangles without area, and the neighbours cover their place.
        if (!is_finite(c[0]) || !is_finite(c[1]) || !is_finite(c[2]) || t.is_degenerate()) return;
        triangles.push_back(t);
        faces.push_back(f);
    }

    /// Built whole here: a tree that finishes itself on the first query is not safe to share between threads.
    void build() {
        tree.insert(triangles.cbegin(), triangles.cend());
        tree.build();
        if (!triangles.empty()) tree.accelerate_distance_queries();
    }

    [[nodiscard]] FaceId face_of(Triangles::const_iterator t) const {
        return faces[static_cast<std::size_t>(t - triangles.cbegin())];
    }
};

MeshIndex::MeshIndex(const TriMesh& mesh, std::span<const FaceId> faces) : impl_(std::make_unique<Impl>()) {
    if (faces.empty())
        for (FaceId f = 0; f < mesh.face_count(); ++f) impl_->add(mesh, f);
    else
        for (const FaceId f : faces) impl_->add(mesh, f);
    impl_->build();
}

MeshIndex::~MeshIndex() = default;
MeshIndex::MeshIndex(MeshIndex&&) noexcept = default;
MeshIndex& MeshIndex::operator=(MeshIndex&&) noexcept = default;

bool MeshIndex::is_empty() const { return impl_->triangles.empty(); }

MeshIndex::Nearest MeshIndex::nearest(Vec3 query) const {
    CRADLEWRIGHT_PRECONDITION(is_finite(query));
    if (is_empty()) return {no_id, {}, std::numeric_limits<double>::infinity()};
    const auto [point, triangle] = impl_->tree.closest_point_and_primitive(cgal::to_cgal(query));
    const Vec3 at = cgal::from_cgal(point);
    return {impl_->face_of(triangle), at, norm(at - query)};
}

std::optional<MeshIndex::Hit> MeshIndex::first_hit(Vec3 origin, Vec3 direction) const {
    CRADLEWRIGHT_PRECONDITION(is_finite(origin) && is_finite(direction) && norm(direction) > 0);
    if (is_empty()) return {};
    const Vec3 along = normalized(direction);
    const cgal::Ray ray(cgal::to_cgal(origin), cgal::Vector(along.x, along.y, along.z));
    const auto found = impl_->tree.first_intersection(ray);
    if (!found) return {};
    const auto& [place, triangle] = *found;
    // A ray in the plane of a face meets it in a segment; the hit is the nearer end.
    Vec3 at;
    if (const auto* point = boost::get<cgal::Point>(&place)) {
        at = cgal::from_cgal(*point);
    } else {
        const auto& segment = boost::get<cgal::Kernel::Segment_3>(place);
        const Vec3 a = cgal::from_cgal(segment.source()), b = cgal::from_cgal(segment.target());
        at = norm(a - origin) <= norm(b - origin) ? a : b;
    }
    return Hit{impl_->face_of(triangle), at, norm(at - origin)};
}

}  // namespace cradlewright
