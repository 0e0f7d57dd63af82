// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: parting.md beside this file.
#include "stages/parting_trace.hpp"

#include <algorithm>
#include <cmath>

#include "stages/parting_smooth.hpp"

namespace cradlewright {
namespace {

constexpr double least_bridge_slope = 0.02;  // 1 deg: what the facets of a clean mesh tilt. Source: assumed
constexpr double crease_slope = 0.3;         // neighbours across the cut that differ more meet at a crease
constexpr double place_share = 0.2;          // of an edge: how well the height of the line is placed between two faces
constexpr double flat_share = 0.4;           // of the bend at a crease: the most that its sides bend beside it
constexpr double crease_share = 0.03;        // of an edge: how well the line is placed on a crease

/// One mesh edge of the cut: from corner k to k + 1 of a face of half 1.
struct CutEdge {
    FaceId face;
    std::size_t k;
};

class CutTracer {
public:
    CutTracer(const PosedPlug& posed, const ReleaseMap& map, const Halves& halves)
        : posed_(posed), map_(map), halves_(halves) {}

    [[nodiscard]] std::vector<RawLoop> trace() const {
        const std::vector<std::uint8_t>& label = halves_.label;
        std::vector<std::uint8_t> used(3 * label.size(), 0);
        std::vector<RawLoop> loops;
        for (FaceId f = 0; f < label.size(); ++f)
            for (std::size_t k = 0; k < 3; ++k) {
                if (!is_cut(f, k) || used[3 * std::size_t{f} + k]) continue;
                std::vector<CutEdge> edges;
                for (CutEdge at{f, k}; !used[3 * std::size_t{at.face} + at.k]; at = next(at)) {
                    used[3 * std::size_t{at.face} + at.k] = 1;
                    edges.push_back(at);
                }
                loops.push_back(place_points(edges));
            }
        return loops;
    }

private:
    [[nodiscard]] bool is_cut(FaceId f, std::size_t k) const {
        const FaceId g = neighbour(posed_, f, k);
        return halves_.label[f] == 1 && (g == no_id || halves_.label[g] == 2);
    }

    /// Turns about the edge's end through faces of half 1 to the next edge of the cut.
    [[nodiscard]] CutEdge next(CutEdge at) const {
        CutEdge turn{at.face, (at.k + 1) % 3};
        while (!is_cut(turn.face, turn.k)) {
            const FaceId g = neighbour(posed_, turn.face, turn.k);
            std::size_t back = 0;
            while (neighbour(posed_, g, back) != turn.face) ++back;
            turn = {g, (back + 1) % 3};
        }
        return turn;
    }

    /// A crease bends much more at the edge than on either side of it; a round nose that the mesh hardly resolves does
    /// not.
    [[nodiscard]] bool is_crease(CutEdge e) const {
        const FaceId g = neighbour(posed_, e.face, e.k);
        if (g == no_id) return true;
        const double bend = std::abs(double{map_.slope[e.face]} - double{map_.slope[g]});
        return bend > crease_slope && std::max(bend_within_half(e.face), bend_within_half(g)) < flat_share * bend;
    }

    /// Largest change of slope from a face to a neighbour of its own half.
    [[nodiscard]] double bend_within_half(FaceId f) const {
        double most = 0;
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = neighbour(posed_, f, k);
            if (g == no_id || halves_.label[g] != halves_.label[f]) continue;
            most = std::max(most, std::abs(double{map_.slope[f]} - double{map_.slope[g]}));
        }
        return most;
    }

    [[nodiscard]] Vec3 centroid(FaceId f) const {
        const auto c = posed_.mesh().corners(f);
        return (c[0] + c[1] + c[2]) / 3;
    }

    [[nodiscard]] static SurfacePoint at_corner(FaceId f, std::size_t k) {
        SurfacePoint p{f, {0, 0, 0}};
        p.weight[k] = 1;
        return p;
    }

    /// Place of zero slope on the way from one centroid over the middle of the edge to the other.
    [[nodiscard]] SurfacePoint at_zero(CutEdge e) const {
        const FaceId g = neighbour(posed_, e.face, e.k);
        const double least = std::max(0.002, 0.25 * std::sin(map_.band_rad));
        const double up = std::max(least, double{map_.slope[e.face]}), down = std::max(least, -double{map_.slope[g]});
        const Triangle& t = posed_.mesh().triangles[e.face];
        const Vec3 middle = (posed_.mesh().vertices[t[e.k]] + posed_.mesh().vertices[t[(e.k + 1) % 3]]) * 0.5;
        const double first = norm(middle - centroid(e.face)), second = norm(centroid(g) - middle);
        const double way = up / (up + down) * (first + second);
        if (way <= first) return between(e.face, e.k, first > 0 ? way / first : 0);
        std::size_t back = 0;
        while (neighbour(posed_, g, back) != e.face) ++back;
        return between(g, back, second > 0 ? 1 - (way - first) / second : 1);
    }

