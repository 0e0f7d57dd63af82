// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/extension_end.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"

namespace cradlewright {
namespace {

// All assumed, each with what breaks when it is too big (B) or too small (S).
constexpr double cap_lean_deg = 35;    // a face leaning less is the end's. B: domes look flat. S: rough caps fall apart
constexpr double most_skew_deg = 30;   // of the end against the span. B: slivers of joints. S: skew ends are refused
constexpr double steepest_wall = 0.7;  // tan of a wall's slope. B: roundings pass for walls. S: stubby ends are refused
constexpr double deepest_gap = 0.25;   // of the section's width. B: domed ends pass. S: leaning ends are refused
constexpr double sound_mm = 0.05, sound_share = 0.005;  // of the width: walls may lie off their line by so much
constexpr double settled = 0.2;                         // of that, where the gap ends if it does so soon
constexpr double band_share = 0.5;                      // of the width, over which walls are looked at for soundness
constexpr int slices_of_end = 96;                       // B: slow. S: the gap is found too coarsely
constexpr int slices_of_outline = 9;                    // averaged. B: tapers are smeared. S: noise stays
constexpr double outline_mm = 0.005;  // chord error of outlines. B: facets. S: as many points as the scan has

[[noreturn]] void refuse(const std::string& edge, const std::string& problem, const std::string& hint) {
    throw Error(ErrorCode::bad_input, "edge." + edge + ".extension", problem, hint);
}

double width_of(double area_mm2, double around_mm) { return around_mm > 0 ? 2 * area_mm2 / around_mm : 0; }

/// Faces that may belong to the end, in connected pieces.
struct Cap {
    double facing_mm2 = 0;  ///< area square to the direction
    Vec3 sum{};             ///< area vectors
    Vec3 middle{};          ///< area weighted, of the facing area
    std::vector<FaceId> faces;
};

class CapFinder {
public:
    CapFinder(const Plug& plug, Vec3 outward) : mesh_(*plug.mesh), adjacency_(*plug.adjacency), outward_(outward) {}

    /// The largest piece near the furthest point.
    [[nodiscard]] std::optional<Cap> find() const {
        double furthest = -std::numeric_limits<double>::infinity();
        for (const Vec3& p : mesh_.vertices) furthest = std::max(furthest, dot(p, outward_));
        std::vector<char> is_left(mesh_.face_count(), 0);
        const double least = std::cos(Angle::deg(cap_lean_deg).rad());
        for (FaceId f = 0; f < mesh_.face_count(); ++f) {
            const Vec3 n = area_vector(mesh_.corners(f));
            is_left[f] = dot(n, outward_) >= least * norm(n) && norm(n) > 0 ? 1 : 0;
        }
        std::optional<Cap> best;
        for (FaceId f = 0; f < mesh_.face_count(); ++f) {
            if (is_left[f] == 0) continue;
            Cap cap = flood(f, is_left);
            const double depth = furthest - dot(cap.middle, outward_);
            if (depth > 0.5 * std::sqrt(cap.facing_mm2)) continue;
            if (!best || cap.facing_mm2 > best->facing_mm2) best = std::move(cap);
        }
        return best;
    }

private:
    [[nodiscard]] Cap flood(FaceId seed, std::vector<char>& is_left) const {
        Cap cap;
        is_left[seed] = 0;
        cap.faces.push_back(seed);
        for (std::size_t i = 0; i < cap.faces.size(); ++i) {
            const FaceId f = cap.faces[i];
            const auto c = mesh_.corners(f);
            const Vec3 n = area_vector(c) / 2;
            cap.sum += n;
            cap.facing_mm2 += dot(n, outward_);
            cap.middle += (c[0] + c[1] + c[2]) * (dot(n, outward_) / 3);
            for (std::size_t k = 0; k < 3; ++k) {
                const FaceId g = adjacency_[3 * std::size_t{f} + k];
                if (g == no_id || is_left[g] == 0) continue;
                is_left[g] = 0;
                cap.faces.push_back(g);
            }
        }
        cap.middle = cap.middle / cap.facing_mm2;
        return cap;
    }

