// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cradlewright/base/source.hpp"
#include "cradlewright/base/units.hpp"
#include "cradlewright/base/vec.hpp"
#include "cradlewright/catalog/materials.hpp"

/// \file Every setting with its default. One table (setting_rows) binds names, units, ranges, sources and help to these
/// fields; the command line, the job file, `new` and the report all read that table and nothing else.
namespace cradlewright {

/// Numerical tolerances, each with what breaks when it is too big (B) or too small (S). Not settings: nobody at a bench
/// should have to choose them.
struct Tolerances {
    double chord_mm = 0.02;        ///< arcs to chords. B: visible facets on cut edges. S: files grow
    double arc_fit_mm = 0.05;      ///< chains to lines and arcs. B: parts off the line. S: thousands of entities
    double slot_match_mm = 0.01;   ///< two halves of a joint. B: impossible joints pass. S: rounding fails good ones
    double surface_step_mm = 2.0;  ///< spacing of the panel line. B: cut corners of the outline. S: follows scan noise
    double contact_mm = 0.05;      ///< rolling ball touches. B: gouge. S: endless iteration on faceted surfaces
    double corner_rad = 0.70;  ///< turn within corner_run_mm that is a corner. B: corners missed. S: noise makes some
    double corner_run_mm = 12.0;  ///< B: gentle bends become corners. S: rounded corners missed
};

enum class EdgeRule { silhouette, split, overrun, polyline };
enum class MouldUse { single, trim_and_bond, join_in_mould };
/// What to do where the scan is open over more than a hole.
enum class PlugOpening {
    keep,    ///< as it is: what lies behind is unknown, so volume, mass, tip and sag are
    cap,     ///< closed by a flat at its own table plane, which counts as the plug's end
    mirror,  ///< the scan is one half; its mirror image in the opening's plane is the other
    join,    ///< a second scan shows the rest
};
enum class CutMethod { print, saw, router };
/// Side on which the router keeps the part, seen along its travel with the spindle turning clockwise.
enum class CutDirection {
    conventional,  ///< part on the left: teeth enter thin; round an outline counter-clockwise
    climb,         ///< part on the right: teeth enter thick and pull; round an outline clockwise
};

struct PlugOptions {
    std::string scan;   ///< path of the scan file
    std::string unit;   ///< "mm" "cm" "m" "in" "ft", or empty = as the format states
    std::string known;  ///< "LENGTH along span": fixes the scale, or empty
    Length hole_perimeter = Length::mm(60);
    Length weld = Length::mm(0);
    PlugOpening opening = PlugOpening::keep;
    std::string second_scan;                ///< path of a second scan, for PlugOpening::join
    std::string second_points;              ///< see parse_point_pairs; empty = both scans have one frame
    Length decimate = Length::mm(0);        ///< most deviation for fewer triangles; 0 = all are kept
    Density density = Density::kg_m3(120);  ///< mean density of the plug, for mass and tipping
    std::string material = "pu-foam";       ///< of the core: key into materials(), decides stiffness
    Pressure stiffness{};                   ///< modulus of the core, told; 0 = of its material
    Length skin{};                          ///< hard skin on the core; 0 = none
    Pressure skin_stiffness = Pressure::gpa(8);
    std::string template_stock = "hardboard-3";  ///< sheet of the section templates of extensions
};
struct PoseOptions {
    Angle tilt{};
    Angle turn{};
    std::string pull = "vertical";    ///< vertical | plug-up | best | "X,Y,Z" in the plug frame
    std::string pull_2 = "opposite";  ///< of half 2: opposite | vertical | plug-down | best | "X,Y,Z" in the plug frame
    std::string up = "auto";          ///< x -x y -y z -z, "X,Y,Z" of the scan, or auto
    std::string span = "auto";
    std::string compare = "auto";  ///< "auto" "yes" "no": the report tells figures at tilts about the told one
};
struct ReleaseOptions {
    Angle min_draft = Angle::deg(1);   ///< below: fail
    Angle good_draft = Angle::deg(3);  ///< below: marginal
    double draft_quantile = 0.01;      ///< share of the moulded area that may lie below
    Length undercut_limit = Length::mm(0.3);
    Length wedge_lift = Length::mm(1);  ///< lift that wedges force, and in which a mould shrunk onto the plug must free
};
/// An extension's surface stands back from the plug's by this. Source: the project's contract, section 1.
inline constexpr Length default_trim_step = Length::mm(0.3);
/// The outer face of an extension leans back by this toward either half. Source: that of release.good-draft, whose
/// articles prefer 2 to 5 deg.
inline constexpr Angle default_extension_lean = Angle::deg(5);

/// Treatment of one stretch of the parting line. Unset = the value of the flange section.
struct EdgeOptions {
    std::optional<Angle> slope;
    std::optional<Length> width;
    std::optional<double> split;    ///< share of a cut-off strip, from half 1's corner on, that half 1 takes
    std::optional<Length> overrun;  ///< surface arc from silhouette to panel line, positive toward half 2
    std::string panel;  ///< "flat" "curved" where the line leaves its plane; empty or "auto" = what is less work
    std::string bead;   ///< clay at this edge: "round" "ramp" "none"; empty = ramp where split, else round
    std::vector<Vec3> polyline;           ///< the line as told, plug frame, mm
    std::optional<Vec3> from, to;         ///< ends of an edge that the user names, plug frame, mm
    std::optional<Length> extension;      ///< how far a piece carries this end outward; unset or 0 = none
    std::string extension_slope;          ///< "straight" "sloped"; empty = straight
    std::optional<Length> trim_step;      ///< of the piece; unset = default_trim_step
    std::optional<Angle> extension_lean;  ///< of its outer face, to either half; unset = default_extension_lean

