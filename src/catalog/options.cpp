// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/catalog/options.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <utility>

#include "catalog/text.hpp"
#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

[[noreturn]] void refuse(std::string_view place, const std::string& problem, const std::string& hint) {
    throw Error(ErrorCode::bad_input, place, problem, hint);
}

template <class Entry>
std::vector<std::string> names_of(const std::map<std::string, Entry>& entries) {
    std::vector<std::string> names;
    for (const auto& [name, entry] : entries) {
        names.push_back(name);
    }
    return names;
}

/// "did you mean X?" or the list of all.
std::string hint_for(std::string_view word, const std::vector<std::string>& known) {
    const std::string near = nearest_name(word, known);
    return near.empty() ? "known are " + joined(known, ", ") : "did you mean " + near + "?";
}

// ---- keys -----------------------------------------------------------------------------------------------------------

struct Match {
    const SettingRow* row = nullptr;
    std::string name;  ///< what stands for the *
};

/// "edge.*.slope" and "edge.front.slope": the name, or nothing when they differ. A name holds no dot.
std::optional<std::string> name_in_key(std::string_view pattern, std::string_view key) {
    const std::size_t star = pattern.find('*');
    if (star == std::string_view::npos) {
        return pattern == key ? std::optional<std::string>(std::string()) : std::nullopt;
    }
    const std::string_view head = pattern.substr(0, star);
    const std::string_view tail = pattern.substr(star + 1);
    if (key.size() <= head.size() + tail.size() || !key.starts_with(head) || !key.ends_with(tail)) {
        return std::nullopt;
    }
    const std::string_view name = key.substr(head.size(), key.size() - head.size() - tail.size());
    return name.find('.') == std::string_view::npos ? std::optional<std::string>(name) : std::nullopt;
}

Match find_row(std::string_view key) {
    for (const SettingRow& row : setting_rows()) {
        if (auto name = name_in_key(row.key, key)) {
            return {&row, *std::move(name)};
        }
    }
    return {};
}

/// All keys, with the middle part of `key` standing for the names that users choose.
std::vector<std::string> keys_like(std::string_view key) {
    const std::size_t first_dot = key.find('.');
    const std::size_t last_dot = key.rfind('.');
    const bool has_middle = first_dot != last_dot;
    const std::string middle(has_middle ? key.substr(first_dot + 1, last_dot - first_dot - 1) : "NAME");
    std::vector<std::string> keys;
    for (const SettingRow& row : setting_rows()) {
        std::string full = row.key;
        const std::size_t star = full.find('*');
        keys.push_back(star == std::string::npos ? full : full.replace(star, 1, middle));
    }
    return keys;
}

Match known_row(std::string_view key, std::string_view place) {
    Match match = find_row(key);
    if (match.row == nullptr) {
        const std::string near = nearest_name(key, keys_like(key));
        refuse(place, "unknown setting " + in_quotes(key),
               near.empty() ? "a new job file lists every setting" : "did you mean " + near + "?");
    }
    if (match.row->key.find('*') != std::string::npos && !is_section_name(match.name)) {
        refuse(place, in_quotes(match.name) + " in " + in_quotes(key) + " is no name",
               "names are made of a-z, 0-9 and -");
    }
    return match;
}

// ---- paper ----------------------------------------------------------------------------------------------------------

/// A length whose unit may be left out because the page says mm.
Length millimetres(std::string_view text, std::string_view place) {
    const bool has_unit = number_part(text).size() < without_blanks_around(text).size();
    return parse_length(has_unit ? std::string(text) : std::string(text) + "mm", place);
}

double told_side(std::string_view text, double low_mm, double high_mm, std::string_view place,
                 const std::string& example) {
    const double mm = parse_length(text, place).mm();
    if (!(mm >= low_mm && mm <= high_mm)) {
        const auto shown = [](double limit_mm) { return format_exact(Quantity::of(Length::mm(limit_mm))); };
        refuse(place, in_quotes(text) + " is outside " + shown(low_mm) + " to " + shown(high_mm),
               "for example " + example);
    }
    return mm;
}

/// Both lengths of "A x B", where the x stands at `middle`, each from `low_mm` to `high_mm`.
Vec2 told_sides(std::string_view text, std::size_t middle, double low_mm, double high_mm, std::string_view place) {
    const auto side = [&](std::string_view part) { return told_side(part, low_mm, high_mm, place, "600mm x 900mm"); };
    const double first = side(text.substr(0, middle));
    return {first, side(text.substr(middle + 1))};
}

constexpr double least_paper_mm = 50, most_paper_mm = 5000;

