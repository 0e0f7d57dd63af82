// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/release.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <random>

#include "base/parallel.hpp"
#include "base/quantile.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/column_grid.hpp"
#include "cradlewright/geom/frame.hpp"
#include "geom/hull_facets.hpp"

namespace cradlewright {
namespace {

// A patch smaller than this area is scan noise, not a place the mould hangs on; so is one of few faces, unless these
// are larger than a scan's: a drawing program or a thinned scan has a flat wall in two.
constexpr std::size_t least_patch_faces = 6;
constexpr double least_patch_mm2 = 4, sure_patch_mm2 = 25;
constexpr double least_depth_mm = 0.02;
constexpr std::size_t most_patches = 32;
constexpr std::size_t first_samples = 48;
constexpr std::size_t ring_directions = 24;
// Sphere bins of the best-pull search: about 2 deg, and the least share of area a bin must hold to count.
constexpr int bins_per_right_angle = 45;
constexpr double least_bin_share = 2e-4;

struct HalfView {
    std::uint8_t half = 1;
    double sign = 1;  // slope times this is the sine of the half's own draft
    std::uint8_t cover_bit = covered_above;
};
constexpr std::array<HalfView, 2> half_views{HalfView{1, 1, covered_above}, HalfView{2, -1, covered_below}};

class HalfMeter {
public:
    HalfMeter(const PosedPlug& posed, const ReleaseMap& map, const Parting& parting, const ReleaseOptions& options,
              HalfView view)
        : posed_(posed), map_(map), parting_(parting), options_(options), view_(view) {}

    HalfRelease measure() {
        measure_draft();
        collect_patches();
        return std::move(result_);
    }

    /// Undercut, lock and patches of `known` once more, without the hidden faces.
    void measure_bare_of(const std::vector<FaceId>& hidden, HalfRelease& known) {
        if (std::none_of(hidden.begin(), hidden.end(), [&](FaceId f) { return is_held(f); })) return;
        hidden_ = hidden;
        collect_patches();
        known.undercut_area_mm2 = result_.undercut_area_mm2;
        known.locked_area_mm2 = result_.locked_area_mm2;
        known.undercut_depth_mm = result_.undercut_depth_mm;
        known.patches = std::move(result_.patches);
    }

private:
    [[nodiscard]] double draft_rad(FaceId f) const {
        return std::asin(std::clamp(view_.sign * double{map_.slope_of(view_.half)[f]}, -1.0, 1.0));
    }
    /// Half 1's pull, or the opposite of half 2's.
    [[nodiscard]] Vec3 up_scan() const { return view_.half == 1 ? posed_.pose.pull_scan : -posed_.pose.pull2_scan; }
    [[nodiscard]] double face_area(FaceId f) const { return 0.5 * norm(area_vector(posed_.mesh().corners(f))); }
    [[nodiscard]] bool is_mine(FaceId f) const {
        return parting_.half[f] == view_.half && posed_.mesh().origin_of(f) != FaceOrigin::assumed;
    }
    [[nodiscard]] bool is_held(FaceId f) const {
        return is_mine(f) && (draft_rad(f) < -map_.band_rad || (map_.covered_of(view_.half)[f] & view_.cover_bit)) &&
               !std::binary_search(hidden_.begin(), hidden_.end(), f);
    }

    void measure_draft() {
        std::vector<WeightedValue> drafts;
        for (FaceId f = 0; f < map_.slope.size(); ++f) {
            if (!is_mine(f)) continue;
            const double area = face_area(f);
            drafts.push_back({static_cast<float>(draft_rad(f)), static_cast<float>(area)});
            result_.area_mm2 += area;
        }
        result_.draft_p01_deg = Angle::rad(weighted_quantile(std::move(drafts), options_.draft_quantile)).deg();
        double line = 0;
        for (const PartingLoop& loop : parting_.loops) line += loop.length_mm;
        result_.low_band_mm = line > 0 ? low_area_at_edge() / line : 0;
    }

    [[nodiscard]] bool is_low(FaceId f) const {
        const double draft = draft_rad(f);
        return is_mine(f) && draft >= -map_.band_rad && draft < options_.good_draft.rad();
    }
    [[nodiscard]] FaceId neighbour(FaceId f, std::size_t k) const {
        return (*posed_.plug.adjacency)[3 * std::size_t{f} + k];
    }
    /// Of the faces of low draft that hang together with the other half; a steep wall elsewhere is no part of the band.
    [[nodiscard]] double low_area_at_edge() const {
        std::vector<std::uint8_t> is_in(map_.slope.size(), 0);
        std::vector<FaceId> band;
        const auto take = [&](FaceId f) {
            is_in[f] = 1;
            band.push_back(f);
        };
        for (FaceId f = 0; f < map_.slope.size(); ++f) {
            if (!is_low(f)) continue;
            for (std::size_t k = 0; k < 3 && !is_in[f]; ++k)
                if (const FaceId g = neighbour(f, k); g != no_id && parting_.half[g] != view_.half) take(f);
        }
        double area = 0;
        for (std::size_t i = 0; i < band.size(); ++i) {
            area += face_area(band[i]);
            for (std::size_t k = 0; k < 3; ++k)
                if (const FaceId g = neighbour(band[i], k); g != no_id && !is_in[g] && is_low(g)) take(g);
        }
        return area;
    }