    [[nodiscard]] EdgeRule rule() const {
        if (split) return EdgeRule::split;
        if (overrun) return EdgeRule::overrun;
        return polyline.empty() ? EdgeRule::silhouette : EdgeRule::polyline;
    }
};
struct FlangeOptions {
    Length width = Length::mm(60);
    Angle slope{};
    Length gap = Length::mm(0.5);  ///< panel to plug, over the panel's full thickness
    Length gap_limit = Length::mm(2.0);
    Length planarity = Length::mm(0.5);  ///< panel line may leave its panel's plane by this
    Length glue = Length::mm(0.2);
    std::string stock = "pvc-3";
};
struct CradleOptions {
    double ribs = 0;                       ///< 0 = chosen from spacing
    Length spacing = Length::mm(150);      ///< largest distance of ribs when chosen
    std::vector<double> stations_mm;       ///< told stations, plug frame x; empty = equal spacing
    Length clearance = Length::mm(70);     ///< least saddle height above the base
    Length pad = Length::mm(3);            ///< thickness of the saddle pad as compressed by the plug
    Angle steepest = Angle::deg(60);       ///< saddle stops where the plug is steeper
    Length panel_margin = Length::mm(10);  ///< saddle stops this far below a panel's underside
    Length horn = Length::mm(8);           ///< least width of a saddle's end
    Length free = Length::mm(4);           ///< rib to plug where they shall not touch
    Length slot_clearance = Length::mm(0.2);
    double ties = 2;
    Length tie_height = Length::mm(50);
    std::string long_ribs = "auto";  ///< "auto" "yes" "no": ties rise to carry the plug along the span
    Length stringer_width = Length::mm(12);
    Length stringer_height = Length::mm(20);
    Length base_margin = Length::mm(30);
    std::string rib_stock = "birch-ply-9";
    std::string base_stock = "birch-ply-18";
    std::string stringer_stock = "pine-12x20";  ///< a strip: thickness across, width upright
};
struct BeadOptions {
    std::string radius = "auto";  ///< a length, or auto = smallest that passes the ply checks
    Density density = Density::kg_m3(1700);
    Length cover_limit = Length::mm(16);     ///< bead may hide this much of the plug beyond the panel line
    Length join_gap_limit = Length::mm(25);  ///< widest strip between the halves' trim lines
    std::string corner_fill = "auto";        ///< paste in the bends of ramps: a radius, or auto = as the plies ask for
    std::string card_stock = "pvc-2";        ///< sheet of the scraper cards
};
struct MouldOptions {
    MouldUse use = MouldUse::trim_and_bond;
    std::string resin = "epoxy";                 ///< key into resins()
    double resin_shrinkage = 0;                  ///< by volume, told; 0 = of the resin
    Length stiffener_spacing = Length::mm(250);  ///< free width of the mould's shell between stiffeners
    std::string back = "auto";                   ///< "auto" "no": plates behind the mould
    std::string stiffener_stock = "birch-ply-9";
    Length stiffener_depth = Length::mm(50);   ///< of the plates where the mould comes nearest to the bench
    Length soft_strip = Length::mm(6);         ///< between laminate and plates
    Length tab_width = Length::mm(50);         ///< of the cloth that bonds them
    std::string stand_clamp = "no";            ///< "yes": the stand is clamped to the bench while one works on it
    Angle stand_tilt{};                        ///< of the opening on the bench, positive lifts the front
    Length locator_diameter = Length::mm(20);  ///< at its foot
    Length locator_height = Length::mm(8);
    Angle locator_draft = Angle::deg(5);
};
/// A laminate from the surface inward. Plies as "NAME xN, NAME xN"; one of the mould's may be "NAME xauto".
struct LaminateOptions {
    std::string plies;
    int auto_count = 4;  ///< what xauto stands for; a usual layup, until choose_mould_plies knows the job's own
    Length gel_coat{};
    Length veil{};
    Density resin_density = Density::kg_m3(1150);
};
struct PaperOptions {
    std::string size = "a4";  ///< a name of papers(), WxH with units, or the width of a roll, "610mm roll"
    Length margin = Length::mm(12.7);
    Length overlap = Length::mm(10);
    std::string measured;  ///< "W,H": what the 100 mm check bars measured on paper, or empty
    std::string parts{};   ///< ids and kinds of the parts to print, or empty for all
};
struct SawOptions {
    Length blade = Length::inch(0.25);  ///< blade width: decides the smallest inside radius
    Length drum = Length::mm(12.7);     ///< sanding drum diameter for fit edges
    Length kerf = Length::mm(1);        ///< width of the cut
    Length spare = Length::mm(3);       ///< stays outside the lines where parts are first sawn apart
};
/// What is 0 is taken from the cutting table by the stock's material: see cutting_values.
struct RouterOptions {
    Length cutter = Length::mm(6);
    double flutes = 2;
    CutDirection direction = CutDirection::conventional;
    double speed_rpm = 0;
    double feed_mm_min = 0;
    double plunge_mm_min = 0;
    Length pass_depth{};
    Angle ramp = Angle::deg(5);  ///< slope at which the cutter is led down along the cut
    Length safe_height = Length::mm(10);
    Length through = Length::mm(0.3);  ///< below the sheet, into the spoil board
    Length onion_skin{};               ///< left standing under every cut; 0 = cut through, held by tabs
    Length tab_spacing = Length::mm(300);
    Length tab_width = Length::mm(6);
    Length tab_height = Length::mm(1.5);
    Length engrave{};  ///< depth of marks; 0 = none
};
/// Resin at the bench, cloth on the table. Prices are per kg or m2, in the builder's currency; 0 = not told.
struct KitOptions {
    double pot_life_s = 30 * 60;   ///< of the data sheet
    double pot_life_at_degc = 20;  ///< temperature it is stated for
    double room_degc = 20;
    double kilogram_time_s = 33 * 60;      ///< to spread a kilogram
    Mass batch{};                          ///< mixed at a time; 0 = as large as the pot life lets
    double hardener = 30;                  ///< parts to 100 of resin, by mass
    double waste = 0.15;                   ///< of resin and gel coat: pots and brushes
    double thickener = 0.03;               ///< share of the gel coat's mass
    Angle warp{};                          ///< of the patterns, from the span toward the front
    Length cloth_margin = Length::mm(50);  ///< of cloth past the edge of its surface
    Length overlap = Length::mm(25);       ///< of two pieces of one ply
    Length peel_margin = Length::mm(20);   ///< of peel ply past the edge
    Length peel_roll = Length::mm(1500);   ///< width of its roll
    double pieces = 12;                    ///< most that the cloth of one surface is cut into
    double darts = 4;                      ///< most of one piece
    double wax_coats = 5, film_coats = 2;  ///< of release
    double wax_wait_s = 3600, film_wait_s = 30 * 60;
    double seal_coats = 3, seal_wait_s = 4 * 3600;  ///< of sealer on plug and panels
    double gel_coat_wait_s = 90 * 60;               ///< from the gel coat to the first cloth
    double cure_s = 24 * 3600;                      ///< from the last ply until a half may be turned or drilled
    double open_wait_s = 48 * 3600;                 ///< from half 2's last ply until the mould is opened
    double resin_price = 0, gel_coat_price = 0, peel_price = 0;
};
/// Limits of checks that are not limits of a single part.
struct LimitOptions {
    double tip_factor = 2;   ///< tipping and sliding
    double friction = 0.10;  ///< released plug on its pads
    Length seat_deviation = Length::mm(0.5);
    double seat_share = 0.6;  ///< share of saddle length that must touch
    Length clash = Length::mm(0.1);
    Force hand_load = Force::n(50);      ///< a hand leans on the plug
    Force squeegee_load = Force::n(30);  ///< on panels, stringers, mould
    Length squeegee_width = Length::mm(50);
    Length sag = Length::mm(1);          ///< of the plug between ribs
    Length panel_dip = Length::mm(0.5);  ///< of a panel beside the plug
    Length panel_dip_away = Length::mm(1);
    Length stringer_dip = Length::mm(0.5);
    double bearing = 0.5;  ///< share of the core's crushing stress
    double buckling_factor = 3;
    Length mould_dip = Length::mm(2);
    Length shrinkage = Length::mm(1);  ///< over the mould's length
};

/// A length the builder measured on the plug with a caliper, to hold the scan against before anything is cut.
struct CaliperCheck {
    std::string name;
    std::string axis;              ///< "span" "front" "up": overall size along it; empty = between the two points
    std::optional<Vec3> from, to;  ///< plug frame, mm
    Length measured;
    friend bool operator==(const CaliperCheck&, const CaliperCheck&) = default;
};

/// Where a setting's value came from.
enum class Origin { builtin, job, command_line };

struct Settings {
    PlugOptions plug;
    PoseOptions pose;
    ReleaseOptions release;
    FlangeOptions flange;
    CradleOptions cradle;
    BeadOptions bead;
    MouldOptions mould;
    LaminateOptions laminate_mould{
        .plies = "glass-160 x1, glass-300 xauto", .gel_coat = Length::mm(0.5), .veil = Length::mm(0.1)};
    LaminateOptions laminate_part{.plies = "glass-300 x2", .gel_coat = Length::mm(0), .veil = Length::mm(0)};
    PaperOptions paper;
    SawOptions saw;
    RouterOptions router;
    LimitOptions limits;
    KitOptions kit;
    CutMethod cut_by = CutMethod::print;
    UnitSystem units = UnitSystem::metric;
    std::map<std::string, EdgeOptions> edges;  ///< [edge.NAME]
    std::map<std::string, Cloth> cloths;       ///< built-in ones and [cloth.NAME]
    std::map<std::string, Stock> stocks;       ///< built-in ones and [stock.NAME]
    std::vector<CaliperCheck> calipers;        ///< [[caliper]], in the order told
    std::map<std::string, Origin> origin;      ///< key -> where it came from; absent = builtin

