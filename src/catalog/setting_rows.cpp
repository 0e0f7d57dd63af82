// SPDX-License-Identifier: GPL-3.0-or-later
// The table of settings. Adding one: a field with its default in options.hpp, one row here.
#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <type_traits>
#include <utility>

#include "catalog/text.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/catalog/options.hpp"

namespace cradlewright {
namespace {

// ---- which field: each maker returns a function (settings, name) -> pointer, const for const settings
// -----------------

template <class Field>
auto top(Field Settings::*field) {
    return [=](auto& settings, std::string_view) { return &(settings.*field); };
}

template <class Section, class Field>
auto at(Section Settings::*section, Field Section::*field) {
    return [=](auto& settings, std::string_view) { return &((settings.*section).*field); };
}

EdgeOptions& entry(std::map<std::string, EdgeOptions>& edges, std::string_view name) {
    return edges[std::string(name)];
}

/// A cloth nobody described yet: fine plain E-glass, hand-laid; weight and radius must be told before it is used.
Cloth blank_cloth(std::string_view name) {
    const Cloth& like = default_cloths().front();
    Cloth cloth = like;
    cloth.name = name;
    cloth.areal_mass_kg_mm2 = 0;
    cloth.class_radius_mm = cloth.class_radius_low_mm = cloth.class_radius_high_mm = 0;
    return cloth;
}

Cloth& entry(std::map<std::string, Cloth>& cloths, std::string_view name) {
    Cloth& cloth = cloths.try_emplace(std::string(name), blank_cloth(name)).first->second;
    cloth.source = {"told", "settings of cloth " + cloth.name};
    return cloth;
}

Stock& entry(std::map<std::string, Stock>& stocks, std::string_view name) {
    Stock& stock = stocks[std::string(name)];
    stock.name = name;
    stock.source = {"told", "settings of stock " + stock.name};
    return stock;
}

template <class Entry, class Field>
auto each(std::map<std::string, Entry> Settings::*map, Field Entry::*field) {
    return [=](auto& settings, std::string_view name) {
        if constexpr (std::is_const_v<std::remove_reference_t<decltype(settings)>>) {
            const auto found = (settings.*map).find(std::string(name));
            return found == (settings.*map).end() ? static_cast<const Field*>(nullptr) : &(found->second.*field);
        } else {
            return &(entry(settings.*map, name).*field);
        }
    };
}

// ---- quantities -----------------------------------------------------------------------------------------------------

struct Range {
    Quantity low, high;
};
template <class T>
Range between(T low, T high) {
    return {Quantity::of(low), Quantity::of(high)};
}
Range ratio_between(double low, double high) { return {Quantity::ratio(low), Quantity::ratio(high)}; }
Range time_between(double low_s, double high_s) { return {{low_s, Dimension::time}, {high_s, Dimension::time}}; }
Range degc_between(double low, double high) { return {{low, Dimension::temperature}, {high, Dimension::temperature}}; }
Range count_between(int low, int high) { return {Quantity::count(low), Quantity::count(high)}; }

Quantity quantity_of(double field, Dimension dimension) { return {field, dimension}; }
template <class T>
Quantity quantity_of(T field, Dimension) {
    return Quantity::of(field);
}

void store(double& field, double inside) { field = inside; }
void store(Length& field, double inside) { field = Length::mm(inside); }
void store(Angle& field, double inside) { field = Angle::rad(inside); }
void store(Mass& field, double inside) { field = Mass::kg(inside); }
void store(Force& field, double inside) { field = Force::n(inside); }
void store(Pressure& field, double inside) { field = Pressure::mpa(inside); }
void store(Density& field, double inside) { field = Density::kg_mm3(inside); }
template <class T>
void store(std::optional<T>& field, double inside) {
    store(field.emplace(), inside);
}

template <class T>
std::string exact_text(const T& field, Dimension dimension) {
    return format_exact(quantity_of(field, dimension));
}
template <class T>
std::string exact_text(const std::optional<T>& field, Dimension dimension) {
    return field ? exact_text(*field, dimension) : std::string();
}

/// The number a person typed with the unit they may have meant: "300 m" out of range, "300 mm" in it.
std::string other_unit_in_range(std::string_view text, const Range& range) {
    const std::string_view number = number_part(text);
    for (const std::string_view unit : accepted_units(range.low.dimension)) {
        std::string candidate = std::string(number) + (unit == "%" ? "" : " ") + std::string(unit);
        try {
            const double inside = parse_quantity(candidate, range.low.dimension, "").value;
            if (inside >= range.low.value && inside <= range.high.value) {
                return candidate;
            }
        } catch (const Error&) {
            continue;  // a unit that does not go with this number is no candidate
        }
    }
    return {};
}

double parse_in_range(std::string_view text, const Range& range, std::string_view example, std::string_view place) {
    const double inside = parse_quantity(text, range.low.dimension, place).value;
    if (inside >= range.low.value && inside <= range.high.value) {
        return inside;
    }
    const std::string meant = other_unit_in_range(text, range);
    throw Error(ErrorCode::bad_input, place,
                in_quotes(text) + " is outside " + format_exact(range.low) + " to " + format_exact(range.high),
                meant.empty() ? "for example " + std::string(example) : "did you mean " + meant + "?");
}

template <class Access>
SettingRow quantity(std::string key, Access access, Range range, std::string help, Source source,
                    std::string example = {}) {
    const Dimension dimension = range.low.dimension;
    if (example.empty()) {
        const Settings defaults;
        example = exact_text(*access(defaults, ""), dimension);
    }
    SettingRow row{.key = std::move(key),
                   .kind = SettingKind::quantity,
                   .dimension = dimension,
                   .low = range.low.value,
                   .high = range.high.value,
                   .choices = {},
                   .takes_list = false,
                   .help = std::move(help),
                   .source = std::move(source),
                   .get = {},
                   .set = {}};
    row.get = [=](const Settings& settings, std::string_view name) {
        const auto* field = access(settings, name);
        return field != nullptr ? exact_text(*field, dimension) : std::string();
    };
    row.set = [=](Settings& settings, std::string_view name, std::string_view text, std::string_view place) {
        const double inside = parse_in_range(text, range, example, place);
        store(*access(settings, name), inside);
    };
    return row;
}

// ---- texts and choices ----------------------------------------------------------------------------------------------

using TextCheck = std::function<void(std::string_view text, std::string_view place)>;

void any_text(std::string_view, std::string_view) {}

template <class Access>
SettingRow text(std::string key, Access access, TextCheck check, std::string help, Source source) {
    SettingRow row;
    row.key = std::move(key);
    row.kind = SettingKind::text;
    row.help = std::move(help);
    row.source = std::move(source);
    row.get = [=](const Settings& settings, std::string_view name) {
        const std::string* field = access(settings, name);
        return field != nullptr ? *field : std::string();
    };
    row.set = [=](Settings& settings, std::string_view name, std::string_view typed, std::string_view place) {
        const std::string_view value = without_blanks_around(typed);
        check(value, place);
        *access(settings, name) = value;
    };
    return row;
}

[[noreturn]] void refuse_choice(std::string_view typed, const std::vector<std::string>& choices,
                                std::string_view place) {
    const std::string near = nearest_name(typed, choices);
    std::string known;
    for (const std::string& c : choices) {
        known += (known.empty() ? "" : ", ") + (c.empty() ? in_quotes(c) : c);
    }
    throw Error(ErrorCode::bad_input, place, in_quotes(typed) + " is not one of " + known,
                near.empty() ? "for example " + choices.back() : "did you mean " + near + "?");
}

template <class Access>
SettingRow word(std::string key, Access access, std::vector<std::string> choices, std::string help, Source source) {
    const TextCheck check = [choices](std::string_view typed, std::string_view place) {
        if (std::find(choices.begin(), choices.end(), typed) == choices.end()) {
            refuse_choice(typed, choices, place);
        }
    };
    SettingRow row = text(std::move(key), access, check, std::move(help), std::move(source));
    row.kind = SettingKind::choice;
    row.choices = std::move(choices);
    return row;
}

template <class Enum, class Access>
SettingRow choice(std::string key, Access access, std::vector<std::pair<std::string, Enum>> words, std::string help,
                  Source source) {
    SettingRow row;
    row.key = std::move(key);
    row.kind = SettingKind::choice;
    row.help = std::move(help);
    row.source = std::move(source);
    for (const auto& [spelling, value] : words) {
        row.choices.push_back(spelling);
    }
    row.get = [=](const Settings& settings, std::string_view name) {
        const Enum* field = access(settings, name);
        if (field == nullptr) return std::string();
        return std::find_if(words.begin(), words.end(), [&](const auto& w) { return w.second == *field; })->first;
    };
    row.set = [=, choices = row.choices](Settings& settings, std::string_view name, std::string_view typed,
                                         std::string_view place) {
        const std::string_view value = without_blanks_around(typed);
        const auto found = std::find_if(words.begin(), words.end(), [&](const auto& w) { return w.first == value; });
        if (found == words.end()) {
            refuse_choice(value, choices, place);
        }
        *access(settings, name) = found->second;
    };
    return row;
}

SettingRow as_list(SettingRow row) {
    row.takes_list = true;
    return row;
}

SettingRow list_of_lengths(std::string key, Range range, std::string help, Source source) {
    SettingRow row;
    row.key = std::move(key);
    row.help = std::move(help);
    row.source = std::move(source);
    row.dimension = Dimension::length;
    row.low = range.low.value;
    row.high = range.high.value;
    return as_list(std::move(row));
}

std::vector<double> parse_list(std::string_view typed, Range range, const char* example, std::string_view place) {
    std::vector<double> values;
    for (const std::string_view item : split_list(typed)) values.push_back(parse_in_range(item, range, example, place));
    return values;
}

/// A list of lengths; empty text empties it.
template <class Access>
SettingRow lengths(std::string key, Access access, Range range, std::string help, Source source) {
    SettingRow row = list_of_lengths(std::move(key), range, std::move(help), std::move(source));
    row.get = [=](const Settings& settings, std::string_view name) {
        std::vector<std::string> items;
        for (const double mm : *access(settings, name)) {
            items.push_back(format_exact(Quantity::of(Length::mm(mm))));
        }
        return joined(items, ", ");
    };
    row.set = [=](Settings& settings, std::string_view name, std::string_view typed, std::string_view place) {
        *access(settings, name) = parse_list(typed, range, "100mm, 250mm", place);
    };
    return row;
}

// Points of a field, one or many, as a list of points and back.
std::vector<Vec3> points_of(const std::vector<Vec3>& field) { return field; }
std::vector<Vec3> points_of(const std::optional<Vec3>& field) {
    return field ? std::vector<Vec3>{*field} : std::vector<Vec3>{};
}
void store(std::vector<Vec3>& field, const std::vector<Vec3>& points, std::string_view place) {
    if (points.size() == 1) {
        throw Error(ErrorCode::bad_input, place, "one point makes no line", "tell two or more points X,Y,Z");
    }
    field = points;
}
void store(std::optional<Vec3>& field, const std::vector<Vec3>& points, std::string_view place) {
    if (points.size() > 1) {
        throw Error(ErrorCode::bad_input, place, std::to_string(points.size()) + " points for one place",
                    "tell one point X,Y,Z");
    }
    field = points.empty() ? std::nullopt : std::optional<Vec3>(points.front());
}

/// Points of the plug frame, three lengths each; empty text forgets them.
template <class Access>
SettingRow places(std::string key, Access access, std::string help, Source source) {
    const Range range = between(Length::mm(-25000), Length::mm(25000));
    SettingRow row = list_of_lengths(std::move(key), range, std::move(help), std::move(source));
    row.get = [=](const Settings& settings, std::string_view name) {
        std::vector<std::string> items;
        const auto* field = access(settings, name);
        for (const Vec3& p : field != nullptr ? points_of(*field) : std::vector<Vec3>{}) {
            for (const double along : {p.x, p.y, p.z}) {
                items.push_back(format_exact(Quantity::of(Length::mm(along))));
            }
        }
        return joined(items, ", ");
    };
    row.set = [=](Settings& settings, std::string_view name, std::string_view typed, std::string_view place) {
        const std::vector<double> values = parse_list(typed, range, "120mm, 40mm, -2mm", place);
        if (values.size() % 3 != 0) {
            throw Error(ErrorCode::bad_input, place, std::to_string(values.size()) + " lengths are no points X,Y,Z",
                        "tell three lengths a point, for example 120mm, 40mm, -2mm");
        }
        std::vector<Vec3> points;
        for (std::size_t i = 0; i < values.size(); i += 3) {
            points.push_back({values[i], values[i + 1], values[i + 2]});
        }
        store(*access(settings, name), points, place);
    };
    return row;
}

void check_vector(std::string_view typed, std::string_view place, const std::string& others) {
    const auto parts = split_list(typed);
    double size = 0;
    for (const std::string_view part : parts) {
        if (parts.size() == 3) {
            size += std::abs(parse_quantity(part, Dimension::ratio, place).value);
        }
    }
    if (!(size > 0)) {
        throw Error(ErrorCode::bad_input, place, in_quotes(typed) + " is no direction",
                    "use " + others + " or X,Y,Z like 0,0.2,1");
    }
}

void check_pull(std::string_view typed, std::string_view place) {
    if (typed != "vertical" && typed != "plug-up" && typed != "best") {
        check_vector(typed, place, "vertical, plug-up, best");
    }
}

void check_pull_2(std::string_view typed, std::string_view place) {
    if (typed != "opposite" && typed != "vertical" && typed != "plug-down" && typed != "best") {
        check_vector(typed, place, "opposite, vertical, plug-down, best");
    }
}

void check_scan_axis(std::string_view typed, std::string_view place) {
    const std::string_view axis = typed.substr(typed.starts_with('-') ? 1 : 0);
    if (typed != "auto" && axis != "x" && axis != "y" && axis != "z") {
        check_vector(typed, place, "auto, x, -x, y, -y, z, -z");
    }
}

void check_known(std::string_view typed, std::string_view place) {
    if (!typed.empty()) {
        parse_known(typed, place);
    }
}

void check_point_pairs(std::string_view typed, std::string_view place) { parse_point_pairs(typed, place); }

void check_bead_radius(std::string_view typed, std::string_view place) {
    if (typed != "auto") {
        parse_in_range(typed, between(Length::mm(1), Length::mm(200)), "auto or 9.5 mm", place);
    }
}

void check_corner_fill(std::string_view typed, std::string_view place) {
    if (typed != "auto") {
        parse_in_range(typed, between(Length::mm(0), Length::mm(200)), "auto or 12 mm", place);
    }
}

void check_name(std::string_view typed, std::string_view place) {
    if (!is_section_name(typed)) {
        throw Error(ErrorCode::bad_input, place, in_quotes(typed) + " is no name", "names are made of a-z, 0-9 and -");
    }
}

void check_names(std::string_view typed, std::string_view place) {
    for (const std::string_view name : split_list(typed)) check_name(name, place);
}

void check_paper(std::string_view typed, std::string_view) {
    paper_size({.size = std::string(typed), .margin = {}, .overlap = {}, .measured = {}, .parts = {}});
}

void check_offcuts(std::string_view typed, std::string_view) {
    Stock stock;
    stock.name = "NAME";
    stock.offcuts = typed;
    offcuts_of(stock);
}

void check_measured(std::string_view typed, std::string_view) {
    PaperOptions paper;
    paper.measured = typed;
    print_correction(paper);
}

void check_plies(std::string_view typed, std::string_view place) { split_plies(typed, place); }

std::vector<std::string> resin_names() {
    std::vector<std::string> names;
    for (const Resin& r : resins()) {
        names.emplace_back(r.name);
    }
    return names;
}

std::vector<std::string> material_names() {
    std::vector<std::string> names;
    for (const Material& m : materials()) {
        names.emplace_back(m.name);
    }
    return names;
}

// ---- the rows -------------------------------------------------------------------------------------------------------

using S = Settings;

Source practice(std::string what) { return Source::common_practice(std::move(what)); }
Source assumed(std::string why) { return Source::assumed(std::move(why)); }
constexpr auto mm = [](double v) { return Length::mm(v); };
constexpr auto deg = [](double v) { return Angle::deg(v); };
constexpr auto mpa = [](double v) { return Pressure::mpa(v); };
constexpr auto newton = [](double v) { return Force::n(v); };
constexpr auto kg_m3 = [](double v) { return Density::kg_m3(v); };

void add(std::vector<SettingRow>& rows, std::initializer_list<SettingRow> more) {
    rows.insert(rows.end(), more.begin(), more.end());
}

void add_scan_rows(std::vector<SettingRow>& rows) {
    add(rows,
        {choice<UnitSystem>("units", top(&S::units), {{"metric", UnitSystem::metric}, {"inch", UnitSystem::inch}},
                            "How lengths are shown in reports and on parts.", assumed("SI first")),
         choice<CutMethod>("cut-by", top(&S::cut_by),
                           {{"print", CutMethod::print}, {"saw", CutMethod::saw}, {"router", CutMethod::router}},
                           "How the parts are cut: by hand along printed templates, on a bandsaw, or on a router.",
                           assumed("a printer is always at hand")),
         text("plug.scan", at(&S::plug, &PlugOptions::scan), any_text,
              "File of the scanned plug; a relative path starts at the job file's folder.", assumed("must be told")),
         word("plug.unit", at(&S::plug, &PlugOptions::unit), {"", "mm", "cm", "m", "in", "ft"},
              "Unit of the scan file's numbers; leave empty when the format states it.", assumed("never guessed")),
         text("plug.known", at(&S::plug, &PlugOptions::known), check_known,
              "A length known on the plug, such as \"842 mm along span\"; fixes the scale of the scan.",
              assumed("not needed when the unit is known")),
         quantity("plug.hole-perimeter", at(&S::plug, &PlugOptions::hole_perimeter), between(mm(0), mm(5000)),
                  "Holes in the scan up to this perimeter are closed.", assumed("dropouts the size of a coin")),
         quantity("plug.weld", at(&S::plug, &PlugOptions::weld), between(mm(0), mm(5)),
                  "Corners of triangles closer than this become one point; 0 joins equal ones, and at open edges those "
                  "closer than a twentieth of the edges there.",
                  assumed("a corner written twice differs in its last digits at most")),
         choice<PlugOpening>("plug.opening", at(&S::plug, &PlugOptions::opening),
                             {{"keep", PlugOpening::keep},
                              {"cap", PlugOpening::cap},
                              {"mirror", PlugOpening::mirror},
                              {"join", PlugOpening::join}},
                             "Where the scan is open: keep it so (mass and sag stay unknown), cap it flat at its table "
                             "plane, mirror the half in it, or join a second scan.",
                             assumed("what was not scanned is not known")),
         text("plug.second-scan", at(&S::plug, &PlugOptions::second_scan), any_text,
              "File of a second scan that shows the rest, in the same unit; for opening = \"join\".",
              assumed("one scan unless told")),
         text("plug.second-points", at(&S::plug, &PlugOptions::second_points), check_point_pairs,
              "Three or more points that both scans show, first scan = second scan, in the files' numbers: "
              "\"0,0,5 = 12,40,3; ...\"; empty when both have one frame.",
              assumed("scanning programs export both in one frame")),
         quantity("plug.decimate", at(&S::plug, &PlugOptions::decimate), between(mm(0), mm(5)),
                  "Fewer triangles, as long as the surface moves by no more than this; 0 keeps all.",
                  assumed("the scan is quick enough as it is")),
         quantity("plug.density", at(&S::plug, &PlugOptions::density), between(kg_m3(5), kg_m3(20000)),
                  "Mean density of the plug, for its weight and for tipping.",
                  assumed("foam core with a skin of filler; weigh the plug and divide by its volume")),
         word("plug.material", at(&S::plug, &PlugOptions::material), material_names(),
              "What the plug's core is made of, for its stiffness.", assumed("the softest usual core")),
         quantity("plug.stiffness", at(&S::plug, &PlugOptions::stiffness), between(mpa(0), Pressure::gpa(300)),
                  "Modulus of the core as measured; 0 takes that of its material.",
                  assumed("as the material; or lay the plug on two blocks and measure how a weight bends it")),
         quantity("plug.skin", at(&S::plug, &PlugOptions::skin), between(mm(0), mm(50)),
                  "Thickness of a hard skin on the core; 0 = none.", assumed("bare foam until told")),
         quantity("plug.skin-stiffness", at(&S::plug, &PlugOptions::skin_stiffness),
                  between(mpa(1), Pressure::gpa(300)), "Modulus of the skin.",
                  {"krenchel", "from memory: 0/90 glass with epoxy loaded at 45 deg, 7.8 GPa"}),
         text("plug.template-stock", at(&S::plug, &PlugOptions::template_stock), check_name,
              "Sheet of the section templates by which extensions are shaped.",
              practice("hard and thin: a wire or a sanding block slides along its edge")),
         quantity("pose.tilt", at(&S::pose, &PoseOptions::tilt), between(deg(-80), deg(80)),
                  "Turns the plug about its span; positive lifts the front.", assumed("as the plug is told to lie")),
         quantity("pose.turn", at(&S::pose, &PoseOptions::turn), between(deg(-180), deg(180)),
                  "Turns the plug about the vertical, after the tilt.", assumed("as the plug is told to lie")),
         word("pose.compare", at(&S::pose, &PoseOptions::compare), {"auto", "yes", "no"},
              "The report tells how the plug would do at tilts up to 20 deg beside the told one; auto: where the scan "
              "has at most 100000 triangles.",
              practice("a builder wants to see what a little more tilt would do")),
         text("pose.pull", at(&S::pose, &PoseOptions::pull), check_pull,
              "Direction in which half 1 leaves: vertical, plug-up, best, or X,Y,Z in the plug frame.",
              practice("the first half is lifted straight up")),
         text("pose.pull-2", at(&S::pose, &PoseOptions::pull_2), check_pull_2,
              "Direction in which half 2 leaves: opposite to half 1's, vertical (down), plug-down, best, or X,Y,Z in "
              "the "
              "plug frame. The parting line stays.",
              practice("the second half is lifted straight off the first")),
         text("pose.up", at(&S::pose, &PoseOptions::up), check_scan_axis,
              "Which way of the scan is up: x, -x, y, -y, z, -z, X,Y,Z, or auto.", assumed("found from the shape")),
         text("pose.span", at(&S::pose, &PoseOptions::span), check_scan_axis,
              "Which way of the scan is the span: x, -x, y, -y, z, -z, X,Y,Z, or auto.",
              assumed("found from the shape"))});
}

void add_release_rows(std::vector<SettingRow>& rows) {
    add(rows,
        {quantity("release.min-draft", at(&S::release, &ReleaseOptions::min_draft), between(deg(0), deg(60)),
                  "Draft below this fails.", {"draft-trade-articles", "1 deg as lower limit, 3 deg or more preferred"}),
         quantity("release.good-draft", at(&S::release, &ReleaseOptions::good_draft), between(deg(0), deg(60)),
                  "Draft below this is marginal.",
                  {"draft-trade-articles", "3 deg or more preferred, another article 2-5 deg"}),
         quantity("release.draft-quantile", at(&S::release, &ReleaseOptions::draft_quantile), ratio_between(0, 0.5),
                  "Share of the moulded area that may have less draft.",
                  assumed("draft is 0 in a thin band at any smooth parting line")),
         quantity("release.undercut-limit", at(&S::release, &ReleaseOptions::undercut_limit), between(mm(0), mm(50)),
                  "Undercut up to this depth is let pass.", assumed("a fresh mould half gives this much")),
         quantity("release.wedge-lift", at(&S::release, &ReleaseOptions::wedge_lift), between(mm(0.1), mm(20)),
                  "Wedges lift a mould this far before it must be free of the plug that it shrank onto.",
                  assumed("one stroke of plastic wedges all round; more with jack bolts")),
         quantity("edge.*.slope", each(&S::edges, &EdgeOptions::slope), between(deg(-60), deg(60)),
                  "Slope of the flange panel at this edge, positive falling away from the plug.",
                  practice("as in the flange section"), "10 deg"),
         quantity("edge.*.width", each(&S::edges, &EdgeOptions::width), between(mm(5), mm(500)),
                  "Width of the flange panel at this edge.", practice("as in the flange section"), "75 mm"),
         quantity("edge.*.split", each(&S::edges, &EdgeOptions::split), ratio_between(0, 1),
                  "Share of a cut-off edge's strip, along the surface from half 1's corner, that half 1 takes.",
                  practice("each half takes its part of a squared edge"), "0.5"),
         quantity("edge.*.overrun", each(&S::edges, &EdgeOptions::overrun), between(mm(-50), mm(50)),
                  "Panel line beyond the silhouette by this much along the surface, positive toward half 2.",
                  practice("panels on the silhouette"), "2 mm"),
         word("edge.*.panel", each(&S::edges, &EdgeOptions::panel), {"", "auto", "flat", "curved"},
              "Panel at this edge where the line leaves its plane: flat pieces, one bent sheet, or auto: bent where "
              "flat "
              "would be several and the sheet bears it.",
              assumed("one bent sheet is less work than several pieces")),
         word("edge.*.bead", each(&S::edges, &EdgeOptions::bead), {"", "round", "ramp", "none"},
              "Clay between plug and panel at this edge: a round bead, a flat ramp or none; unset = a ramp on a split "
              "cut-off edge, round elsewhere.",
              practice("a round bead would hide a narrow cut-off edge; a low ramp leaves it to the part")),
         quantity("edge.*.extension", each(&S::edges, &EdgeOptions::extension), between(mm(0), mm(500)),
                  "How far a piece set on to this end (end-a or end-b) carries its section outward; 0 = none.",
                  practice("none; 30-50 mm take flange, bead and ragged laminate away from the part's end"), "40 mm"),
         word("edge.*.extension-slope", each(&S::edges, &EdgeOptions::extension_slope), {"", "straight", "sloped"},
              "The piece runs straight along the span, or sloped as the plug's own walls do at that end; unset = "
              "straight.",
              practice("a straight piece is cut along two equal templates")),
         quantity("edge.*.trim-step", each(&S::edges, &EdgeOptions::trim_step), between(mm(0), mm(5)),
                  "The piece stands back from the plug's surface by this, all round; the step shows in the part where "
                  "to trim; unset = 0.3 mm.",
                  practice("a step of 0.3 mm is seen and felt and lets go"), "0.3 mm"),
         quantity("edge.*.extension-lean", each(&S::edges, &EdgeOptions::extension_lean), between(deg(0), deg(30)),
                  "The piece's outer face leans back by this from its middle toward either half, so that both let go; "
                  "unset = 5 deg.",
                  {"draft-trade-articles", "another article 2-5 deg"}, "5 deg"),
         places("edge.*.polyline", each(&S::edges, &EdgeOptions::polyline),
                "Points of the plug frame through which the panel line runs at this edge; for rim, round the plug.",
                assumed("the line is found")),
         places("edge.*.from", each(&S::edges, &EdgeOptions::from),
                "Point of the plug frame near which an edge of this name begins; \"to\" ends it, the shorter way.",
                assumed("edges end at corners")),
         places("edge.*.to", each(&S::edges, &EdgeOptions::to),
                "Point of the plug frame near which an edge of this name ends.", assumed("edges end at corners")),
         quantity("flange.width", at(&S::flange, &FlangeOptions::width), between(mm(5), mm(500)),
                  "Width of the flange panels, square to the panel line.", practice("40-75 mm")),
         quantity("flange.slope", at(&S::flange, &FlangeOptions::slope), between(deg(-60), deg(60)),
                  "Slope of the flange panels, positive falling away from the plug.",
                  practice("square to the pull direction")),
         quantity("flange.gap", at(&S::flange, &FlangeOptions::gap), between(mm(0), mm(20)),
                  "Clearance between panel and plug, over the panel's whole thickness.",
                  practice("sheets fitted to 0.5 mm")),
         quantity("flange.gap-limit", at(&S::flange, &FlangeOptions::gap_limit), between(mm(0), mm(50)),
                  "Widest gap between panel and plug that clay still bridges.", assumed("four times the fitted gap")),
         quantity("flange.planarity", at(&S::flange, &FlangeOptions::planarity), between(mm(0.01), mm(20)),
                  "The panel line may leave the plane of its panel by this; more splits the panel.",
                  assumed("as much as the fitted gap")),
         quantity("flange.glue", at(&S::flange, &FlangeOptions::glue), between(mm(0), mm(5)),
                  "Thickness of the glue between panel and rib.", assumed("a thin line of contact or hot glue")),
         text("flange.stock", at(&S::flange, &FlangeOptions::stock), check_name, "Sheet of the flange panels.",
              practice("PVC sheet 2-4 mm"))});
}

void add_cradle_rows(std::vector<SettingRow>& rows) {
    using C = CradleOptions;
    add(rows,
        {quantity("cradle.ribs", at(&S::cradle, &C::ribs), count_between(0, 60),
                  "Number of ribs; 0 takes as many as the spacing asks for.", assumed("from the spacing")),
         quantity("cradle.spacing", at(&S::cradle, &C::spacing), between(mm(20), mm(2000)),
                  "Largest distance between ribs when their number is not told.",
                  practice("one rib every 150 mm for a foam plug")),
         lengths("cradle.stations", at(&S::cradle, &C::stations_mm), between(mm(-25000), mm(25000)),
                 "Places of the ribs along the span from the middle of the plug; empty spaces them evenly.",
                 assumed("evenly spaced")),
         quantity("cradle.clearance", at(&S::cradle, &C::clearance), between(mm(10), mm(2000)),
                  "Least height of a saddle above the baseboard.", practice("room for a hand and a clamp")),
         quantity("cradle.pad", at(&S::cradle, &C::pad), between(mm(0), mm(50)),
                  "Thickness of the saddle pads when the plug presses on them.", practice("foam or felt strip, 3 mm")),
         quantity("cradle.steepest", at(&S::cradle, &C::steepest), between(deg(10), deg(85)),
                  "A saddle ends where the plug is steeper than this.",
                  assumed("beyond it a pad slides instead of carrying")),
         quantity("cradle.panel-margin", at(&S::cradle, &C::panel_margin), between(mm(0), mm(200)),
                  "A saddle ends this far below a panel's underside.", assumed("a finger's width for clay and glue")),
         quantity("cradle.horn", at(&S::cradle, &C::horn), between(mm(1), mm(100)),
                  "Least width of the blunt end of a saddle.", practice("narrower plywood splits")),
         quantity("cradle.free", at(&S::cradle, &C::free), between(mm(0), mm(100)),
                  "Distance of rib and plug where they shall not touch.", assumed("pad thickness and some play")),
         quantity("cradle.slot-clearance", at(&S::cradle, &C::slot_clearance), between(mm(0), mm(2)),
                  "Slots are wider than the measured sheet by this.", practice("0.1-0.3 mm")),
         quantity("cradle.ties", at(&S::cradle, &C::ties), count_between(0, 20),
                  "Number of ties along the span that keep the ribs upright.", practice("one near each side")),
         word("cradle.long-ribs", at(&S::cradle, &C::long_ribs), {"auto", "yes", "no"},
              "Ties rise to ribs along the span that carry the plug too; auto: where one edge runs all round a plug "
              "wider than cradle.spacing.",
              practice("a dish sags between ribs that stand one way")),
         quantity("cradle.tie-height", at(&S::cradle, &C::tie_height), between(mm(10), mm(1000)), "Height of the ties.",
                  assumed("two thirds of the least saddle height")),
         quantity("cradle.stringer-width", at(&S::cradle, &C::stringer_width), between(mm(3), mm(200)),
                  "Width of the stringers under the panels.", practice("12 x 20 to 20 x 40 mm pine")),
         quantity("cradle.stringer-height", at(&S::cradle, &C::stringer_height), between(mm(3), mm(300)),
                  "Height of the stringers under the panels.", practice("12 x 20 to 20 x 40 mm pine")),
         quantity("cradle.base-margin", at(&S::cradle, &C::base_margin), between(mm(0), mm(500)),
                  "The baseboard reaches past the ribs by this.", practice("room for clamps and screws")),
         text("cradle.rib-stock", at(&S::cradle, &C::rib_stock), check_name, "Sheet of the ribs and ties.",
              practice("plywood or MDF 6-12 mm")),
         text("cradle.stringer-stock", at(&S::cradle, &C::stringer_stock), check_name,
              "Strip of the stringers, its thickness across and its width upright.",
              practice("12 x 20 to 20 x 40 mm pine")),
         text("cradle.base-stock", at(&S::cradle, &C::base_stock), check_name, "Sheet of the baseboard.",
              practice("18 mm board"))});
}

void add_bead_and_mould_rows(std::vector<SettingRow>& rows) {
    add(rows,
        {text("bead.radius", at(&S::bead, &BeadOptions::radius), check_bead_radius,
              "Radius of the clay bead, or auto: the smallest that every ply follows.",
              assumed("from the plies of both laminates")),
         text("bead.corner-fill", at(&S::bead, &BeadOptions::corner_fill), check_corner_fill,
              "Radius to which each mould's bends at a ramp are filled with resin paste over the gel coat before its "
              "cloth, 0 for none, or auto: the smallest that every ply follows.",
              practice("thickened resin in corners that cloth would bridge")),
         quantity("bead.density", at(&S::bead, &BeadOptions::density), between(kg_m3(500), kg_m3(5000)),
                  "Density of the clay.", practice("oil or wax clay 1500-1900 kg/m3; weigh a block")),
         quantity("bead.cover-limit", at(&S::bead, &BeadOptions::cover_limit), between(mm(0), mm(100)),
                  "The bead may hide this much of the plug beyond the panel line.",
                  assumed("a wall square to the panel loses the bead's own radius")),
         quantity("bead.join-gap-limit", at(&S::bead, &BeadOptions::join_gap_limit), between(mm(0), mm(200)),
                  "Widest strip of the part that neither half moulds, to be bridged when its halves are joined.",
                  assumed("tape of 50 mm then lands half its width on the halves")),
         text("bead.card-stock", at(&S::bead, &BeadOptions::card_stock), check_name,
              "Sheet of the scraper cards that shape the clay.",
              practice("stiff plastic of 2 mm; sheet metal of 1 mm for many metres")),
         choice<MouldUse>("mould.use", at(&S::mould, &MouldOptions::use),
                          {{"single", MouldUse::single},
                           {"trim-and-bond", MouldUse::trim_and_bond},
                           {"join-in-mould", MouldUse::join_in_mould}},
                          "What the mould is for: one half alone, halves trimmed and bonded, or joined inside the "
                          "closed mould.",
                          practice("halves are trimmed and bonded")),
         word("mould.resin", at(&S::mould, &MouldOptions::resin), resin_names(), "Resin of the mould's laminate.",
              assumed("epoxy shrinks least")),
         quantity("mould.resin-shrinkage", at(&S::mould, &MouldOptions::resin_shrinkage), ratio_between(0, 0.2),
                  "Shrinkage of that resin by volume, from its data sheet; 0 takes the resin's usual one.",
                  assumed("data sheets seldom state it")),
         quantity("mould.stiffener-spacing", at(&S::mould, &MouldOptions::stiffener_spacing), between(mm(20), mm(2000)),
                  "Free width of the mould's shell between its stiffeners.", assumed("a hand's span and more")),
         word("mould.back", at(&S::mould, &MouldOptions::back), {"auto", "no"},
              "Plates behind the mould that stiffen it and are its stand; auto: wherever it needs either.",
              practice("an egg crate of plywood tabbed to the back")),
         text("mould.stiffener-stock", at(&S::mould, &MouldOptions::stiffener_stock), check_name,
              "Sheet of the plates behind the mould.", practice("plywood of 9 to 18 mm")),
         quantity("mould.stiffener-depth", at(&S::mould, &MouldOptions::stiffener_depth), between(mm(15), mm(1000)),
                  "Depth of those plates where the mould comes nearest to the bench.",
                  practice("50 to 100 mm, more on large moulds")),
         quantity("mould.soft-strip", at(&S::mould, &MouldOptions::soft_strip), between(mm(0), mm(50)),
                  "Soft strip between the laminate and the plates, so that they do not print through.",
                  practice("foam or felt of 3 to 10 mm")),
         quantity("mould.tab-width", at(&S::mould, &MouldOptions::tab_width), between(mm(20), mm(300)),
                  "Width of the cloth that bonds a plate to the mould, half of it on either.",
                  practice("tapes of 50 to 100 mm")),
         word("mould.stand-clamp", at(&S::mould, &MouldOptions::stand_clamp), {"no", "yes"},
              "The turned-over mould's stand is clamped to the bench while it is worked on.",
              assumed("it only stands there")),
         quantity("mould.stand-tilt", at(&S::mould, &MouldOptions::stand_tilt), between(deg(-60), deg(60)),
                  "Angle of the opening to the bench as the turned-over mould stands; positive lifts the front.",
                  assumed("level: resin runs to no side")),
         quantity("mould.locator-diameter", at(&S::mould, &MouldOptions::locator_diameter), between(mm(6), mm(100)),
                  "Diameter of the locators at their foot.", practice("buttons of 15 to 25 mm")),
         quantity("mould.locator-height", at(&S::mould, &MouldOptions::locator_height), between(mm(2), mm(50)),
                  "Height of the locators over the panel.", practice("a third to a half of the diameter")),
         quantity("mould.locator-draft", at(&S::mould, &MouldOptions::locator_draft), between(deg(1), deg(45)),
                  "Draft of the locators' flank.", practice("5 degrees or more, so that they come out of the cloth"))});
}

void add_laminate_rows(std::vector<SettingRow>& rows, const std::string& section, LaminateOptions S::*laminate,
                       const std::string& what) {
    using L = LaminateOptions;
    const std::string key = "laminate." + section + ".";
    add(rows, {as_list(text(key + "plies", at(laminate, &L::plies), check_plies,
                            "Plies of the " + what + " from the surface inward, as \"NAME xN, NAME xN\"" +
                                (what == "mould" ? "; NAME xauto = as many as mould.stiffness wants." : "."),
                            practice("a light ply at the surface, heavier ones behind it"))),
               quantity(key + "gel-coat", at(laminate, &L::gel_coat), between(mm(0), mm(3)),
                        "Thickness of the gel coat of the " + what + ".",
                        {"gel-coat-trade-articles", "wet film 0.46-0.64 mm, trade range 0.4-0.9 mm; 0 = none"}),
               quantity(key + "veil", at(laminate, &L::veil), between(mm(0), mm(2)),
                        "Thickness of the surface veil of the " + what + ".",
                        practice("veil of 20-50 g/m2 with its resin; 0 = none")),
               quantity(key + "resin-density", at(laminate, &L::resin_density), between(kg_m3(800), kg_m3(2500)),
                        "Density of the cured resin.", {"mallick", "epoxy 1100-1200 kg/m3, from memory"})});
}

/// A told radius has no spread: what the sources of the built-in one differ by no longer counts.
SettingRow class_radius_row() {
    SettingRow row =
        quantity("cloth.*.class-radius", each(&S::cloths, &Cloth::class_radius_mm), between(mm(1), mm(200)),
                 "Smallest bead radius on which a normal light stack of this cloth stays down.",
                 practice("lay a coupon over grooves of known radius; a new cloth must be told this or "
                          "its overhang"),
                 "12.7 mm");
    row.set = [set = row.set](Settings& settings, std::string_view name, std::string_view text,
                              std::string_view place) {
        set(settings, name, text, place);
        Cloth& told = entry(settings.cloths, name);
        told.class_radius_low_mm = told.class_radius_high_mm = 0;
    };
    return row;
}

void add_cloth_rows(std::vector<SettingRow>& rows) {
    const auto cloth = [](auto field) { return each(&S::cloths, field); };
    const Source fibre{"jang-1994", "table of fibre properties; a new cloth starts as E-glass"};
    add(rows,
        {quantity("cloth.*.areal-mass", cloth(&Cloth::areal_mass_kg_mm2),
                  between(ArealMass::g_m2(10), ArealMass::g_m2(3000)), "Weight of the dry cloth.",
                  assumed("printed on the roll; must be told for a new cloth"), "320 g/m2"),
         class_radius_row(),
         quantity("cloth.*.overhang", cloth(&Cloth::overhang_mm), between(mm(0), mm(1000)),
                  "Length of a strip of the dry cloth that hangs over an edge until its tip meets 41.5 deg, mean of "
                  "four readings; with the weight it stands for the class radius. 0 = not tested.",
                  {"peirce-cantilever", "overhang test at 41.5 deg"}, "100 mm"),
         quantity("cloth.*.fibre-density", cloth(&Cloth::fibre_density_kg_mm3), between(kg_m3(500), kg_m3(8000)),
                  "Density of the fibre.", fibre, "2540 kg/m3"),
         quantity("cloth.*.fibre-diameter", cloth(&Cloth::fibre_diameter_mm), between(mm(0.001), mm(0.1)),
                  "Diameter of one filament.", fibre, "0.009 mm"),
         quantity("cloth.*.fibre-e", cloth(&Cloth::fibre_e_mpa), between(Pressure::gpa(1), Pressure::gpa(1000)),
                  "Stiffness of the fibre.", fibre, "72.4 GPa"),
         quantity("cloth.*.fibre-mass-fraction", cloth(&Cloth::fibre_mass_fraction), ratio_between(0.05, 0.9),
                  "Share of fibre in the laminate's mass, by hand layup.",
                  {"iso-12215-5", "defaults, from memory: mat 0.30, cloth 0.45-0.50"}, "0.5"),
         quantity(
             "cloth.*.filament-share", cloth(&Cloth::filament_share), ratio_between(0.05, 1),
             "Share of filaments that bend square to the corner: 0.5 for 0/90 cloth, 0.375 for random mat, 0.25 on "
             "the bias.",
             Source::derived("mean of cos^4 over the fibre directions"), "0.5"),
         choice<Weave>("cloth.*.weave", cloth(&Cloth::weave),
                       {{"plain", Weave::plain}, {"twill", Weave::twill}, {"satin", Weave::satin}, {"mat", Weave::mat}},
                       "How it is woven, which decides how far it shears before it wrinkles; mat is chopped strands.",
                       assumed("plain weave shears least")),
         quantity("cloth.*.lock-angle", cloth(&Cloth::lock_rad), between(Angle::deg(0), Angle::deg(85)),
                  "Shear at which your own sample wrinkled: draw a square on the bias and pull; 0 = that of its weave.",
                  practice("plain weave 30-40, twill 45-50, satin 50-60 deg"), "35 deg"),
         quantity("cloth.*.roll", cloth(&Cloth::roll_mm), between(mm(50), mm(5000)), "Width of the roll.",
                  practice("50 in; 1000 mm too"), "1270 mm"),
         quantity("cloth.*.price", cloth(&Cloth::price_per_m2), ratio_between(0, 1e6),
                  "Price of a square metre in your currency; 0 = not told.", assumed("not told"), "12")});
}

void add_stock_and_tool_rows(std::vector<SettingRow>& rows) {
    const auto stock = [](auto field) { return each(&S::stocks, field); };
    const Source sheet = practice("usual sheet; measure the thickness, nominal is not actual");
    add(rows,
        {word("stock.*.material", stock(&Stock::material), material_names(), "What the sheet or strip is made of.",
              sheet),
         quantity("stock.*.thickness", stock(&Stock::thickness_mm), between(mm(0.2), mm(100)),
                  "Measured thickness of the sheet or strip.", sheet, "9.2 mm"),
         quantity("stock.*.length", stock(&Stock::length_mm), between(mm(10), mm(20000)),
                  "Length of the sheet or strip.", sheet, "2440 mm"),
         quantity("stock.*.width", stock(&Stock::width_mm), between(mm(3), mm(20000)), "Width of the sheet or strip.",
                  sheet, "1220 mm"),
         choice<Grain>("stock.*.grain", stock(&Stock::grain),
                       {{"", Grain::as_material}, {"along", Grain::along}, {"none", Grain::none}},
                       "Whether parts lie along the sheet for the sake of its grain; empty: as its material has one.",
                       practice("plywood and timber have a grain, other sheets do not")),
         as_list(text("stock.*.offcuts", stock(&Stock::offcuts), check_offcuts,
                      "Pieces at hand, along the grain x across, used before a new sheet is begun, such as \"600mm x "
                      "400mm\".",
                      assumed("none at hand"))),
         quantity("stock.*.margin", stock(&Stock::margin_mm), between(mm(0), mm(200)),
                  "Kept free along the edges of a sheet or offcut, and at the ends of a strip.",
                  practice("10 mm: edges are bruised and clamps sit there"), "10 mm"),
         text("paper.size", at(&S::paper, &PaperOptions::size), check_paper,
              "Paper of the printed templates: a4, a3, letter, legal, tabloid, WxH such as \"600mm x 900mm\", or a "
              "roll by its "
              "width, \"610mm roll\".",
              {"iso-216", "size A4"}),
         quantity("paper.margin", at(&S::paper, &PaperOptions::margin), between(mm(0), mm(100)),
                  "Border of the paper that stays unprinted.", practice("printers need 6.35 mm, 12.7 mm is safe")),
         quantity("paper.overlap", at(&S::paper, &PaperOptions::overlap), between(mm(0), mm(100)),
                  "Neighbouring pages repeat this much.", practice("wide enough for tape")),
         text("paper.measured", at(&S::paper, &PaperOptions::measured), check_measured,
              "What the two 100 mm check bars measured on the printed page, \"W,H\"; corrects for the printer.",
              assumed("printer true to size")),
         as_list(text("paper.parts", at(&S::paper, &PaperOptions::parts), check_names,
                      "Ids (\"rib-3\") and kinds (\"rib\", \"panel\") of the parts to print; empty: all.",
                      practice("all are printed"))),
         quantity("saw.blade", at(&S::saw, &SawOptions::blade), between(mm(1), mm(60)),
                  "Width of the bandsaw blade; decides the smallest inside radius.",
                  practice("6.35 mm, 1/4 in, for curves")),
         quantity("saw.drum", at(&S::saw, &SawOptions::drum), between(mm(1), mm(300)),
                  "Diameter of the smallest sanding drum for fit edges.", practice("12.7 to 76 mm drums")),
         quantity("saw.kerf", at(&S::saw, &SawOptions::kerf), between(mm(0.2), mm(6)),
                  "Width of the saw's cut; try it in a scrap.",
                  practice("bandsaw 0.6 to 1.2 mm, jigsaw 1.2 to 1.5 mm")),
         quantity("saw.spare", at(&S::saw, &SawOptions::spare), between(mm(0), mm(50)),
                  "What stays outside the lines where parts are first sawn apart, for the true cut that follows.",
                  practice("3 mm: wide enough to saw on one side of, narrow enough to waste little")),
         quantity("router.cutter", at(&S::router, &RouterOptions::cutter), between(mm(0.5), mm(50)),
                  "Diameter of the router cutter.", practice("6 mm for sheet up to 18 mm"))});
}

void add_router_rows(std::vector<SettingRow>& rows) {
    using R = RouterOptions;
    const auto router = [](auto field) { return at(&S::router, field); };
    const auto feed_between = [](double low, double high) {
        return Range{{low, Dimension::feed}, {high, Dimension::feed}};
    };
    add(rows,
        {quantity("router.flutes", router(&R::flutes), count_between(1, 8), "Cutting edges of the router cutter.",
                  practice("two")),
         choice<CutDirection>("router.direction", router(&R::direction),
                              {{"conventional", CutDirection::conventional}, {"climb", CutDirection::climb}},
                              "Which way round the cutter goes: conventional for machines with play, climb for stiff "
                              "ones.",
                              practice("conventional on light machines, where a climbing cutter grabs")),
         quantity("router.speed", router(&R::speed_rpm), count_between(0, 60000),
                  "Turns of the spindle a minute; 0 takes the table's for the material.",
                  assumed("chosen by material")),
         quantity("router.feed", router(&R::feed_mm_min), feed_between(0, 30000),
                  "Feed along the cut; 0 takes the table's for material, cutter and speed.",
                  assumed("chosen by material, cutter and speed")),
         quantity("router.plunge", router(&R::plunge_mm_min), feed_between(0, 30000),
                  "Fastest feed downward; 0 takes a third of the feed along the cut.", practice("a third of the feed")),
         quantity("router.pass-depth", router(&R::pass_depth), between(mm(0), mm(100)),
                  "Deepest cut in one pass; 0 takes the table's for material and cutter.",
                  assumed("chosen by material and cutter")),
         quantity("router.ramp", router(&R::ramp), between(deg(0.5), deg(45)),
                  "Slope at which the cutter is led down along the cut.", practice("3 to 10 deg")),
         quantity("router.safe-height", router(&R::safe_height), between(mm(2), mm(200)),
                  "Height over the sheet at which the cutter travels; more than any clamp.",
                  practice("higher than the clamps")),
         quantity("router.through", router(&R::through), between(mm(0), mm(5)),
                  "Depth to which cuts go into the board under the sheet.", practice("0.2 to 0.5 mm")),
         quantity("router.onion-skin", router(&R::onion_skin), between(mm(0), mm(10)),
                  "Thickness left under every cut and cut with a knife; 0 cuts through and leaves tabs.",
                  assumed("none: tabs hold the parts")),
         quantity("router.tab-spacing", router(&R::tab_spacing), between(mm(10), mm(10000)),
                  "A tab at least every so often along a cut; two at least.", practice("200 to 400 mm")),
         quantity("router.tab-width", router(&R::tab_width), between(mm(0.5), mm(50)), "Width of a tab.",
                  practice("about the cutter's diameter")),
         quantity("router.tab-height", router(&R::tab_height), between(mm(0), mm(20)),
                  "Height of a tab, half the sheet at most; 0 leaves no tabs.", practice("1 to 3 mm")),
         quantity("router.engrave", router(&R::engrave), between(mm(0), mm(3)),
                  "Depth to which the router draws lines and centre marks; 0 leaves them out.",
                  assumed("marks are drawn by hand"))});
}

void add_limit_rows(std::vector<SettingRow>& rows) {
    using L = LimitOptions;
    add(rows,
        {quantity("limits.tip-factor", at(&S::limits, &L::tip_factor), ratio_between(1, 10),
                  "Least safety against tipping and sliding.", practice("factor 2 on stops and tipping")),
         quantity("limits.friction", at(&S::limits, &L::friction), ratio_between(0, 2),
                  "Friction of the released plug on its pads.",
                  assumed("no measured value found; waxed wood on wet snow 0.14, polymer film less")),
         quantity("limits.seat-deviation", at(&S::limits, &L::seat_deviation), between(mm(0.01), mm(20)),
                  "A saddle may miss its pad line by this.", assumed("what a 3 mm pad takes up")),
         quantity("limits.seat-share", at(&S::limits, &L::seat_share), ratio_between(0, 1),
                  "Share of a saddle's length that must touch.", assumed("more than half")),
         quantity("limits.clash", at(&S::limits, &L::clash), between(mm(0), mm(10)),
                  "Parts may overlap by this before it counts as a clash.", assumed("less than the slot clearance")),
         quantity("limits.hand-load", at(&S::limits, &L::hand_load), between(newton(0), newton(2000)),
                  "Force of a hand that leans on the plug.", assumed("five kilograms; press on a scale")),
         quantity("limits.squeegee-load", at(&S::limits, &L::squeegee_load), between(newton(0), newton(1000)),
                  "Force of the squeegee on panels, stringers and mould.",
                  practice("30 N, not confirmed; press on a scale")),
         quantity("limits.squeegee-width", at(&S::limits, &L::squeegee_width), between(mm(1), mm(500)),
                  "Width over which the squeegee presses.", practice("50-100 mm")),
         quantity("limits.sag", at(&S::limits, &L::sag), between(mm(0.01), mm(50)),
                  "The plug may sag by this between its ribs while a hand leans on it.",
                  assumed("as much as a panel may dip away from the plug")),
         quantity("limits.panel-dip", at(&S::limits, &L::panel_dip), between(mm(0.01), mm(20)),
                  "A panel may dip by this within 10 mm of the plug.", practice("0.5 mm under the squeegee")),
         quantity("limits.panel-dip-away", at(&S::limits, &L::panel_dip_away), between(mm(0.01), mm(20)),
                  "A panel may dip by this farther from the plug.", practice("1 mm under the squeegee")),
         quantity("limits.stringer-dip", at(&S::limits, &L::stringer_dip), between(mm(0.01), mm(20)),
                  "A stringer may bend by this between ribs.", assumed("as much as its panel beside the plug")),
         quantity("limits.bearing", at(&S::limits, &L::bearing), ratio_between(0.01, 1),
                  "A saddle may press on the plug's core with this share of what dents it.",
                  assumed("half of it leaves no mark in an afternoon")),
         quantity("limits.buckling-factor", at(&S::limits, &L::buckling_factor), ratio_between(1, 20),
                  "Least safety of ribs against buckling.", practice("3 for slender timber")),
         quantity("limits.mould-dip", at(&S::limits, &L::mould_dip), between(mm(0.01), mm(50)),
                  "The finished mould may dip by this under the squeegee.", assumed("a part's thickness")),
         quantity("limits.shrinkage", at(&S::limits, &L::shrinkage), between(mm(0.01), mm(100)),
                  "The mould may come out shorter than the plug by this.", assumed("twice the fitted gap"))});
}

void add_kit_rows(std::vector<SettingRow>& rows) {
    using K = KitOptions;
    add(rows,
        {quantity("kit.pot-life", at(&S::kit, &K::pot_life_s), time_between(60, 86400),
                  "Pot life of the mixed resin, from its data sheet.",
                  assumed("slow laminating epoxy; read the sheet")),
         quantity("kit.pot-life-at", at(&S::kit, &K::pot_life_at_degc), degc_between(0, 60),
                  "Temperature for which the pot life is stated.", practice("20 or 25 degC")),
         quantity("kit.room", at(&S::kit, &K::room_degc), degc_between(0, 60), "Temperature of the workshop.",
                  practice("18-25 degC")),
         quantity("kit.kilogram-time", at(&S::kit, &K::kilogram_time_s), time_between(30, 86400),
                  "Time in which one person spreads a kilogram of resin.", practice("30 g a minute")),
         quantity("kit.batch", at(&S::kit, &K::batch), between(Mass::kg(0), Mass::kg(50)),
                  "Resin and hardener mixed at a time; 0 takes the largest that the pot life lets.",
                  assumed("chosen from the pot life")),
         quantity("kit.hardener", at(&S::kit, &K::hardener), ratio_between(0.5, 200),
                  "Parts of hardener to 100 parts of resin, by mass.", assumed("read the label")),
         quantity("kit.waste", at(&S::kit, &K::waste), ratio_between(0, 1),
                  "Resin and gel coat that stay in pots and brushes, as a share of what is laid.",
                  practice("resin 10-15 %, gel coat 15 %")),
         quantity("kit.thickener", at(&S::kit, &K::thickener), ratio_between(0, 0.3),
                  "Fumed silica in the gel coat, as a share of its mass.", practice("2-5 % until it does not sag")),
         quantity("kit.warp", at(&S::kit, &K::warp), between(Angle::deg(-90), Angle::deg(90)),
                  "Direction of the warp on the patterns, from the span toward the front.",
                  practice("warp along the span")),
         quantity("kit.cloth-margin", at(&S::kit, &K::cloth_margin), between(mm(0), mm(300)),
                  "Cloth past the edge of the surface it covers.", practice("50 mm past the flange's edge")),
         quantity("kit.overlap", at(&S::kit, &K::overlap), between(mm(0), mm(300)),
                  "How far two pieces of one ply lie over each other.", practice("25 mm in light cloth")),
         quantity("kit.peel-margin", at(&S::kit, &K::peel_margin), between(mm(0), mm(300)),
                  "Peel ply past the edge of the surface.", practice("an edge to pull at")),
         quantity("kit.peel-roll", at(&S::kit, &K::peel_roll), between(mm(50), mm(5000)),
                  "Width of the roll of peel ply.", practice("60 in, 1500 mm")),
         quantity("kit.pieces", at(&S::kit, &K::pieces), count_between(1, 60),
                  "Most pieces that the cloth of one surface may be cut into so that none of them locks.",
                  assumed("more are not laid before the resin goes off")),
         quantity("kit.darts", at(&S::kit, &K::darts), count_between(0, 12),
                  "Most pairs of darts in one piece, where it would lock else; 0: it ends there, in a seam.",
                  assumed("more make a comb that will not hang together")),
         quantity("kit.wax-coats", at(&S::kit, &K::wax_coats), count_between(0, 20),
                  "Coats of release wax, each buffed.", practice("4-6 coats on a new plug")),
         quantity("kit.wax-wait", at(&S::kit, &K::wax_wait_s), time_between(0, 172800), "Wait after each coat of wax.",
                  practice("1 h; read the tin")),
         quantity("kit.film-coats", at(&S::kit, &K::film_coats), count_between(0, 10),
                  "Thin coats of release film over the wax.", practice("1-3 coats")),
         quantity("kit.film-wait", at(&S::kit, &K::film_wait_s), time_between(0, 172800),
                  "Wait after each coat of film.", practice("30 min; read the bottle")),
         quantity("kit.seal-coats", at(&S::kit, &K::seal_coats), count_between(0, 20),
                  "Coats of sealer on plug and panels before the wax.", practice("2-3 coats, rubbed down between")),
         quantity("kit.seal-wait", at(&S::kit, &K::seal_wait_s), time_between(0, 604800),
                  "Wait after each coat of sealer.", assumed("half a working day; read the tin")),
         quantity("kit.gel-coat-wait", at(&S::kit, &K::gel_coat_wait_s), time_between(0, 86400),
                  "Wait from the gel coat to the first cloth, until it is firm but still tacky.",
                  practice("1-3 h by hand layup; touch it, read the sheet")),
         quantity("kit.cure", at(&S::kit, &K::cure_s), time_between(0, 2592000),
                  "Wait from the last ply of a half until it is turned over or drilled.",
                  practice("24 h at 20 degC; read the sheet")),
         quantity("kit.open-wait", at(&S::kit, &K::open_wait_s), time_between(0, 2592000),
                  "Wait from half 2's last ply until the mould is opened.",
                  practice("2-7 days at 20 degC; the longer the truer")),
         quantity("kit.resin-price", at(&S::kit, &K::resin_price), ratio_between(0, 1e6),
                  "Price of a kilogram of resin with its hardener, in your currency; 0 = not told.",
                  assumed("not told")),
         quantity("kit.gel-coat-price", at(&S::kit, &K::gel_coat_price), ratio_between(0, 1e6),
                  "Price of a kilogram of gel coat; 0 = not told.", assumed("not told")),
         quantity("kit.peel-price", at(&S::kit, &K::peel_price), ratio_between(0, 1e6),
                  "Price of a square metre of peel ply; 0 = not told.", assumed("not told"))});
}

std::vector<SettingRow> make_rows() {
    std::vector<SettingRow> rows;
    add_scan_rows(rows);
    add_release_rows(rows);
    add_cradle_rows(rows);
    add_bead_and_mould_rows(rows);
    add_laminate_rows(rows, "mould", &S::laminate_mould, "mould");
    add_laminate_rows(rows, "part", &S::laminate_part, "part");
    add_cloth_rows(rows);
    add_stock_and_tool_rows(rows);
    add_router_rows(rows);
    add_limit_rows(rows);
    add_kit_rows(rows);
    return rows;
}

}  // namespace

std::span<const SettingRow> setting_rows() {
    static const std::vector<SettingRow> rows = make_rows();
    return rows;
}

}  // namespace cradlewright
