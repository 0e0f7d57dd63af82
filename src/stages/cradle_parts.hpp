// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/stages/cradle.hpp"

/// \file Pieces of build_cradle: where panels cross a station, what the plug asks there, the outline of one upright
/// plate, and the strips under the panels. See cradle.md.
namespace cradlewright {

/// A stretch along y.
struct Stretch {
    double low = 0, high = 0;
    [[nodiscard]] double width() const { return high - low; }
    [[nodiscard]] double middle() const { return 0.5 * (low + high); }
    [[nodiscard]] bool holds(double y) const { return y >= low && y <= high; }
};
/// `whole` less everything in `taken`, by y.
std::vector<Stretch> free_stretches(Stretch whole, std::vector<Stretch> taken);
/// Height of a chain that runs by rising x; beyond its ends that of the end.
double height_on(const std::vector<Vec2>& chain, double x);

/// What remains of a shape when everything thinner than `width` that sticks out is cut off: opening by a disc, but
/// corners down to 80 deg, from which a disc stays away by no more than `corner_share` of its radius, keep their
/// points.
Polygons without_thin(const Polygons& shape, double width);

/// Stretch of a panel's underside over a plate that stands at a station; all in (y, z) of the fixture.
struct PanelSpan {
    std::size_t panel = 0;  ///< index into Flange::panels
    double y_low = 0, y_high = 0;
    double z_at_low = 0, z_at_high = 0;  ///< seat heights: underside less glue, lowest over the plate's thickness
    double sheet = 0;                    ///< from the seat up to the panel's top
    bool is_inner = false;               ///< of a panel that fills an opening of the plug
    bool is_own = true;                  ///< the upright stands for it; others it only keeps below
    [[nodiscard]] double seat(double y) const {
        const double t = y_high > y_low ? (y - y_low) / (y_high - y_low) : 0;
        return z_at_low + t * (z_at_high - z_at_low);
    }
};
enum class PlateRun {
    across,  ///< the span: station is x, spans run along y
    along,   ///< the span: station is y, spans run along x, the y of their names
};
/// Spans of all panels over the slab [station - t/2, station + t/2], by y: whatever of a panel lies over the slab.
std::vector<PanelSpan> spans_at(const Flange& flange, double station_mm, double thickness_mm, double glue_mm,
                                PlateRun run = PlateRun::across);

/// Rectangular cut-out of an upright, open upward (for a stringer) or downward (for a tie).
struct Notch {
    double y_low = 0, y_high = 0;
    double z = 0;  ///< bottom of an open-top notch, top of an open-bottom slot
    std::string other;
};

/// A plane section of the plug near a plate.
struct SlabSection {
    Polygons loops;
    double pad_mm = 0;       ///< radius of the pad's section at this distance from the plate
    bool is_inside = false;  ///< within the plate's own thickness
};
/// What the plug asks of an upright plate under it.
struct UnderPlug {
    std::vector<Vec2> bare;  ///< lower envelope over the plate's thickness, left to right
    Polygons padded;         ///< grown by the compressed pad and swept open upward: the saddle follows its underside
    Polygons freed;          ///< grown further by the free distance: what the rest keeps clear of
    [[nodiscard]] bool is_empty() const { return padded.empty(); }
};
/// Only undersides matter, so they alone are grown: a section of a million-triangle scan costs as much as its lower
/// envelope.
UnderPlug under_plug(const std::vector<SlabSection>& sections, double free_mm);

struct UprightRequest {
    std::vector<PanelSpan> spans;
    UnderPlug under;  ///< empty for a plate that stands beside the plug
    std::vector<Notch> stringer_notches, tie_slots;
    bool is_post = false;  ///< stands only under its panel, beside or within the plug
    Stretch foot;          ///< the foot reaches at least so far; no wider than the rest when empty
    double foot_height_mm = 0;
    double foot_mm = 40;  ///< length on the base at either end
};

struct Upright {
    Region outline;  ///< (y, z), z = 0 on the base; empty when nothing stands there
    std::vector<Vec2> saddle;
    std::vector<std::vector<Vec2>> more_saddles;
    std::vector<std::vector<Vec2>> seats;
    OutlineFit fit;
    std::string note;
};
Upright shape_upright(const UprightRequest& request, const CradleOptions& options, const Tolerances& tolerances);

/// Draws level line, centre mark and where the drawn face looks, wholly on material; what finds no room goes into the
/// part's note. In: an outline with z up, the plug's centre along it and the height for the level line.
void mark_upright(PlatePart& part, double centre, double level, const std::string& face_to);

/// A strip under one or several panels of an edge.
struct StringerLine {
    std::string id, edge;
    std::vector<std::size_t> panels;
    std::vector<std::size_t> flats;  ///< of all flats of all panels, those that it is laid under
    Vec3 from, to;                   ///< middle of the strip's top, fixture frame, by rising x
    Vec3 up;                         ///< unit, square to the strip
    double most_gap_mm = 0;          ///< to the panels, besides the glue
    std::size_t chain = 0;           ///< of the neighbouring panels that it belongs to
    int row = 0;                     ///< 0 = behind the inner edge
};
/// Rows of strips by edge: 1 = behind the inner edge, 2 = also near the outer one, more = evenly between these. Edges
/// that are not named get usual_rows.
using StripRows = std::map<std::string, int>;
constexpr int usual_rows = 2, most_rows = 4;

/// Strips under the panels that run along the span. A strip runs under as many neighbouring panels as one straight top
/// can serve; where two of a row meet, both end on the same upright if their lines allow it. One that does not reach
/// two of the uprights (slabs of `thickness_mm` about `stations`) is left out.
std::vector<StringerLine> place_stringers(const Flange& flange, const Settings& settings,
                                          const std::vector<double>& stations, double thickness_mm,
                                          const StripRows& rows = {});
/// Cut-out that a strip needs in a plate of `plate_mm` at x; none where it does not reach.
std::optional<Notch> notch_for(const StringerLine& line, double x, double plate_mm, const CradleOptions& options);
/// The strip itself, as settings.cradle cuts it.
Stringer make_stringer(const StringerLine& line, const Flange& flange, const Settings& settings);

constexpr double stop_felt_mm = 1;   // stop to plug
constexpr double stop_clear_mm = 1;  // stop to panels, strips, ties and plates behind it
/// Adds stops to a cradle that lacks nothing else, where saddles do not hold the plug: as slight and as few as take
/// stop_load_n. They stand wholly below the panels; none where the plug has no wall below them.
void place_stops(const PosedPlug& posed, const Flange& flange, const Settings& settings,
                 const std::vector<StringerLine>& lines, Cradle& cradle);

}  // namespace cradlewright