    Settings();  ///< fills cloths and stocks from the catalog
};

enum class SettingKind { quantity, text, choice };

/// One row of the settings table. `*` in a key stands for the NAME of edge, cloth and stock sections.
struct SettingRow {
    std::string key;
    SettingKind kind = SettingKind::text;
    Dimension dimension = Dimension::ratio;  ///< of a quantity
    double low = 0, high = 0;                ///< allowed range of a quantity, inside unit, inclusive
    std::vector<std::string> choices;        ///< of a choice; an empty one means "not told"
    bool takes_list = false;                 ///< text may be given as a list; its items are joined by ", "
    std::string help;                        ///< one sentence
    Source source;                           ///< of the default
    /// Text form of the present value ("9.525 mm"); empty when an optional is unset. `name` fills the `*`.
    std::function<std::string(const Settings&, std::string_view name)> get;
    /// Parses and stores. Errors: Error(bad_input, place) for a wrong unit, range or choice.
    std::function<void(Settings&, std::string_view name, std::string_view text, std::string_view place)> set;
};

/// All settings in the order of the job file's sections.
std::span<const SettingRow> setting_rows();

/// The row of a full key such as "edge.front.slope", or nullptr.
const SettingRow* find_setting(std::string_view key);

/// Sets one setting by its full key, e.g. "edge.front.slope".
/// Errors: Error(bad_input, place): unknown key with the nearest known name, wrong unit, out of range.
void set_setting(Settings& settings, std::string_view key, std::string_view text, Origin origin,
                 std::string_view place);
/// Text of one setting by its full key. Errors: Error(bad_input) for an unknown key.
std::string get_setting(const Settings& settings, std::string_view key);

/// The cloth layers of "NAME xN, NAME xN", outermost first; xauto is `auto_count`. Errors: Error(bad_input, place) for
/// unknown cloth, bad count, or xauto where auto_count is 0.
struct PlyRun {
    Cloth cloth;
    int count = 1;
};
std::vector<PlyRun> parse_plies(const Settings& settings, std::string_view text, std::string_view place,
                                int auto_count = 0);
/// Errors: Error(bad_input) for a name that is not known, with the nearest, and for a stock without material or sizes.
const Stock& stock(const Settings& settings, std::string_view name);
/// Errors: Error(bad_input, "paper.size") for an unknown name or a size beyond 50 mm to 5 m; "paper.margin" when
/// margins and overlap leave nothing to print on. A roll has height 0. The name of a told size is "custom".
PaperSize paper_size(const PaperOptions& options);
/// Length (along the grain) and width of the pieces at hand, smallest area first. Errors: Error(bad_input,
/// "stock.NAME.offcuts") unless lengths "L x W" from 10 mm to 20 m.
std::vector<Vec2> offcuts_of(const Stock& stock);
/// What a drawing is multiplied by in x and y to come out true on this printer; 1, 1 when nothing was measured.
/// Errors: Error(bad_input, "paper.measured") unless two lengths within 10 % of the 100 mm bars.
Vec2 print_correction(const PaperOptions& options);
/// Length of "LENGTH along span". Errors: Error(bad_input, place).
Length parse_known(std::string_view text, std::string_view place);
/// Points that both scans show, as (in the first, in the second), in the files' own numbers: "x,y,z = x,y,z; ..."; none
/// for an empty text. Errors: Error(bad_input, place): not of that form, or one or two pairs.
std::vector<std::pair<Vec3, Vec3>> parse_point_pairs(std::string_view text, std::string_view place);
/// Adds one caliper check. Errors: Error(bad_input, place): no name or one used before, neither or both of axis and
/// points, measured length not positive.
void add_caliper(Settings& settings, CaliperCheck caliper, std::string_view place);
/// What one setting alone cannot tell: names of stocks and cloths, limits that contradict each other.
/// Errors: Error(bad_input) naming the setting.
void check_settings(const Settings& settings);

/// Nearest of `known` to `word` by edit distance, or empty when none is close.
std::string nearest_name(std::string_view word, std::span<const std::string> known);

}  // namespace cradlewright
