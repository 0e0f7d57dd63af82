// SPDX-License-Identifier: GPL-3.0-or-later
// Held against curved surfaces' own laws. Wefts leave the warp square; between two of them, w to either side of a dart,
// the net keeps its width while geodesics draw together by K, so each bends outward by K w and at v from the warp
// stands K w v^2 / 2 past the dart: lips lap by K w v^2, and part by as much where K < 0. Source: derived, to the order
// of (v / R)^2 of it; Chebyshev's equation gives the shear.
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

#include "stages/piece_net.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using Catch::Detail::Approx;

namespace {

constexpr double half_mm = 60, cell_mm = 3;

TriMesh over_square(const std::function<double(double x, double y)>& height) {
    constexpr int count = 80;
    TriMesh mesh;
    for (int b = 0; b <= count; ++b)
        for (int a = 0; a <= count; ++a) {
            const double x = half_mm * (2.0 * a / count - 1), y = half_mm * (2.0 * b / count - 1);
            mesh.vertices.push_back({x, y, height(x, y)});
        }
    for (VertexId b = 0; b < count; ++b)
        for (VertexId a = 0; a < count; ++a) {
            const VertexId v = b * (count + 1) + a;
            mesh.triangles.push_back({v, v + 1, v + count + 2});
            mesh.triangles.push_back({v, v + count + 2, v + count + 1});
        }
    return mesh;
}

PieceNet slit(const NetSurface& surface, double middle_z, int darts) {
    NetOptions options;
    options.start = {0, 0, middle_z};
    options.warp = {1, 0, 0};
    options.cell_mm = cell_mm;
    return PieceNet::lay(surface, options).slit(surface, options, darts);
}

}  // namespace

TEST_CASE("darts on a dome lap as its curvature says", "[stages][layup]") {
    const double radius = GENERATE(150.0, 220.0);
    const int darts = GENERATE(1, 2);
    CAPTURE(radius, darts);
    const TriMesh dome = over_square([=](double x, double y) { return std::sqrt(radius * radius - x * x - y * y); });
    const NetSurface surface(dome);
    const PieceNet whole = slit(surface, radius, 0), net = slit(surface, radius, darts);
    REQUIRE(net.strip_count() == darts + 1);
    const Polygons flat = net.outline(1.4);
    const std::vector<Dart> found = net.darts(flat, 25);
    REQUIRE(found.size() == std::size_t(2 * darts));
    CHECK(whole.darts(flat, 25).empty());
    const double along = 2 * radius * std::asin(half_mm / radius);  // of the spine, its warp a great circle
    for (const Dart& dart : found) {
        CHECK(dart.opens_mm < 0.1);
        CHECK(dart.tip.x == dart.edge.x);
        CHECK(std::abs(dart.tip.y) < std::abs(dart.edge.y));
        // The last row of nodes that stands on both strips lies within a cell of the edge.
        const double w = along / (darts + 1) / 2, v = std::abs(dart.edge.y);
        const double law = w * v * v / (radius * radius);
        CHECK(dart.lap_mm < 1.1 * law);
        CHECK(dart.lap_mm > 0.85 * law * std::pow(1 - 1.5 * cell_mm / v, 2));
        // Half of what laps further than told is cut from either lip.
        const double told = 0.3 * law;
        for (const Dart& cut : net.darts(flat, told)) {
            if (cut.edge != dart.edge) continue;
            const Box2 box = bounding_box({make_loop(cut.wedge, CutKind::rough), {}});
            CHECK(box.size().x == Approx(law - told).epsilon(0.25));
            CHECK(cut.wedge.front().x == Approx(cut.tip.x));
            const double begins = radius * std::sqrt(told / w);
            CHECK(std::abs(cut.wedge.front().y) == Approx(begins).margin(2 * cell_mm));
        }
        // And the tip where they part by dart_tip_mm.
        const double tip = radius * std::sqrt(dart_tip_mm / w);
        CHECK(std::abs(dart.tip.y) == Approx(tip).margin(2.5 * cell_mm));
        CHECK(norm(dart.tip_at - net.place_on(dart.tip)) < 0.5 * dart_tip_mm + 1e-9);
    }
    // A strip shears as a net of its own width would: w v / R^2 at its corner, not the whole's width.
    CHECK(net.worst(1.4).first < 1.15 * whole.worst(1.4).first / (darts + 1));
    CHECK(net.worst(1.4).first > 0.85 * whole.worst(1.4).first / (darts + 1));
}

TEST_CASE("darts on a saddle open as its curvature says", "[stages][layup]") {
    constexpr double radius = 250;  // of both bends at the middle, so K = -1 / R^2 there
    const TriMesh saddle = over_square([](double x, double y) { return (x * x - y * y) / (2 * radius); });
    const NetSurface surface(saddle);
    const PieceNet net = slit(surface, 0, 1);
    const std::vector<Dart> found = net.darts(net.outline(1.4), 25);
    REQUIRE(found.size() == 2);
    for (const Dart& dart : found) {
        const double v = std::abs(dart.edge.y);
        CHECK(dart.lap_mm < 0.1);
        CHECK(dart.opens_mm == Approx(half_mm / 2 * v * v / (radius * radius)).epsilon(0.25));
    }
}

TEST_CASE("what unrolls needs no dart", "[stages][layup]") {
    constexpr double radius = 90;
    const auto bend = GENERATE(
        std::function<double(double, double)>([](double, double y) { return std::sqrt(radius * radius - y * y); }),
        std::function<double(double, double)>([](double x, double y) {
            const double across = (x - y) / std::sqrt(2.0);
            return std::sqrt(radius * radius - across * across);
        }));
    const TriMesh sheet = over_square(bend);
    const NetSurface surface(sheet);
    const PieceNet net = slit(surface, radius, 3);
    CHECK(net.strip_count() == 4);
    const Polygons flat = net.outline(1.4);
    CHECK(net.darts(flat, 25).empty());
    CHECK(net.worst(1.4).first < 0.01);
    // Places on the cloth and back, on every strip.
    for (double x = -50; x <= 50; x += 10) {
        const Vec3 place = net.place_on({x, 20});
        const auto back = net.find(std::vector<Vec3>{place});
        REQUIRE(back.front());
        CHECK(norm(*back.front() - Vec2{x, 20}) < 0.3);
    }
}
