// SPDX-License-Identifier: GPL-3.0-or-later
// Source: WHATWG, HTML Living Standard, 4.12.1 (scripts and data blocks); RFC 4648, sec. 4 (base64).
#include "files/page_view.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <nlohmann/json.hpp>

#include "files/markup.hpp"
#include "files/page_script_texts.hpp"

namespace cradlewright {
namespace {

using Json = nlohmann::ordered_json;

/// What the view shows and hides together. `lift`: how many steps it rises when the fixture is pulled apart.
struct Kind {
    std::string_view id, name;
    double lift = 0;
    bool leaves_along_pull = false;
};
// In the order in which a builder takes them off, top first.
constexpr Kind kinds[] = {
    {"mould", "Surface of half 1", 3, true},
    {"plug", "Plug", 2, false},
    {"extension", "Extensions", 2, false},
    {"line", "Parting line", 2, false},
    {"bead", "Clay beads", 1.35, false},
    {"locator", "Locators", 1.35, false},
    {"panel", "Flange panels", 1, false},
    {"strap", "Straps", 0.8, false},
    {"stringer", "Stringers", 0.5, false},
    {"rib", "Ribs", 0, false},
    {"tie", "Ties", -0.5, false},
    {"stop", "Stops", -0.5, false},
    {"base", "Base", -1, false},
};
std::size_t kind_index(std::string_view id) {
    const auto* const found = std::ranges::find(kinds, id, &Kind::id);
    return found == std::end(kinds) ? kind_index("base") : static_cast<std::size_t>(found - kinds);
}

// ---- bytes

std::string base64(const std::vector<std::uint8_t>& bytes) {
    constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string text;
    text.reserve((bytes.size() + 2) / 3 * 4);
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        const std::size_t left = std::min<std::size_t>(3, bytes.size() - i);
        std::uint32_t group = 0;
        for (std::size_t k = 0; k < 3; ++k) group = group << 8 | (k < left ? bytes[i + k] : 0u);
        for (std::size_t k = 0; k < 4; ++k) text += k <= left ? letters[group >> (18 - 6 * k) & 63] : '=';
    }
    return text;
}
/// Little-endian numbers of `width` bytes.
class Packed {
public:
    explicit Packed(int width) : width_(width) {}
    void add(std::uint32_t value) {
        for (int k = 0; k < width_; ++k) bytes_.push_back(static_cast<std::uint8_t>(value >> (8 * k)));
    }
    [[nodiscard]] std::string text() const { return base64(bytes_); }

private:
    int width_;
    std::vector<std::uint8_t> bytes_;
};

// ---- the scene as data

class View {
public:
    View(const Design& design, const Scene& scene) : design_(design), scene_(scene), units_(design.settings.units) {
        for (const SceneNode& node : scene.nodes)
            for (const Vec3 v : node.mesh.vertices) box_.add(v);
    }

    [[nodiscard]] std::string html() const {
        const std::string name = escape_markup(design_.posed.plug.name);
        std::string html =
            "<div id=\"view\"><div id=\"view-stage\" data-label=\"" + name + " and its fixture in 3D\" data-hint=\"" +
            std::string(hint) +
            "\"><p>The 3D view needs a browser with scripts and WebGL switched on. "
            "<a href=\"./fixture.glb\">fixture.glb</a> shows the same in any viewer of glTF files.</p></div>\n"
            "<div id=\"view-controls\" hidden>\n<p id=\"view-say\" role=\"status\">" +
            std::string(hint) + "</p>\n";
        html += looks() + sliders() + legend() + shown_kinds() + point_out() + keys() + "</div></div>\n";
        if (scene_.plug_deviation_mm > 0)
            html += "<p class=\"small\">The plug is drawn from a thinned scan that lies within " +
                    length(scene_.plug_deviation_mm) + " of it. The figures come from the scan itself.</p>\n";
        return html + "<script type=\"application/json\" id=\"view-data\">" + data() + "</script>\n";
    }

private:
    static constexpr std::string_view hint = "Point at a part, or tap it, and its size stands here.";

