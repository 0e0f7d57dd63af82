// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/loop_patch.hpp"

#include <algorithm>
#include <limits>
#include <numeric>
#include <optional>
#include <utility>

#include "cradlewright/geom/triangulate.hpp"
#include "geom/degenerate_faces.hpp"
#include "geom/mesh_edges.hpp"

namespace cradlewright {

namespace {

constexpr std::size_t most_for_least_area = 120;  // the search is cubic
constexpr int most_rounds = 60;

using Places = std::vector<VertexId>;  // places in the loops, in order

/// Least-area patches by dynamic programming over sub-chains.
class LeastArea {
public:
    LeastArea(const std::vector<Vec3>& loop, const Places& chain) : loop_(loop), chain_(chain) {}

    void append_to(std::vector<Triangle>& out) {
        const std::size_t n = chain_.size();
        weight_.assign(n * n, 0);
        split_.assign(n * n, 0);
        for (std::size_t length = 2; length < n; ++length)
            for (std::size_t i = 0; i + length < n; ++i) choose_split(i, i + length);
        collect(0, n - 1, out);
    }

private:
    [[nodiscard]] double triangle_weight(std::size_t i, std::size_t k, std::size_t j) const {
        const std::array<Vec3, 3> c{loop_[chain_[i]], loop_[chain_[k]], loop_[chain_[j]]};
        const Vec3 a = c[1] - c[0], b = c[2] - c[1], d = c[0] - c[2];
        const double edges = dot(a, a) + dot(b, b) + dot(d, d);
        return norm(cross(a, b)) / 2 + 0.01 * edges + (is_degenerate(c) ? 1e3 * edges : 0);
    }
    void choose_split(std::size_t i, std::size_t j) {
        double best = std::numeric_limits<double>::infinity();
        const std::size_t n = chain_.size();
        for (std::size_t k = i + 1; k < j; ++k) {
            const double w = weight_[i * n + k] + weight_[k * n + j] + triangle_weight(i, k, j);
            if (w < best) {
                best = w;
                split_[i * n + j] = k;
            }
        }
        weight_[i * n + j] = best;
    }
    void collect(std::size_t i, std::size_t j, std::vector<Triangle>& out) const {
        if (j - i < 2) return;
        const std::size_t k = split_[i * chain_.size() + j];
        out.push_back({chain_[i], chain_[k], chain_[j]});
        collect(i, k, out);
        collect(k, j, out);
    }

    const std::vector<Vec3>& loop_;
    const Places& chain_;
    std::vector<double> weight_;
    std::vector<std::size_t> split_;
};

/// Where the projected chain folds: vertices [first, last] by place in the chain, counted on past its end, are to be
/// cut off.
struct Fold {
    std::size_t first, last;
    [[nodiscard]] std::size_t size() const { return last - first + 1; }
};

class FoldSearch {
public:
    FoldSearch(const std::vector<Vec2>& points, const Places& chain) : points_(points), chain_(chain) {}

