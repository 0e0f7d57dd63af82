// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <memory>
#include <string>
#include <string_view>
#include <utility>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/geom/mesh.hpp"
#include "cradlewright/geom/mesh_repair.hpp"

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
};

/// The plug: one mended shell. Shared read-only; no stage changes it.
struct Plug {
    std::string name;
    std::string note;                                      ///< see ScanMesh
    std::shared_ptr<const TriMesh> mesh;                   ///< scan frame, mm
    std::shared_ptr<const std::vector<FaceId>> adjacency;  ///< see face_adjacency
    RepairReport repair;
    MassProperties mass_properties;
    bool is_closed = true;  ///< no opening, not even a capped one
    bool has_assumed_cap = false;
    double mass_kg = 0;  ///< NaN when volume means nothing
    double noise_mm = 0;
};

/// Mends the scan. Its faces come out in an order along a curve through space, patches and caps last. Errors:
/// Error(bad_input) when nothing usable is left; plug over 50 m or under 5 mm.
Plug mend_plug(ScanMesh scan, const PlugOptions& options);

}  // namespace cradlewright
