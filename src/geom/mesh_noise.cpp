// SPDX-License-Identifier: GPL-3.0-or-later
// Umbrella operator: G. Taubin, "A signal processing approach to fair surface design" (1995), sec. 3, from memory. Applied twice
// it cancels what varies linearly and quadratically over evenly spaced neighbours, and leaves independent noise with a known gain.
#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "cradlewright/geom/mesh_repair.hpp"

namespace cradlewright {

namespace {

constexpr std::size_t most_samples = 20000;
constexpr std::size_t most_neighbours = 32;      // hubs of fans say nothing about noise
constexpr double flat_cosine = 0.766;            // 40 deg: least agreement of a face with its vertex normal, see header
constexpr double median_to_deviation = 1.4826;   // of a normal distribution: 1 / 0.67449, textbook value
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
    const auto face = [&](const Rings::Wedge& w) { return cross(mesh.vertices[w.next] - p, mesh.vertices[w.previous] - p); };
    Normal out;
    for (const Rings::Wedge* w = rings.begin(v); w != rings.end(v); ++w) out.direction += face(*w);
    out.direction = normalized(out.direction);
    for (const Rings::Wedge* w = rings.begin(v); w != rings.end(v); ++w)
        out.is_flat = out.is_flat && dot(normalized(face(*w)), out.direction) >= flat_cosine;
    return out;
}

/// Weights of the twice-applied operator over the vertex and its two rings.
class TwiceUmbrella {
public:
    explicit TwiceUmbrella(const Rings& rings) : rings_(rings) {}

    /// False when the rings are not whole.
    bool set_vertex(VertexId v) {
        weights_.clear();
        if (!add_umbrella(v, -1)) return false;
        const double share = 1 / static_cast<double>(rings_.valence(v));
        for (const Rings::Wedge* w = rings_.begin(v); w != rings_.end(v); ++w)
            if (!add_umbrella(w->next, share)) return false;
        std::sort(weights_.begin(), weights_.end());
        return true;
    }
    [[nodiscard]] Vec3 apply(const TriMesh& mesh, Vec3 origin) const {
        Vec3 sum;
        for (const auto& [v, weight] : weights_) sum += (mesh.vertices[v] - origin) * weight;
        return sum;
    }
    /// Standard deviation of the result for independent unit noise.
    [[nodiscard]] double gain() const {
        double squares = 0;
        for (std::size_t i = 0; i < weights_.size();) {
            double weight = 0;
            const VertexId v = weights_[i].first;
            for (; i < weights_.size() && weights_[i].first == v; ++i) weight += weights_[i].second;
            squares += weight * weight;
        }
        return std::sqrt(squares);
    }

private:
    bool add_umbrella(VertexId v, double factor) {
        if (!rings_.is_whole(v)) return false;
        const double share = factor / static_cast<double>(rings_.valence(v));
        for (const Rings::Wedge* w = rings_.begin(v); w != rings_.end(v); ++w) weights_.emplace_back(w->next, share);
        weights_.emplace_back(v, -factor);
        return true;
    }

    const Rings& rings_;
    std::vector<std::pair<VertexId, double>> weights_;
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

double median(std::vector<double>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

}  // namespace

double estimate_noise(const TriMesh& mesh) {
    const std::vector<VertexId> samples = pick_samples(mesh.vertices.size());
    const Rings rings(mesh, mark_with_neighbours(mesh, samples));
    TwiceUmbrella umbrella(rings);
    std::vector<double> all, flat;
    for (const VertexId v : samples) {
        if (!umbrella.set_vertex(v)) continue;
        const Normal n = normal_at(mesh, rings, v);
        all.push_back(std::abs(dot(umbrella.apply(mesh, mesh.vertices[v]), n.direction)) / umbrella.gain());
        if (n.is_flat) flat.push_back(all.back());
    }
    const bool mostly_sharp = static_cast<double>(flat.size()) < least_flat_share * static_cast<double>(all.size());
    if (all.empty() || (mostly_sharp && mesh.vertices.size() < fine_mesh_vertices)) return 0;
    return median_to_deviation * median(mostly_sharp ? all : flat);
}

}  // namespace cradlewright
