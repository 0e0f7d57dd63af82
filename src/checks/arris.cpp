// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/arris.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace {

constexpr double least_patch_mm = 1, largest_patch_mm = 4;
// Fewer faces than this across a patch, and its normal and centroid no longer belong together.
constexpr double edges_a_patch = 2.5;
// Centres further apart than this many patches, of faces that are over half a patch in size: faces larger than patches.
constexpr double coarse_patches = 1.5;
// A patch does not grow over faces that turn further than this from its first: it would straddle the arris.
constexpr double patch_turn_cosine = 0.5;
// Smaller leftovers between patches are handed to the neighbour they agree with best.
constexpr double least_patch_share = 0.4;
// Of a facet edge that stands for an arris at any face size: 30 deg as a difference of unit normals.
constexpr double facet_turn = 0.5176;
// A turn up to this many deviations may be noise: the largest of 1e5 pairs, each with two tilts, is sqrt(2 ln 1e5)
// = 4.8.
constexpr double noise_deviates = 5;

/// Standard deviation of a patch's normal, noise moving vertices along it: the area vector depends only on the vertices
/// of the rim, each with a lever of its edge's length, and the tilt is the worse of both axes.
double normal_noise(double noise_mm, double rim_squares_mm2, double area_mm2) {
    return noise_mm * std::sqrt(rim_squares_mm2) / area_mm2;
}

double patch_size_mm(double noise_mm, double edge_mm, double radius_of_interest_mm) {
    double patch_mm = std::clamp(edges_a_patch * edge_mm, least_patch_mm, largest_patch_mm);
    const auto noise_turn = [&] {
        return std::numbers::sqrt2 * normal_noise(noise_mm, 4 * patch_mm * edge_mm, patch_mm * patch_mm);
    };
    while (patch_mm < largest_patch_mm && noise_deviates * noise_turn() > 0.5 * patch_mm / radius_of_interest_mm)
        patch_mm *= 1.25;
    return std::min(patch_mm, largest_patch_mm);
}

struct Patch {
    Vec3 area_vector{};  ///< twice the area times the normal, summed
    Vec3 weighted_center{};
    double area2 = 0;        ///< twice the area
    double rim_squares = 0;  ///< of the lengths of its rim's edges
    double face_count = 0;
    Vec3 normal{}, center{};
};

class PatchMap {
public:
    PatchMap(const TriMesh& mesh, std::span<const FaceId> adjacency, std::span<const std::uint8_t> half,
             double patch_mm)
        : mesh_(mesh), adjacency_(adjacency), half_(half), reach_(patch_mm / 2), patch_of_(mesh.face_count(), no_id) {
        for (FaceId f = 0; f < mesh.face_count(); ++f)
            if (counts(f) && patch_of_[f] == no_id) grow(f);
        measure();
        merge_leftovers(2 * least_patch_share * patch_mm * patch_mm);
        measure();
    }
    [[nodiscard]] const Patch& patch(FaceId p) const { return patches_[p]; }
    /// Calls use(patch, other patch, squared length of their edge) for every edge between counted faces of two patches,
    /// from both sides; other is no_id at the end of the counted faces.
    template <class Use>
    void each_rim_edge(Use&& use) const {
        for (FaceId f = 0; f < mesh_.face_count(); ++f) {
            if (patch_of_[f] == no_id) continue;
            const auto c = mesh_.corners(f);
            for (std::size_t e = 0; e < 3; ++e) {
                const FaceId g = adjacency_[3 * static_cast<std::size_t>(f) + e];
                const FaceId other = g == no_id ? no_id : patch_of_[g];
                const Vec3 edge = c[(e + 1) % 3] - c[e];
                if (other != patch_of_[f]) use(patch_of_[f], other, dot(edge, edge));
            }
        }
    }

private:
    [[nodiscard]] bool counts(FaceId f) const { return half_[f] == 1 && mesh_.origin_of(f) != FaceOrigin::assumed; }
    [[nodiscard]] Vec3 center_of(FaceId f) const {
        const auto c = mesh_.corners(f);
        return (c[0] + c[1] + c[2]) / 3;
    }

    void grow(FaceId seed) {
        const FaceId id = patch_count_++;
        const Vec3 seed_normal = normalized(area_vector(mesh_.corners(seed))), seed_center = center_of(seed);
        queue_.assign(1, seed);
        patch_of_[seed] = id;
        for (std::size_t k = 0; k < queue_.size(); ++k)
            for (std::size_t e = 0; e < 3; ++e) {
                const FaceId g = adjacency_[3 * static_cast<std::size_t>(queue_[k]) + e];
                if (g == no_id || patch_of_[g] != no_id || !counts(g)) continue;
                if (norm(center_of(g) - seed_center) > reach_) continue;
                if (dot(normalized(area_vector(mesh_.corners(g))), seed_normal) < patch_turn_cosine) continue;
                patch_of_[g] = id;
                queue_.push_back(g);
            }
    }

