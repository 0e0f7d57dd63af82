// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <map>
#include <string>
#include <vector>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/mesh.hpp"
#include "cradlewright/stages/plate.hpp"

namespace cradlewright {

struct Plug;
struct Pose;

/// A piece that carries an end's section outward, set on to the flat end of the plug. Outlines are closed, simple,
/// counter-clockwise, in the x, y of `joint`.
struct Extension {
    std::string edge;  ///< end-a or end-b
    bool is_sloped = false;
    double length_mm = 0;     ///< from the joint to the furthest of its outer face, square to the joint
    double trim_step_mm = 0;  ///< in the joint plane, square to the outline
    double lean_rad = 0;      ///< of the outer face, back from its ridge to either half; 0 = square
    Frame3 joint;             ///< scan frame: middle of the end's section in the joint plane, z outward, y up
    double gap_mm = 0;      ///< the plug's skin ends up to so far short of the joint plane: filled, flush with the skin
    std::vector<Vec2> end;  ///< of the plug, its walls carried on to the joint plane
    std::vector<Vec2> inner;      ///< of the piece at the joint: `end` less the trim step
    std::vector<Vec2> outer;      ///< of the piece at `length_mm`, before its outer face is leant
    std::array<Vec2, 2> ridge{};  ///< of the outer face, at `length_mm`; both ends equal where it is square
    double volume_mm3 = 0;
    double mass_kg = 0;         ///< of the plug's density
    double slope_deg_low = 0;   ///< sloped: of the piece's walls against the square to the joint, positive = narrowing
    double slope_deg_high = 0;  ///< ditto, the most
    std::size_t first_face = 0, face_count = 0;  ///< of the extended plug's mesh: the fill at the joint, then the piece
};

/// Sets the pieces that [edge.end-a] and [edge.end-b] tell of on to the plug. See src/stages/extension.md.
/// In: a mended plug, the pose it will have (frame and pull). Out: one closed surface: plug to where its skin is sound,
/// fill up to the joint plane, step, piece; its faces last. Mass and centroid with the pieces, at the plug's density;
/// noise and repair report those of the scan. The plug itself, unchanged, where none is told.
/// Guarantees: oriented and manifold as the plug is; same input, same result.
/// Errors: Error(bad_input, "edge.NAME.extension" ...): an edge other than end-a and end-b; an end that is not flat,
/// in several pieces, holed or open; walls that meet before the length; a step that leaves nothing or cuts the piece
/// up. Cost: O(F) where there is a piece, else none. Source: derived.
Plug extend_plug(const Plug& plug, const Pose& pose, const Settings& settings);

/// Templates to shape the pieces by, one for each end of each piece, drawn face outward as seen from beyond the end.
std::vector<PlatePart> make_templates(const std::vector<Extension>& extensions, const Pose& pose,
                                      const Settings& settings);

}  // namespace cradlewright
