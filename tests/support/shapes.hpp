// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/mesh.hpp"

/// Shapes with a known closed form, for tests. All closed, oriented outward, centred on the origin unless said
/// otherwise.
namespace cradlewright::test {

TriMesh make_box(Vec3 size);
/// Sphere by subdividing an octahedron `levels` times (8 * 4^levels faces), vertices on the sphere.
TriMesh make_sphere(double radius, int levels);
/// How far the deepest face of a make_sphere lies below the sphere: radius less the least distance of a face's plane
/// from the origin. The chord error of everything measured on it.
double chord_sag(const TriMesh& sphere, double radius);
TriMesh make_ellipsoid(Vec3 semi_axes, int levels);
/// Axis z. `nu` segments round the axis, `nv` round the tube.
TriMesh make_torus(double major, double minor, int nu, int nv);
/// Axis x, elliptic section (half-axes in y and z), flat ends; `n` segments round, `m` along.
TriMesh make_elliptic_cylinder(double half_y, double half_z, double length, int n, int m);
/// Axis z, base at z = 0.
TriMesh make_cone(double base_radius, double top_radius, double height, int n);
/// Square frustum: base and top side, height, base at z = 0.
TriMesh make_pyramid(double base, double top, double height);
/// Straight wing-like body of one NACA four-digit section (12 = "0012", 2412 = "2412") with closed tail: span along x
/// from 0, chord along y from nose +chord/2 to tail -chord/2, thickness along z; `n` (even) segments round in cosine
/// spacing, `m` along.
TriMesh make_naca_prism(int digits, double chord, double length, int n, int m);

/// Axis z: the polygon of points (radius, height) from the lower end of the axis to the upper one, turned round it;
/// `n` segments round, pieces of the profile no longer than `step_mm`. A place with a level normal anywhere on the
/// profile is a circle.
TriMesh make_lathe(const std::vector<Vec2>& profile, double step_mm, int n);
/// Points on an arc of the profile plane, both ends included.
std::vector<Vec2> profile_arc(Vec2 center, double radius, double from_rad, double to_rad, int pieces);
/// Plate with a round nose (+Y) and a cut-off tail (-Y): span along x, half a nose of radius thickness / 2, straight
/// sides that taper to a flat strip. Corners of the strip, closed form: (y, z) = (-chord / 2 + strip / 2 tan(lean),
/// strip / 2) and (-chord / 2 - strip / 2 tan(lean), -strip / 2): the strip's draft toward half 1 is `lean`.
struct CutOffPlate {
    double length = 240, chord = 120, thickness = 24, strip = 3, lean_rad = 0;
    int strip_rows = 6;    ///< quads across the strip
    double step_mm = 1.5;  ///< of all else
};
TriMesh make_cut_off_plate(const CutOffPlate& plate);
/// Every point lifted by height(x). The place of a level normal along z stays at the same points, since a shift along
/// the pull changes no column (derived: grad F(x, y, z - h(x)) has the z part of grad F).
template <class Height>
TriMesh lifted(TriMesh mesh, Height&& height) {
    for (Vec3& p : mesh.vertices) p.z += height(p.x);
    return mesh;
}
/// Every section square to x turned about the x axis by rate * x. The part of a surface's normal in such a section is
/// the section's own normal, so each turned section keeps its own contour along a pull square to x (derived).
TriMesh twisted(TriMesh mesh, double rate_rad_per_mm);

/// Moves every vertex along its normal by a normal deviate of the given standard deviation; same seed, same deviates.
TriMesh with_noise(TriMesh mesh, double sigma_mm, std::uint32_t seed);
/// Moved as a rigid body, local -> parent of `frame`.
TriMesh placed(TriMesh mesh, const Frame3& frame);
/// The same surface with triangle order, corner rotation and vertex numbering shuffled.
TriMesh shuffled(const TriMesh& mesh, std::uint32_t seed);

}  // namespace cradlewright::test
