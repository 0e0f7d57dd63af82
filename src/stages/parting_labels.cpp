// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: parting.md beside this file.
#include "stages/parting_labels.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "stages/min_cut.hpp"

namespace cradlewright {
namespace {

using Labels = std::vector<std::uint8_t>;

// Faces within this many bands of a wall's slope, and at least this slope, are open to the cut.
constexpr double open_bands = 3, least_open_slope = 0.1;
// A strip seen this wide along the pull on the wrong side of the cut weighs as much as the cut along it.
constexpr double lock_width_mm = 0.5;
constexpr double place_weight = 12;           // what a wall's rim costs more than its middle: 1 + 12 / 4
constexpr std::size_t least_sure_faces = 30;  // fewer that hang together are noise, not a decision
constexpr double cost_scale = 4096;           // whole-number costs a mm of cut

double edge_length(const TriMesh& mesh, FaceId f, std::size_t k) {
    const Triangle& t = mesh.triangles[f];
    return norm(mesh.vertices[t[(k + 1) % 3]] - mesh.vertices[t[k]]);
}

/// The half whose mould a face would leave by its own slope and cover.
std::uint8_t own_half(const ReleaseMap& map, FaceId f) {
    return map.slope[f] > 0 && (map.covered[f] & covered_above) == 0 ? 1 : 2;
}

/// A face that looks along the pull but lies under another: neither half frees it.
bool is_locked(const ReleaseMap& map, FaceId f) {
    return double{map.slope[f]} > open_slope(map) && (map.covered[f] & covered_above) != 0;
}

/// Faces whose slope is told apart from a wall's beyond doubt, and which their half frees.
Labels label_sure_faces(const PosedPlug& posed, const ReleaseMap& map) {
    const double open = open_slope(map);
    Labels label(posed.mesh().face_count(), 0);
    for (FaceId f = 0; f < label.size(); ++f) {
        const bool is_assumed = posed.mesh().origin_of(f) == FaceOrigin::assumed;
        if (is_assumed || (std::abs(double{map.slope[f]}) > open && !is_locked(map, f))) label[f] = own_half(map, f);
    }
    return label;
}

/// Hands specks of sure faces amid the band back to it. Real patches are larger; smaller ones are slivers and noise.
void forget_specks(const PosedPlug& posed, Labels& label) {
    std::vector<std::uint8_t> seen(label.size(), 0);
    std::vector<FaceId> speck;
    for (FaceId seed = 0; seed < label.size(); ++seed) {
        if (label[seed] == 0 || seen[seed] || posed.mesh().origin_of(seed) == FaceOrigin::assumed) continue;
        speck.assign(1, seed);
        seen[seed] = 1;
        bool touches_other = false;
        for (std::size_t i = 0; i < speck.size(); ++i)
            for (std::size_t k = 0; k < 3; ++k) {
                const FaceId g = neighbour(posed, speck[i], k);
                if (g == no_id) continue;
                if (label[g] == label[seed] && !seen[g]) {
                    seen[g] = 1;
                    speck.push_back(g);
                }
                touches_other = touches_other || (label[g] != 0 && label[g] != label[seed]);
            }
        if (speck.size() >= least_sure_faces || touches_other) continue;
        for (const FaceId f : speck) label[f] = 0;
    }
}

/// Steps through faces marked 0 from those marked `side`; -1 where none leads.
std::vector<std::int32_t> steps_from(const PosedPlug& posed, const Labels& mark, std::uint8_t side) {
    std::vector<std::int32_t> steps(mark.size(), -1);
    std::vector<FaceId> front, next;
    const auto spread = [&](FaceId f, std::int32_t at) {
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = neighbour(posed, f, k);
            if (g == no_id || mark[g] != 0 || steps[g] >= 0) continue;
            steps[g] = at;
            next.push_back(g);
        }
    };
    for (FaceId f = 0; f < mark.size(); ++f)
        if (mark[f] == side) spread(f, 1);
    for (std::int32_t at = 2; !next.empty(); ++at) {
        front.swap(next);
        next.clear();
        for (const FaceId f : front) spread(f, at);
    }
    return steps;
}

/// How many faces lie across the stretch that cannot be told from a wall, at each of its faces; 0 outside it.
std::vector<float> measure_walls(const PosedPlug& posed, const ReleaseMap& map, const Labels& label) {
    const double band = std::sin(map.band_rad);
    Labels mark = label;
    for (FaceId f = 0; f < mark.size(); ++f)
        if (mark[f] == 0 && std::abs(double{map.slope[f]}) > band) mark[f] = own_half(map, f);
    const std::vector<std::int32_t> from_one = steps_from(posed, mark, 1), from_two = steps_from(posed, mark, 2);
    std::vector<float> across(mark.size(), 0);
    for (FaceId f = 0; f < mark.size(); ++f)
        if (from_one[f] > 0 && from_two[f] > 0) across[f] = static_cast<float>(from_one[f] + from_two[f] - 1);
    return across;
}

/// Splits the open faces by the shortest cut, where area seen along the pull on the wrong side counts like length, with
/// a wish for level faces and, on walls, for the wanted place between their rims.
class BandCut {
public:
    BandCut(const PosedPlug& posed, const ReleaseMap& map, Labels& label)
        : posed_(posed),
          map_(map),
          label_(label),
          wanted_(posed.plug.has_assumed_cap ? 1.0 : 0.5),  // open underside: the lowest line
          from_one_(steps_from(posed, label, 1)),
          from_two_(steps_from(posed, label, 2)) {}