    [[nodiscard]] std::string length(double mm) const { return format_quantity(Quantity::of(Length::mm(mm)), units_); }
    [[nodiscard]] static std::string degrees(double rad) { return format_quantity(Quantity::of(Angle::rad(rad))); }

    // ---- controls

    static std::string looks() {
        constexpr std::pair<std::string_view, std::string_view> list[] = {{"aslant", "Aslant"},
                                                                          {"above", "From above"},
                                                                          {"front", "From the front"},
                                                                          {"end", "From end-b"},
                                                                          {"below", "From below"}};
        std::string html = "<p id=\"view-looks\" role=\"group\" aria-label=\"Look at it\">";
        for (const auto& [id, name] : list)
            html += "<button type=\"button\" data-look=\"" + std::string(id) + "\">" + std::string(name) + "</button> ";
        return html + "</p>\n";
    }

    [[nodiscard]] std::string sliders() const {
        const std::size_t cuts = design_.cradle.ribs.size() + design_.cradle.long_ribs.size();
        std::string html = "<p class=\"view-row\">";
        html +=
            "<label>Cut open at a rib <input type=\"range\" id=\"view-cut\" min=\"0\" max=\"" + std::to_string(cuts) +
            "\" value=\"0\" autocomplete=\"off\"></label> <output id=\"view-cut-at\" for=\"view-cut\">whole</output> "
            "<label><input type=\"checkbox\" id=\"view-other-side\" autocomplete=\"off\"> keep the other side</label>"
            "</p>\n<p class=\"view-row\"><label>Pull apart <input type=\"range\" id=\"view-apart\" min=\"0\" "
            "max=\"100\" step=\"5\" value=\"0\" autocomplete=\"off\"></label> "
            "<output id=\"view-apart-by\" for=\"view-apart\">together</output> "
            "<label>Colour by <select id=\"view-colour\" autocomplete=\"off\"><option value=\"kind\">kind of part"
            "</option>";
        if (design_.parting.is_found()) html += "<option value=\"draft\">draft of the moulded surface</option>";
        return html + "</select></label></p>\n";
    }

    /// Draft bands, least first; `up_to` in degrees.
    struct Band {
        double up_to;
        std::string name;
        std::string_view colour;  ///< darker = worse, so that a grey print tells them apart too
    };
    [[nodiscard]] std::vector<Band> bands() const {
        const ReleaseOptions& release = design_.settings.release;
        const std::string least = degrees(release.min_draft.rad()), good = degrees(release.good_draft.rad());
        return {{0, "holds the mould (below 0 deg)", "#4d0f1f"},
                {release.min_draft.deg(), "too little (0 to " + least + ")", "#a8482c"},
                {release.good_draft.deg(), "little (" + least + " to " + good + ")", "#dfae52"},
                {90, "enough (" + good + " and more)", "#cfe8e2"}};
    }
    [[nodiscard]] std::string legend() const {
        std::string html = "<ul id=\"view-legend\" hidden aria-label=\"Draft, darkest is worst\">";
        for (const Band& band : bands())
            html += "<li><svg viewBox=\"0 0 20 12\" aria-hidden=\"true\"><rect width=\"20\" height=\"12\" fill=\"" +
                    std::string(band.colour) + "\"/></svg> " + escape_markup(band.name) + "</li>";
        return html +
               "<li>Each face toward the pull of its own half. At a smooth parting line the draft is 0 in a "
               "narrow band, always.</li></ul>\n";
    }

    [[nodiscard]] std::string shown_kinds() const {
        std::string html = "<fieldset id=\"view-kinds\"><legend>Show</legend>";
        for (std::size_t k = 0; k < std::size(kinds); ++k) {
            const bool is_there =
                std::ranges::any_of(scene_.nodes, [&](const SceneNode& node) { return kind_of(node) == k; });
            if (!is_there) continue;
            html += "<label><input type=\"checkbox\" data-kind=\"" + std::to_string(k) +
                    "\" checked autocomplete=\"off\"> " + std::string(kinds[k].name) + "</label> ";
        }
        return html + "</fieldset>\n";
    }