PaperSize told_size(std::string_view text) {
    constexpr std::string_view place = "paper.size", roll = "roll";
    if (text.ends_with(roll)) {
        const std::string_view width = text.substr(0, text.size() - roll.size());
        return {
            "roll", told_side(width, least_paper_mm, most_paper_mm, place, "610mm roll"), 0, {"told", "paper.size"}};
    }
    const std::size_t x = text.find_first_of("xX");
    if (x == std::string_view::npos) {
        std::vector<std::string> names;
        for (const PaperSize& paper : papers()) {
            names.emplace_back(paper.name);
        }
        refuse(place, "unknown paper " + in_quotes(text),
               hint_for(text, names) + " or give WxH such as 600mm x 900mm, or a roll such as 610mm roll");
    }
    const Vec2 sides = told_sides(text, x, least_paper_mm, most_paper_mm, place);
    return {"custom", sides.x, sides.y, {"told", "paper.size"}};
}

PaperSize named_or_told_size(std::string_view text) {
    const auto all = papers();
    const auto named = std::find_if(all.begin(), all.end(), [&](const PaperSize& paper) { return paper.name == text; });
    return named != all.end() ? *named : told_size(text);
}

// ---- rules between settings -----------------------------------------------------------------------------------------

void check_stock_names(const Settings& settings) {
    const std::array<std::pair<const char*, const std::string*>, 7> uses{{
        {"plug.template-stock", &settings.plug.template_stock},
        {"flange.stock", &settings.flange.stock},
        {"cradle.rib-stock", &settings.cradle.rib_stock},
        {"cradle.stringer-stock", &settings.cradle.stringer_stock},
        {"cradle.base-stock", &settings.cradle.base_stock},
        {"bead.card-stock", &settings.bead.card_stock},
        {"mould.stiffener-stock", &settings.mould.stiffener_stock},
    }};
    for (const auto& [key, name] : uses) {
        try {
            stock(settings, *name);
        } catch (const Error& error) {
            throw Error(ErrorCode::bad_input, key, error.what());
        }
    }
}

void check_order(std::string_view key, const Quantity& low, const Quantity& high, std::string_view high_key) {
    if (low.value > high.value) {
        refuse(key, format_exact(low) + " is more than " + std::string(high_key) + ", " + format_exact(high),
               "lower it or raise " + std::string(high_key));
    }
}

void check_edges(const Settings& settings) {
    for (const auto& [name, edge] : settings.edges) {
        const std::string key = "edge." + name + ".";
        if (edge.split && edge.overrun) {
            refuse(key + "overrun", "goes not together with " + key + "split", "leave one of them out");
        }
        if (!edge.polyline.empty() && (edge.split || edge.overrun)) {
            refuse(key + "polyline", "goes not together with split or overrun", "leave one of them out");
        }
        if (edge.from.has_value() != edge.to.has_value()) {
            refuse(key + (edge.from ? "to" : "from"), "is missing: an edge has two ends", "tell both or neither");
        }
    }
}

}  // namespace

Settings::Settings() {
    for (const Cloth& cloth : default_cloths()) {
        cloths.emplace(cloth.name, cloth);
    }
    for (const Stock& stock : default_stocks()) {
        stocks.emplace(stock.name, stock);
    }
}

const SettingRow* find_setting(std::string_view key) { return find_row(key).row; }

void set_setting(Settings& settings, std::string_view key, std::string_view text, Origin origin,
                 std::string_view place) {
    const Match match = known_row(key, place);
    const std::string prefix = place.empty() ? std::string() : std::string(place) + ": ";
    match.row->set(settings, match.name, text, prefix + std::string(key));
    settings.origin[std::string(key)] = origin;
}

std::string get_setting(const Settings& settings, std::string_view key) {
    const Match match = known_row(key, "settings");
    return match.row->get(settings, match.name);
}

std::vector<PlyRun> parse_plies(const Settings& settings, std::string_view text, std::string_view place,
                                int auto_count) {
    std::vector<PlyRun> runs;
    for (const auto& [name, count] : split_plies(text, place)) {
        const auto found = settings.cloths.find(name);
        if (found == settings.cloths.end()) {
            refuse(place, "unknown cloth " + in_quotes(name), hint_for(name, names_of(settings.cloths)));
        }
        const Cloth& cloth = found->second;
        if (!(cloth.areal_mass_kg_mm2 > 0)) {
            refuse(place, "cloth." + name + ".areal-mass is not set", "for example 320 g/m2, as printed on the roll");
        }
        if (!(cloth.class_radius_mm > 0) && !(cloth.overhang_mm > 0)) {
            refuse(place, "cloth." + name + ".class-radius is not set",
                   "lay a coupon over grooves of known radius and give the smallest that holds, for example 12.7 mm; "
                   "or hang a strip over an edge and give cloth." +
                       name + ".overhang");
        }
        if (count == 0 && auto_count == 0) {
            refuse(place, "how many plies of " + name + " is auto, which only a whole mould can decide",
                   "say how many, for example " + name + " x4");
        }
        runs.push_back({cloth, count == 0 ? auto_count : count});
    }
    return runs;
}

