// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <numbers>

#include "cradlewright/base/vec.hpp"
#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/mesh.hpp"

/// \file Demo plugs with a known closed form, and the wear and tear that turns them into something like a scan.
/// Every shape is given in its plug frame: X span, +Y front, +Z toward half 1, mm. Angles in rad.
namespace cradlewright::demo {

enum class Triangulation {
    regular,    ///< even grid, alternating diagonals
    irregular,  ///< grid points moved within the surface, diagonals drawn by lot
    shuffled,   ///< irregular, then triangles, corners and vertices renumbered
};

/// Things that go wrong in scanning. Each is a count; places are drawn from the seed.
struct Defects {
    int holes = 0;       ///< round patches left out
    int strays = 0;      ///< small closed shells beside the plug
    int flipped = 0;     ///< round patches turned inside out
    int duplicates = 0;  ///< triangles that occur twice
};

/// How the surface is turned into triangles. Applied in this order: scale, noise, defects, numbering, pose.
struct ScanOptions {
    std::size_t triangles = 40000;  ///< wanted; the grid that comes nearest is taken
    Triangulation triangulation = Triangulation::irregular;
    double scale = 1;
    double noise_mm = 0;  ///< standard deviation of a shift along the vertex normal, after scaling
    Defects defects;
    Frame3 pose;  ///< plug frame -> scan frame
    std::uint32_t seed = 1;
};

/// A 4-digit section, lengths as fractions of the chord, tail open as published.
/// Source: C. Ladson, C. Brooks, A. Hill, D. Sproles, NASA TM-4741 (1996); E. Jacobs, K. Ward, R. Pinkerton, NACA
/// Report 460 (1933).
struct FoilSection {
    double camber = 0, camber_place = 0, thickness = 0;
};
/// Section of four digits, 4415 -> camber 0.04 at 0.4, thickness 0.15. Precondition: 1 <= digits <= 9999.
FoilSection naca_section(int digits);
enum class FoilSide { upper, lower };
/// Half thickness square to the camber line at x in [0, 1].
double half_thickness(const FoilSection& section, double x);
/// Point of the surface at camber station x, chord 1, nose at the origin, tail toward +x.
Vec2 section_point(const FoilSection& section, double x, FoilSide side);
/// Camber station at which the section is `thickness` thick, on the tail side. Precondition: 0 < thickness < section's.
/// Guarantees: at most 1 (a tail that is already thicker is not cut).
double tail_cut(const FoilSection& section, double thickness);
/// Area of the section from the nose to the cut `x_cut`, chord 1: integral of the thickness along the camber line,
/// exact for a thickness laid off square to it (derived: the curvature terms of the two sides cancel).
double section_area(const FoilSection& section, double x_cut);

/// One section of a lofted foil in its place.
struct FoilStation {
    double x_mm = 0;
    double chord_mm = 0;   ///< of the published section, before the tail is cut off
    double twist_rad = 0;  ///< about X, positive lifts the nose
    double nose_y_mm = 0;  ///< nose before the twist; the twist turns about y = z = 0
};

/// Small wind-turbine blade: taper, twist, cambered section with its convex side down (half 2), tail cut off square to
/// the camber line where it is `tail_mm` thick, leaning ends.
struct Blade {
    FoilSection section = naca_section(4415);
    double span_mm = 900;
    double root_chord_mm = 140, tip_chord_mm = 60;
    double root_twist_rad = -13 * std::numbers::pi / 180, tip_twist_rad = -4 * std::numbers::pi / 180;
    double pitch_axis = 0.3;  ///< fraction of the chord that lies in front of the twist axis
    double tail_mm = 2.5;
    double end_lean_rad = 5 * std::numbers::pi / 180;  ///< draft of each end toward either half, square to its ridge
    double ridge_u = -1;  ///< the tail's corner at which the ridges end: the tail faces half 1, so on half 2's side
};
/// Dinghy daggerboard lying on its side: parallel planform, lower front corner rounded, squared tail, leaning
/// ends.
struct Daggerboard {
    FoilSection section = naca_section(12);
    double length_mm = 700, chord_mm = 220;
    double corner_radius_mm = 110;
    double corner_arc_rad = 60 * std::numbers::pi / 180;  ///< how far round the corner goes before the end
    double tail_mm = 3;
    double end_lean_rad = 5 * std::numbers::pi / 180;  ///< as the blade's
    double ridge_u = 1;  ///< the nose is lifted, so the tail faces half 2 and the ridges end on half 1's side
};
/// Station at v in [0, 1], root or head to tip.
FoilStation station(const Blade& blade, double v);
FoilStation station(const Daggerboard& board, double v);
/// Skin of the loft, before its ends are leant. u in [-1, 0]: convex side (-Z) from tail to nose; [0, 1]: other side,
/// nose to tail; [1, 2]: the squared tail back to u = -1. The section's upper side is the -Z one.
Vec3 surface_point(const Blade& blade, double u, double v);
Vec3 surface_point(const Daggerboard& board, double u, double v);
enum class FoilEnd { root, tip };
/// Two planes through a ridge from the nose to a corner of the tail, leaning back by end_lean_rad to either side, so
/// that both halves draft there. The skin ends where it meets them.
struct LeaningEnd {
    Vec3 nose, tail;          ///< ends of the ridge, in the square end plane
    Vec3 across;              ///< unit, square to ridge and X, toward half 1
    Vec3 normal_1, normal_2;  ///< outward normals of the planes that belong to half 1 and half 2
};
LeaningEnd leaning_end(const Blade& blade, FoilEnd which);
LeaningEnd leaning_end(const Daggerboard& board, FoilEnd which);
/// Section area square to X, where the ends do not cut into the section, and volume of the whole; quadrature to about
/// 1e-9.
double section_area_mm2(const Blade& blade, double v);
double section_area_mm2(const Daggerboard& board, double v);
double volume_mm3(const Blade& blade);
double volume_mm3(const Daggerboard& board);
/// Where the nose turns away from a pull without x component: in a loft of sections square to X, the normal's part in
/// the section is the section's own normal, so the place follows from the section alone (derived). Precondition: pull
/// is square to X and within 60 deg of Z.
Vec3 nose_silhouette(const Blade& blade, double v, Vec3 pull);
Vec3 nose_silhouette(const Daggerboard& board, double v, Vec3 pull);

/// Kayak seat: a saddle-shaped dish on top, its rim rolled over into a lip of constant draft that ends open in the
/// plane z = 0. Front and back differ in plan and height. One open sheet.
struct Seat {
    double front_mm = 188, back_mm = 158;  ///< crest from the origin along +X and -X, at height crest_mm
    double half_width_mm = 150;
    double exponent = 2.4;  ///< of the superellipse in plan
    double bottom_mm = 48;  ///< height of the dish's lowest place
    double crest_mm = 101, saddle_mm = 13,
           tail_rise_mm = 6;  ///< crest height = crest + saddle cos 2a - tail_rise cos a
    double roll_mm = 12;      ///< radius of the rolled rim
    double lip_draft_rad = 5 * std::numbers::pi / 180;
};
/// Height of the crest at plan angle a (0 = +X).
double crest_height(const Seat& seat, double a);
/// The sheet: w in [0, 1] from the middle of the dish to the crest, [1, 2] round the roll, [2, 3] down the lip.
Vec3 surface_point(const Seat& seat, double a, double w);

/// Duct scoop: a raised mouth on a spreading foot with a D-shaped opening right through. Topologically a ring. Closed
/// cubic B-spline of control rings in w; stretches of it are straight, so their slopes are exact.
struct Scoop {
    double front_lean_rad = 12 * std::numbers::pi / 180;    ///< front wall overhangs by this: locked above the foot
    double back_lean_rad = 20 * std::numbers::pi / 180;     ///< back wall's draft
    double opening_draft_rad = 7 * std::numbers::pi / 180;  ///< opening widens upward by this, at the sides about
};
/// a = angle round the opening (0 = front, +X), w in [0, 1) round the wall: bottom outward, foot, outer wall, lip,
/// inner wall.
Vec3 surface_point(const Scoop& scoop, double a, double w);
/// Range of w in which the outer wall (first) or the inner wall (second) is straight.
struct Stretch {
    double from = 0, to = 0;
};
Stretch outer_wall(const Scoop& scoop);
Stretch inner_wall(const Scoop& scoop);

/// Triangles of a plug, oriented outward, closed but for the seat.
/// Guarantees: same options, same mesh, on any machine up to the last bit of sin, cos and log.
/// Cost: O(triangles); a blade of 5 million takes seconds.
TriMesh make_scan(const Blade& blade, const ScanOptions& options = {});
TriMesh make_scan(const Daggerboard& board, const ScanOptions& options = {});
TriMesh make_scan(const Seat& seat, const ScanOptions& options = {});
TriMesh make_scan(const Scoop& scoop, const ScanOptions& options = {});

/// Binary STL, little-endian, 84 + 50 n bytes, normals from the corners. Errors: Error(io).
/// Source: M. Burns, "Automated Fabrication" (1993), section 6.5 [from memory].
void write_stl(const TriMesh& mesh, const std::filesystem::path& path);

}  // namespace cradlewright::demo
