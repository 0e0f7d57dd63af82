// SPDX-License-Identifier: GPL-3.0-or-later
// Residual of a vertex against a quadratic surface through its two rings; the fit's covariance gives how much of
// independent noise shows there. Textbook least squares. Tried and left: the umbrella operator applied twice, which
// reads 10 to 30 % too much on uneven triangles of a curved surface.
#include "geom/mesh_noise.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>
#include <utility>
#include <vector>

#include "cradlewright/geom/mesh_repair.hpp"

namespace cradlewright {

namespace {

constexpr std::size_t most_samples = 20000;
constexpr std::size_t most_neighbours = 32;     // hubs of fans say nothing about noise
constexpr double flat_cosine = 0.766;           // 40 deg: least agreement of a face with its vertex normal, see header
constexpr double median_to_deviation = 1.4826;  // of a normal distribution: 1 / 0.67449, textbook value
constexpr std::size_t fine_mesh_vertices = 2000;
constexpr double least_flat_share = 0.25;

/// Neighbours of the vertices that a sample needs, in flat rows.
class Rings {
public:
    Rings(const TriMesh& mesh, const std::vector<char>& is_needed) : start_(mesh.vertices.size() + 1, 0) {
        for (const Triangle& t : mesh.triangles)
            for (const VertexId v : t)
                if (is_needed[v] != 0) ++start_[v + std::size_t{1}];
        for (std::size_t v = 1; v < start_.size(); ++v) start_[v] += start_[v - 1];
        rows_.resize(start_.back());
        std::vector<std::uint32_t> next = start_;
        for (const Triangle& t : mesh.triangles)
            for (unsigned k = 0; k < 3; ++k)
                if (is_needed[t[k]] != 0) rows_[next[t[k]]++] = {t[(k + 1) % 3], t[(k + 2) % 3]};
    }

    /// Each face at the vertex as (next corner, previous corner).
    struct Wedge {
        VertexId next, previous;
    };
    [[nodiscard]] const Wedge* begin(VertexId v) const { return rows_.data() + start_[v]; }
    [[nodiscard]] const Wedge* end(VertexId v) const { return rows_.data() + start_[v + std::size_t{1}]; }
    [[nodiscard]] std::size_t valence(VertexId v) const { return start_[v + std::size_t{1}] - start_[v]; }
    /// Every neighbour is next in one face and previous in another.
    [[nodiscard]] bool is_whole(VertexId v) const {
        if (valence(v) < 3 || valence(v) > most_neighbours) return false;
        return std::all_of(begin(v), end(v), [&](const Wedge& w) {
            return std::any_of(begin(v), end(v), [&](const Wedge& other) { return other.previous == w.next; });
        });
    }

private:
    std::vector<std::uint32_t> start_;
    std::vector<Wedge> rows_;
};

struct Normal {
    Vec3 direction;
    bool is_flat = true;  ///< no face leans far from it
};

Normal normal_at(const TriMesh& mesh, const Rings& rings, VertexId v) {
    const Vec3 p = mesh.vertices[v];
    const auto face = [&](const Rings::Wedge& w) {
        return cross(mesh.vertices[w.next] - p, mesh.vertices[w.previous] - p);
    };
    Normal out;
    for (const Rings::Wedge* w = rings.begin(v); w != rings.end(v); ++w) out.direction += face(*w);
    out.direction = normalized(out.direction);
    for (const Rings::Wedge* w = rings.begin(v); w != rings.end(v); ++w)
        out.is_flat = out.is_flat && dot(normalized(face(*w)), out.direction) >= flat_cosine;
    return out;
}

struct Residual {
    double size;  ///< over what unit noise would give, not negative
    double bend;  ///< squared curvature of the fitted surface times the squared radius of the rings
};

/// Quadratic height field over a vertex and its two rings, in the frame of the vertex normal.
class RingFit {
public:
    RingFit(const TriMesh& mesh, const Rings& rings) : mesh_(mesh), rings_(rings) {}

    /// How far the vertex lies from the fitted surface; nothing when the rings are not whole or do not fix a quadratic.
    std::optional<Residual> residual(VertexId v, Vec3 normal) {
        if (!find_rings(v)) return std::nullopt;
        const Vec3 rough = std::abs(normal.x) < 0.6 ? Vec3{1, 0, 0} : Vec3{0, 1, 0};
        const Vec3 along = normalized(cross(rough, normal)), across = cross(normal, along);
        const double radius = ring_radius(v);
        if (!(radius > 0)) return std::nullopt;
        Matrix squares = Matrix::Zero();
        Vector right = Vector::Zero();
        squares(0, 0) = 1;  // the vertex itself, at the origin
        for (const VertexId w : ring_) {
            const Vec3 d = (mesh_.vertices[w] - mesh_.vertices[v]) / radius;
            const double x = dot(d, along), y = dot(d, across);
            const Vector terms{{1, x, y, x * x, x * y, y * y}};
            squares += terms * terms.transpose();
            right += terms * dot(d, normal);
        }
        const Eigen::LDLT<Matrix> solver(squares);
        if (solver.info() != Eigen::Success || solver.vectorD().minCoeff() <= 1e-6) return std::nullopt;
        const Vector c = solver.solve(right);
        const double variance = 1 - solver.solve(Vector::Unit(0))[0];
        if (variance <= 1e-3) return std::nullopt;
        return Residual{std::abs(c[0]) * radius / std::sqrt(variance), c[3] * c[3] + c[4] * c[4] / 2 + c[5] * c[5]};
    }

private:
    using Matrix = Eigen::Matrix<double, 6, 6>;
    using Vector = Eigen::Matrix<double, 6, 1>;

