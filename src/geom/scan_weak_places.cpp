// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/scan_weak_places.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "geom/mesh_noise.hpp"
#include "geom/point_clusters.hpp"

namespace cradlewright {

namespace {

constexpr double cells_a_side = 16;
constexpr double much_worse = 2.5;
constexpr std::size_t fewest_samples = 10;  // the median of fewer says little
constexpr double least_area_share = 0.02;   // of a cell's face: less surface in it is a corner of a neighbour's
constexpr double most_bend = 0.02;          // an arc of 11 deg over the rings: what a quadratic follows
constexpr double most_bent_share = 0.1;
constexpr double median_to_deviation = 1.4826;
const double edge2_of_area = 4 / std::sqrt(3.0);  // of an equilateral triangle

using Cell = std::array<double, 3>;  // whole numbers

class CellGrid {
public:
    explicit CellGrid(const TriMesh& mesh) {
        const Box3 box = bounding_box(mesh);
        low_ = box.low;
        width_ = std::max({box.size().x, box.size().y, box.size().z}) / cells_a_side;
    }
    [[nodiscard]] Cell cell_of(Vec3 p) const {
        const Vec3 d = (p - low_) / width_;
        return {std::floor(d.x), std::floor(d.y), std::floor(d.z)};
    }
    [[nodiscard]] double width() const { return width_; }

private:
    Vec3 low_;
    double width_ = 1;
};

/// A cell that is worse than the rest.
struct BadCell {
    Vec3 center;  ///< of the surface in it
    double value = 0, chord = 0;
};

std::vector<WeakPlace> places_of(const std::vector<BadCell>& cells, double width) {
    std::vector<Vec3> centers;
    for (const BadCell& cell : cells) centers.push_back(cell.center);
    std::vector<WeakPlace> places;
    for (const PointCluster& cluster : cluster_points(centers, width)) {
        WeakPlace& place = places.emplace_back();
        place.center = cluster.center;
        place.reach_mm = cluster.reach_mm + width / 2;
        for (const std::size_t i : cluster.members) {
            place.value_mm += cells[i].value / static_cast<double>(cluster.members.size());
            place.chord_mm += cells[i].chord / static_cast<double>(cluster.members.size());
        }
    }
    return places;
}

double median_of(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

}  // namespace

std::vector<WeakPlace> noisy_places(const TriMesh& mesh, double noise_mm) {
    if (!(noise_mm > 0)) return {};
    const CellGrid grid(mesh);
    struct Content {
        std::vector<double> sizes;
        Vec3 sum;
        double bent = 0;
    };
    std::map<Cell, Content> cells;
    for (const NoiseSample& sample : noise_samples(mesh)) {
        const Vec3 p = mesh.vertices[sample.vertex];
        Content& cell = cells[grid.cell_of(p)];
        if (!sample.is_flat || sample.bend > most_bend) {
            cell.bent += 1;
            continue;
        }
        cell.sizes.push_back(sample.size);
        cell.sum += p;
    }
    std::vector<BadCell> bad;
    for (const auto& [at, cell] : cells) {
        // Beside a sharp bend the quadratic misses too, by what would pass for noise.
        const double count = static_cast<double>(cell.sizes.size());
        if (cell.sizes.size() < fewest_samples || cell.bent > most_bent_share * count) continue;
        const double noise = median_to_deviation * median_of(cell.sizes);
        if (noise > much_worse * noise_mm) bad.push_back({cell.sum / count, noise, 0});
    }
    return places_of(bad, grid.width());
}

std::vector<WeakPlace> thin_places(const TriMesh& mesh) {
    const CellGrid grid(mesh);
    const std::vector<FaceId> beyond = face_adjacency(mesh);
    const std::vector<Vec3> normals = face_normals(mesh);
    struct Content {
        double area = 0, faces = 0, rise = 0;
        Vec3 moment;
        [[nodiscard]] double edge_mm() const { return std::sqrt(edge2_of_area * area / faces); }
    };
    std::map<Cell, Content> cells;
    Content whole;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        if (mesh.origin_of(f) != FaceOrigin::scanned) continue;
        const auto c = mesh.corners(f);
        const Vec3 middle = (c[0] + c[1] + c[2]) / 3;
        const double area = norm(area_vector(c)) / 2;
        double rise = 0;  // mean over the three sides
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = beyond[3 * std::size_t{f} + k];
            const double turn =
                g == no_id ? 0 : std::atan2(norm(cross(normals[f], normals[g])), dot(normals[f], normals[g]));
            rise += norm(c[(k + 1) % 3] - c[k]) * turn / 8 / 3;
        }
        for (Content* content : {&whole, &cells[grid.cell_of(middle)]}) {
            content->area += area;
            content->faces += 1;
            content->rise += rise;
            content->moment += middle * area;
        }
    }
    std::vector<BadCell> bad;
    for (const auto& [at, cell] : cells) {
        if (cell.area < least_area_share * grid.width() * grid.width()) continue;
        if (cell.edge_mm() > much_worse * whole.edge_mm())
            bad.push_back({cell.moment / cell.area, cell.edge_mm(), cell.rise / cell.faces});
    }
    return places_of(bad, grid.width());
}

}  // namespace cradlewright