    void cut() {
        std::vector<std::uint32_t> node(label_.size(), no_id);
        std::vector<FaceId> open;
        for (FaceId f = 0; f < label_.size(); ++f)
            if (label_[f] == 0) {
                node[f] = static_cast<std::uint32_t>(open.size());
                open.push_back(f);
            }
        if (open.empty()) return;
        MinCut cut(open.size());
        for (const FaceId f : open) {
            if (!is_locked(map_, f)) tie(cut, node[f], own_half(map_, f), seen_area(f));
            for (std::size_t k = 0; k < 3; ++k) {
                const FaceId g = neighbour(posed_, f, k);
                if (g == no_id) continue;
                const bool is_inside = label_[g] == 0;
                if (is_inside && g < f) continue;
                const double w = is_inside ? 0.5 * (weight(f) + weight(g)) : weight(f);
                const double length = w * edge_length(posed_.mesh(), f, k);
                if (is_inside)
                    cut.link(node[f], node[g], whole(length) + 1);
                else
                    tie(cut, node[f], label_[g], length);
            }
        }
        const std::vector<std::uint8_t> side = cut.solve();
        for (std::size_t i = 0; i < open.size(); ++i) label_[open[i]] = side[i];
    }

private:
    [[nodiscard]] static std::int64_t whole(double cost_mm) {
        return static_cast<std::int64_t>(std::llround(cost_scale * cost_mm));
    }
    static void tie(MinCut& cut, std::uint32_t node, std::uint8_t half, double cost_mm) {
        if (half == 1)
            cut.tie_to_one(node, whole(cost_mm));
        else
            cut.tie_to_two(node, whole(cost_mm));
    }
    /// Area seen along the pull, as a length of cut.
    [[nodiscard]] double seen_area(FaceId f) const {
        const double area = 0.5 * norm(area_vector(posed_.mesh().corners(f)));
        return area * std::abs(double{map_.slope[f]}) / lock_width_mm;
    }
    [[nodiscard]] double weight(FaceId f) const {
        const double level = std::abs(double{map_.slope[f]}) / std::sin(map_.band_rad);
        if (level >= 1 || from_one_[f] < 0 || from_two_[f] < 0) return 1.5;
        const double place = double(from_one_[f]) / double(from_one_[f] + from_two_[f]) - wanted_;
        return 1 + 0.5 * level * level + place_weight * place * place;
    }

