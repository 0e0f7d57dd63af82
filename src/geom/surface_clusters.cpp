// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/surface_clusters.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/mesh_repair.hpp"

namespace cradlewright {
namespace {

constexpr double merge_share = 0.5;  // of a cell: closer vertices make needles
constexpr double hole_cells = 12;    // perimeter of holes that cracks between pieces leave
constexpr std::size_t most_samples = 4096;

std::size_t hash_of(const std::array<std::int32_t, 3>& at) {
    std::uint64_t h = 0;
    for (const std::int32_t v : at) h = (h ^ static_cast<std::uint32_t>(v)) * 0x9e3779b97f4a7c15u;
    return static_cast<std::size_t>(h ^ (h >> 29));
}

}  // namespace

SurfaceClusters::SurfaceClusters(double cell_mm) : cell_mm_(cell_mm), slots_(1024, no_id) {
    CRADLEWRIGHT_PRECONDITION(cell_mm > 0);
}

void SurfaceClusters::grow() {
    slots_.assign(2 * slots_.size(), no_id);
    for (std::uint32_t c = 0; c < clusters_.size(); ++c) {
        std::size_t s = hash_of(clusters_[c].at) % slots_.size();
        while (slots_[s] != no_id) s = (s + 1) % slots_.size();
        slots_[s] = c;
    }
}

std::uint32_t SurfaceClusters::cluster_of(Vec3 p) {
    const auto number = [&](double v) { return static_cast<std::int32_t>(std::floor(v / cell_mm_)); };
    const std::array<std::int32_t, 3> at{number(p.x), number(p.y), number(p.z)};
    std::size_t s = hash_of(at) % slots_.size();
    while (slots_[s] != no_id && clusters_[slots_[s]].at != at) s = (s + 1) % slots_.size();
    if (slots_[s] == no_id) {
        slots_[s] = static_cast<std::uint32_t>(clusters_.size());
        clusters_.push_back({.at = at, .sum = {}, .pinned = {}});
        if (2 * clusters_.size() > slots_.size()) {
            grow();
            return static_cast<std::uint32_t>(clusters_.size() - 1);
        }
    }
    return slots_[s];
}

void SurfaceClusters::add_face(std::uint32_t a, std::uint32_t b, std::uint32_t c) {
    if (a == b || b == c || c == a) return;
    Triangle t{a, b, c};
    std::rotate(t.begin(), std::min_element(t.begin(), t.end()), t.end());
    faces_.push_back(t);
}

void SurfaceClusters::add(const TriMesh& mesh, const Frame3& place, const std::function<bool(FaceId)>& takes) {
    std::vector<std::uint32_t> cluster(mesh.vertices.size(), no_id);
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        if (!takes(f)) continue;
        Triangle t = mesh.triangles[f];
        for (VertexId& v : t) {
            if (cluster[v] == no_id) {
                const Vec3 p = place.to_parent(mesh.vertices[v]);
                const std::uint32_t c = cluster[v] = cluster_of(p);
                clusters_[c].sum += p;
                ++clusters_[c].count;
                if (offered_++ % sample_step_ == 0) samples_.push_back(p);
                if (samples_.size() > most_samples) {  // every second one goes, and so do further ones
                    for (std::size_t k = 0; 2 * k < samples_.size(); ++k) samples_[k] = samples_[2 * k];
                    samples_.resize((samples_.size() + 1) / 2);
                    sample_step_ *= 2;
                }
            }
            v = cluster[v];
        }
        add_face(t[0], t[1], t[2]);
    }
}

void SurfaceClusters::add(const std::array<Vec3, 3>& corners) {
    Triangle t{};
    for (std::size_t k = 0; k < 3; ++k) {
        t[k] = cluster_of(corners[k]);
        clusters_[t[k]].sum += corners[k];
        ++clusters_[t[k]].count;
    }
    add_face(t[0], t[1], t[2]);
}

void SurfaceClusters::pin(Vec3 place) {
    Cluster& c = clusters_[cluster_of(place)];
    c.pinned += place;
    ++c.pins;
}

std::vector<std::uint32_t> SurfaceClusters::merged() const {
    std::vector<std::uint32_t> root(clusters_.size());
    std::iota(root.begin(), root.end(), 0u);
    const auto top = [&](std::uint32_t c) {
        while (root[c] != c) c = root[c] = root[root[c]];
        return c;
    };
    std::map<std::array<std::int32_t, 3>, std::uint32_t> by_place;
    for (std::uint32_t c = 0; c < clusters_.size(); ++c) by_place.emplace(clusters_[c].at, c);
    for (std::uint32_t c = 0; c < clusters_.size(); ++c)
        for (int n = 0; n < 27; ++n) {
            const auto& at = clusters_[c].at;
            const auto it = by_place.find({at[0] + n % 3 - 1, at[1] + n / 3 % 3 - 1, at[2] + n / 9 - 1});
            if (it == by_place.end() || it->second <= c) continue;
            // Two rims side by side stay apart, and so do chains of close cells: each is merged once.
            const std::uint32_t other = it->second;
            if (top(c) != c || top(other) != other) continue;
            if (norm(clusters_[c].place() - clusters_[other].place()) < merge_share * cell_mm_) root[other] = c;
        }
    for (std::uint32_t c = 0; c < root.size(); ++c) root[c] = top(c);
    return root;
}

SurfaceClusters::Result SurfaceClusters::finish(Vec3 up, const std::string& place) const {
    const std::vector<std::uint32_t> root = merged();
    std::vector<Cluster> whole = clusters_;
    for (std::uint32_t c = 0; c < root.size(); ++c) {
        if (root[c] == c) continue;
        Cluster& into = whole[root[c]];
        into.sum += clusters_[c].sum, into.count += clusters_[c].count;
        into.pinned += clusters_[c].pinned, into.pins += clusters_[c].pins;
    }
    TriMesh soup;
    for (const Cluster& c : whole) soup.vertices.push_back(c.count + c.pins > 0 ? c.place() : Vec3{});
    std::set<Triangle> faces;  // a face and its reverse cancel: a fold flattened by its cell
    for (const Triangle& f : faces_) {
        Triangle t{root[f[0]], root[f[1]], root[f[2]]};
        if (t[0] == t[1] || t[1] == t[2] || t[2] == t[0]) continue;
        std::rotate(t.begin(), std::min_element(t.begin(), t.end()), t.end());
        const Triangle back{t[0], t[2], t[1]};
        if (faces.erase(back) == 0) faces.insert(t);
    }
    soup.triangles.assign(faces.begin(), faces.end());
    Result result;
    result.mesh =
        repair_mesh(std::move(soup), {.hole_perimeter_mm = hole_cells * cell_mm_, .caps_openings = false}, place).mesh;
    Vec3 sum;
    for (FaceId f = 0; f < result.mesh.face_count(); ++f) sum += area_vector(result.mesh.corners(f));
    if (dot(sum, up) < 0)
        for (Triangle& t : result.mesh.triangles) std::swap(t[1], t[2]);
    const MeshIndex index(result.mesh);
    for (const Vec3 p : samples_) result.deviation_mm = std::max(result.deviation_mm, index.nearest(p).distance_mm);
    return result;
}

}  // namespace cradlewright