    [[nodiscard]] std::string point_out() const {
        std::string html =
            "<p class=\"view-row\"><label>Point out <select id=\"view-point\" autocomplete=\"off\">"
            "<option value=\"\">nothing</option>";
        for (const SceneNode& node : scene_.nodes) html += "<option>" + escape_markup(node.name) + "</option>";
        return html + "</select></label></p>\n";
    }

    static std::string keys() {
        return "<details><summary>Mouse, fingers and keys</summary><p id=\"view-keys\">Drag to turn, right button or "
               "two fingers to shift, wheel (after a click) or two fingers to come nearer. Keys, once the picture has "
               "the focus: arrows turn, + and - come nearer and back, comma and full stop move the cut, a and A pull "
               "apart and put together, 0 puts it back.</p></details>\n";
    }

    // ---- data

    static std::size_t kind_of(const SceneNode& node) {
        const std::string_view name = node.name;
        if (name == "plug") return kind_index("plug");
        if (name == "mould-surface") return kind_index("mould");
        if (name == "parting-line") return kind_index("line");
        const std::string_view stem = name.substr(0, name.find('-'));
        return kind_index(stem);
    }
    static bool is_sheet(const SceneNode& node) { return node.name == "mould-surface"; }

    /// What the builder reads when pointing at it.
    [[nodiscard]] std::string say(const SceneNode& node) const {
        const std::string head = node.name + ": ";
        for (const PlatePart* part : fixture_parts(design_)) {
            if (part->id != node.name) continue;
            const Vec2 size = bounding_box(part->outline).size();
            return head + length(size.x) + " x " + length(size.y) + ", " + length(part->thickness_mm) + " thick, of " +
                   part->stock + "." + station_of(*part);
        }
        for (const BeadRun& run : design_.beads.runs) {
            if (run.id != node.name) continue;
            const std::string shape = run.kind == BeadKind::ramp ? "ramp " + length(run.ramp_height_mm) + " high"
                                                                 : "radius " + length(run.radius_mm);
            return head + "clay, " + shape + ", " + length(run.length_mm) + " long.";
        }
        for (const Extension& e : design_.posed.plug.extensions)
            if ("extension-" + e.edge == node.name)
                return head + length(e.length_mm) + " long, stands back " + length(e.trim_step_mm) + ".";
        for (const HardwareItem& item : design_.hardware.items)
            if (item.id == node.name)
                return head + length(2 * design_.hardware.locator.radius_mm) + " across, " +
                       length(design_.hardware.locator.height_mm) + " high, on " + item.panel + ".";
        if (node.name == "parting-line") return head + length(line_length()) + " in all.";
        if (node.name == "mould-surface") return head + "what half 1 of the mould is laid on, without flange and clay.";
        const Vec3 size = design_.posed.box_fixture.size();
        return head + length(size.x) + " x " + length(size.y) + " x " + length(size.z) + " as it stands.";
    }
    [[nodiscard]] std::string station_of(const PlatePart& part) const {
        for (const Rib& rib : design_.cradle.ribs)
            if (rib.part.id == part.id) return " Station " + length(rib.station_mm) + ".";
        for (const Rib& rib : design_.cradle.long_ribs)
            if (rib.part.id == part.id) return " Stands along the span at " + length(rib.station_mm) + ".";
        return {};
    }
    [[nodiscard]] double line_length() const {
        double mm = 0;
        for (const PartingLoop& loop : design_.parting.loops) mm += loop.length_mm;
        return mm;
    }

