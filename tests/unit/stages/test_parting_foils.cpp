// SPDX-License-Identifier: GPL-3.0-or-later
// Parting lines of the demo foils: squared tails, sharp arrises, flat ends, a twisted nose, noise.
#include <algorithm>
#include <catch2/catch.hpp>
#include <numbers>

#include "cradlewright/geom/polyline.hpp"
#include "plugs.hpp"
#include "support/curves.hpp"
#include "support/plugs.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double pi = std::numbers::pi;

demo::ScanOptions scan(std::size_t triangles, double noise_mm, std::uint32_t seed) {
    demo::ScanOptions options;
    options.triangles = triangles;
    options.noise_mm = noise_mm;
    options.seed = seed;
    options.triangulation = demo::Triangulation::shuffled;
    return options;
}

std::vector<std::string> edge_names(const PartedPlug& p) {
    std::vector<std::string> names;
    for (const PartingEdge& e : p.parting.loops[0].edges) names.push_back(e.id);
    std::sort(names.begin(), names.end());
    return names;
}

/// Sharpest turn between neighbouring pieces of the line that is not at the end of an edge, rad.
double sharpest_turn_within_edges(const PartingLoop& loop) {
    const std::size_t n = loop.panel_line.size();
    std::vector<bool> is_end(n, false);
    for (const PartingEdge& e : loop.edges) is_end[e.first] = true;
    double worst = 0;
    for (std::size_t i = 0; i < n; ++i) {
        if (is_end[i]) continue;
        const Vec3 in = loop.panel_line[i] - loop.panel_line[(i + n - 1) % n];
        const Vec3 out = loop.panel_line[(i + 1) % n] - loop.panel_line[i];
        worst = std::max(worst, std::atan2(norm(cross(in, out)), dot(in, out)));
    }
    return worst;
}

/// Worst distance of the front edge from the closed form, in plan and along the pull.
template <class Foil>
Vec2 worst_off_nose(const PartedPlug& p, const Foil& foil) {
    Vec3 pull = p.posed.pose.pull_scan;
    REQUIRE(std::abs(pull.x) < 1e-9);
    pull.x = 0;
    std::vector<Vec3> nose;
    for (int i = 0; i <= 400; ++i) nose.push_back(demo::nose_silhouette(foil, i / 400.0, pull));
    const double shift = 0.5 * (nose.front().x + nose.back().x);  // the plug frame's origin is the middle of the span
    Vec2 worst{};
    const PartingLoop& loop = p.parting.loops[0];
    for (const PartingEdge& e : loop.edges) {
        if (e.id != "front") continue;
        for (std::size_t i = e.first; i != e.last; i = (i + 1) % loop.panel_line.size()) {
            const Vec3 scan_point = p.posed.pose.to_scan(loop.panel_line[i]);
            if (scan_point.x < 10 || scan_point.x > 2 * shift - 120) continue;
            double best = 1e9;
            Vec3 off{};
            for (std::size_t k = 0; k + 1 < nose.size(); ++k) {
                const Vec3 d = nose[k + 1] - nose[k];
                const double t = std::clamp(dot(scan_point - nose[k], d) / dot(d, d), 0.0, 1.0);
                const Vec3 miss = scan_point - nose[k] - d * t;
                if (norm(miss) >= best) continue;
                best = norm(miss);
                off = miss;
            }
            const double height = dot(off, pull);
            worst = {std::max(worst.x, norm(off - pull * height)), std::max(worst.y, std::abs(height))};
        }
    }
    return worst;
}

}  // namespace

TEMPLATE_TEST_CASE("a foil with a squared tail parts along four edges", "[stages][parting]", demo::Blade,
                   demo::Daggerboard) {
    const auto noise = GENERATE(0.0, 0.02, 0.04);
    const auto seed = GENERATE(1u, 2u, 3u, 4u);
    const auto tilt_deg = GENERATE(3.0, 6.0);
    CAPTURE(noise, seed, tilt_deg);
    const TestType foil;
    const PartedPlug p = parted_plug(demo::make_scan(foil, scan(20000, noise, seed)), Angle::deg(tilt_deg));
    REQUIRE(p.parting.loops.size() == 1);
    const PartingLoop& loop = p.parting.loops[0];
    CHECK(edge_names(p) == std::vector<std::string>{"back", "end-a", "end-b", "front"});
    // Within 10 % of a plane convex line's. The exact scan is irregular, and its faces are four times as long as the
    // blade's nose at the tip is round: nothing tells there where between two vertices the nose is, so it may waver.
    CHECK(total_turning(loop.panel_line, true) < (noise > 0 ? 2.2 : 2.7) * pi);
    CHECK(sharpest_turn_within_edges(loop) < 0.7);

    // The nose: R at the nose of a 4-digit section is 1.1019 t^2 c (NACA Report 460).
    const double radius = 1.1019 * foil.section.thickness * foil.section.thickness * demo::station(foil, 0.0).chord_mm;
    const Vec2 off = worst_off_nose(p, foil);
    CHECK(off.x < 0.05 * p.map.mean_edge_mm + 3 * noise);
    CHECK(off.y < std::sqrt(2 * radius * noise) + p.map.mean_edge_mm);
}
