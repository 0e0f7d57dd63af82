// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/geom/mesh.hpp"
#include "cradlewright/geom/mesh_repair.hpp"
#include "cradlewright/stages/extension.hpp"

namespace cradlewright {

/// Units a scan may be told to be in, and their mm.
inline constexpr std::array<std::pair<std::string_view, double>, 5> scan_units{
    {{"mm", 1}, {"cm", 10}, {"m", 1000}, {"in", 25.4}, {"ft", 304.8}}};

/// One line for a person who has to choose: what a box of this size in file units would be in each of scan_units.
std::string size_in_each_unit(Vec3 size);

/// A scan as read: triangles in mm, unit as told or as the format states it, never guessed.
struct ScanMesh {
    TriMesh soup;
    std::string name;        ///< file name without folder and ending
    std::string format;      ///< "stl-binary", "stl-ascii", "obj", "ply", "off", "3mf", "glb"
    double unit_factor = 1;  ///< mm per file unit, already applied
    std::string unit_from;   ///< "told", "format", "known length"
    std::string note;        ///< what a person should know about the reading, or empty
    TriMesh second{};        ///< the second scan, mm in its own frame, or empty; see PlugOptions::second_scan
};

/// How an open scan was completed, see PlugOptions::opening. Lengths in mm.
struct Completion {
    PlugOpening how = PlugOpening::keep;
    double mirror_move_mm = 0;    ///< of a point that was brought on to the mirror plane, the largest
    double points_rms_mm = 0;     ///< left between the told points of both scans
    double residual_mm = 0;       ///< root mean square distance of both scans where they overlap
    double overlap = 0;           ///< share of the second scan that lay on the first
    double widest_bridge_mm = 0;  ///< between their rims
    bool slides = false;          ///< the overlap leaves some motion open; the told points decided it
};

/// The plug: one mended shell. Shared read-only; no stage changes it.
struct Plug {
    std::string name;
    std::string note;                                      ///< see ScanMesh
    std::shared_ptr<const TriMesh> mesh;                   ///< scan frame, mm
    std::shared_ptr<const std::vector<FaceId>> adjacency;  ///< see face_adjacency
    RepairReport repair;
    MassProperties mass_properties;  ///< without a volume those of the surface without its assumed caps
    bool is_closed = true;           ///< no opening, not even a capped one
    /// Openings have a flat cap that nobody measured: what stands on the table plane needs one, also where it is kept
    /// open. Whether it counts as the plug's end is has_volume().
    bool has_assumed_cap = false;
    bool cap_is_told = false;  ///< PlugOpening::cap
    double mass_kg = 0;        ///< NaN without a volume
    double noise_mm = 0;
    Completion completion;
    double decimated_by_mm = 0;              ///< measured deviation; 0 when all triangles were kept
    std::vector<Extension> extensions;       ///< set on to its ends, see extend_plug
    std::shared_ptr<const Plug> unextended;  ///< the plug without them; null where this is it

    /// The plug as it was scanned: what is compared with the pattern itself, and what gives the frame.
    [[nodiscard]] const Plug& scanned() const { return unextended ? *unextended : *this; }
    /// Volume, centroid and sections mean something.
    [[nodiscard]] bool has_volume() const { return is_closed || (has_assumed_cap && cap_is_told); }
};

/// Mends the scan, completes it as PlugOptions::opening tells, and thins it out when told to. Its faces come out in an
/// order along a curve through space, patches and caps last. Errors: Error(bad_input) when nothing usable is left;
/// plug over 50 m or under 5 mm; a half that cannot be mirrored; two scans that do not meet or do not fit, with the
/// distance.
Plug mend_plug(ScanMesh scan, const PlugOptions& options);

/// The plug with another surface: adjacency, masses and what follows from the openings are found anew. Precondition:
/// that of face_adjacency.
Plug with_surface(Plug plug, TriMesh mesh, Density density);

/// The surface without what nobody measured, for PlugOpening::keep; otherwise the whole.
TriMesh kept_surface(const Plug& plug);

}  // namespace cradlewright