    [[nodiscard]] Json node_data(const SceneNode& node) const {
        Packed points(2), corners(is_wide(node) ? 4 : 2);
        const Vec3 low = box_.low, size = box_.size();
        const auto share = [](double v, double from, double all) {
            return static_cast<std::uint32_t>(std::lround(all > 0 ? (v - from) / all * 65535 : 0));
        };
        for (const Vec3 v : node.mesh.vertices) {
            points.add(share(v.x, low.x, size.x));
            points.add(share(v.y, low.y, size.y));
            points.add(share(v.z, low.z, size.z));
        }
        for (const Triangle& t : node.mesh.triangles)
            for (const VertexId v : t) corners.add(v);
        Json json{{"id", node.name},
                  {"kind", kind_of(node)},
                  {"say", say(node)},
                  {"colour", {node.colour[0], node.colour[1], node.colour[2]}},
                  {"smooth", node.shading == Shading::smooth},
                  {"sheet", is_sheet(node)},
                  {"drafts", is_sheet(node) || !node.half.empty()},
                  {"wide", is_wide(node)},
                  {"points", points.text()},
                  {"corners", corners.text()}};
        if (!node.half.empty()) {
            std::vector<std::uint8_t> is_first(node.half.size());
            std::ranges::transform(node.half, is_first.begin(), [](int half) { return half == 1 ? 1 : 0; });
            json["halves"] = base64(is_first);
        }
        return json;
    }
    static bool is_wide(const SceneNode& node) { return node.mesh.vertices.size() > 65536; }

    [[nodiscard]] std::string data() const {
        const Vec3 pull = design_.posed.pose.pull_fixture, pull2 = design_.posed.pose.pull2_fixture, size = box_.size();
        Json json{{"low", {box_.low.x, box_.low.y, box_.low.z}},
                  {"high", {box_.high.x, box_.high.y, box_.high.z}},
                  {"pull", {pull.x, pull.y, pull.z}},
                  {"pull2", {pull2.x, pull2.y, pull2.z}},
                  // One step clears what lies between two kinds; a flat fixture needs more than its height.
                  {"step", std::max(0.5 * size.z, 0.12 * std::max(size.x, size.y))}};
        for (const Kind& kind : kinds)
            json["kinds"].push_back({{"lift", kind.lift}, {"leavesAlongPull", kind.leaves_along_pull}});
        for (const Band& band : bands())
            json["bands"].push_back({{"upTo", band.up_to}, {"name", band.name}, {"colour", band.colour}});
        json["cuts"] = Json::array();
        const auto add_cuts = [&](const std::vector<Rib>& ribs, int axis) {
            for (const Rib& rib : ribs)
                json["cuts"].push_back(
                    {{"axis", axis}, {"at", rib.station_mm}, {"say", rib.part.id + ", " + length(rib.station_mm)}});
        };
        add_cuts(design_.cradle.ribs, 0);
        add_cuts(design_.cradle.long_ribs, 1);
        json["nodes"] = Json::array();
        for (const SceneNode& node : scene_.nodes) json["nodes"].push_back(node_data(node));
        // A data block ends at the first "</"; in JSON a "<" stands only in strings, where it may be written by number.
        std::string text = json.dump(-1, ' ', true, Json::error_handler_t::replace), safe;
        safe.reserve(text.size());
        for (const char c : text) c == '<' ? safe += "\\u003c" : safe += c;
        return safe;
    }

    const Design& design_;
    const Scene& scene_;
    UnitSystem units_;
    Box3 box_;  ///< of all that is shown, fixture frame
};

std::string script(std::string_view text) { return "<script>" + std::string(text) + "</script>\n"; }

}  // namespace

std::string view_section(const Design& design, const Scene& scene) { return View(design, scene).html(); }

std::string page_scripts(bool has_view) {
    std::string html = script(ticks_script()) + script(tilts_script());
    if (has_view) {
        html += "<!--\nThe 3D view is drawn by three.js.\n" + std::string(three_licence()) + "-->\n";
        html += script(three_script()) + script(orbit_script()) + script(view_script());
    }
    return html;
}

}  // namespace cradlewright
