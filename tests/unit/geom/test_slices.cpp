// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <numbers>
#include <numeric>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/slices.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double pi = std::numbers::pi;
// Sums over a few thousand points, relative to the size of what is summed.
constexpr double summing = 1e-11;

/// Planes square to x, seen from +x with y to the right.
const Frame3 along_x{{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};

Frame3 any_frame() {
    Frame3 f = compose(rotation_about({1, 2, 3}, 0.7), rotation_about({-1, 1, 0}, 0.4));
    f.origin = {1, -2, 0.5};
    return f;
}

struct Totals {
    double area = 0, length = 0;
};

Totals totals(const Slice& slice) {
    Totals t;
    for (const SliceLoop& loop : slice) {
        t.area += signed_area(loop.points);
        t.length += polyline_length(loop.points, loop.is_closed);
    }
    return t;
}

/// Independent slicer: every face by itself, the direction of its piece from its normal (material on the left means
/// walking along z x n), area and length as sums over pieces that are never joined.
Totals naive_totals(const TriMesh& mesh, const Frame3& frame, double height) {
    Totals t;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        std::array<Vec3, 3> c;
        for (std::size_t k = 0; k < 3; ++k) c[k] = frame.to_local(mesh.corners(f)[k]);
        std::vector<Vec2> cut;
        for (std::size_t k = 0; k < 3; ++k) {
            const Vec3 a = c[k], b = c[(k + 1) % 3];
            if ((a.z >= height) == (b.z >= height)) continue;
            const double s = (height - a.z) / (b.z - a.z);
            cut.push_back({a.x + s * (b.x - a.x), a.y + s * (b.y - a.y)});
        }
        if (cut.empty()) continue;
        REQUIRE(cut.size() == 2);
        const Vec3 n = area_vector(c);
        if (dot(cut[1] - cut[0], Vec2{-n.y, n.x}) < 0) std::swap(cut[0], cut[1]);
        t.area += cross(cut[0], cut[1]) / 2;
        t.length += norm(cut[1] - cut[0]);
    }
    return t;
}

void check_against_naive(const TriMesh& mesh, const Frame3& frame, const std::vector<double>& heights) {
    const auto slices = slice_mesh(mesh, frame, heights);
    REQUIRE(slices.size() == heights.size());
    const double size = norm(bounding_box(mesh).size());
    for (std::size_t k = 0; k < heights.size(); ++k) {
        INFO("height " << heights[k]);
        for (const SliceLoop& loop : slices[k]) {
            CHECK(loop.is_closed);
            CHECK(loop.points.size() >= 3);
            for (std::size_t i = 0; i < loop.points.size(); ++i)
                REQUIRE(loop.points[i] != loop.points[(i + 1) % loop.points.size()]);
        }
        const Totals expected = naive_totals(mesh, frame, heights[k]), found = totals(slices[k]);
        CHECK(std::abs(found.area - expected.area) <= summing * size * size);
        // Two-point loops that are left out are ridges, which the naive slicer counts there and back.
        CHECK(found.length <= expected.length + summing * size);
        if (std::abs(expected.area) > summing * size * size)
            CHECK(std::abs(found.length - expected.length) <= summing * size);
    }
}

/// Planes through every vertex' height, and between them.
std::vector<double> critical_heights(const TriMesh& mesh, const Frame3& frame, std::size_t most) {
    std::vector<double> all;
    for (const Vec3 v : mesh.vertices) all.push_back(dot(frame.z, v - frame.origin));
    std::sort(all.begin(), all.end());
    all.erase(std::unique(all.begin(), all.end()), all.end());
    std::vector<double> heights;
    const std::size_t step = std::max<std::size_t>(1, all.size() / most);
    for (std::size_t i = 0; i < all.size(); i += step) {
        heights.push_back(all[i]);
        if (i > 0) heights.push_back((all[i - 1] + all[i]) / 2);
    }
    heights.push_back(all.back());
    heights.push_back(all.front() - 1);
    heights.push_back(all.back() + 1);
    return heights;
}

