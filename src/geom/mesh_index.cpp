// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/mesh_index.hpp"

#include <CGAL/AABB_traits.h>
#include <CGAL/AABB_tree.h>
#include <CGAL/AABB_triangle_primitive.h>

#include <algorithm>
#include <bit>
#include <limits>
#include <mutex>
#include <vector>

#include "cradlewright/base/error.hpp"
#include "geom/cgal.hpp"
#include "geom/nearest_on_triangle.hpp"
#include "geom/space_order.hpp"

namespace cradlewright {

namespace {

struct IndexedFace {
    std::array<Vec3, 3> corners;
    FaceId face;
};

double squared_distance(Vec3 p, const Box3& box) {
    const auto outside = [](double v, double low, double high) { return std::max({low - v, v - high, 0.0}); };
    const Vec3 d{outside(p.x, box.low.x, box.high.x), outside(p.y, box.low.y, box.high.y),
                 outside(p.z, box.low.z, box.high.z)};
    return dot(d, d);
}

/// Complete binary tree of boxes over faces that lie in space order: box 1 is the root, boxes 2 i and 2 i + 1 are under
/// box i, and the lowest row holds one box a handful of consecutive faces.
class BoxTree {
public:
    explicit BoxTree(const std::vector<IndexedFace>& faces) : faces_(faces) {
        first_leaf_ = std::bit_ceil(std::max<std::size_t>(1, (faces.size() + faces_a_leaf - 1) / faces_a_leaf));
        boxes_.resize(2 * first_leaf_);
        for (std::size_t i = 0; i < faces.size(); ++i)
            for (const Vec3 c : faces[i].corners) boxes_[first_leaf_ + i / faces_a_leaf].add(c);
        for (std::size_t i = first_leaf_; --i > 0;)
            for (const Box3& under : {boxes_[2 * i], boxes_[2 * i + 1]}) {
                if (under.is_empty()) continue;
                boxes_[i].add(under.low);
                boxes_[i].add(under.high);
            }
    }

    struct Best {
        double square = std::numeric_limits<double>::infinity();
        FaceId face = no_id;
        Vec3 point;
    };
    void search(Best& best, Vec3 query, std::size_t box = 1) const {
        if (box >= first_leaf_) return search_leaf(best, query, box - first_leaf_);
        std::size_t near = 2 * box, far = near + 1;
        double near_square = squared_distance(query, boxes_[near]), far_square = squared_distance(query, boxes_[far]);
        if (far_square < near_square) {
            std::swap(near, far);
            std::swap(near_square, far_square);
        }
        // Equally near boxes too: they may hold a face of lower number. Empty ones are infinitely far.
        if (near_square <= best.square && !boxes_[near].is_empty()) search(best, query, near);
        if (far_square <= best.square && !boxes_[far].is_empty()) search(best, query, far);
    }

private:
    static constexpr std::size_t faces_a_leaf = 4;

    void search_leaf(Best& best, Vec3 query, std::size_t leaf) const {
        const std::size_t last = std::min(faces_.size(), (leaf + 1) * faces_a_leaf);
        for (std::size_t i = leaf * faces_a_leaf; i < last; ++i) {
            const Vec3 point = nearest_on_triangle(query, faces_[i].corners), d = point - query;
            const double square = dot(d, d);
            if (square > best.square || (square == best.square && faces_[i].face > best.face)) continue;
            best = {square, faces_[i].face, point};
        }
    }

    const std::vector<IndexedFace>& faces_;
    std::size_t first_leaf_ = 1;
    std::vector<Box3> boxes_;
};

/// For rays; decides exactly where a ray passes a seam.
class RayTree {
public:
    void build_once(const std::vector<IndexedFace>& faces) {
        std::call_once(is_built_, [&] {
            triangles_.reserve(faces.size());
            for (const IndexedFace& f : faces) {
                const auto& c = f.corners;
                const cgal::Triangle t(cgal::to_cgal(c[0]), cgal::to_cgal(c[1]), cgal::to_cgal(c[2]));
                // CGAL's intersection tests are undefined for these, and the neighbours cover their place.
                if (t.is_degenerate()) continue;
                triangles_.push_back(t);
                faces_.push_back(f.face);
            }
            tree_.insert(triangles_.cbegin(), triangles_.cend());
            tree_.build();
        });
    }

    [[nodiscard]] std::optional<MeshIndex::Hit> first_hit(Vec3 origin, Vec3 along) const {
        const auto found =
            tree_.first_intersection(cgal::Ray(cgal::to_cgal(origin), cgal::Vector(along.x, along.y, along.z)));
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
        return MeshIndex::Hit{faces_[static_cast<std::size_t>(triangle - triangles_.cbegin())], at, norm(at - origin)};
    }

private:
    using Triangles = std::vector<cgal::Triangle>;
    using Primitive = CGAL::AABB_triangle_primitive<cgal::Kernel, Triangles::const_iterator>;
    using Tree = CGAL::AABB_tree<CGAL::AABB_traits<cgal::Kernel, Primitive>>;

    std::once_flag is_built_;
    Triangles triangles_;
    std::vector<FaceId> faces_;  // of each triangle
    Tree tree_;
};

bool is_usable(const std::array<Vec3, 3>& c) {
    return is_finite(c[0]) && is_finite(c[1]) && is_finite(c[2]) && area_vector(c) != Vec3{};
}

/// The usable ones of the faces asked for, in space order.
std::vector<IndexedFace> gather(const TriMesh& mesh, std::span<const FaceId> faces) {
    std::vector<FaceId> usable;
    std::vector<Vec3> middles;
    const auto add = [&](FaceId f) {
        const auto c = mesh.corners(f);
        if (!is_usable(c)) return;
        usable.push_back(f);
        middles.push_back((c[0] + c[1] + c[2]) / 3);
    };
    if (faces.empty())
        for (FaceId f = 0; f < mesh.face_count(); ++f) add(f);
    else
        for (const FaceId f : faces) add(f);
    std::vector<IndexedFace> gathered;
    gathered.reserve(usable.size());
    for (const std::uint32_t i : space_order(middles)) gathered.push_back({mesh.corners(usable[i]), usable[i]});
    return gathered;
}

}  // namespace

struct MeshIndex::Impl {
    std::vector<IndexedFace> faces;
    BoxTree boxes;
    RayTree rays;

    Impl(const TriMesh& mesh, std::span<const FaceId> wanted) : faces(gather(mesh, wanted)), boxes(faces) {}
};

MeshIndex::MeshIndex(const TriMesh& mesh, std::span<const FaceId> faces) : impl_(std::make_unique<Impl>(mesh, faces)) {}

MeshIndex::~MeshIndex() = default;
MeshIndex::MeshIndex(MeshIndex&&) noexcept = default;
MeshIndex& MeshIndex::operator=(MeshIndex&&) noexcept = default;

bool MeshIndex::is_empty() const { return impl_->faces.empty(); }

MeshIndex::Nearest MeshIndex::nearest(Vec3 query) const {
    CRADLEWRIGHT_PRECONDITION(is_finite(query));
    BoxTree::Best best;
    if (!is_empty()) impl_->boxes.search(best, query);
    return {best.face, best.point, std::sqrt(best.square)};
}

std::optional<MeshIndex::Hit> MeshIndex::first_hit(Vec3 origin, Vec3 direction) const {
    CRADLEWRIGHT_PRECONDITION(is_finite(origin) && is_finite(direction) && norm(direction) > 0);
    if (is_empty()) return {};
    impl_->rays.build_once(impl_->faces);
    return impl_->rays.first_hit(origin, normalized(direction));
}

}  // namespace cradlewright
