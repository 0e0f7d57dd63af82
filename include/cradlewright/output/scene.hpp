// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <string>
#include <vector>

#include "cradlewright/checks/design.hpp"

namespace cradlewright {

/// A named solid or curve of the 3D preview. Fixture frame, mm.
struct SceneNode {
    std::string name;                    ///< contract: plug, mould-surface, parting-line, panel-*, rib-*, ...
    TriMesh mesh;                        ///< triangles; for lines a thin tube
    std::array<float, 4> colour{0.7f, 0.7f, 0.7f, 1};   ///< linear RGBA
};
struct Scene {
    std::vector<SceneNode> nodes;
};
struct SceneOptions {
    std::size_t max_plug_faces = 60000;  ///< the plug is thinned to about this by clustering; see plug_deviation_mm
};
/// Everything as coloured triangles. Plates are extruded from their outlines. Cost: O(F).
Scene make_scene(const Design& design, const SceneOptions& options = {});

/// The plate's solid as closed triangles in the fixture frame; arcs to chords within `sag_mm`.
TriMesh extrude_plate(const PlatePart& part, double sag_mm);

}  // namespace cradlewright
