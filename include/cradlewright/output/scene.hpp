// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "cradlewright/checks/design.hpp"

namespace cradlewright {

/// How light falls on a node's faces.
enum class Shading {
    flat,    ///< each triangle by its own normal: plates and other things with true edges
    smooth,  ///< by normals averaged at the vertices: scanned surfaces
};

/// A named solid or curve of the 3D preview. Fixture frame, mm.
struct SceneNode {
    std::string name;  ///< contract: plug, mould-surface, parting-line, panel-*, rib-*, ...
    TriMesh mesh;      ///< triangles; for lines a thin tube
    std::array<float, 4> colour{0.7f, 0.7f, 0.7f, 1};  ///< linear RGBA
    Shading shading = Shading::flat;
    std::vector<std::uint8_t> half{};  ///< of the plug and its extensions: the mould half that takes each face
};
struct Scene {
    std::vector<SceneNode> nodes;  ///< names are unique
    double plug_deviation_mm = 0;  ///< every shown face of the plug lies this close to the scan; 0 = not thinned
};
struct SceneOptions {
    std::size_t max_plug_faces = 60000;  ///< the plug is thinned to about this by clustering; see plug_deviation_mm
    double plate_sag_mm = 0.1;           ///< arcs of plates to chords within this
};
/// Everything as coloured triangles. Plates are extruded from their outlines, beads swept through their sections,
/// locators turned about their axes.
/// Guarantees: parts without an outline and stages without a result have no node. Cost: O(F).
Scene make_scene(const Design& design, const SceneOptions& options = {});

/// Adds both halves of the mould as they stand on their plates, turned over, half 1 before the fixture's front and half
/// 2 behind its back, on the floor that the base lies on: a node a plate, and the laminate as a shell, "back-1-mould".
/// In: a scene of that design. Cost: O(faces of the layup's surfaces).
void add_mould_backs(Scene& scene, const Design& design, const SceneOptions& options = {});

/// The plate's solid as closed triangles in the fixture frame; arcs to chords within `sag_mm`.
/// Guarantees: closed and oriented outward, also when the outline crosses or touches itself.
TriMesh extrude_plate(const PlatePart& part, double sag_mm);

/// A coarser picture of a mesh: one vertex a cell of a cubic grid, faces within a cell dropped.
/// Out: `mesh` of about `max_faces` faces, each corner a vertex of the input, same frame and facing; `source[i]` an
/// input face that face i stands for; `deviation_mm` the longest way a vertex was moved, so no face lies further from
/// the input. Promises no manifold, and walls thinner than a cell may touch: good for looking, not for measuring.
/// Precondition: max_faces > 0. Cost: O(F) expected. Source: J. Rossignac, P. Borrel, "Multi-resolution 3D
/// approximations for rendering complex scenes" (1993) [from memory]; we take the vertex nearest to the cell's mean.
struct ThinnedMesh {
    TriMesh mesh;
    std::vector<FaceId> source;
    double deviation_mm = 0;
};
ThinnedMesh thin_by_clustering(const TriMesh& mesh, std::size_t max_faces);

}  // namespace cradlewright