const Stock& stock(const Settings& settings, std::string_view name) {
    const std::string place = "stock." + std::string(name);
    const auto found = settings.stocks.find(std::string(name));
    if (found == settings.stocks.end()) {
        refuse(place, "unknown stock", hint_for(name, names_of(settings.stocks)));
    }
    const Stock& known = found->second;
    if (known.material.empty()) {
        refuse(place + ".material", "is not set", "for example birch-plywood");
    }
    const std::array<std::pair<const char*, double>, 3> sizes{
        {{".thickness", known.thickness_mm}, {".length", known.length_mm}, {".width", known.width_mm}}};
    for (const auto& [field, mm] : sizes) {
        if (!(mm > 0)) {
            refuse(place + field, "is not set", "measure the sheet");
        }
    }
    return known;
}

PaperSize paper_size(const PaperOptions& options) {
    const PaperSize paper = named_or_told_size(without_blanks_around(options.size));
    const double side_mm = paper.height_mm > 0 ? std::min(paper.width_mm, paper.height_mm) : paper.width_mm;
    const double usable_mm = side_mm - 2 * options.margin.mm();
    constexpr double least_step_mm = 20;  // below this a template falls into hundreds of strips
    if (usable_mm - options.overlap.mm() < least_step_mm) {
        refuse("paper.margin", "margins and overlap leave nothing of " + options.size + " to print on",
               "lower paper.margin or paper.overlap");
    }
    return paper;
}

std::vector<Vec2> offcuts_of(const Stock& stock) {
    const std::string place = "stock." + stock.name + ".offcuts";
    std::vector<Vec2> pieces;
    for (const std::string_view item : split_list(stock.offcuts)) {
        const std::size_t x = item.find_first_of("xX");
        if (x == std::string_view::npos) refuse(place, in_quotes(item) + " is no size", "for example 600mm x 400mm");
        pieces.push_back(told_sides(item, x, 10, 20000, place));
    }
    std::stable_sort(pieces.begin(), pieces.end(), [](Vec2 a, Vec2 b) { return a.x * a.y < b.x * b.y; });
    return pieces;
}

Vec2 print_correction(const PaperOptions& options) {
    constexpr std::string_view place = "paper.measured";
    constexpr double bar_mm = 100, most_off = 0.1;
    const auto parts = split_list(options.measured);
    if (parts.empty()) {
        return {1, 1};
    }
    if (parts.size() != 2) {
        refuse(place, in_quotes(options.measured) + " is not two lengths", "for example 99.6mm, 100.2mm");
    }
    const auto factor = [&](std::string_view part) {
        const double mm = millimetres(part, place).mm();
        if (!(std::abs(mm - bar_mm) <= most_off * bar_mm)) {
            refuse(place, in_quotes(part) + " is far from the 100 mm of the check bar",
                   "measure the bars of the printed page; for example 99.6mm, 100.2mm");
        }
        return bar_mm / mm;
    };
    const double x = factor(parts[0]);
    return {x, factor(parts[1])};
}

Length parse_known(std::string_view text, std::string_view place) {
    constexpr std::string_view ending = "along span";
    const std::string_view typed = without_blanks_around(text);
    const std::string hint = "for example 842mm along span";
    if (!typed.ends_with(ending)) {
        refuse(place, in_quotes(typed) + " does not end with \"along span\"", hint);
    }
    const Length length = parse_length(typed.substr(0, typed.size() - ending.size()), place);
    if (!(length.mm() > 0)) {
        refuse(place, in_quotes(typed) + " is not a positive length", hint);
    }
    return length;
}

namespace {

constexpr std::string_view point_pairs_hint =
    "for example \"0,0,5 = 12,40,3; 400,0,5 = 12,440,3; 200,90,0 = 99,240,0\"";

Vec3 parse_plain_point(std::string_view text, std::string_view whole, std::string_view place) {
    std::array<double, 3> value{};
    for (std::size_t i = 0; i < 3; ++i) {
        const std::size_t comma = i < 2 ? text.find(',') : text.size();
        const std::string_view number = without_blanks_around(text.substr(0, comma));
        const auto [end, code] = std::from_chars(number.data(), number.data() + number.size(), value[i]);
        if (comma == std::string_view::npos || code != std::errc{} || end != number.data() + number.size() ||
            !std::isfinite(value[i]))
            refuse(place, in_quotes(whole) + " is no pair of points", std::string(point_pairs_hint));
        text.remove_prefix(std::min(comma + 1, text.size()));
    }
    return {value[0], value[1], value[2]};
}

}  // namespace