    const TriMesh& mesh_;
    const std::vector<FaceId>& adjacency_;
    Vec3 outward_;
};

/// Height along z of `frame` that all but a fiftieth of the cap's area lies below, less what noise adds to that.
double joint_height(const TriMesh& mesh, const Cap& cap, const Frame3& frame, double noise_mm) {
    constexpr double share = 0.98, noise_there = 2.05;  // of a normal deviate, 98 % lie below 2.05 deviations
    std::vector<std::pair<double, double>> heights;
    double whole = 0;
    for (const FaceId f : cap.faces) {
        const auto c = mesh.corners(f);
        const double area = norm(area_vector(c));
        whole += area;
        for (const Vec3& p : c) heights.emplace_back(frame.to_local(p).z, area / 3);
    }
    std::sort(heights.begin(), heights.end());
    double below = 0;
    for (const auto& [height, area] : heights)
        if ((below += area) >= share * whole) return height - noise_there * noise_mm;
    return heights.back().first;
}

/// How section and girth grow from the joint plane inward.
struct Profile {
    std::vector<double> depth_mm, area_mm2, around_mm;
    [[nodiscard]] double width_mm(std::size_t k) const { return width_of(area_mm2[k], around_mm[k]); }
};

/// First depth from which the section grows as its own walls further in tell, or none.
std::optional<double> sound_depth(const Profile& p, double noise_mm) {
    std::optional<double> found;
    for (std::size_t k = 0; k < p.depth_mm.size(); ++k) {
        const double width = p.width_mm(k), depth = p.depth_mm[k];
        if (!(width > 0)) continue;
        if (found && depth > 2 * *found) break;
        const double near = depth + 0.1 * band_share * width, far = depth + 1.1 * band_share * width;
        double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
        for (std::size_t i = k + 1; i < p.depth_mm.size(); ++i) {
            if (p.depth_mm[i] < near || p.depth_mm[i] > far) continue;
            const double x = p.depth_mm[i] - depth, y = p.area_mm2[i];
            n += 1, sx += x, sy += y, sxx += x * x, sxy += x * y;
        }
        if (n < 4) continue;
        const double growth = (n * sxy - sx * sy) / (n * sxx - sx * sx), at_depth = (sy - growth * sx) / n;
        if (std::abs(growth) > steepest_wall * p.around_mm[k]) continue;
        const double missing_mm = (at_depth - p.area_mm2[k]) / p.around_mm[k];
        const double allowed_mm = std::max({sound_mm, noise_mm / 2, sound_share * width});
        if (missing_mm > allowed_mm || (!found && depth > deepest_gap * width)) continue;
        if (missing_mm <= settled * allowed_mm) return depth;
        if (!found) found = depth;
    }
    return found;
}

/// A plane in which the end may be joined.
struct Candidate {
    Frame3 frame;               ///< z = 0 the joint plane
    std::vector<FaceId> faces;  ///< of the plug near the end
    double gap_mm = 0, width_mm = 0;
};

class EndFinder {
public:
    EndFinder(const Plug& plug, const Frame3& plug_in_scan, Vec3 outward, const std::string& edge)
        : plug_(plug), mesh_(*plug.mesh), up_(plug_in_scan.z), outward_(outward), edge_(edge) {}

    FlatEnd find() {
        const std::optional<Cap> cap = CapFinder(plug_, outward_).find();
        if (!cap) refuse_shape();
        const Vec3 mean = normalized(cap->sum);
        std::optional<Candidate> best = candidate(*cap, outward_);
        if (angle_between(mean, outward_) <= Angle::deg(most_skew_deg).rad()) {
            // A leaning end is joined square to the span; one cut at a slant along its own plane.
            const std::optional<Candidate> slant = candidate(*cap, mean);
            constexpr double worth_mm = 1;
            if (slant && (!best || slant->gap_mm < std::min(best->gap_mm / 2, best->gap_mm - worth_mm))) best = slant;
        }
        if (!best) refuse_shape();
        return shape(*best);
    }

private:
    [[noreturn]] void refuse_shape() const {
        refuse(edge_, edge_ + " has no flat end that a piece could be set on to: it is rounded or too short",
               "cut the plug's end flat and scan it again, or leave the extension out");
    }