    void measure() {
        patches_.assign(patch_count_, {});
        for (FaceId f = 0; f < mesh_.face_count(); ++f) {
            if (patch_of_[f] == no_id) continue;
            Patch& patch = patches_[patch_of_[f]];
            const Vec3 a = area_vector(mesh_.corners(f));
            const double area2 = norm(a);
            patch.area_vector += a;
            patch.area2 += area2;
            ++patch.face_count;
            patch.weighted_center += center_of(f) * area2;
        }
        for (Patch& p : patches_) {
            p.normal = normalized(p.area_vector);
            if (p.area2 > 0) p.center = p.weighted_center / p.area2;
        }
        each_rim_edge([this](FaceId own, FaceId, double square) { patches_[own].rim_squares += square; });
    }

    /// A leftover joins the full patch whose normal is nearest to its own, unless the turn to that is an arris itself.
    void merge_leftovers(double least_area2) {
        std::vector<FaceId> target(patch_count_, no_id);
        const auto is_full = [&](FaceId p) { return patches_[p].area2 >= least_area2; };
        const auto agreement = [&](FaceId p, FaceId q) { return dot(patches_[p].normal, patches_[q].normal); };
        each_rim_edge([&](FaceId own, FaceId other, double) {
            if (other == no_id || is_full(own) || !is_full(other) || agreement(own, other) < patch_turn_cosine) return;
            if (target[own] == no_id || agreement(own, other) > agreement(own, target[own])) target[own] = other;
        });
        for (FaceId& p : patch_of_)
            if (p != no_id && target[p] != no_id) p = target[p];
    }

    const TriMesh& mesh_;
    std::span<const FaceId> adjacency_;
    std::span<const std::uint8_t> half_;
    double reach_;
    std::vector<FaceId> patch_of_;
    FaceId patch_count_ = 0;
    std::vector<Patch> patches_;
    std::vector<FaceId> queue_;
};

/// Length over which two neighbouring patches turn.
double arc_between(const Patch& p, const Patch& q, double turn, double patch_mm) {
    const double distance_mm = norm(q.center - p.center);
    const auto has_large_faces = [patch_mm](const Patch& patch) {
        return patch.area2 / 2 > patch.face_count * patch_mm * patch_mm / 4;
    };
    const bool is_edge_of_large_faces =
        turn > facet_turn && distance_mm > coarse_patches * patch_mm && (has_large_faces(p) || has_large_faces(q));
    return is_edge_of_large_faces ? least_patch_mm : distance_mm;
}

void note(Arrises& arrises, const Patch& p, const Patch& q, double patch_mm, double noise_mm) {
    const Vec3 turned = q.normal - p.normal, apart = q.center - p.center;
    const double turn = norm(turned);
    const auto noise_of = [noise_mm](const Patch& patch) {
        return normal_noise(noise_mm, patch.rim_squares, patch.area2 / 2);
    };
    const double sure_turn = turn - noise_deviates * std::hypot(noise_of(p), noise_of(q));
    if (!(sure_turn > 0)) return;
    Arris& worst = dot(turned, apart) > 0 ? arrises.outside : arrises.inside;
    const double arc_mm = arc_between(p, q, turn, patch_mm);
    if (arc_mm / sure_turn >= worst.radius_high_mm) return;
    worst.radius_mm = arc_mm / turn;
    worst.radius_low_mm = std::max(0.0, worst.radius_mm - patch_mm / 2);
    worst.radius_high_mm = arc_mm / sure_turn;
    worst.at = (p.center + q.center) * 0.5;
}

}  // namespace

Arrises find_arrises(const TriMesh& mesh, std::span<const FaceId> adjacency, std::span<const std::uint8_t> half,
                     double noise_mm, double radius_of_interest_mm) {
    CRADLEWRIGHT_PRECONDITION(adjacency.size() == 3 * mesh.face_count() && half.size() == mesh.face_count());
    CRADLEWRIGHT_PRECONDITION(radius_of_interest_mm > 0);
    const double patch_mm = patch_size_mm(noise_mm, mean_edge_length(mesh), radius_of_interest_mm);
    const PatchMap map(mesh, adjacency, half, patch_mm);
    Arrises arrises;
    arrises.resolution_mm = patch_mm / 2;
    map.each_rim_edge([&](FaceId own, FaceId other, double) {
        if (other != no_id && own < other) note(arrises, map.patch(own), map.patch(other), patch_mm, noise_mm);
    });
    return arrises;
}

}  // namespace cradlewright