double longest_edge(const TriMesh& mesh) {
    double longest = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(f);
        longest = std::max({longest, norm(c[1] - c[0]), norm(c[2] - c[1]), norm(c[0] - c[2])});
    }
    return longest;
}

}  // namespace

TEST_CASE("slices of a sphere are circles of radius sqrt(R^2 - h^2)", "[geom][slices]") {
    const double r = 100;
    const TriMesh mesh = shuffled(make_sphere(r, 6), 1);
    const double sag = chord_sag(mesh, r);
    const std::vector<double> heights{-95, -50, 0, 12.5, 50, 99};
    const auto slices = slice_mesh(mesh, any_frame(), heights);
    const Vec3 center = any_frame().to_local(Vec3{});
    for (std::size_t k = 0; k < heights.size(); ++k) {
        REQUIRE(slices[k].size() == 1);
        const double h = heights[k] - center.z;
        const double largest = std::sqrt(r * r - h * h), least = std::sqrt((r - sag) * (r - sag) - h * h);
        for (const Vec2 p : slices[k][0].points) {
            REQUIRE(norm(p - Vec2{center.x, center.y}) <= largest + 1e-12 * r);
            REQUIRE(norm(p - Vec2{center.x, center.y}) >= least);
        }
        CHECK(signed_area(slices[k][0].points) > pi * least * least * (1 - 1e-3));
    }
}

TEST_CASE("slices of a cone are regular polygons that shrink with height", "[geom][slices]") {
    const int n = 60;
    const double r = 40, height = 90;
    const TriMesh mesh = shuffled(make_cone(r, 0, height, n), 2);
    const std::vector<double> heights{1, 30, 45, 89.999};
    const auto slices = slice_mesh(mesh, Frame3{}, heights);
    for (std::size_t k = 0; k < heights.size(); ++k) {
        REQUIRE(slices[k].size() == 1);
        const double at = r * (1 - heights[k] / height);
        REQUIRE(slices[k][0].points.size() == static_cast<std::size_t>(n));
        for (const Vec2 p : slices[k][0].points) CHECK(norm(p) == Approx(at).epsilon(1e-9));
        CHECK(signed_area(slices[k][0].points) == Approx(n / 2.0 * at * at * std::sin(2 * pi / n)).epsilon(1e-9));
    }
}

TEST_CASE("a NACA 0012 prism shows the published ordinates", "[geom][slices]") {
    // Percent of chord; Abbott, von Doenhoff, Stivers, NACA Report 824 (1945), three decimals as printed.
    const std::vector<std::pair<double, double>> published{
        {1.25, 1.894}, {2.5, 2.615}, {5, 3.555},  {7.5, 4.200}, {10, 4.683}, {15, 5.345}, {20, 5.737}, {25, 5.941},
        {30, 6.002},   {40, 5.803},  {50, 5.294}, {60, 4.563},  {70, 3.664}, {80, 2.623}, {90, 1.448}, {95, 0.807}};
    const double chord = 100;
    const int n = 4000;
    const auto slices = slice_mesh(make_naca_prism(12, chord, 300, n, 2), along_x, std::vector{111.0});
    REQUIRE(slices[0].size() == 1);
    const auto& points = slices[0][0].points;
    const auto half_thickness = [&](double y) {
        double highest = 0;
        for (std::size_t i = 0; i < points.size(); ++i) {
            const Vec2 a = points[i], b = points[(i + 1) % points.size()];
            if ((a.x > y) != (b.x > y)) highest = std::max(highest, a.y + (b.y - a.y) * (y - a.x) / (b.x - a.x));
        }
        return highest;
    };
    for (const auto& [x, ordinate] : published) {
        INFO("x = " << x << " %");
        // The table's tail is open; closing it takes 5 t (0.1036 - 0.1015) x^4 off (NASA TM-4741).
        const double closing = 100 * 5 * 0.12 * (0.1036 - 0.1015) * std::pow(x / 100, 4);
        const double last_digit = 1e-3;  // the table cuts 5.7375 to 5.737
        CHECK(half_thickness(chord * (0.5 - x / 100)) + closing == Approx(ordinate).epsilon(0).margin(last_digit));
    }
    CHECK(section_properties(slices[0]).area_mm2 ==
          Approx((0.0822100 - 2 * 5 * 0.12 * 0.0021 / 5) * chord * chord).epsilon(1e-5));
}