    [[nodiscard]] std::optional<Candidate> candidate(const Cap& cap, Vec3 normal) const {
        Candidate c;
        c.frame = frame_from_normal(cap.middle, normal, cross(up_, normal));
        c.frame.origin += normal * joint_height(mesh_, cap, c.frame, plug_.noise_mm);
        double low = 0;
        for (const Vec3& p : mesh_.vertices) low = std::min(low, c.frame.to_local(p).z);
        constexpr double most_of_plug = 0.4;
        const double reach = std::min(0.5 * std::sqrt(cap.facing_mm2), -most_of_plug * low);
        c.faces = faces_within(c.frame, reach);
        // Closer together near the joint.
        Profile profile;
        std::vector<double> heights;
        for (int k = 1; k <= slices_of_end; ++k) {
            const double share = static_cast<double>(k) / slices_of_end;
            heights.push_back(-reach * share * share * (1 - 1e-9));
        }
        const std::vector<Slice> slices = slice_mesh(mesh_, c.frame, heights, c.faces);
        for (std::size_t k = 0; k < heights.size(); ++k) {
            profile.depth_mm.push_back(-heights[k]);
            profile.area_mm2.push_back(section_properties(slices[k]).area_mm2);
            double around = 0;
            for (const SliceLoop& loop : slices[k]) around += polyline_length(loop.points, loop.is_closed);
            profile.around_mm.push_back(around);
        }
        const std::optional<double> depth = sound_depth(profile, plug_.noise_mm);
        if (!depth) return {};
        c.gap_mm = *depth;
        const auto at = std::ranges::find(profile.depth_mm, *depth) - profile.depth_mm.begin();
        c.width_mm = profile.width_mm(static_cast<std::size_t>(at));
        return c;
    }

    /// That reach nearer to the joint plane than this.
    [[nodiscard]] std::vector<FaceId> faces_within(const Frame3& frame, double depth_mm) const {
        std::vector<FaceId> faces;
        for (FaceId f = 0; f < mesh_.face_count(); ++f)
            if (std::ranges::any_of(mesh_.corners(f), [&](Vec3 p) { return frame.to_local(p).z >= -depth_mm; }))
                faces.push_back(f);
        return faces;
    }

    [[nodiscard]] FlatEnd shape(const Candidate& c) const;
    [[nodiscard]] std::vector<std::vector<Vec2>> sections(const Candidate& c, const std::vector<double>& depths) const;

