// SPDX-License-Identifier: GPL-3.0-or-later
#include "weave.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace cradlewright::demo {
namespace {

/// Radii of the patches that defects touch, mm at scale 1: a hole well under the perimeter that mending closes by
/// default.
constexpr double hole_radius_mm = 4;
constexpr double flip_radius_mm = 8;

Vec3 center_of(const TriMesh& mesh, FaceId f) {
    const auto c = mesh.corners(f);
    return (c[0] + c[1] + c[2]) / 3;
}

void add_noise(TriMesh& mesh, double sigma_mm, Random random) {
    std::vector<Vec3> normals(mesh.vertices.size());
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const Vec3 area = area_vector(mesh.corners(f));
        for (const VertexId v : mesh.triangles[f]) normals[v] += area;
    }
    for (std::size_t v = 0; v < normals.size(); ++v)
        mesh.vertices[v] += normalized(normals[v]) * (sigma_mm * random.normal());
}

/// Faces within `radius_mm` of a face drawn by lot, on the same side of a thin body.
std::vector<FaceId> random_patch(const TriMesh& mesh, double radius_mm, Random& random) {
    const auto seed = static_cast<FaceId>(random.below(mesh.face_count()));
    const Vec3 middle = center_of(mesh, seed);
    const Vec3 normal = area_vector(mesh.corners(seed));
    std::vector<FaceId> patch;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const bool is_near = norm(center_of(mesh, f) - middle) < radius_mm;
        if (f == seed || (is_near && dot(area_vector(mesh.corners(f)), normal) > 0)) patch.push_back(f);
    }
    return patch;
}

void drop_unused_vertices(TriMesh& mesh) {
    std::vector<VertexId> renamed(mesh.vertices.size(), no_id);
    for (const Triangle& t : mesh.triangles)
        for (const VertexId v : t) renamed[v] = v;
    VertexId kept = 0;
    for (VertexId& v : renamed) {
        if (v == no_id) continue;
        mesh.vertices[kept] = mesh.vertices[v];
        v = kept++;
    }
    mesh.vertices.resize(kept);
    for (Triangle& t : mesh.triangles)
        for (VertexId& v : t) v = renamed[v];
}

/// Leaves out a patch and the vertices that only it used.
void punch_hole(TriMesh& mesh, double radius_mm, Random& random) {
    const std::vector<FaceId> patch = random_patch(mesh, radius_mm, random);
    auto next = patch.begin();
    FaceId kept = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        if (next != patch.end() && *next == f)
            ++next;
        else
            mesh.triangles[kept++] = mesh.triangles[f];
    }
    mesh.triangles.resize(kept);
    drop_unused_vertices(mesh);
}

void flip_patch(TriMesh& mesh, double radius_mm, Random& random) {
    for (const FaceId f : random_patch(mesh, radius_mm, random)) std::swap(mesh.triangles[f][1], mesh.triangles[f][2]);
}

/// An octahedron of dust in front of or behind the body's box.
void add_stray(TriMesh& mesh, const Box3& box, double scale, Random& random) {
    const double r = scale * random.between(1.5, 4);
    const double away = scale * random.between(15, 40);
    const double x = box.low.x + box.size().x * random.unit();
    const double z = box.low.z + box.size().z * random.unit();
    const Vec3 middle{x, random.coin() ? box.high.y + away : box.low.y - away, z};
    const auto first = static_cast<VertexId>(mesh.vertices.size());
    for (const Vec3 axis : {Vec3{1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, 0, 1}}) {
        mesh.vertices.push_back(middle + axis * (r * random.between(0.6, 1)));
        mesh.vertices.push_back(middle - axis * (r * random.between(0.6, 1)));
    }
    for (VertexId octant = 0; octant < 8; ++octant) {
        const VertexId a = octant & 1u, b = (octant >> 1) & 1u, c = octant >> 2;
        const Triangle face{first + a, first + 2 + b, first + 4 + c};
        const bool is_mirrored = (a + b + c) % 2 != 0;
        mesh.triangles.push_back(is_mirrored ? Triangle{face[0], face[2], face[1]} : face);
    }
}