TEST_CASE("a plane on a box' face counts the face as just above", "[geom][slices]") {
    const TriMesh box = make_box({4, 6, 10});
    const auto slices = slice_mesh(box, Frame3{}, std::vector{-5.0, -4.9, 0.0, 5.0, 5.1});
    const std::vector<double> areas{0, 24, 24, 24, 0};  // at -5 all is above; at 5 the walls are still cut
    for (std::size_t k = 0; k < areas.size(); ++k) {
        CHECK(slices[k].size() == (areas[k] > 0 ? 1u : 0u));
        CHECK(totals(slices[k]).area == Approx(areas[k]));
    }
}

TEST_CASE("slices agree with an independent slicer, also through vertices, edges and faces", "[geom][slices]") {
    const std::vector<TriMesh> meshes{make_box({4, 6, 10}),
                                      make_sphere(10, 3),
                                      make_torus(20, 7, 24, 16),
                                      make_pyramid(10, 0, 8),
                                      make_cone(10, 4, 15, 24),
                                      make_elliptic_cylinder(8, 5, 30, 32, 4),
                                      make_naca_prism(2412, 100, 200, 40, 3),
                                      with_noise(make_sphere(10, 4), 0.05, 3)};
    const std::vector<Frame3> frames{Frame3{}, along_x, rotation_about({1, 0, 0}, pi / 2), any_frame()};
    for (std::size_t m = 0; m < meshes.size(); ++m)
        for (std::size_t f = 0; f < frames.size(); ++f) {
            INFO("mesh " << m << ", frame " << f);
            check_against_naive(meshes[m], frames[f], critical_heights(meshes[m], frames[f], 60));
            check_against_naive(shuffled(meshes[m], 5), frames[f], critical_heights(meshes[m], frames[f], 20));
        }
}

TEST_CASE("a plane through a ridge or a pole from below leaves nothing", "[geom][slices]") {
    const TriMesh sphere = make_sphere(10, 4);
    for (const double pole : {-10.0, 10.0}) CHECK(slice_mesh(sphere, Frame3{}, std::vector{pole})[0].empty());
    TriMesh roof = make_box({4, 6, 2});
    for (Vec3& v : roof.vertices)
        if (v.z > 0) v.x = 0;
    CHECK(slice_mesh(roof, Frame3{}, std::vector{1.0})[0].empty());
    CHECK(totals(slice_mesh(roof, Frame3{}, std::vector{0.0})[0]).area == Approx(2 * 6));
}

TEST_CASE("heights come in any order, repeat, and answer in the order asked", "[geom][slices]") {
    const TriMesh mesh = make_sphere(10, 4);
    std::vector<double> heights{3, -7, 3, 9.5, -11, 0, 3, 1e-300, -0.0};
    const auto together = slice_mesh(mesh, any_frame(), heights);
    for (std::size_t k = 0; k < heights.size(); ++k) {
        const auto alone = slice_mesh(mesh, any_frame(), std::span(heights).subspan(k, 1))[0];
        REQUIRE(alone.size() == together[k].size());
        for (std::size_t i = 0; i < alone.size(); ++i) CHECK(alone[i].points == together[k][i].points);
    }
    CHECK(slice_mesh(mesh, Frame3{}, {}).empty());
    CHECK(slice_mesh(TriMesh{}, Frame3{}, heights).size() == heights.size());
    CHECK_THROWS_AS(slice_mesh(mesh, Frame3{}, std::vector{std::numeric_limits<double>::quiet_NaN()}), Error);
}

TEST_CASE("planes crowded together and far apart are told apart", "[geom][slices]") {
    const TriMesh mesh = make_cone(40, 0, 90, 12);
    std::vector<double> heights{-1e12, 1e12, 10, std::nextafter(10.0, 11.0), std::nextafter(10.0, 9.0)};
    for (int i = 0; i < 500; ++i) heights.push_back(20 + 1e-9 * i);
    check_against_naive(mesh, Frame3{}, heights);
}