    const Plug& plug_;
    const TriMesh& mesh_;
    Vec3 up_, outward_;
    const std::string& edge_;
};

/// A bit of a wall in the band beside the end: middle, depth, normal and size.
struct WallBit {
    Vec2 at;
    double depth_mm = 0;
    Vec3 normal;
    double area_mm2 = 0;
};

/// Part of a polygon in space on one side of a height.
std::vector<Vec3> clipped(const std::vector<Vec3>& polygon, double height, double side) {
    std::vector<Vec3> kept;
    for (std::size_t i = 0; i < polygon.size(); ++i) {
        const Vec3 a = polygon[i], b = polygon[(i + 1) % polygon.size()];
        const double ha = side * (a.z - height), hb = side * (b.z - height);
        if (ha >= 0) kept.push_back(a);
        if (ha * hb < 0) kept.push_back(a + (b - a) * (ha / (ha - hb)));
    }
    return kept;
}

std::vector<WallBit> walls_between(const TriMesh& mesh, const Candidate& c, double near_mm, double far_mm) {
    std::vector<WallBit> bits;
    for (const FaceId f : c.faces) {
        const auto corner = mesh.corners(f);
        std::vector<Vec3> piece{c.frame.to_local(corner[0]), c.frame.to_local(corner[1]), c.frame.to_local(corner[2])};
        const Vec3 normal = normalized(area_vector({piece[0], piece[1], piece[2]}));
        if (std::abs(normal.z) > std::numbers::sqrt2 / 2) continue;  // an end of something, no wall
        piece = clipped(clipped(piece, -far_mm, 1), -near_mm, -1);
        WallBit bit{{}, 0, normal, 0};
        Vec3 moment{};
        for (std::size_t i = 2; i < piece.size(); ++i) {
            const double area = norm(cross(piece[i - 1] - piece[0], piece[i] - piece[0])) / 2;
            bit.area_mm2 += area;
            moment += (piece[0] + piece[i - 1] + piece[i]) * (area / 3);
        }
        if (!(bit.area_mm2 > 0)) continue;
        moment = moment / bit.area_mm2;
        bit.at = {moment.x, moment.y};
        bit.depth_mm = -moment.z;
        bits.push_back(bit);
    }
    return bits;
}

/// Walls contain the way of each of their points, so normal . (speed, 1) = 0: six unknowns, by least squares over the
/// walls' area, rough places held down as P. J. Huber, "Robust Estimation of a Location Parameter" (1964) [from
/// memory]. What the walls do not tell, such as the turn of a circle, stays 0; so does what only the roughness of their
/// normals seems to tell: that is no less in the walls' own plane than the walls' way out of it.
WallSlope fit_walls(const std::vector<WallBit>& bits, double scale_mm) {
    constexpr int rounds = 12;
    constexpr double huber = 1.345, finest_rad = 1e-5, untold = 1e-6, roughness_deviates = 2;
    WallSlope slope;
    double spread = std::numeric_limits<double>::infinity();
    for (int round = 0; round < rounds; ++round) {
        Eigen::Matrix<double, 6, 6> m = Eigen::Matrix<double, 6, 6>::Zero();
        Eigen::Matrix<double, 6, 1> b = Eigen::Matrix<double, 6, 1>::Zero();
        Eigen::Matrix<double, 6, 6> moved = Eigen::Matrix<double, 6, 6>::Zero();  // squared speeds
        std::vector<double> off;
        for (const WallBit& bit : bits) {
            // Speeds are told at the joint plane, where this bit's points are bound for.
            const Vec2 q = slope.moved_back(bit.at, -bit.depth_mm) / scale_mm;
            const Vec3 n = bit.normal;
            const double r = dot(Vec2{n.x, n.y}, slope.speed(q * scale_mm)) + n.z;
            off.push_back(std::abs(r));
            const double weight = bit.area_mm2 * std::min(1.0, huber * spread / std::max(std::abs(r), finest_rad));
            Eigen::Matrix<double, 6, 1> row;
            row << n.x * q.x, n.x * q.y, n.y * q.x, n.y * q.y, n.x, n.y;
            m += weight * row * row.transpose();
            b -= weight * n.z * row;
            Eigen::Matrix<double, 2, 6> speed;
            speed << q.x, q.y, 0, 0, 1, 0, 0, 0, q.x, q.y, 0, 1;
            moved += weight * speed.transpose() * speed;
        }
        const double rough = std::isfinite(spread) ? roughness_deviates * spread : 0;
        const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, 6, 6>> solver(m);
        Eigen::Matrix<double, 6, 1> x = Eigen::Matrix<double, 6, 1>::Zero();
        for (int k = 0; k < 6; ++k) {
            const auto v = solver.eigenvectors().col(k);
            const double seen = solver.eigenvalues()(k);
            if (seen <= untold * solver.eigenvalues()(5) || seen <= rough * rough * v.dot(moved * v)) continue;
            x += v * (v.dot(b) / solver.eigenvalues()(k));
        }
        slope = {x(0) / scale_mm, x(1) / scale_mm, x(2) / scale_mm, x(3) / scale_mm, {x(4), x(5)}};
        std::nth_element(off.begin(), off.begin() + static_cast<std::ptrdiff_t>(off.size() / 2), off.end());
        spread = std::max(1.4826 * off[off.size() / 2], finest_rad);
    }
    return slope;
}

Vec2 nearest_on(const std::vector<Vec2>& loop, Vec2 p) {
    double least = std::numeric_limits<double>::infinity();
    Vec2 best{};
    for (std::size_t i = 0; i < loop.size(); ++i) {
        const Vec2 a = loop[i], d = loop[(i + 1) % loop.size()] - a;
        const double t = std::clamp(dot(p - a, d) / std::max(dot(d, d), 1e-300), 0.0, 1.0);
        const Vec2 q = a + d * t;
        if (dot(p - q, p - q) < least) least = dot(p - q, p - q), best = q;
    }
    return best;
}

std::vector<std::vector<Vec2>> EndFinder::sections(const Candidate& c, const std::vector<double>& depths) const {
    std::vector<double> heights;
    for (const double d : depths) heights.push_back(-d);
    std::vector<std::vector<Vec2>> loops;
    for (const Slice& slice : slice_mesh(mesh_, c.frame, heights, c.faces)) {
        if (slice.size() != 1 || !slice.front().is_closed || signed_area(slice.front().points) <= 0)
            refuse(edge_,
                   slice.size() > 1 ? edge_ + " is in " + std::to_string(slice.size()) + " pieces or has a hole in it"
                                    : edge_ + " is open in the scan",
                   "fill holes in the plug's end and scan it again, or leave the extension out");
        loops.push_back(slice.front().points);
    }
    return loops;
}

FlatEnd EndFinder::shape(const Candidate& found) const {
    Candidate c = found;
    const double noise = plug_.noise_mm;
    FlatEnd end;
    end.gap_mm = c.gap_mm;
    end.cut_mm = 1.1 * c.gap_mm + 3 * noise + 0.02 * c.width_mm;  // clear of what the gap's finding lets pass
    const double band = std::max(2 * band_share * c.width_mm, 5 * (noise > 0 ? plug_.repair.mean_edge_mm : 0));

    c.faces = faces_within(c.frame, end.cut_mm + band);
    // The frame's origin moves to the middle of the section.
    const auto first = sections(c, {end.cut_mm}).front();
    const SectionProperties section = section_properties({{first, true}});
    c.frame.origin = c.frame.to_parent(section.centroid);
    end.joint = c.frame;
    const std::vector<WallBit> bits = walls_between(mesh_, c, end.cut_mm, end.cut_mm + band);
    if (bits.empty()) refuse_shape();
    end.walls = fit_walls(bits, std::sqrt(section.area_mm2));
    if (!(end.walls.narrowest(-(end.cut_mm + band)) > 0 && end.walls.narrowest(end.cut_mm) > 0)) refuse_shape();

    std::vector<double> depths{end.cut_mm};
    if (noise > 0)
        for (int k = 1; k <= slices_of_outline; ++k) depths.push_back(end.cut_mm + band * k / slices_of_outline);
    std::vector<std::vector<Vec2>> loops = sections(c, depths);
    for (std::size_t k = 0; k < loops.size(); ++k)
        for (Vec2& p : loops[k]) p = end.walls.moved_back(p, -depths[k]);
    end.outline = thinned(loops.front(), std::max(outline_mm, noise / 2));
    if (noise > 0)
        for (Vec2& p : end.outline) {
            Vec2 sum{};
            for (std::size_t k = 1; k < loops.size(); ++k) sum += nearest_on(loops[k], p);
            p = sum / static_cast<double>(loops.size() - 1);
        }
    // Averaging may fold sharp tails over by less than the noise.
    Polygons simple = unite({end.outline});
    std::erase_if(simple, [&](const auto& loop) { return std::abs(signed_area(loop)) < noise * noise; });
    if (simple.size() != 1) refuse(edge_, edge_ + " is too rough in the scan to tell its outline", "scan it again");
    if (noise > 0) end.outline = simple.front();
    return end;
}

}  // namespace

Vec2 WallSlope::moved_back(Vec2 p, double z_mm) const {
    const Vec2 d = p - shift * z_mm;
    const double a = 1 + z_mm * xx, b = z_mm * xy, e = z_mm * yx, f = 1 + z_mm * yy, det = a * f - b * e;
    return {(f * d.x - b * d.y) / det, (a * d.y - e * d.x) / det};
}

double WallSlope::narrowest(double z_mm) const {
    // Singular values of a 2 x 2 matrix; their product is the determinant.
    const double a = 1 + z_mm * xx, b = z_mm * xy, e = z_mm * yx, f = 1 + z_mm * yy;
    return std::hypot(a + f, e - b) / 2 - std::hypot(a - f, e + b) / 2;
}

FlatEnd find_flat_end(const Plug& plug, const Frame3& plug_in_scan, Vec3 outward, const std::string& edge) {
    return EndFinder(plug, plug_in_scan, outward, edge).find();
}

}  // namespace cradlewright