    bool find_rings(VertexId v) {
        ring_.clear();
        if (!rings_.is_whole(v)) return false;
        for (const Rings::Wedge* w = rings_.begin(v); w != rings_.end(v); ++w) {
            if (!rings_.is_whole(w->next)) return false;
            ring_.push_back(w->next);
            for (const Rings::Wedge* u = rings_.begin(w->next); u != rings_.end(w->next); ++u)
                if (u->next != v) ring_.push_back(u->next);
        }
        std::sort(ring_.begin(), ring_.end());
        ring_.erase(std::unique(ring_.begin(), ring_.end()), ring_.end());
        return true;
    }
    [[nodiscard]] double ring_radius(VertexId v) const {
        double squares = 0;
        for (const VertexId w : ring_) {
            const Vec3 d = mesh_.vertices[w] - mesh_.vertices[v];
            squares += dot(d, d);
        }
        return std::sqrt(squares / static_cast<double>(ring_.size()));
    }

    const TriMesh& mesh_;
    const Rings& rings_;
    std::vector<VertexId> ring_;
};

std::vector<VertexId> pick_samples(std::size_t vertex_count) {
    const std::size_t stride = std::max<std::size_t>(1, (vertex_count + most_samples - 1) / most_samples);
    std::vector<VertexId> samples;
    for (std::size_t v = 0; v < vertex_count; v += stride) samples.push_back(static_cast<VertexId>(v));
    return samples;
}

std::vector<char> mark_with_neighbours(const TriMesh& mesh, const std::vector<VertexId>& samples) {
    std::vector<char> is_sample(mesh.vertices.size(), 0);
    for (const VertexId v : samples) is_sample[v] = 1;
    std::vector<char> is_needed = is_sample;
    for (const Triangle& t : mesh.triangles)
        if (is_sample[t[0]] != 0 || is_sample[t[1]] != 0 || is_sample[t[2]] != 0)
            for (const VertexId v : t) is_needed[v] = 1;
    return is_needed;
}

/// Median residual of the half where the fitted surface bends least. Where it bends much, what a quadratic cannot
/// follow would pass for noise. Residuals do not depend on the coefficients of their fit, so the choice does not favour
/// small ones.
double median_of_calm_half(std::vector<NoiseSample>& residuals) {
    const auto middle = residuals.begin() + static_cast<std::ptrdiff_t>(residuals.size() / 2);
    const auto bends_less = [](const NoiseSample& a, const NoiseSample& b) {
        return std::pair(a.bend, a.size) < std::pair(b.bend, b.size);
    };
    std::nth_element(residuals.begin(), middle, residuals.end(), bends_less);
    const auto last = middle + 1;
    const auto center = residuals.begin() + (last - residuals.begin()) / 2;
    std::nth_element(residuals.begin(), center, last,
                     [](const NoiseSample& a, const NoiseSample& b) { return a.size < b.size; });
    return center->size;
}

}  // namespace

std::vector<NoiseSample> noise_samples(const TriMesh& mesh) {
    const std::vector<VertexId> samples = pick_samples(mesh.vertices.size());
    const Rings rings(mesh, mark_with_neighbours(mesh, samples));
    RingFit fit(mesh, rings);
    std::vector<NoiseSample> out;
    for (const VertexId v : samples) {
        const Normal n = normal_at(mesh, rings, v);
        if (const auto residual = fit.residual(v, n.direction))
            out.push_back({v, residual->size, residual->bend, n.is_flat});
    }
    return out;
}

double estimate_noise(const TriMesh& mesh) {
    std::vector<NoiseSample> all = noise_samples(mesh), flat;
    std::copy_if(all.begin(), all.end(), std::back_inserter(flat), [](const NoiseSample& s) { return s.is_flat; });
    const bool mostly_sharp = static_cast<double>(flat.size()) < least_flat_share * static_cast<double>(all.size());
    if (all.empty() || (mostly_sharp && mesh.vertices.size() < fine_mesh_vertices)) return 0;
    return median_to_deviation * median_of_calm_half(mostly_sharp ? all : flat);
}

}  // namespace cradlewright
