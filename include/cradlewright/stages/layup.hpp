// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "cradlewright/mechanics/laminate.hpp"
#include "cradlewright/stages/moulded.hpp"

/// \file Cloth for mould and part: what surface each ply covers, in which pieces it is cut, and what to buy.
namespace cradlewright {

/// A slit from a piece's edge inward, square to the warp: the cloth on either side of it is laid by itself, and its
/// lips lap where the surface is domed and part where it is a saddle. What would lap further than kit.overlap is cut
/// out as a wedge. Flat frame of the pattern.
struct Dart {
    Vec2 tip, edge;           ///< from the tip to where the cut line ran before the wedge was taken out
    std::vector<Vec2> wedge;  ///< closed, from its point on the slit round; empty where lips lap by less
    Vec3 tip_at;              ///< fixture frame
    double lap_mm = 0;        ///< at most, of one lip over the other before the wedge is cut out
    double opens_mm = 0;      ///< at most, between them
    [[nodiscard]] double depth_mm() const { return norm(edge - tip); }
};
/// Lips no further apart than this hands lay together. Source: assumed.
inline constexpr double dart_tip_mm = 1;

/// One piece of cloth as it is cut. Pattern frame: x along the warp, y along the weft, origin where it is laid first;
/// seen with the surface behind the cloth.
struct ClothPiece {
    PlatePart part;        ///< outline with margin; marks: edge of the surface, warp, start, matches; kind cloth
    Polygons net_outline;  ///< what lies on the surface, without margins and overlaps
    double laid_mm2 = 0;   ///< of net_outline
    double max_shear_rad = 0;
    Vec3 max_shear_at, start;  ///< fixture frame
    std::vector<Dart> darts;
    std::vector<std::size_t> runs;  ///< of the laminate's plies, those that are cut so; all alike unless rolls differ
    int plies = 0;                  ///< how many that are
    [[nodiscard]] double area_mm2() const { return area_of(part.outline); }
};

/// One piece's place of the surface spread out as rigid as possible: for what does not shear, such as mat, peel ply and
/// film, and a second opinion on the net.
struct FlatPiece {
    PlatePart part;                            ///< as ClothPiece::part; no outline where there is `trouble`
    double surface_mm2 = 0, flat_mm2 = 0;      ///< of the place; of the same laid flat
    double least_strain = 0, most_strain = 0;  ///< what the sheet must give: shortest and longest by area, 1 % and 99 %
    std::string trouble;                       ///< why it cannot be laid flat, or empty
    /// Nothing to give: the pattern is exact.
    [[nodiscard]] bool is_exact() const;
};
/// Sheet that gives no more than this lies smooth. Source: assumed, 2 mm in a metre.
inline constexpr double exact_strain = 0.002;

/// A surface that plies are laid on, and its cloth. Every ply is cut alike, but where a piece is wider than one cloth's
/// roll and not than another's.
struct LaidSurface {
    std::string id;    ///< "mould-1" "mould-2" "part-1" "part-2"
    std::string what;  ///< one line for the builder
    bool is_mould = true;
    double deviation_mm = 0;  ///< of the clean mesh that the net lies on from the scan: largest of a sample
    double area_mm2 = 0;
    Laminate laminate;
    Spread lock_rad;                      ///< of its stiffest weave; infinite when all is mat
    double cell_mm = 0;                   ///< of the net
    std::shared_ptr<const TriMesh> mesh;  ///< the clean mesh, fixture frame; null where none could be made
    std::vector<ClothPiece> pieces;
    std::vector<FlatPiece> flats;  ///< a piece each, before strips for the roll
    std::string trouble;           ///< why no cloth was cut, or empty
    int pieces_cut = 1;            ///< before strips for the roll
    int pieces_needed = 1;  ///< so that none shears beyond cut_share; more than were cut when kit.pieces forbade it
    [[nodiscard]] double cloth_mm2() const;  ///< all pieces of a ply, with margins; mean of the plies
    [[nodiscard]] int ply_count() const;
};

/// A line of the shopping list. Cost 0 when no price was told.
struct KitLine {
    std::string item, use;
    double amount = 0;
    std::string unit;  ///< "m" of roll, "kg", "m2"
    double cost = 0;
};

/// Everything for both mould halves and one part, with waste.
struct LayupKit {
    double fibre_kg = 0;
    double resin_kg = 0, hardener_kg = 0;
    double gel_coat_kg = 0, thickener_kg = 0;
    double peel_ply_mm2 = 0;
    double batch_kg = 0;  ///< resin and hardener mixed at a time
    /// What one surface takes of everything. The kit's sums are those of all surfaces.
    struct Pour {
        std::string surface;
        double mix_kg = 0;  ///< resin and hardener
        int batches = 0;
        double gel_coat_kg = 0, thickener_kg = 0;
        double resin_kg = 0, hardener_kg = 0;  ///< of the mix
        struct Cloth {
            std::string name;
            int plies = 0, pieces = 0;  ///< pieces of all plies
            double area_mm2 = 0;        ///< with margins, all plies
        };
        std::vector<Cloth> cloths{};  ///< in the order they are laid first
        double fibre_kg = 0;
        int peel_pieces = 0;
        double peel_ply_mm2 = 0;
        double release_mm2 = 0;                                     ///< that one coat covers
        double clay_kg = 0;                                         ///< of its own beads
        double tab_mm2 = 0, tab_resin_kg = 0, tab_hardener_kg = 0;  ///< of the plates behind it: cloth of all plies
        double strip_mm = 0;                                        ///< soft strip under those
    };
    std::vector<Pour> pours;  ///< in the order of Layup::surfaces
    std::vector<KitLine> lines;
    double cost = 0;  ///< of the lines with a price
};

struct Layup {
    std::vector<LaidSurface> surfaces;  ///< none without a parting line
    LayupKit kit;
};

/// The surface of that id; null when it is not laid.
const LaidSurface* find_surface(const Layup& layup, std::string_view id);
/// The one of a mould half, 1 or 2.
const LaidSurface* find_mould(const Layup& layup, int half);

/// What that surface takes of the kit; null when it is not laid.
const LayupKit::Pour* find_pour(const Layup& layup, std::string_view surface);

/// See src/stages/layup.md for the method and its limits. In: `hidden` as hidden_by_beads. Out: pieces whose shear
/// stays below cut_share of the lock angle's low end, as far as kit.pieces lets; the last piece takes what is left,
/// however much it shears. Errors: those of make_laminate. Cost: one pass over the plug's faces a surface, then
/// O(cells log faces) of the clean meshes.
Layup plan_layup(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Beads& beads,
                 const HiddenFaces& hidden, const Settings& settings);

/// Pieces are cut where shear reaches this share of the least lock angle: hands do not lay a net exactly.
/// Source: assumed; with hand_share it keeps the check's high end below the limit.
inline constexpr double cut_share = 0.85;
/// What the hand misses the net by, as a share of its shear, either way. Source: assumed.
inline constexpr double hand_share = 0.15;

/// A workshop's swing of temperature over an afternoon, either way. Source: assumed.
inline constexpr double room_swing_degc = 3;
/// Less cannot be weighed well. Source: assumed.
inline constexpr double least_batch_kg = 0.05;
/// Largest batch that is spread in time at the room's warm end, to 10 g downward; may be less than least_batch_kg.
double safe_batch_kg(const KitOptions& kit);
/// What is mixed at a time: as told, else the safe batch, at least least_batch_kg.
double batch_kg(const KitOptions& kit);

}  // namespace cradlewright