std::vector<std::pair<Vec3, Vec3>> parse_point_pairs(std::string_view text, std::string_view place) {
    std::vector<std::pair<Vec3, Vec3>> pairs;
    for (std::string_view rest = without_blanks_around(text); !rest.empty();) {
        const std::size_t end = std::min(rest.find(';'), rest.size());
        const std::string_view pair = rest.substr(0, end);
        const std::size_t equals = std::min(pair.find('='), pair.size());
        const std::string_view second = equals < pair.size() ? pair.substr(equals + 1) : std::string_view{};
        pairs.emplace_back(parse_plain_point(pair.substr(0, equals), pair, place),
                           parse_plain_point(second, pair, place));
        rest = without_blanks_around(rest.substr(std::min(end + 1, rest.size())));
    }
    if (pairs.size() == 1 || pairs.size() == 2)
        refuse(place,
               "two scans are placed by three pairs of points or more, " + std::to_string(pairs.size()) + " given",
               std::string(point_pairs_hint));
    return pairs;
}

void add_caliper(Settings& settings, CaliperCheck caliper, std::string_view place) {
    const bool is_between_points = caliper.from.has_value() && caliper.to.has_value();
    const bool has_any_point = caliper.from.has_value() || caliper.to.has_value();
    const auto& others = settings.calipers;
    if (caliper.name.empty()) {
        refuse(place, "a caliper check needs a name", "for example name = \"chord at the root\"");
    }
    if (std::any_of(others.begin(), others.end(), [&](const CaliperCheck& c) { return c.name == caliper.name; })) {
        refuse(place, "the caliper check " + in_quotes(caliper.name) + " is given twice", "name each differently");
    }
    if (caliper.axis.empty() ? !is_between_points : has_any_point) {
        refuse(place, "the caliper check " + in_quotes(caliper.name) + " needs either axis, or from and to",
               "for example axis = \"span\"");
    }
    if (!caliper.axis.empty() && caliper.axis != "span" && caliper.axis != "front" && caliper.axis != "up") {
        refuse(place, in_quotes(caliper.axis) + " is no axis", "use span, front or up");
    }
    if (!(caliper.measured.mm() > 0)) {
        refuse(place, "the caliper check " + in_quotes(caliper.name) + " needs a measured length above 0",
               "for example measured = \"212.4mm\"");
    }
    settings.calipers.push_back(std::move(caliper));
}

/// Two measurements of one thing; the coupon is the better one, but who told both must say which.
void check_cloth_tests(const Settings& settings) {
    for (const auto& [name, cloth] : settings.cloths) {
        const std::string key = "cloth." + name;
        if (cloth.overhang_mm > 0 && settings.origin.contains(key + ".class-radius"))
            refuse(key + ".overhang", "stands for a class radius, but " + key + ".class-radius is told too",
                   "keep class-radius if it comes from a coupon laid over known radii, else overhang");
    }
}

void check_settings(const Settings& settings) {
    check_cloth_tests(settings);
    check_stock_names(settings);
    check_edges(settings);
    check_order("release.min-draft", Quantity::of(settings.release.min_draft),
                Quantity::of(settings.release.good_draft), "release.good-draft");
    check_order("flange.gap", Quantity::of(settings.flange.gap), Quantity::of(settings.flange.gap_limit),
                "flange.gap-limit");
    parse_plies(settings, settings.laminate_mould.plies, "laminate.mould.plies", 1);
    parse_plies(settings, settings.laminate_part.plies, "laminate.part.plies");
    paper_size(settings.paper);
    if (settings.cradle.ribs == 1) {
        refuse("cradle.ribs", "one rib holds nothing upright", "use 2 or more, or 0 to take them from cradle.spacing");
    }
    if (settings.cradle.stations_mm.size() == 1) {
        refuse("cradle.stations", "one rib holds nothing upright", "give two stations or more");
    }
}

std::string nearest_name(std::string_view word, std::span<const std::string> known) {
    constexpr std::size_t longest_word = 100;  // nobody mistypes a name this long, and hostile input may be megabytes
    if (word.empty() || word.size() > longest_word) {
        return {};
    }
    std::size_t best = std::max<std::size_t>(1, word.size() / 3) + 1;
    std::string nearest;
    for (const std::string& name : known) {
        const std::size_t distance = name.empty() ? best : spelling_distance(word, name);
        if (distance < best) {
            best = distance;
            nearest = name;
        }
    }
    return nearest;
}

}  // namespace cradlewright
