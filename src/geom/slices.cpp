// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/slices.hpp"

#include <algorithm>
#include <numeric>

#include "base/parallel.hpp"
#include "cradlewright/base/error.hpp"
#include "geom/edge_chains.hpp"
#include "geom/least_most.hpp"

namespace cradlewright {

namespace {

/// How many planes lie at or below a height. A vertex on a plane counts as above it, so a face meets the planes from
/// its least rank up to, without, its greatest, and both ends of every edge agree on which planes cross it.
using Rank = std::uint32_t;

/// Heights in rising order, with a table of equal bins that brings a search down to a few steps.
class PlaneStack {
public:
    explicit PlaneStack(std::span<const double> heights) : order_(heights.size()) {
        std::iota(order_.begin(), order_.end(), 0u);
        std::stable_sort(order_.begin(), order_.end(),
                         [&](std::uint32_t a, std::uint32_t b) { return heights[a] < heights[b]; });
        for (const std::uint32_t k : order_) sorted_.push_back(heights[k]);
        fill_bins();
    }

    [[nodiscard]] std::size_t size() const { return sorted_.size(); }
    [[nodiscard]] double height(std::size_t plane) const { return sorted_[plane]; }
    /// Place of a plane in the caller's list.
    [[nodiscard]] std::size_t callers_index(std::size_t plane) const { return order_[plane]; }

    [[nodiscard]] Rank rank(double height) const {
        if (!(height >= sorted_.front())) return 0;
        if (height >= sorted_.back()) return static_cast<Rank>(sorted_.size());
        Rank r = first_rank_[bin_of(height)];
        while (sorted_[r] <= height) ++r;
        return r;
    }

private:
    [[nodiscard]] std::size_t bin_of(double height) const {
        return static_cast<std::size_t>((height - sorted_.front()) * bins_per_mm_);
    }

    /// first_rank_[b] is the rank of the lowest height in bin b, or less. bin_of never falls as the height rises, so
    /// every plane in an earlier bin is below every height in a later one.
    void fill_bins() {
        constexpr std::size_t bins_per_plane = 4;
        const double range = sorted_.back() - sorted_.front();
        const std::size_t bins = bins_per_plane * sorted_.size();
        bins_per_mm_ = static_cast<double>(bins) / range;
        if (!std::isfinite(bins_per_mm_)) bins_per_mm_ = 0;  // planes (nearly) in one: a single bin
        first_rank_.assign(bins + 2, 0);
        for (const double h : sorted_) ++first_rank_[bin_of(h) + 1];
        std::partial_sum(first_rank_.begin(), first_rank_.end(), first_rank_.begin());
    }

    std::vector<std::uint32_t> order_;
    std::vector<double> sorted_;
    double bins_per_mm_ = 0;
    std::vector<Rank> first_rank_;
};

/// The crossings of faces and planes, kept as one list of faces a plane.
class Crossings {
public:
    Crossings(const TriMesh& mesh, const Frame3& frame, const PlaneStack& planes, std::span<const FaceId> faces)
        : mesh_(mesh), frame_(frame), planes_(planes) {
        if (faces.empty())
            collect_all();
        else
            for (const FaceId f : faces) collect(f, corner_ranks(f));
        sort_by_plane();
    }

    [[nodiscard]] Slice slice(std::size_t plane) const {
        const auto faces = std::span(faces_).subspan(start_[plane], start_[plane + 1] - start_[plane]);
        std::vector<Passage> passages;
        std::vector<EdgeStep> steps;
        passages.reserve(faces.size());
        steps.reserve(faces.size());
        for (const FaceId f : faces) {
            const Passage& p = passages.emplace_back(passage(f, plane));
            steps.push_back({edge_key(p.entry.above, p.entry.below), edge_key(p.exit.above, p.exit.below)});
        }
        Slice result;
        for (const EdgeChain& chain : chain_steps(steps)) {
            SliceLoop loop = loop_of(chain, passages, plane);
            // Planes that only touch a vertex or a ridge leave closed loops without inside.
            if (loop.points.size() >= (loop.is_closed ? 3u : 2u)) result.push_back(std::move(loop));
        }
        return result;
    }

private:
    struct Crossing {
        std::uint32_t plane;
        FaceId face;
    };
    struct CrossedEdge {
        VertexId above, below;
    };
    /// The section's way through one face.
    struct Passage {
        CrossedEdge entry, exit;
    };

    [[nodiscard]] double height_of(VertexId v) const { return dot(frame_.z, mesh_.vertices[v] - frame_.origin); }

    [[nodiscard]] std::array<Rank, 3> corner_ranks(FaceId f) const {
        const Triangle& t = mesh_.triangles[f];
        return {planes_.rank(height_of(t[0])), planes_.rank(height_of(t[1])), planes_.rank(height_of(t[2]))};
    }

    /// One pass over the vertices, one over the faces.
    void collect_all() {
        std::vector<Rank> rank(mesh_.vertices.size());
        for (VertexId v = 0; v < rank.size(); ++v) rank[v] = planes_.rank(height_of(v));
        for (FaceId f = 0; f < mesh_.face_count(); ++f) {
            const Triangle& t = mesh_.triangles[f];
            collect(f, {rank[t[0]], rank[t[1]], rank[t[2]]});
        }
    }

    void collect(FaceId f, const std::array<Rank, 3>& ranks) {
        const Rank low = least_of(ranks[0], ranks[1], ranks[2]), high = most_of(ranks[0], ranks[1], ranks[2]);
        for (Rank plane = low; plane < high; ++plane) found_.push_back({plane, f});
    }