TEST_CASE("holes run clockwise", "[geom][slices]") {
    const double major = 20, minor = 7;
    const auto slice = slice_mesh(shuffled(make_torus(major, minor, 300, 200), 6), Frame3{}, std::vector{0.01})[0];
    REQUIRE(slice.size() == 2);
    std::vector<double> areas{signed_area(slice[0].points), signed_area(slice[1].points)};
    std::sort(areas.begin(), areas.end());
    const double chord_error = 1e-3;  // 300 chords: 1 - sin(a) / a = 7e-5; height 0.01 off the equator far less
    CHECK(areas[0] == Approx(-pi * (major - minor) * (major - minor)).epsilon(chord_error));
    CHECK(areas[1] == Approx(pi * (major + minor) * (major + minor)).epsilon(chord_error));
}

TEST_CASE("a subset of faces gives open chains with material on the left", "[geom][slices]") {
    const double r = 10;
    const TriMesh mesh = shuffled(make_sphere(r, 4), 8);
    std::vector<FaceId> right;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(f);
        if (std::min({c[0].x, c[1].x, c[2].x}) >= 0) right.push_back(f);
    }
    const auto slice = slice_mesh(mesh, Frame3{}, std::vector{3.3}, right)[0];
    REQUIRE(slice.size() == 1);
    CHECK_FALSE(slice[0].is_closed);
    // Counter-clockwise round the sphere: from -y over +x to +y, close to half the circle.
    const auto& points = slice[0].points;
    CHECK(points.front().y < 0);
    CHECK(points.back().y > 0);
    const double half = pi * std::sqrt(r * r - 3.3 * 3.3);
    CHECK(polyline_length(points, false) < half);
    CHECK(polyline_length(points, false) > half - 2 * longest_edge(mesh));

    std::vector<FaceId> all(mesh.face_count());
    std::iota(all.begin(), all.end(), 0u);
    const auto whole = slice_mesh(mesh, Frame3{}, std::vector{3.3}),
               listed = slice_mesh(mesh, Frame3{}, std::vector{3.3}, all);
    CHECK(whole[0][0].points == listed[0][0].points);
}

TEST_CASE("slices do not depend on face order; renumbering, moving and doubling change nothing else",
          "[geom][slices]") {
    const TriMesh mesh = with_noise(make_torus(20, 7, 60, 40), 0.02, 1);
    const std::vector<double> heights{-5, -1, 0, 2.5, 6};
    const auto expected = slice_mesh(mesh, any_frame(), heights);

    TriMesh reordered = mesh;
    std::reverse(reordered.triangles.begin(), reordered.triangles.end());
    for (Triangle& t : reordered.triangles) std::rotate(t.begin(), t.begin() + 1, t.end());
    const auto again = slice_mesh(reordered, any_frame(), heights);

    Frame3 motion = rotation_about({3, 1, -2}, 1.9);
    motion.origin = {100, 50, -70};
    const auto moved = slice_mesh(placed(mesh, motion), compose(motion, any_frame()), heights);

    TriMesh big = shuffled(mesh, 4);
    for (Vec3& v : big.vertices) v = v * 2;
    Frame3 big_frame = any_frame();
    big_frame.origin = big_frame.origin * 2;
    std::vector<double> big_heights;
    for (const double h : heights) big_heights.push_back(2 * h);
    const auto doubled = slice_mesh(big, big_frame, big_heights);

    for (std::size_t k = 0; k < heights.size(); ++k) {
        REQUIRE(again[k].size() == expected[k].size());
        for (std::size_t i = 0; i < again[k].size(); ++i) CHECK(again[k][i].points == expected[k][i].points);
        const Totals t = totals(expected[k]);
        CHECK(totals(moved[k]).area == Approx(t.area).epsilon(1e-10));
        CHECK(totals(moved[k]).length == Approx(t.length).epsilon(1e-10));
        CHECK(totals(doubled[k]).area == Approx(4 * t.area).epsilon(summing));
        CHECK(totals(doubled[k]).length == Approx(2 * t.length).epsilon(summing));
    }
}