    const PosedPlug& posed_;
    const ReleaseMap& map_;
    Labels& label_;
    double wanted_;
    std::vector<std::int32_t> from_one_, from_two_;
};

struct Components {
    std::vector<std::uint32_t> of_face;
    std::vector<double> area;
    std::vector<std::uint8_t> label;
    std::vector<double> largest_neighbour;  // area of the largest component that touches it
};

Components find_components(const PosedPlug& posed, const Labels& label, const std::vector<float>& area) {
    Components c;
    c.of_face.assign(label.size(), no_id);
    std::vector<FaceId> stack;
    for (FaceId seed = 0; seed < label.size(); ++seed) {
        if (c.of_face[seed] != no_id) continue;
        const auto id = static_cast<std::uint32_t>(c.area.size());
        c.area.push_back(0);
        c.label.push_back(label[seed]);
        stack.assign(1, seed);
        c.of_face[seed] = id;
        while (!stack.empty()) {
            const FaceId f = stack.back();
            stack.pop_back();
            c.area[id] += double{area[f]};
            for (std::size_t k = 0; k < 3; ++k) {
                const FaceId g = neighbour(posed, f, k);
                if (g == no_id || c.of_face[g] != no_id || label[g] != label[f]) continue;
                c.of_face[g] = id;
                stack.push_back(g);
            }
        }
    }
    c.largest_neighbour.assign(c.area.size(), 0);
    for (FaceId f = 0; f < label.size(); ++f)
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = neighbour(posed, f, k);
            if (g == no_id || c.of_face[g] == c.of_face[f]) continue;
            double& most = c.largest_neighbour[c.of_face[f]];
            most = std::max(most, c.area[c.of_face[g]]);
        }
    return c;
}

/// Of islands that touch, only the largest is to be handed over now: what lies in it may then be none any more.
void keep_largest(const PosedPlug& posed, const Components& c, std::vector<std::uint8_t>& flips) {
    const std::vector<std::uint8_t> wanted = flips;
    const auto is_before = [&](std::uint32_t a, std::uint32_t b) {
        return c.area[a] > c.area[b] || (c.area[a] == c.area[b] && a < b);
    };
    for (FaceId f = 0; f < c.of_face.size(); ++f)
        for (std::size_t k = 0; k < 3; ++k) {
            const FaceId g = neighbour(posed, f, k);
            if (g == no_id || c.of_face[g] == c.of_face[f]) continue;
            if (wanted[c.of_face[g]] && is_before(c.of_face[g], c.of_face[f])) flips[c.of_face[f]] = 0;
        }
}

/// Hands patches that do not hang together with their half to the half around them, largest first.
void absorb_islands(const PosedPlug& posed, Halves& halves) {
    Labels& label = halves.label;
    const TriMesh& mesh = posed.mesh();
    std::vector<float> area(label.size());
    for (FaceId f = 0; f < label.size(); ++f) area[f] = static_cast<float>(0.5 * norm(area_vector(mesh.corners(f))));
    for (int round = 0; round < 32; ++round) {
        const Components c = find_components(posed, label, area);
        std::array<double, 3> main_area{};
        for (std::size_t i = 0; i < c.area.size(); ++i)
            main_area[c.label[i]] = std::max(main_area[c.label[i]], c.area[i]);
        std::vector<std::uint8_t> flips(c.area.size(), 0);
        for (std::size_t i = 0; i < c.area.size(); ++i)
            flips[i] = c.area[i] < main_area[c.label[i]] && c.area[i] < c.largest_neighbour[i];
        keep_largest(posed, c, flips);
        bool is_done = true;
        for (std::size_t i = 0; i < c.area.size(); ++i) {
            if (!flips[i]) continue;
            is_done = false;
            ++halves.islands_absorbed;
            halves.absorbed_area_mm2 += c.area[i];
        }
        if (is_done) return;
        for (FaceId f = 0; f < label.size(); ++f)
            if (flips[c.of_face[f]]) label[f] = static_cast<std::uint8_t>(3 - label[f]);
    }
}

}  // namespace

double open_slope(const ReleaseMap& map) { return std::max(open_bands * std::sin(map.band_rad), least_open_slope); }

Halves label_halves(const PosedPlug& posed, const ReleaseMap& map) {
    Halves halves;
    halves.label = label_sure_faces(posed, map);
    halves.wall_faces.assign(halves.label.size(), 0);
    if (!halves.has_both()) return halves;
    const Labels sure = halves.label;
    forget_specks(posed, halves.label);
    if (!halves.has_both()) halves.label = sure;  // so few faces that each of them counts
    halves.wall_faces = measure_walls(posed, map, halves.label);
    BandCut(posed, map, halves.label).cut();
    absorb_islands(posed, halves);
    return halves;
}

}  // namespace cradlewright
