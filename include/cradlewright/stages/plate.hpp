// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/region_ops.hpp"

namespace cradlewright {

enum class PartKind { panel, rib, stringer, tie, base, stop, card, section, cloth, strap, mould_rib };
std::string_view part_kind_name(PartKind kind);  ///< "panel" "rib" ..., "template" for a section

enum class MarkKind {
    line,    ///< points: a chain, scored or drawn, not cut
    circle,  ///< points[0] centre, `size_mm` radius
    cross,   ///< points[0], arms of `size_mm`
    text,    ///< points[0] left end of the base line, `text`, height `size_mm`
};
/// Something drawn on a part, not cut. Part frame.
struct Mark {
    MarkKind kind = MarkKind::line;
    std::vector<Vec2> points;
    std::string text;
    double size_mm = 0;
};

/// How a flat pattern bends to its place: hinged along straight rulings, so lengths on it are kept. The sheet itself
/// bends evenly; the rulings are close enough that it lies on them.
struct BendMap {
    struct Ruling {
        Vec2 from, to;         ///< part frame
        double angle_rad = 0;  ///< bend about the ruling, positive = toward the drawn face
    };
    /// In order: all of the pattern left of one (seen from `from` to `to`) lies beyond it. None crosses another within
    /// the outline.
    std::vector<Ruling> rulings;
    /// One more than rulings: where the flat before each ruling, and after the last, lies; part frame to fixture.
    std::vector<Frame3> flats;
};

/// What drawing computed chains as lines and arcs cost and saved; zero where nothing was fitted.
struct OutlineFit {
    double off_mm = 0;       ///< largest distance between outline and chains, measured
    std::size_t points = 0;  ///< of the chains
    std::size_t edges = 0;   ///< lines and arcs that they became
};
/// fit_lines_and_arcs, its figures added to `fit`.
Loop fitted(const Loop& chain, double tolerance_mm, OutlineFit& fit);

/// The only thing that gets cut. The drawn face is the plane z = 0 of `frame`, seen from +z; the material lies in
/// z in [-thickness_mm, 0]. `frame` maps the part to the fixture, mm.
struct PlatePart {
    std::string id;
    PartKind kind = PartKind::panel;
    Region outline;  ///< part frame, mm; outer counter-clockwise, holes clockwise
    double thickness_mm = 0;
    std::string stock;  ///< key into Settings::stocks
    Frame3 frame;
    std::vector<Mark> marks;
    std::optional<BendMap> bend;
    OutlineFit fit{};
    std::string note;  ///< one line for the cut list: bevel, which face, glue
};

// Where a part lies, bent or not. For flat parts all of these read `frame`. Fixture frame, mm.

/// Frame of the flat on which a point of the pattern lies.
const Frame3& frame_at(const PlatePart& part, Vec2 pattern);
/// Frame of the flat nearest to a place, by the planes that halve the angles between flats.
const Frame3& frame_near(const PlatePart& part, Vec3 place);
/// Place of a point of the pattern; z through the sheet.
Vec3 placed(const PlatePart& part, Vec3 pattern);
inline Vec3 placed(const PlatePart& part, Vec2 pattern) { return placed(part, Vec3{pattern.x, pattern.y, 0}); }
/// The point of the pattern at a place, z through the sheet.
inline Vec3 on_pattern(const PlatePart& part, Vec3 place) { return frame_near(part, place).to_local(place); }
/// The flats of a bent part as flat parts of the same id, outlines with chords for arcs and all edges rough; a flat
/// part is its own and only one.
std::vector<PlatePart> flats_of(const PlatePart& part);

enum class JointKind { half_lap, notch, seat, butt };
/// Where two parts meet. `at` and `axis` in the fixture frame; sizes are of the cut-outs.
struct Joint {
    std::string part_a, part_b;
    JointKind kind = JointKind::butt;
    Vec3 at;              ///< middle of the contact
    Vec3 axis;            ///< direction in which part_b is put into part_a
    double width_mm = 0;  ///< of the slot or notch across; 0 for seats and butts
    double depth_mm = 0;
    double clearance_mm = 0;  ///< total, both sides together
};

}  // namespace cradlewright