    void collect_patches() {
        std::vector<std::uint8_t> seen(map_.slope.size(), 0);
        std::vector<std::vector<FaceId>> patches;
        for (FaceId seed = 0; seed < map_.slope.size(); ++seed) {
            if (seen[seed] || !is_held(seed)) continue;
            std::vector<FaceId> faces{seed};
            seen[seed] = 1;
            for (std::size_t i = 0; i < faces.size(); ++i)
                for (std::size_t k = 0; k < 3; ++k) {
                    const FaceId g = neighbour(faces[i], k);
                    if (g == no_id || seen[g] || !is_held(g)) continue;
                    seen[g] = 1;
                    faces.push_back(g);
                }
            add_patch(faces);
        }
        std::stable_sort(result_.patches.begin(), result_.patches.end(),
                         [](const LockedPatch& a, const LockedPatch& b) { return a.area_mm2 > b.area_mm2; });
        if (result_.patches.size() > most_patches) result_.patches.resize(most_patches);
        for (const LockedPatch& p : result_.patches)
            result_.undercut_depth_mm = std::max(result_.undercut_depth_mm, p.depth_mm);
    }

    void add_patch(const std::vector<FaceId>& faces) {
        LockedPatch patch;
        patch.face_count = faces.size();
        double turned = 0, covered = 0;
        for (const FaceId f : faces) {
            const double area = face_area(f);
            patch.area_mm2 += area;
            if (draft_rad(f) < -map_.band_rad) turned += area;
            if (map_.covered_of(view_.half)[f] & view_.cover_bit) covered += area;
        }
        if (patch.area_mm2 < (faces.size() < least_patch_faces ? sure_patch_mm2 : least_patch_mm2)) return;
        if (!grid_)
            grid_.emplace(posed_.mesh(), frame_from_normal({}, up_scan(), posed_.pose.plug_in_scan.x),
                          1.5 * map_.mean_edge_mm);
        measure_depth(faces, patch);
        // What a shift within the scan's own noise clears does not hold a mould.
        if (patch.depth_mm <= 2 * posed_.plug.noise_mm + least_depth_mm) return;
        result_.undercut_area_mm2 += turned;
        result_.locked_area_mm2 += covered;
        result_.patches.push_back(patch);
    }

    /// Height above which the half must lift clear at `at`, signed so that larger is nearer the half's way out.
    [[nodiscard]] double cover_height(Vec2 at) const { return view_.half == 1 ? grid_->top(at) : -grid_->bottom(at); }

    /// A column that must be left, and the height that the half must lift clear of there.
    struct Hold {
        Vec2 at;
        double height = 0;
    };
    [[nodiscard]] Hold hold_at(Vec3 scan_point) const {
        const Vec3 p = grid_->frame().to_local(scan_point);
        return {{p.x, p.y}, view_.sign * p.z + 2 * posed_.plug.noise_mm + 1e-6};
    }

    /// A few faces first: once the depth is nearly found, one glance round tells of most others that they are
    /// shallower.
    void measure_depth(const std::vector<FaceId>& faces, LockedPatch& patch) const {
        const std::size_t stride = std::max<std::size_t>(1, faces.size() / first_samples);
        const auto try_place = [&](Vec3 place) {
            const Hold hold = hold_at(place);
            if (cover_height(hold.at) <= hold.height || clears(hold, patch.depth_mm)) return;
            patch.depth_mm = shift_to_clear(hold, patch.depth_mm);
            patch.at = posed_.pose.to_fixture(place);
        };
        const auto try_face = [&](FaceId f) {
            const auto c = posed_.mesh().corners(f);
            try_place((c[0] + c[1] + c[2]) / 3);
            if (!is_drawn_) return;
            for (std::size_t i = 0; i < 3; ++i) {
                try_place(c[i]);
                try_place((c[i] + c[(i + 1) % 3]) * 0.5);
            }
        };
        for (std::size_t i = 0; i < faces.size(); i += stride) try_face(faces[i]);
        for (std::size_t i = 0; i < faces.size(); ++i)
            if (i % stride != 0) try_face(faces[i]);
    }

