// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <limits>
#include <map>
#include <numbers>
#include <random>
#include <sstream>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"

namespace cradlewright {
namespace {

using std::numbers::pi;

/// Points along a loop no farther apart than `step`, on its lines and arcs.
std::vector<Vec2> sampled(const Loop& loop, double step) {
    std::vector<Vec2> points;
    const std::size_t n = loop.vertices.size();
    for (std::size_t i = 0; i < n; ++i) {
        const PathVertex& v = loop.vertices[i];
        const Vec2 b = loop.vertices[(i + 1) % n].at;
        const int count = std::max(1, static_cast<int>(edge_length(v.at, b, v.bulge) / step));
        for (int k = 0; k < count; ++k) {
            const double t = static_cast<double>(k) / count;
            if (v.bulge == 0) {
                points.push_back(v.at + (b - v.at) * t);
            } else {
                const Arc arc = arc_of(v.at, b, v.bulge);
                const double angle = arc.start_rad + arc.sweep_rad * t;
                points.push_back(arc.center + Vec2{std::cos(angle), std::sin(angle)} * arc.radius);
            }
        }
    }
    return points;
}

/// Largest distance from samples of `from` to the chain `to`.
double one_way(const std::vector<Vec2>& from, const std::vector<Vec2>& to) {
    double worst = 0;
    for (const Vec2 p : from) worst = std::max(worst, distance_to_polyline(p, to, true));
    return worst;
}

/// Hausdorff distance both ways by dense sampling: slow, and knows nothing of how the fit measures.
double hausdorff(const Loop& a, const Loop& b) {
    const double sag = 1e-4, step = std::max(0.2, perimeter_of(a) / 1000);
    return std::max(one_way(sampled(a, step), flatten(b, sag)), one_way(sampled(b, step), flatten(a, sag)));
}

void check_fit(const Loop& chain, const FitOptions& options = {}) {
    const FitResult fit = fit_lines_and_arcs(chain, options);
    const double measured = hausdorff(chain, fit.loop);
    const double sampling_error = 2e-4;
    CHECK(fit.max_deviation_mm <= options.tolerance_mm);
    CHECK(measured <= fit.max_deviation_mm + sampling_error);
    CHECK(fit.loop.vertices.size() <= chain.vertices.size());
    CHECK(area_of(fit.loop) == Approx(area_of(chain)).margin(perimeter_of(chain) * options.tolerance_mm));
    const std::size_t n = fit.loop.vertices.size();
    for (std::size_t i = 0; i < n; ++i) {
        const PathVertex& v = fit.loop.vertices[i];
        CHECK(std::abs(4 * std::atan(v.bulge)) <= 170 * pi / 180 + 1e-12);
        if (v.bulge != 0) CHECK(arc_of(v.at, fit.loop.vertices[(i + 1) % n].at, v.bulge).radius <= 5000);
    }
}

Loop ring(double radius, int n, CutKind cut = CutKind::fit) {
    Loop loop;
    for (int i = 0; i < n; ++i) {
        const double angle = 2 * pi * i / n;
        loop.vertices.push_back({{radius * std::cos(angle), radius * std::sin(angle)}, 0, cut});
    }
    return loop;
}

/// Symmetric section. Source: Jacobs, Ward, Pinkerton, NACA Report 460 (1933), thickness distribution, closed tail.
Loop naca_section(double chord, double thickness, int n) {
    Loop loop;
    for (int i = 0; i < 2 * n; ++i) {
        const double x = (1 + std::cos(pi * i / n)) / 2;
        const double y =
            5 * thickness *
            (0.2969 * std::sqrt(x) - 0.1260 * x - 0.3516 * x * x + 0.2843 * x * x * x - 0.1036 * x * x * x * x);
        loop.vertices.push_back({{chord * x, chord * (i <= n ? y : -y)}, 0, CutKind::fit});
    }
    return loop;
}

TEST_CASE("a circle of chords becomes three arcs", "[geom]") {
    // 170 deg at most each, so three is the least.
    for (const double radius : {5.0, 50.0, 800.0}) {
        for (const int n : {120, 360, 5000}) {
            if (radius * (1 - std::cos(pi / n)) > 0.02) continue;  // the chain itself must be near the circle
            const FitResult fit = fit_lines_and_arcs(ring(radius, n));
            CHECK(fit.loop.vertices.size() == 3);
            CHECK(perimeter_of(fit.loop) == Approx(2 * pi * radius).margin(2 * pi * 0.05));
            check_fit(ring(radius, n));
        }
    }
}

TEST_CASE("a rectangle with many points a side becomes four lines", "[geom]") {
    std::vector<Vec2> points;
    for (int i = 0; i < 50; ++i) points.push_back({2.0 * i, 0});
    for (int i = 0; i < 50; ++i) points.push_back({100, 1.0 * i});
    for (int i = 50; i > 0; --i) points.push_back({2.0 * i, 50});
    for (int i = 50; i > 0; --i) points.push_back({0, 1.0 * i});
    const FitResult fit = fit_lines_and_arcs(make_loop(points, CutKind::rough));
    REQUIRE(fit.loop.vertices.size() == 4);
    CHECK(area_of(fit.loop) == 5000);
    CHECK(fit.max_deviation_mm == Approx(0).margin(1e-9));
}

TEST_CASE("lines and arcs in turn come back as they were", "[geom]") {
    // A slot of 60 x 20 with round ends: two lines, two half turns that need two arcs each.
    Loop slot = make_rectangle({0, 0}, {60, 20}, CutKind::fit);
    slot.vertices[1].bulge = slot.vertices[3].bulge = 1;
    const FitResult fit = fit_lines_and_arcs(make_loop(flatten(slot, 0.005), CutKind::fit));
    CHECK(fit.loop.vertices.size() <= 7);
    CHECK(hausdorff(slot, fit.loop) <= 0.05 + 0.005 + 2e-4);
}

TEST_CASE("a foil section shrinks to a few dozen entities within the tolerance", "[geom]") {
    for (const double tolerance : {0.02, 0.05, 0.2}) {
        const Loop section = naca_section(400, 0.15, 400);
        check_fit(section, {.tolerance_mm = tolerance});
        CHECK(fit_lines_and_arcs(section, {.tolerance_mm = tolerance}).loop.vertices.size() < 40);
    }
}

TEST_CASE("random chains stay within the tolerance both ways", "[geom]") {
    for (std::uint32_t seed = 1; seed <= 60; ++seed) {
        std::mt19937 random(seed);
        std::uniform_real_distribution<double> phase(0, 2 * pi), wave(0, 4), noise(-0.03, 0.03);
        const double p2 = phase(random), p5 = phase(random), a2 = 5 * wave(random), a5 = wave(random);
        const int n = 40 + static_cast<int>(seed) * 11;
        Loop loop;
        for (int i = 0; i < n; ++i) {
            const double angle = 2 * pi * i / n;
            double r = 60 + a2 * std::cos(2 * angle + p2) + a5 * std::cos(5 * angle + p5);
            if (seed % 3 == 0) r += noise(random);
            if (seed % 5 == 0 && i % 40 < 20) r += 6;  // steps: sharp corners
            loop.vertices.push_back({{r * std::cos(angle), r * std::sin(angle)},
                                     0,
                                     seed % 2 == 0 && i % 50 < 25 ? CutKind::fit : CutKind::rough});
        }
        check_fit(loop, {.tolerance_mm = seed % 4 == 0 ? 0.2 : 0.05});
    }
}

TEST_CASE("kinds keep their places and corners stay corners", "[geom]") {
    Loop loop = ring(40, 360);
    for (std::size_t i = 0; i < 360; ++i) loop.vertices[i].cut = i < 90 || i >= 200 ? CutKind::rough : CutKind::fit;
    const FitResult fit = fit_lines_and_arcs(loop);
    std::map<CutKind, double> length;
    for (std::size_t i = 0; i < fit.loop.vertices.size(); ++i) {
        const PathVertex& v = fit.loop.vertices[i];
        length[v.cut] += edge_length(v.at, fit.loop.vertices[(i + 1) % fit.loop.vertices.size()].at, v.bulge);
    }
    CHECK(length[CutKind::fit] == Approx(2 * pi * 40 * 110 / 360).epsilon(1e-3));
    CHECK(length[CutKind::rough] == Approx(2 * pi * 40 * 250 / 360).epsilon(1e-3));

    // A corner 0.02 mm deep would vanish in the tolerance, but it is sharper than corner_rad.
    const Loop notch = make_loop({{0, 0}, {10, 0}, {10, 10}, {5.03, 10}, {5, 9.98}, {4.97, 10}, {0, 10}}, CutKind::fit);
    CHECK(fit_lines_and_arcs(notch).loop.vertices.size() == 7);
}

TEST_CASE("arcs that are there already are kept", "[geom]") {
    Loop loop = make_rectangle({0, 0}, {60, 20}, CutKind::fit);
    loop.vertices[1].bulge = 0.5;
    const FitResult fit = fit_lines_and_arcs(loop);
    REQUIRE(fit.loop.vertices.size() == 4);
    CHECK(area_of(fit.loop) == Approx(area_of(loop)));
    CHECK(fit.max_deviation_mm == 0);
}

TEST_CASE("loops too small to fit come back as they are", "[geom]") {
    const Loop speck = make_loop({{0, 0}, {0.01, 0}, {0.01, 0.01}}, CutKind::fit);
    CHECK(fit_lines_and_arcs(speck).loop.vertices.size() == 3);
    CHECK(fit_lines_and_arcs(Loop{}).loop.vertices.empty());
    CHECK_THROWS_AS(fit_lines_and_arcs(speck, {.tolerance_mm = 0}), Error);
}

TEST_CASE("turned, doubled and mirrored chains give the same number of entities", "[geom]") {
    const Loop section = naca_section(300, 0.12, 200);
    const std::size_t count = fit_lines_and_arcs(section).loop.vertices.size();
    Loop doubled = section;
    for (PathVertex& v : doubled.vertices) v.at = v.at * 2;
    CHECK(fit_lines_and_arcs(doubled, {.tolerance_mm = 0.1}).loop.vertices.size() == count);
    const Loop turned = moved(Region{section, {}}, 1, {500, -200}).outer;
    CHECK(fit_lines_and_arcs(turned).loop.vertices.size() == count);
}

TEST_CASE("five thousand points take milliseconds", "[geom]") {
    const Loop section = naca_section(1200, 0.15, 2500);
    const auto start = std::chrono::steady_clock::now();
    const FitResult fit = fit_lines_and_arcs(section);
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    INFO(fit.loop.vertices.size() << " entities in " << took.count() << " s");
    CHECK(took.count() < 0.25);  // measured 0.006 s; loose, for loaded machines and sanitizers
    CHECK(fit.loop.vertices.size() < 60);
}

/// Corpus files: lines of "x y", a blank line ends the loop, '#' starts the story.
Loop read_corpus(const std::filesystem::path& path) {
    std::ifstream file(path);
    Loop loop;
    std::string line;
    while (std::getline(file, line)) {
        std::istringstream words(line);
        Vec2 p;
        if (line.rfind('#', 0) != 0 && words >> p.x >> p.y) loop.vertices.push_back({p, 0, CutKind::fit});
    }
    return loop;
}

TEST_CASE("corpus of chains, also turned and doubled", "[geom]") {
    std::size_t count = 0;
    for (const char* name : {"hairpin", "spiral", "slow-bend", "spike"}) {
        const Loop chain = read_corpus(std::string(CRADLEWRIGHT_SOURCE_DIR) + "/tests/corpus/regions/" + name + ".txt");
        REQUIRE(chain.vertices.size() >= 3);
        ++count;
        check_fit(chain);
        check_fit(moved(Region{chain, {}}, 0.9, {12, 7}).outer);
        Loop doubled = chain;
        for (PathVertex& v : doubled.vertices) v.at = v.at * 2;
        check_fit(doubled);
        const double united = area_of(unite({flatten(chain, 0.01)}));
        CHECK(united == Approx(std::abs(area_of(chain))).epsilon(1e-6));
    }
    CHECK(count == 4);
}

}  // namespace
}  // namespace cradlewright
