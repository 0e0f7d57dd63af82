// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>
#include <string>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/geom/mesh.hpp"
#include "cradlewright/geom/mesh_repair.hpp"

namespace cradlewright {

/// A scan as read: triangles in mm, unit as told or as the format states it, never guessed.
struct ScanMesh {
    TriMesh soup;
    std::string name;          ///< file name without folder and ending
    std::string format;        ///< "stl-binary", "obj", ...
    double unit_factor = 1;    ///< mm per file unit, already applied
    std::string unit_from;     ///< "told", "format", "known length"
};

/// The plug: one mended shell. Shared read-only; no stage changes it.
struct Plug {
    std::string name;
    std::shared_ptr<const TriMesh> mesh;               ///< scan frame, mm
    std::shared_ptr<const std::vector<FaceId>> adjacency;   ///< see face_adjacency
    RepairReport repair;
    MassProperties mass_properties;
    bool is_closed = true;             ///< no opening, not even a capped one
    bool has_assumed_cap = false;
    double mass_kg = 0;                ///< NaN when volume means nothing
    double noise_mm = 0;
};

/// Mends the scan. Errors: Error(bad_input) when nothing usable is left; plug over 50 m or under 5 mm.
Plug mend_plug(ScanMesh scan, const PlugOptions& options);

}  // namespace cradlewright