    /// All folds, shortest first.
    std::vector<Fold> find() {
        const std::size_t n = chain_.size();
        for (std::size_t i = 0; i < n; ++i)
            if (turns_back(i)) folds_.push_back({i + n - 1, i + n + 1});
        sweep();
        for (Fold& f : folds_)
            if (f.first >= n) f = {f.first - n, f.last - n};
        std::sort(folds_.begin(), folds_.end(), [](const Fold& a, const Fold& b) {
            return std::pair(a.size(), a.first) < std::pair(b.size(), b.first);
        });
        return std::move(folds_);
    }

private:
    [[nodiscard]] Vec2 at(std::size_t i) const { return points_[chain_[i % chain_.size()]]; }
    [[nodiscard]] bool turns_back(std::size_t i) const {
        const Vec2 a = at(i + chain_.size() - 1) - at(i), b = at(i + 1) - at(i);
        return cross(a, b) == 0 && dot(a, b) >= 0;
    }
    /// Touching counts as crossing.
    [[nodiscard]] bool cross_each_other(std::size_t i, std::size_t j) const {
        const Vec2 a = at(i), b = at(i + 1), c = at(j), d = at(j + 1);
        const auto side = [](Vec2 p, Vec2 q, Vec2 r) { return cross(q - p, r - p); };
        const double c_side = side(a, b, c), d_side = side(a, b, d), a_side = side(c, d, a), b_side = side(c, d, b);
        if ((c_side > 0 && d_side > 0) || (c_side < 0 && d_side < 0)) return false;
        return !((a_side > 0 && b_side > 0) || (a_side < 0 && b_side < 0));
    }
    /// Compares edges whose boxes overlap, sorted along the longer side of the chain's box.
    void sweep() {
        const std::size_t n = chain_.size();
        std::vector<Box2> box(n);
        Box2 all;
        for (std::size_t i = 0; i < n; ++i) {
            box[i].add(at(i));
            box[i].add(at(i + 1));
            all.add(at(i));
        }
        const bool along_x = all.size().x >= all.size().y;
        const auto low = [&](std::size_t i) { return along_x ? box[i].low.x : box[i].low.y; };
        const auto high = [&](std::size_t i) { return along_x ? box[i].high.x : box[i].high.y; };
        std::vector<std::size_t> order(n);
        std::iota(order.begin(), order.end(), std::size_t{0});
        std::sort(order.begin(), order.end(),
                  [&](std::size_t a, std::size_t b) { return std::pair(low(a), a) < std::pair(low(b), b); });
        for (std::size_t u = 0; u < n; ++u)
            for (std::size_t v = u + 1; v < n && low(order[v]) <= high(order[u]); ++v)
                compare(std::min(order[u], order[v]), std::max(order[u], order[v]), box);
    }
    void compare(std::size_t i, std::size_t j, const std::vector<Box2>& box) {
        const std::size_t n = chain_.size();
        if (j - i == 1 || j - i == n - 1) return;
        const bool apart = box[i].high.x < box[j].low.x || box[j].high.x < box[i].low.x ||
                           box[i].high.y < box[j].low.y || box[j].high.y < box[i].low.y;
        if (apart || !cross_each_other(i, j)) return;
        if (j - i <= n - (j - i))
            folds_.push_back({i, j + 1});
        else
            folds_.push_back({j, i + n + 1});
    }

