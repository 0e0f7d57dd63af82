// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

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

/// Moves every vertex along its normal by a normal deviate of the given standard deviation; same seed, same deviates.
TriMesh with_noise(TriMesh mesh, double sigma_mm, std::uint32_t seed);
/// Moved as a rigid body, local -> parent of `frame`.
TriMesh placed(TriMesh mesh, const Frame3& frame);
/// The same surface with triangle order, corner rotation and vertex numbering shuffled.
TriMesh shuffled(const TriMesh& mesh, std::uint32_t seed);

}  // namespace cradlewright::test
