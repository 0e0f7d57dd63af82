// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <string>

#include "cradlewright/geom/frame.hpp"
#include "cradlewright/stages/plug.hpp"

namespace cradlewright {

/// Where the plug stands. The mesh is never rotated: everything is computed through these frames.
struct Pose {
    Frame3 plug_in_scan;     ///< plug frame -> scan frame (x span, y front, z up; origin of the contract)
    Frame3 scan_to_fixture;  ///< scan frame -> fixture frame: to_parent maps a scan point into the fixture
    Vec3 pull_scan, pull_plug, pull_fixture;     ///< unit, half 1 leaves along it
    Vec3 pull2_scan, pull2_plug, pull2_fixture;  ///< unit, half 2 leaves along it; the opposite unless told
    double tilt_rad = 0, turn_rad = 0;
    std::string up_from, span_from, pull_from, pull2_from;  ///< "told", "found: ..."

    [[nodiscard]] Vec3 to_fixture(Vec3 scan_point) const { return scan_to_fixture.to_parent(scan_point); }
    [[nodiscard]] Vec3 to_scan(Vec3 fixture_point) const { return scan_to_fixture.to_local(fixture_point); }
    [[nodiscard]] Vec3 direction_to_scan(Vec3 fixture_dir) const {
        return scan_to_fixture.direction_to_local(fixture_dir);
    }
    /// In which a half, 1 or 2, leaves the plug; fixture frame.
    [[nodiscard]] Vec3 pull_of(int half) const { return half == 1 ? pull_fixture : pull2_fixture; }
    /// Half 2's pull is not the opposite of half 1's.
    [[nodiscard]] bool has_own_pull_2() const;
    /// By how much half 2's pull leans from the opposite of half 1's, rad.
    [[nodiscard]] double pulls_lean_rad() const;
    /// Unit: half 1's way relative to half 2 when each leaves along its own pull by the same length, their difference.
    /// It halves the angle between the pull and the opposite of half 2's. Fixture frame. Source: derived.
    [[nodiscard]] Vec3 opening_fixture() const;
};

/// The shared plug with its pose: a sweep over tilts copies no mesh.
struct PosedPlug {
    Plug plug;
    Pose pose;
    Box3 box_fixture;  ///< of the plug, fixture frame

    [[nodiscard]] const TriMesh& mesh() const { return *plug.mesh; }
};

/// Sets up the frames. Height: the plug's lowest point stands `clearance_mm` above z = 0 until the cradle fixes it.
/// `best` pull is resolved by find_release's best_pull and passed in as a vector.
/// `best` of half 2 is measured by measure_release and passed in as a vector; until then it is the opposite.
/// Errors: Error(bad_input) for axes that are parallel or unreadable, and for a pull of half 2 within 90 deg of half
/// 1's. Found axes: up and span are the axes of least and greatest spread of the surface; the scan axis nearest to each
/// is taken when within 15 deg. A free sign is the one with positive third moment of the surface.
PosedPlug pose_plug(const Plug& plug, const PoseOptions& options, double clearance_mm);
/// The same pose shifted up or down.
PosedPlug shifted(const PosedPlug& posed, double dz_mm);
/// Size of the plug's box in the fixture without its extensions. Cost: O(V) where it has some, else none.
Vec3 scanned_size(const PosedPlug& posed);
/// Reads "x" "-x" ... or "X,Y,Z" into a unit vector. Errors: Error(bad_input, place).
Vec3 parse_direction(const std::string& text, const std::string& place);

}  // namespace cradlewright