TEST_CASE("section properties of an ellipse", "[geom][slices]") {
    // pi a b, pi/4 a b^3, pi/4 a^3 b for half-axes a in x, b in y.
    const double a = 40, b = 30;
    const int n = 2000;
    const auto slice = slice_mesh(make_elliptic_cylinder(a, b, 100, n, 1), along_x, std::vector{10.0})[0];
    const SectionProperties p = section_properties(slice);
    const double chord_error =
        4 * pi * pi / (n * n);  // leading term 2/3 pi^2 / n^2 in the area, twice that in the moments
    CHECK(p.area_mm2 == Approx(pi * a * b).epsilon(chord_error));
    CHECK(p.ixx_mm4 == Approx(pi / 4 * a * b * b * b).epsilon(chord_error));
    CHECK(p.iyy_mm4 == Approx(pi / 4 * a * a * a * b).epsilon(chord_error));
    CHECK(std::abs(p.ixy_mm4) < 1e-9 * p.ixx_mm4);
    CHECK(norm(p.centroid) < 1e-9);
}

TEST_CASE("section properties subtract holes, wherever the section lies", "[geom][slices]") {
    const Vec2 at{1000, -400};
    const auto rectangle = [&](Vec2 center, double w, double h) {
        return std::vector<Vec2>{center + Vec2{-w / 2, -h / 2}, center + Vec2{w / 2, -h / 2},
                                 center + Vec2{w / 2, h / 2}, center + Vec2{-w / 2, h / 2}};
    };
    auto hole = rectangle(at + Vec2{5, 0}, 4, 6);
    std::reverse(hole.begin(), hole.end());
    const Slice slice{{rectangle(at, 20, 10), true}, {hole, true}, {{{0, 0}, {5000, 5000}}, false}};
    const SectionProperties p = section_properties(slice);
    const double outer = 200, inner = 24;
    CHECK(p.area_mm2 == Approx(outer - inner));
    const double shift = -inner * 5 / (outer - inner);
    CHECK(p.centroid.x == Approx(at.x + shift));
    CHECK(p.centroid.y == Approx(at.y));
    CHECK(p.ixx_mm4 == Approx(20 * 1000 / 12.0 - 4 * 216 / 12.0).epsilon(1e-9));
    CHECK(p.iyy_mm4 ==
          Approx(10 * 8000 / 12.0 + outer * shift * shift - 6 * 64 / 12.0 - inner * (5 - shift) * (5 - shift))
              .epsilon(1e-9));
    CHECK(section_properties({}).area_mm2 == 0);
}

TEST_CASE("the product of inertia has the sign of the quadrants filled", "[geom][slices]") {
    // Right triangle with legs b, h at the origin: Ixy = -b^2 h^2 / 72 about its centroid (standard tables).
    const double b = 6, h = 4;
    const Slice slice{{{{0, 0}, {b, 0}, {0, h}}, true}};
    const SectionProperties p = section_properties(slice);
    CHECK(p.ixy_mm4 == Approx(-b * b * h * h / 72));
    CHECK(p.ixx_mm4 == Approx(b * h * h * h / 36));
    CHECK(p.iyy_mm4 == Approx(h * b * b * b / 36));
}

TEST_CASE("second moments turn with the section", "[geom][slices]") {
    // Rectangle w x h turned by a: I along its sides w^3 h / 12 and w h^3 / 12, turned by Mohr's circle.
    const double w = 12, h = 5, a = 0.4;
    const Vec2 along{w / 2 * std::cos(a), w / 2 * std::sin(a)}, across{-h / 2 * std::sin(a), h / 2 * std::cos(a)};
    const Slice slice{{{-along - across, along - across, along + across, -along + across}, true}};
    const SectionProperties p = section_properties(slice);
    const double large = w * w * w * h / 12, small = w * h * h * h / 12;
    CHECK(p.ixy_mm4 == Approx((large - small) / 2 * std::sin(2 * a)));
    CHECK(p.iyy_mm4 == Approx((large + small) / 2 + (large - small) / 2 * std::cos(2 * a)));
    CHECK(p.ixx_mm4 == Approx((large + small) / 2 - (large - small) / 2 * std::cos(2 * a)));
}