    /// Whether some sideways shift by `radius` leads to a column with nothing above the height.
    [[nodiscard]] bool clears(const Hold& hold, double radius) const {
        if (radius <= 0) return false;
        for (const Vec2& way : ways_)
            if (cover_height(hold.at + way * radius) <= hold.height) return true;
        return false;
    }

    /// Smallest sideways shift that clears, known to be over `low`: rings outward, then bisected.
    [[nodiscard]] double shift_to_clear(const Hold& hold, double low) const {
        // Past the plug's own size nothing is in the way.
        const double farthest = norm(posed_.box_fixture.size());
        for (double radius = std::max(low, 0.2 * map_.mean_edge_mm) * 1.25; radius < farthest; radius *= 1.25) {
            if (!clears(hold, radius)) {
                low = radius;
                continue;
            }
            double high = radius;
            for (int i = 0; i < 6; ++i) {
                const double middle = 0.5 * (low + high);
                (clears(hold, middle) ? high : low) = middle;
            }
            return high;
        }
        return farthest;
    }

    static std::array<Vec2, ring_directions> ring() {
        std::array<Vec2, ring_directions> ways;
        for (std::size_t i = 0; i < ways.size(); ++i) {
            const double a = 2 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(ways.size());
            ways[i] = {std::cos(a), std::sin(a)};
        }
        return ways;
    }

    const PosedPlug& posed_;
    const ReleaseMap& map_;
    const Parting& parting_;
    const ReleaseOptions& options_;
    HalfView view_;
    std::vector<FaceId> hidden_;  // sorted
    HalfRelease result_;
    std::optional<ColumnGrid> grid_;
    std::array<Vec2, ring_directions> ways_ = ring();
    /// Its faces may be large and end where the depth is greatest. Those of a scan are small, and its corners stand out
    /// by their noise.
    bool is_drawn_ = posed_.plug.noise_mm < 1e-3 * map_.mean_edge_mm;
};

/// Area-weighted mean normals of a half in bins of the sphere, thin bins apart; plug frame.
struct Facings {
    std::vector<Vec3> normals;
    std::vector<LeftOutFacing> left_out;
};
Facings binned_normals(const PosedPlug& posed, const std::vector<Vec3>& smooth, const Parting& parting, int half) {
    const TriMesh& mesh = posed.mesh();
    const int rows = 2 * bins_per_right_angle, columns = 4 * bins_per_right_angle;
    std::vector<Vec3> sum(static_cast<std::size_t>(rows * columns));
    std::vector<double> area(sum.size(), 0);
    double total = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        if (parting.half[f] != half || mesh.origin_of(f) == FaceOrigin::assumed) continue;
        const double size = 0.5 * norm(area_vector(mesh.corners(f)));
        if (size <= 0) continue;
        const Vec3 n = posed.pose.plug_in_scan.direction_to_local(smooth[f]) * size;
        const double lift = std::asin(std::clamp(n.z / size, -1.0, 1.0)), around = std::atan2(n.y, n.x);
        const int row = std::min(rows - 1, static_cast<int>((lift / std::numbers::pi + 0.5) * rows));
        const int column = std::min(columns - 1, static_cast<int>((around / (2 * std::numbers::pi) + 0.5) * columns));
        const auto bin = static_cast<std::size_t>(row * columns + column);
        sum[bin] += n;
        area[bin] += size;
        total += size;
    }
    Facings facings;
    for (std::size_t i = 0; i < sum.size(); ++i) {
        if (norm(sum[i]) == 0) continue;
        if (area[i] >= least_bin_share * total)
            facings.normals.push_back(normalized(sum[i]));
        else
            facings.left_out.push_back({normalized(sum[i]), area[i], 0});
    }
    return facings;
}

struct Cap {
    Vec3 direction;
    double least_dot = 1;
    [[nodiscard]] bool holds(Vec3 n) const { return dot(direction, n) >= least_dot - 1e-12; }
};
Cap cap_of(Vec3 a, Vec3 b) {
    const Vec3 d = normalized(a + b);
    return {d, dot(d, a)};
}
Cap cap_of(Vec3 a, Vec3 b, Vec3 c) {
    Vec3 d = normalized(cross(b - a, c - a));
    if (norm(d) == 0) return cap_of(a, b);
    if (dot(d, a) < 0) d = -d;
    return {d, dot(d, a)};
}

double least_dot(const std::vector<Vec3>& normals, Vec3 direction) {
    double least = 1;
    for (const Vec3& n : normals) least = std::min(least, dot(n, direction));
    return least;
}

/// No open half-space holds all normals: the widest cap without one lies about the facet of their hull that is nearest
/// to the centre, and the pull that violates least leads away from it.
BestPull least_violating(const std::vector<Vec3>& normals) {
    // Square to one normal: best where all lie on one line.
    std::vector<Vec3> candidates{frame_from_normal({}, normals.front(), {1, 0, 0}).x};
    const std::vector<HullFacet> facets = hull_facets(normals);
    if (!facets.empty()) {
        const auto nearest = std::min_element(
            facets.begin(), facets.end(), [](const HullFacet& a, const HullFacet& b) { return a.offset < b.offset; });
        // A flat hull may show its back.
        candidates.insert(candidates.end(), {nearest->normal * -1.0, nearest->normal});
    }
    BestPull best{candidates.front(), -1, false};
    for (const Vec3& d : candidates)
        if (const double value = least_dot(normals, d); value > best.least_dot) best = {d, value, false};
    return best;
}

double degrees_of(double sine) { return Angle::rad(std::asin(std::clamp(sine, -1.0, 1.0))).deg(); }

HalfPull find_best_pull(const PosedPlug& posed, const std::vector<Vec3>& smooth, const Parting& parting, int half) {
    Facings facings = binned_normals(posed, smooth, parting, half);
    if (facings.normals.empty()) return {};
    const BestPull best = best_pull(facings.normals);
    HalfPull found{best.direction, degrees_of(best.least_dot), best.is_feasible, 0, {}};
    const Vec3 told = half == 1 ? posed.pose.pull_plug : posed.pose.pull2_plug;
    found.told_draft_deg = degrees_of(least_dot(facings.normals, told));
    for (LeftOutFacing& facing : facings.left_out)
        facing.draft_deg = degrees_of(dot(facing.normal_plug, best.direction));
    // What would have changed the answer, the worst first.
    std::erase_if(facings.left_out, [&](const LeftOutFacing& f) { return f.draft_deg >= found.draft_deg; });
    std::stable_sort(facings.left_out.begin(), facings.left_out.end(),
                     [](const LeftOutFacing& a, const LeftOutFacing& b) { return a.draft_deg < b.draft_deg; });
    found.left_out = std::move(facings.left_out);
    return found;
}

std::vector<float> drafts_of(const std::vector<float>& slope) {
    std::vector<float> drafts(slope.size());
    std::ranges::transform(slope, drafts.begin(), [](float s) { return std::asin(std::clamp(s, -1.0f, 1.0f)); });
    return drafts;
}

}  // namespace