    const std::vector<Vec2>& points_;
    const Places& chain_;
    std::vector<Fold> folds_;
};

/// Cuts the folds that do not overlap off the chain; false when one is too long for that.
bool cut_off(const std::vector<Vec3>& loop, const std::vector<Fold>& folds, Places& chain, std::vector<Triangle>& out) {
    const std::size_t n = chain.size();
    std::vector<char> is_used(n, 0), is_gone(n, 0);
    for (const Fold& fold : folds) {
        if (fold.size() > std::min(most_for_least_area, n - 1)) {
            if (&fold == &folds.front()) return false;
            break;
        }
        bool is_free = true;
        for (std::size_t i = fold.first; i <= fold.last; ++i) is_free = is_free && is_used[i % n] == 0;
        if (!is_free) continue;
        Places piece;
        for (std::size_t i = fold.first; i <= fold.last; ++i) {
            is_used[i % n] = 1;
            piece.push_back(chain[i % n]);
            if (i != fold.first && i != fold.last) is_gone[i % n] = 1;
        }
        LeastArea(loop, piece).append_to(out);
    }
    Places left;
    for (std::size_t i = 0; i < n; ++i)
        if (is_gone[i] == 0) left.push_back(chain[i]);
    chain = std::move(left);
    return chain.size() >= 3;
}

/// Constrained Delaunay triangles between chains that do not fold.
bool cover(const std::vector<Vec2>& points, const std::vector<Places>& chains, std::vector<Triangle>& out) {
    std::vector<std::vector<Vec2>> polygons;
    Places all;
    for (const Places& chain : chains) {
        std::vector<Vec2>& polygon = polygons.emplace_back();
        for (const VertexId v : chain) polygon.push_back(points[v]);
        all.insert(all.end(), chain.begin(), chain.end());
    }
    const Triangulation flat = triangulate(polygons);
    if (flat.points.size() != all.size()) return false;
    for (const Triangle& t : flat.triangles) out.push_back({all[t[0]], all[t[1]], all[t[2]]});
    return true;
}

/// Each loop edge once and in its loop's direction, inner edges twice and in opposite ones; `next` along the loops.
bool is_patch(const std::vector<Triangle>& triangles, const Places& next, std::size_t loops) {
    if (triangles.size() + 2 != next.size() + 2 * (loops - 1)) return false;  // Euler, for a disc with holes
    const SideMates sides = match_sides(triangles, next.size());
    if (!sides.crowded.empty() || !sides.is_one_way) return false;
    std::size_t rim = 0;
    for (SideId s = 0; s < sides.mate.size(); ++s) {
        if (sides.mate[s] != no_id) continue;
        if (to_of(triangles, s) != next[from_of(triangles, s)]) return false;
        ++rim;
    }
    return rim == next.size();
}

/// Cuts folds off until the chain has none left; false when that does not succeed.
bool unfold(const PointLoop& points_in_space, const std::vector<Vec2>& points, Places& chain,
            std::vector<Triangle>& out) {
    for (int round = 0; round < most_rounds; ++round) {
        const std::vector<Fold> folds = FoldSearch(points, chain).find();
        if (folds.empty()) return true;
        if (!cut_off(points_in_space, folds, chain, out)) return false;
    }
    return false;
}

}  // namespace

Vec3 loop_area_vector(const PointLoop& loop) {
    Vec3 sum;
    for (std::size_t i = 0; i < loop.size(); ++i)
        sum += cross(loop[i] - loop[0], loop[(i + 1) % loop.size()] - loop[0]);
    return sum;
}

std::vector<Vec2> project_loop(const PointLoop& loop, Vec3 normal, Vec3 origin) {
    const Vec3 n = normalized(normal);
    const Vec3 rough = std::abs(n.x) < 0.6 ? Vec3{1, 0, 0} : Vec3{0, 1, 0};
    const Vec3 x = normalized(cross(rough, n)), y = cross(n, x);
    std::vector<Vec2> out;
    out.reserve(loop.size());
    for (const Vec3 p : loop) out.push_back({dot(p - origin, x), dot(p - origin, y)});
    return out;
}

std::optional<LoopPatch> patch_between_loops(const std::vector<PointLoop>& loops) {
    const Vec3 normal = loop_area_vector(loops.front());
    if (!(norm(normal) > 0)) return std::nullopt;
    PointLoop points_in_space;
    for (const PointLoop& loop : loops) points_in_space.insert(points_in_space.end(), loop.begin(), loop.end());
    const std::vector<Vec2> points = project_loop(points_in_space, normal, points_in_space.front());

    LoopPatch patch;
    std::vector<Places> chains;
    Places next(points.size());
    VertexId first = 0;
    for (const PointLoop& loop : loops) {
        const auto n = static_cast<VertexId>(loop.size());
        Places& chain = chains.emplace_back(n);
        std::iota(chain.begin(), chain.end(), first);
        for (VertexId i = 0; i < n; ++i) next[first + i] = first + (i + 1) % n;
        first += n;
        if (!unfold(points_in_space, points, chain, patch.triangles)) return std::nullopt;
    }
    if (!cover(points, chains, patch.triangles) || !is_patch(patch.triangles, next, loops.size())) return std::nullopt;
    return patch;
}

LoopPatch patch_loop(const PointLoop& loop) {
    if (auto flat = patch_between_loops({loop})) return std::move(*flat);
    LoopPatch patch;
    const auto n = static_cast<VertexId>(loop.size());
    if (n <= most_for_least_area) {
        Places all(n);
        std::iota(all.begin(), all.end(), VertexId{0});
        LeastArea(loop, all).append_to(patch.triangles);
        return patch;
    }
    patch.uses_middle = true;
    for (const Vec3 p : loop) patch.middle += p / static_cast<double>(n);
    for (VertexId i = 0; i < n; ++i) patch.triangles.push_back({i, (i + 1) % n, n});
    return patch;
}

}  // namespace cradlewright