    /// Counting sort; within a plane the faces stay in the order they came.
    void sort_by_plane() {
        start_.assign(planes_.size() + 1, 0);
        for (const Crossing& c : found_) ++start_[c.plane + 1];
        std::partial_sum(start_.begin(), start_.end(), start_.begin());
        std::vector<std::size_t> place(start_.begin(), start_.end() - 1);
        faces_.resize(found_.size());
        for (const Crossing& c : found_) faces_[place[c.plane]++] = c.face;
        found_ = {};
    }

    [[nodiscard]] Passage passage(FaceId f, std::size_t plane) const {
        const Triangle& t = mesh_.triangles[f];
        const double h = planes_.height(plane);
        const std::array<bool, 3> is_above{height_of(t[0]) >= h, height_of(t[1]) >= h, height_of(t[2]) >= h};
        const std::size_t in = crossing_corner(is_above, true), out = crossing_corner(is_above, false);
        return {.entry = {.above = t[in], .below = t[next_corner(in)]},
                .exit = {.above = t[next_corner(out)], .below = t[out]}};
    }

    [[nodiscard]] SliceLoop loop_of(const EdgeChain& chain, std::span<const Passage> passages,
                                    std::size_t plane) const {
        SliceLoop loop;
        loop.is_closed = chain.is_closed;
        loop.points.reserve(chain.steps.size() + 1);
        const auto add = [&](Vec2 p) {
            // Edges that meet the plane in one vertex give that vertex, bit for bit, once each.
            if (loop.points.empty() || loop.points.back() != p) loop.points.push_back(p);
        };
        for (const std::uint32_t i : chain.steps) add(crossing_point(passages[i].entry, plane));
        if (!chain.is_closed) add(crossing_point(passages[chain.steps.back()].exit, plane));
        while (loop.is_closed && loop.points.size() > 1 && loop.points.back() == loop.points.front())
            loop.points.pop_back();
        return loop;
    }

    [[nodiscard]] Vec2 crossing_point(CrossedEdge edge, std::size_t plane) const {
        const Vec3 a = frame_.to_local(mesh_.vertices[edge.above]), b = frame_.to_local(mesh_.vertices[edge.below]);
        const double up = a.z - planes_.height(plane), down = planes_.height(plane) - b.z;
        const double s = up / (up + down);
        return {a.x + (b.x - a.x) * s, a.y + (b.y - a.y) * s};
    }

    const TriMesh& mesh_;
    const Frame3& frame_;
    const PlaneStack& planes_;
    std::vector<Crossing> found_;
    std::vector<std::size_t> start_;
    std::vector<FaceId> faces_;
};

/// Integrals of 1, x, y, y^2, x^2, xy over a polygon, as sums over its edges.
struct PlaneIntegrals {
    double area = 0, x = 0, y = 0, yy = 0, xx = 0, xy = 0;

    void add_edge(Vec2 a, Vec2 b) {
        const double c = cross(a, b);
        area += c / 2;
        x += c / 6 * (a.x + b.x);
        y += c / 6 * (a.y + b.y);
        yy += c / 12 * (a.y * a.y + a.y * b.y + b.y * b.y);
        xx += c / 12 * (a.x * a.x + a.x * b.x + b.x * b.x);
        xy += c / 24 * (a.x * b.y + 2 * a.x * a.y + 2 * b.x * b.y + b.x * a.y);
    }
};

}  // namespace

std::vector<Slice> slice_mesh(const TriMesh& mesh, const Frame3& frame, std::span<const double> heights,
                              std::span<const FaceId> faces) {
    if (heights.empty()) return {};
    const bool heights_are_finite =
        std::all_of(heights.begin(), heights.end(), [](double h) { return std::isfinite(h); });
    CRADLEWRIGHT_PRECONDITION(heights_are_finite);
    const PlaneStack planes(heights);
    const Crossings crossings(mesh, frame, planes, faces);
    std::vector<Slice> slices(heights.size());
    for_each_piece(planes.size(), 1, [&](std::size_t plane, std::size_t) {
        slices[planes.callers_index(plane)] = crossings.slice(plane);
    });
    return slices;
}

SectionProperties section_properties(const Slice& slice) {
    std::vector<std::vector<Vec2>> closed;
    for (const SliceLoop& loop : slice)
        if (loop.is_closed) closed.push_back(loop.points);
    return loop_properties(closed);
}

SectionProperties loop_properties(std::span<const std::vector<Vec2>> loops) {
    Box2 box;
    for (const std::vector<Vec2>& loop : loops)
        for (const Vec2 p : loop) box.add(p);
    if (box.is_empty()) return {};
    // Measured from the middle of the box: a far-away origin would cost digits.
    const Vec2 middle = box.center();
    PlaneIntegrals sum;
    for (const std::vector<Vec2>& loop : loops) {
        if (loop.empty()) continue;
        Vec2 previous = loop.back() - middle;
        for (const Vec2 p : loop) {
            sum.add_edge(previous, p - middle);
            previous = p - middle;
        }
    }
    SectionProperties result;
    result.area_mm2 = sum.area;
    const Vec2 shift = sum.area != 0 ? Vec2{sum.x, sum.y} / sum.area : Vec2{};
    result.centroid = middle + shift;
    // Parallel axes.
    result.ixx_mm4 = sum.yy - sum.area * shift.y * shift.y;
    result.iyy_mm4 = sum.xx - sum.area * shift.x * shift.x;
    result.ixy_mm4 = sum.xy - sum.area * shift.x * shift.y;
    return result;
}

}  // namespace cradlewright