BestPull best_pull(const std::vector<Vec3>& normals) {
    CRADLEWRIGHT_PRECONDITION(!normals.empty());
    std::vector<Vec3> n = normals;
    std::mt19937 order(20040901);
    for (std::size_t i = n.size(); i > 1; --i) std::swap(n[i - 1], n[order() % i]);

    // Smallest cap by incremental insertion, as for the smallest circle of points in a plane.
    Cap cap{n[0], 1};
    for (std::size_t i = 1; i < n.size(); ++i) {
        if (cap.holds(n[i])) continue;
        cap = {n[i], 1};
        for (std::size_t j = 0; j < i; ++j) {
            if (cap.holds(n[j])) continue;
            cap = cap_of(n[i], n[j]);
            for (std::size_t k = 0; k < j; ++k)
                if (!cap.holds(n[k])) cap = cap_of(n[i], n[j], n[k]);
        }
    }
    const double value = least_dot(n, cap.direction);
    if (value > 0) return {cap.direction, value, true};
    return least_violating(n);
}

void leave_out_undercut(const PosedPlug& posed, const ReleaseMap& map, const Parting& parting,
                        const ReleaseOptions& options, const std::vector<FaceId>& hidden1,
                        const std::vector<FaceId>& hidden2, Release& release) {
    run_together(
        {[&] { HalfMeter(posed, map, parting, options, half_views[0]).measure_bare_of(hidden1, release.half1); },
         [&] { HalfMeter(posed, map, parting, options, half_views[1]).measure_bare_of(hidden2, release.half2); }});
}

Release measure_release(const PosedPlug& posed, const ReleaseMap& map, const Parting& parting,
                        const ReleaseOptions& options) {
    CRADLEWRIGHT_PRECONDITION(parting.half.size() == map.slope.size());
    Release release;
    run_together({[&] { release.half1 = HalfMeter(posed, map, parting, options, half_views[0]).measure(); },
                  [&] { release.half2 = HalfMeter(posed, map, parting, options, half_views[1]).measure(); },
                  [&] {
                      const std::vector<Vec3> smooth = smoothed_normals(posed, map);
                      release.best1 = find_best_pull(posed, smooth, parting, 1);
                      release.best2 = find_best_pull(posed, smooth, parting, 2);
                  }});
    release.draft_rad = drafts_of(map.slope);
    release.draft2_rad = drafts_of(map.slope2);
    return release;
}

}  // namespace cradlewright