    /// `share` of the way from the face's centroid to the middle of its edge k.
    [[nodiscard]] static SurfacePoint between(FaceId f, std::size_t k, double share) {
        SurfacePoint p{f, {}};
        for (std::size_t i = 0; i < 3; ++i)
            p.weight[i] = (1 - share) / 3 + (i == k || i == (k + 1) % 3 ? share / 2 : 0);
        return p;
    }

    /// Faces across the wall at a cut edge, 0 on creases.
    [[nodiscard]] double wall_faces(CutEdge e) const {
        if (is_crease(e)) return 0;
        const FaceId g = neighbour(posed_, e.face, e.k);
        return double{std::max(halves_.wall_faces[e.face], halves_.wall_faces[g])};
    }

    /// Height of the wall at each cut edge, two faces to an edge length; neighbours steady it, since noise breaks walls
    /// up.
    [[nodiscard]] std::vector<double> wall_heights(const std::vector<CutEdge>& edges) const {
        std::vector<double> wall;
        for (const CutEdge e : edges) wall.push_back(wall_faces(e) * map_.mean_edge_mm / 2);
        return steadied(wall, 3, Zeros::passed_over);
    }

    /// How surely the surface goes on past the edge without turning level: the lesser of both slopes, 0 where it turns.
    [[nodiscard]] double slope_left(CutEdge e) const {
        const FaceId g = neighbour(posed_, e.face, e.k);
        if (g == no_id) return 0;
        const double a = double{map_.slope[e.face]}, b = double{map_.slope[g]};
        return a * b > 0 ? std::min(std::abs(a), std::abs(b)) : 0;
    }

    /// One of its faces lies under, or over, another part of the plug that its half would have to pass.
    [[nodiscard]] bool is_hidden(CutEdge e) const {
        const FaceId g = neighbour(posed_, e.face, e.k);
        return (map_.covered[e.face] & covered_above) != 0 || (g != no_id && (map_.covered[g] & covered_below) != 0);
    }

    /// A bridge is sure where both faces clearly face one way; from there it goes on either way as long as they do so
    /// by more than the noise, since it leaves the level place at no angle, and on along a rim that is hidden.
    [[nodiscard]] std::vector<std::uint8_t> bridges(const std::vector<CutEdge>& edges) const {
        const double least = std::max(least_bridge_slope, std::sin(map_.band_rad));
        const std::size_t n = edges.size();
        std::vector<double> left;
        std::vector<std::uint8_t> goes_on;
        for (const CutEdge e : edges) {
            left.push_back(slope_left(e));
            goes_on.push_back(left.back() > least || is_hidden(e));
        }
        std::vector<std::uint8_t> is_bridge(n, 0);
        for (std::size_t i = 0; i < n; ++i) {
            if (left[i] <= open_slope(map_)) continue;
            is_bridge[i] = 1;
            for (std::size_t k = (i + 1) % n; !is_bridge[k] && goes_on[k]; k = (k + 1) % n) is_bridge[k] = 1;
            for (std::size_t k = (i + n - 1) % n; !is_bridge[k] && goes_on[k]; k = (k + n - 1) % n) is_bridge[k] = 1;
        }
        return is_bridge;
    }

    [[nodiscard]] RawLoop place_points(const std::vector<CutEdge>& edges) const {
        const std::vector<double> wall = wall_heights(edges);
        const std::vector<std::uint8_t> is_bridge = bridges(edges);
        const double on_crease = std::hypot(posed_.plug.noise_mm, crease_share * map_.mean_edge_mm);
        RawLoop loop;
        for (std::size_t i = 0; i < edges.size(); ++i) {
            const CutEdge e = edges[i];
            const auto add = [&](const SurfacePoint& p, double doubt_mm) {
                loop.curve.points.push_back(p);
                loop.height_doubt_mm.push_back(doubt_mm);
                loop.wall_mm.push_back(wall[i]);
                loop.is_bridge.push_back(is_bridge[i]);
            };
            if (!is_crease(e)) {
                // Where a wall's slope cannot be told from level: a third of the way to its rims, since the band is
                // three standard deviations wide.
                add(at_zero(e), std::hypot(place_share * map_.mean_edge_mm, wall[i] / 3));
                continue;
            }
            add(at_corner(e.face, e.k), on_crease);
            if (!is_crease(edges[(i + 1) % edges.size()])) add(at_corner(e.face, (e.k + 1) % 3), on_crease);
        }
        // Noise makes single edges of a round nose look like creases: one counts as well placed among its like only.
        const std::vector<double> usual = steadied(loop.height_doubt_mm, 2, Zeros::counted);
        for (std::size_t i = 0; i < usual.size(); ++i)
            loop.height_doubt_mm[i] = std::max(loop.height_doubt_mm[i], usual[i]);
        return loop;
    }

    const PosedPlug& posed_;
    const ReleaseMap& map_;
    const Halves& halves_;
};

}  // namespace

std::vector<RawLoop> trace_cut(const PosedPlug& posed, const ReleaseMap& map, const Halves& halves) {
    return CutTracer(posed, map, halves).trace();
}

}  // namespace cradlewright
