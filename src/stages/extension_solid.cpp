// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/extension_solid.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/triangulate.hpp"
#include "geom/cut_mesh.hpp"
#include "geom/zip_loops.hpp"

namespace cradlewright {
namespace {

using Ring = std::vector<VertexId>;

/// Nothing but a vertex that lies in the plane by chance spoils a cut, so a little deeper it is clean.
CutMesh clean_cut(const TriMesh& mesh, const FlatEnd& end, const std::string& edge) {
    constexpr int most_tries = 8;
    constexpr double snap_mm = 1e-3, deeper_mm = 0.0137;  // odd, so as to miss an even grid
    for (int k = 0; k < most_tries; ++k) {
        const Vec3 at = end.joint.origin - end.joint.z * (end.cut_mm + k * deeper_mm);
        CutMesh cut = cut_mesh(mesh, at, end.joint.z, snap_mm);
        if (cut.is_clean && cut.rims.size() == 1) return cut;
    }
    throw Error(ErrorCode::bad_input, "edge." + edge + ".extension", edge + " cannot be cut clean behind its end",
                "fill holes in the plug's end and scan it again, or leave the extension out");
}

class Joiner {
public:
    Joiner(CutMesh cut, const Frame3& frame) : mesh_(std::move(cut.mesh)), frame_(frame), rim_(cut.rims.front()) {
        mesh_.face_origin.resize(mesh_.face_count(), FaceOrigin::scanned);
        first_face_ = mesh_.face_count();
        // A rim runs as the faces below it do, so against the outlines.
        std::reverse(rim_.begin(), rim_.end());
    }

    Ring add_ring(const std::vector<Vec2>& outline, const auto& height_of) {
        Ring ring;
        for (std::size_t i = 0; i < outline.size(); ++i) {
            ring.push_back(static_cast<VertexId>(mesh_.vertices.size()));
            mesh_.vertices.push_back(frame_.to_parent(Vec3{outline[i].x, outline[i].y, height_of(i)}));
        }
        return ring;
    }

    void fill_to(const Ring& end) {
        PointLoop below, above;
        for (const VertexId v : rim_) below.push_back(mesh_.vertices[v]);
        for (auto v = end.rbegin(); v != end.rend(); ++v) above.push_back(mesh_.vertices[*v]);
        Ring both = rim_;
        both.insert(both.end(), end.rbegin(), end.rend());
        for (const Triangle& t : zip_loops(below, above)) add_face(both[t[0]], both[t[1]], both[t[2]]);
    }

    /// Faces outward over the area between or within the outlines.
    void cover(const std::vector<std::vector<Vec2>>& outlines, const std::vector<Ring>& rings, bool faces_out = true) {
        Ring all;
        for (const Ring& ring : rings) all.insert(all.end(), ring.begin(), ring.end());
        const Triangulation flat = triangulate(outlines);
        CRADLEWRIGHT_POSTCONDITION(flat.points.size() == all.size());
        for (const auto& [a, b, c] : flat.triangles)
            faces_out ? add_face(all[a], all[b], all[c]) : add_face(all[a], all[c], all[b]);
    }

    void wall(const Ring& lower, const Ring& upper) {
        for (std::size_t i = 0; i < lower.size(); ++i) {
            const std::size_t j = (i + 1) % lower.size();
            add_face(lower[i], lower[j], upper[j]);
            add_face(lower[i], upper[j], upper[i]);
        }
    }

    [[nodiscard]] std::size_t first_face() const { return first_face_; }
    [[nodiscard]] const TriMesh& mesh() const { return mesh_; }
    TriMesh take() {
        mesh_.face_origin.resize(mesh_.face_count(), FaceOrigin::extended);
        return std::move(mesh_);
    }

private:
    void add_face(VertexId a, VertexId b, VertexId c) { mesh_.triangles.push_back({a, b, c}); }

    TriMesh mesh_;
    Frame3 frame_;
    Ring rim_;
    std::size_t first_face_ = 0;
};

template <class T>
std::vector<T> stretch(const std::vector<T>& ring, std::size_t from, std::size_t to) {
    std::vector<T> part{ring[from]};
    for (std::size_t i = from; i != to; part.push_back(ring[i])) i = (i + 1) % ring.size();
    return part;
}

/// Of what lies between the joint plane and the faces from `first` on.
double volume_over_joint(const TriMesh& mesh, std::size_t first, const Frame3& joint) {
    double sum = 0;
    for (std::size_t f = first; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(static_cast<FaceId>(f));
        const Vec3 a = joint.to_local(c[0]), b = joint.to_local(c[1]), d = joint.to_local(c[2]);
        sum += (a.z + b.z + d.z) / 3 * cross(Vec2{b.x - a.x, b.y - a.y}, Vec2{d.x - a.x, d.y - a.y}) / 2;
    }
    return sum;
}

}  // namespace

TriMesh set_on(const TriMesh& mesh, const FlatEnd& end, const PieceShape& shape, Extension& extension) {
    Joiner joiner(clean_cut(mesh, end, extension.edge), extension.joint);
    const auto flat = [](std::size_t) { return 0.0; };
    const Ring on_plug = joiner.add_ring(extension.end, flat);
    joiner.fill_to(on_plug);
    Ring below = on_plug;
    if (extension.trim_step_mm > 0) {
        below = joiner.add_ring(extension.inner, flat);
        joiner.cover({extension.end, extension.inner}, {on_plug, below});
    }
    const std::size_t first_of_piece = joiner.mesh().face_count();
    const int rows = std::clamp(static_cast<int>(std::ceil(extension.length_mm / shape.row_mm)), 1, 200);
    std::vector<Vec2> outline;
    for (int row = 1; row <= rows; ++row) {
        const double share = static_cast<double>(row) / rows;
        outline.clear();
        for (std::size_t i = 0; i < extension.inner.size(); ++i)
            outline.push_back(extension.inner[i] + shape.speed[i] * (share * shape.height_mm[i]));
        const Ring above = joiner.add_ring(outline, [&](std::size_t i) { return share * shape.height_mm[i]; });
        joiner.wall(below, above);
        below = above;
    }
    if (shape.ridge_from == shape.ridge_to) {
        joiner.cover({outline}, {below});
    } else {
        for (const auto& [from, to] :
             {std::pair{shape.ridge_from, shape.ridge_to}, std::pair{shape.ridge_to, shape.ridge_from}})
            joiner.cover({stretch(outline, from, to)}, {stretch(below, from, to)});
    }
    extension.volume_mm3 = volume_over_joint(joiner.mesh(), first_of_piece, extension.joint);
    extension.first_face = joiner.first_face();
    extension.face_count = joiner.mesh().face_count() - joiner.first_face();
    return joiner.take();
}

}  // namespace cradlewright
