// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/cut_mesh.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <utility>

namespace cradlewright {
namespace {

class Cutter {
public:
    Cutter(const TriMesh& mesh, Vec3 at, Vec3 normal, double snap_mm)
        : mesh_(mesh), number_(mesh.vertices.size(), no_id) {
        height_.reserve(mesh.vertices.size());
        for (const Vec3& p : mesh.vertices) {
            const double h = dot(p - at, normal);
            height_.push_back(std::abs(h) < snap_mm ? 0 : h);  // a height of 0 means exactly in the plane from here on
        }
        for (VertexId v = 0; v < mesh.vertices.size(); ++v) {
            if (height_[v] > 0) continue;
            number_[v] = static_cast<VertexId>(out_.mesh.vertices.size());
            const Vec3& p = mesh.vertices[v];
            out_.mesh.vertices.push_back(height_[v] == 0 ? p - normal * dot(p - at, normal) : p);
            is_on_plane_.push_back(height_[v] == 0 ? 1 : 0);
        }
        next_.assign(out_.mesh.vertices.size(), no_id);
    }

    CutMesh cut() {
        for (FaceId f = 0; f < mesh_.face_count(); ++f) add_kept_part(f);
        keep_openings();
        if (out_.is_clean) collect_rims();
        if (!out_.is_clean) out_.rims.clear();
        return std::move(out_);
    }

private:
    void add_kept_part(FaceId f) {
        const Triangle& t = mesh_.triangles[f];
        const bool has_below = std::ranges::any_of(t, [&](VertexId v) { return height_[v] < 0; });
        if (!has_below) return;
        // The kept part, corner by corner; crossings stand between corners on either side.
        std::array<VertexId, 4> kept{};
        std::size_t count = 0;
        for (std::size_t k = 0; k < 3; ++k) {
            const VertexId a = t[k], b = t[(k + 1) % 3];
            if (height_[a] <= 0) kept[count++] = number_[a];
            if (height_[a] * height_[b] < 0) kept[count++] = crossing(a, b);
        }
        for (std::size_t k = 0; k < count; ++k) {
            const VertexId a = kept[k], b = kept[(k + 1) % count];
            if (is_on_plane_[a] != 0 && is_on_plane_[b] != 0) add_rim_edge(a, b);
        }
        for (std::size_t k = 2; k < count; ++k) {
            out_.mesh.triangles.push_back({kept[0], kept[k - 1], kept[k]});
            if (!mesh_.face_origin.empty()) out_.mesh.face_origin.push_back(mesh_.face_origin[f]);
        }
    }

    VertexId crossing(VertexId a, VertexId b) {
        const auto key = std::minmax(a, b);
        const auto [place, is_new] =
            crossings_.try_emplace({key.first, key.second}, static_cast<VertexId>(out_.mesh.vertices.size()));
        if (is_new) {
            // From the same end whichever face asks first.
            const double low = height_[key.first], high = height_[key.second], t = low / (low - high);
            out_.mesh.vertices.push_back(mesh_.vertices[key.first] * (1 - t) + mesh_.vertices[key.second] * t);
            is_on_plane_.push_back(1);
            next_.push_back(no_id);
        }
        return place->second;
    }

    void add_rim_edge(VertexId a, VertexId b) {
        // Two rims through one vertex, or an edge that only touches the plane from below.
        if (next_[a] != no_id || next_[b] == a) out_.is_clean = false;
        next_[a] = b;
    }

    void keep_openings() {
        for (const Opening& opening : mesh_.openings) {
            const auto above = std::ranges::count_if(opening.loop, [&](VertexId v) { return height_[v] > 0; });
            if (above == static_cast<std::ptrdiff_t>(opening.loop.size())) continue;
            if (above > 0) out_.is_clean = false;
            if (!out_.is_clean) return;
            Opening kept = opening;
            for (VertexId& v : kept.loop) v = number_[v];
            out_.mesh.openings.push_back(std::move(kept));
        }
    }

    void collect_rims() {
        std::vector<char> is_done(next_.size(), 0);
        for (VertexId start = 0; start < next_.size(); ++start) {
            if (next_[start] == no_id || is_done[start] != 0) continue;
            std::vector<VertexId> rim;
            for (VertexId v = start; is_done[v] == 0; v = next_[v]) {
                is_done[v] = 1;
                rim.push_back(v);
                if (next_[v] == no_id) {
                    out_.is_clean = false;
                    return;
                }
            }
            if (next_[rim.back()] != start) {
                out_.is_clean = false;
                return;
            }
            out_.rims.push_back(std::move(rim));
        }
    }

    const TriMesh& mesh_;
    std::vector<double> height_;
    std::vector<VertexId> number_;   ///< in the result, of kept vertices
    std::vector<char> is_on_plane_;  ///< of the result's vertices
    std::vector<VertexId> next_;     ///< along the rim
    std::map<std::pair<VertexId, VertexId>, VertexId> crossings_;
    CutMesh out_;
};

}  // namespace

CutMesh cut_mesh(const TriMesh& mesh, Vec3 at, Vec3 normal, double snap_mm) {
    return Cutter(mesh, at, normal, snap_mm).cut();
}

}  // namespace cradlewright