void add_defects(TriMesh& mesh, const Defects& defects, double scale, Random random) {
    Box3 box;
    for (const Vec3 p : mesh.vertices) box.add(p);
    for (int i = 0; i < defects.holes; ++i) punch_hole(mesh, scale * hole_radius_mm, random);
    for (int i = 0; i < defects.flipped; ++i) flip_patch(mesh, scale * flip_radius_mm, random);
    for (int i = 0; i < defects.duplicates; ++i)
        mesh.triangles.push_back(Triangle{mesh.triangles[random.below(mesh.face_count())]});
    for (int i = 0; i < defects.strays; ++i) add_stray(mesh, box, scale, random);
}

template <class T>
void shuffle(std::vector<T>& items, Random& random) {
    for (std::size_t i = items.size(); i > 1; --i) std::swap(items[i - 1], items[random.below(i)]);
}

void renumber(TriMesh& mesh, Random random) {
    std::vector<VertexId> order(mesh.vertices.size());
    std::iota(order.begin(), order.end(), VertexId{0});
    shuffle(order, random);
    std::vector<Vec3> vertices(mesh.vertices.size());
    for (std::size_t v = 0; v < order.size(); ++v) vertices[order[v]] = mesh.vertices[v];
    mesh.vertices = std::move(vertices);
    for (Triangle& t : mesh.triangles) {
        for (VertexId& v : t) v = order[v];
        std::rotate(t.begin(), t.begin() + static_cast<std::ptrdiff_t>(random.below(3)), t.end());
    }
    shuffle(mesh.triangles, random);
}

}  // namespace

void Weave::cell(VertexId a, VertexId b, VertexId c, VertexId d, bool is_odd) {
    if (is_regular_ ? is_odd : random_.coin()) {
        triangle(a, b, c);
        triangle(a, c, d);
    } else {
        triangle(a, b, d);
        triangle(b, c, d);
    }
}

void Weave::band(std::span<const VertexId> lower, std::span<const VertexId> upper, bool is_closed, bool is_odd) {
    const std::size_t n = lower.size();
    for (std::size_t i = 0; i + (is_closed ? 0 : 1) < n; ++i) {
        const std::size_t j = (i + 1) % n;
        cell(lower[i], lower[j], upper[j], upper[i], (i % 2 != 0) != is_odd);
    }
}

TriMesh Weave::finish(const ScanOptions& options) {
    // Each step draws from its own stream, so that asking for a hole does not change the noise.
    const auto stream = [&](std::uint64_t n) { return Random(options.seed + (n << 32)); };
    for (Vec3& p : mesh_.vertices) p = p * options.scale;
    if (options.noise_mm > 0) add_noise(mesh_, options.noise_mm, stream(1));
    add_defects(mesh_, options.defects, options.scale, stream(2));
    if (options.triangulation == Triangulation::shuffled) renumber(mesh_, stream(3));
    for (Vec3& p : mesh_.vertices) p = options.pose.to_parent(p);
    return std::move(mesh_);
}

EvenSteps::EvenSteps(double low, double high, double bend_mm, std::span<const Curve> curves)
    : low_(low), high_(high), sum_{0} {
    constexpr int samples = 2000;
    const double step = (high - low) / samples;
    for (int i = 0; i < samples; ++i) {
        double way = 0;
        for (const Curve& curve : curves) {
            const Vec3 middle = curve(low + (i + 0.5) * step);
            const Vec3 before = middle - curve(low + i * step), after = curve(low + (i + 1) * step) - middle;
            // The halves of a step differ in direction by half its turn.
            const double turn = 2 * std::atan2(norm(cross(before, after)), dot(before, after));
            way += norm(before) + norm(after) + bend_mm * turn;
        }
        sum_.push_back(sum_.back() + way / static_cast<double>(curves.size()));
    }
}

double EvenSteps::at(double t) const {
    const double wanted = t * sum_.back();
    const auto above = std::clamp(std::upper_bound(sum_.begin(), sum_.end(), wanted), sum_.begin() + 1, sum_.end() - 1);
    const double inside = (wanted - *(above - 1)) / (*above - *(above - 1));
    const double index = static_cast<double>(above - 1 - sum_.begin()) + inside;
    return low_ + (high_ - low_) * index / static_cast<double>(sum_.size() - 1);
}

std::size_t at_least(double value, std::size_t least) {
    return std::max(least, static_cast<std::size_t>(std::max(0.0, std::round(value))));
}

}  // namespace cradlewright::demo
