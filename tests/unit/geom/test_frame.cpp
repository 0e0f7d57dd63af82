// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/frame.hpp"

using namespace cradlewright;

namespace {

// A handful of roundings on numbers of the size used here.
constexpr double rounding = 1e-12;

void check_near(Vec3 a, Vec3 b, double tolerance = rounding) { CHECK(norm(a - b) <= tolerance); }

void check_is_right_handed_orthonormal(const Frame3& f) {
    check_near(cross(f.x, f.y), f.z);
    CHECK(std::abs(norm(f.x) - 1) <= rounding);
    CHECK(std::abs(norm(f.y) - 1) <= rounding);
    CHECK(std::abs(dot(f.x, f.y)) <= rounding);
}

Frame3 any_frame() {
    Frame3 f = compose(rotation_about({1, 2, 3}, 0.7), rotation_about({-2, 1, 0.5}, 2.1));
    f.origin = {10, -20, 30};
    return f;
}

const Vec3 any_point{1.5, -2.25, 7};

}  // namespace

TEST_CASE("a frame takes points and directions there and back", "[geom][frame]") {
    const Frame3 f = any_frame();
    check_is_right_handed_orthonormal(f);
    check_near(f.to_local(f.to_parent(any_point)), any_point);
    check_near(f.direction_to_local(f.direction_to_parent(any_point)), any_point);
    check_near(f.to_parent(Vec2{2, 3}), f.to_parent(Vec3{2, 3, 0}));
    CHECK(f.to_parent(Vec3{}) == f.origin);
}

TEST_CASE("the matrix of a frame is the motion local to parent", "[geom][frame]") {
    const Frame3 f = any_frame();
    const auto m = f.matrix();
    const std::array<double, 4> p{any_point.x, any_point.y, any_point.z, 1};
    std::array<double, 4> image{};
    for (std::size_t row = 0; row < 4; ++row)
        for (std::size_t column = 0; column < 4; ++column) image[row] += m[row][column] * p[column];
    check_near({image[0], image[1], image[2]}, f.to_parent(any_point));
    CHECK(image[3] == 1);
}

TEST_CASE("compose places the inner frame in the outer one", "[geom][frame]") {
    const Frame3 outer = any_frame();
    Frame3 inner = rotation_about({0, 1, 1}, -1.3);
    inner.origin = {4, 5, 6};
    check_near(compose(outer, inner).to_parent(any_point), outer.to_parent(inner.to_parent(any_point)));
    check_is_right_handed_orthonormal(compose(outer, inner));
}

TEST_CASE("inverse undoes a motion", "[geom][frame]") {
    const Frame3 f = any_frame();
    check_near(inverse(f).to_parent(any_point), f.to_local(any_point));
    check_near(compose(inverse(f), f).to_parent(any_point), any_point);
}

TEST_CASE("rotation is right-handed", "[geom][frame]") {
    const double quarter = std::numbers::pi / 2;
    check_near(rotation_about({0, 0, 1}, quarter).to_parent(Vec3{1, 0, 0}), {0, 1, 0});
    check_near(rotation_about({1, 0, 0}, quarter).to_parent(Vec3{0, 1, 0}), {0, 0, 1});
    check_near(rotation_about({0, 1, 0}, quarter).to_parent(Vec3{0, 0, 1}), {1, 0, 0});
}

TEST_CASE("rotation keeps its axis, adds up, and does not depend on the axis' length", "[geom][frame]") {
    const Vec3 axis{3, -1, 2};
    check_near(rotation_about(axis, 1.1).to_parent(axis), axis);
    check_near(compose(rotation_about(axis, 0.4), rotation_about(axis, 0.7)).to_parent(any_point),
               rotation_about(axis, 1.1).to_parent(any_point));
    check_near(rotation_about(axis * 100, 1.1).to_parent(any_point), rotation_about(axis, 1.1).to_parent(any_point));
    CHECK_THROWS_AS(rotation_about({}, 1), Error);
}

TEST_CASE("frame_from_normal follows the hint where it can", "[geom][frame]") {
    const Vec3 origin{1, 2, 3}, normal{0.6, 0, 0.8};
    const Frame3 f = frame_from_normal(origin, normal, {1, 0, 0});
    check_is_right_handed_orthonormal(f);
    check_near(f.origin, origin);
    check_near(f.z, normal);
    check_near(f.x, {0.8, 0, -0.6});
}

TEST_CASE("frame_from_normal stays square for useless hints", "[geom][frame]") {
    const Vec3 normal = normalized(Vec3{0.3, -0.5, 0.8});
    for (const Vec3 hint :
         {Vec3{}, normal, -normal, normal * 1e6, normal + Vec3{1e-9, 0, 0}, normal + Vec3{1e-5, 0, 0}}) {
        const Frame3 f = frame_from_normal({}, normal * 7, hint);
        check_is_right_handed_orthonormal(f);
        check_near(f.z, normal);
    }
    for (const Vec3 axis : {Vec3{1, 0, 0}, Vec3{0, -1, 0}, Vec3{0, 0, 1}})
        check_is_right_handed_orthonormal(frame_from_normal({}, axis, axis));
}
