// SPDX-License-Identifier: GPL-3.0-or-later
// Source: W3C, Scalable Vector Graphics 1.1, 8.3.8 (elliptical arc commands), 7.10 (units).
#include <algorithm>
#include <numbers>

#include "cradlewright/base/units.hpp"
#include "cradlewright/files/write_drawings.hpp"
#include "files/markup.hpp"

namespace cradlewright {

namespace {

constexpr double border_mm = 5;
constexpr double legend_height_mm = 3;
/// Capitals of common sans serif faces are 0.72 of the type size high (Helvetica 0.718).
constexpr double capital_share = 0.72;

struct LayerLook {
    Layer layer;
    std::string_view attributes;
};
// Solid and dashed, thick and thin, so that the layers are told apart without colour.
constexpr LayerLook looks[] = {
    {Layer::cut_fit, R"(fill="none" stroke="#c00000" stroke-width="0.35")"},
    {Layer::cut_rough, R"(fill="none" stroke="#0050c0" stroke-width="0.25" stroke-dasharray="4 2")"},
    {Layer::mark, R"(fill="none" stroke="#007a3d" stroke-width="0.18")"},
    {Layer::text, R"(fill="#000000" stroke="none" font-family="sans-serif")"},
};

std::string number(double value) { return fixed(value, 4); }

/// Maps the drawing (y up) to the picture (y down, corner at 0).
class SvgText {
public:
    explicit SvgText(const Box2& box) : box_(box) {}

    [[nodiscard]] std::string pair(Vec2 p) const {
        return number(p.x - box_.low.x + border_mm) + ' ' + number(box_.high.y - p.y + border_mm);
    }

    [[nodiscard]] std::string path(const DrawnPath& path) const {
        const std::size_t n = path.vertices.size();
        std::string d = "M" + pair(path.vertices.front().at);
        for (std::size_t i = 0; i + (path.is_closed ? 0 : 1) < n; ++i) {
            const PathVertex& v = path.vertices[i];
            const Vec2 to = path.vertices[(i + 1) % n].at;
            if (v.bulge == 0 || v.at == to) {
                // Z draws the last straight edge.
                if (i + 1 < n) d += " L" + pair(to);
                continue;
            }
            const std::string r = number(arc_of(v.at, to, v.bulge).radius);
            d += " A" + r + ' ' + r + " 0 " + (std::abs(v.bulge) > 1 ? '1' : '0') + ' ' + (v.bulge > 0 ? '0' : '1') +
                 ' ' + pair(to);
        }
        if (path.is_closed) d += " Z";
        return "<path d=\"" + d + "\"/>\n";
    }

    [[nodiscard]] std::string text(const DrawnText& text) const {
        const std::string at = pair(text.at);
        const std::size_t space = at.find(' ');
        std::string turn;
        if (text.angle_rad != 0)
            turn = " transform=\"rotate(" + fixed(-Angle::rad(text.angle_rad).deg(), 4) + ' ' + at + ")\"";
        return "<text x=\"" + at.substr(0, space) + "\" y=\"" + at.substr(space + 1) + "\" font-size=\"" +
               number(text.height_mm / capital_share) + '"' + turn + '>' + escape_markup(text.text) + "</text>\n";
    }

private:
    Box2 box_;
};

std::string layer_group(const Drawing& drawing, const LayerLook& look, const SvgText& svg) {
    const std::string name(layer_name(look.layer));
    std::string group = "<g id=\"" + name + "\" class=\"" + name + "\" " + std::string(look.attributes) + ">\n";
    for (const DrawnPath& path : drawing.paths) {
        if (path.layer == look.layer && !path.vertices.empty()) group += svg.path(path);
    }
    if (look.layer == Layer::text) {
        for (const DrawnText& text : drawing.texts) group += svg.text(text);
    }
    return group + "</g>\n";
}

}  // namespace

std::string svg_text(const Drawing& drawing) {
    Box2 box = drawing.box();
    if (box.is_empty()) box.add({});
    // The legend is words only: a line in it would be cut.
    const bool has_fit =
        std::ranges::any_of(drawing.paths, [](const DrawnPath& p) { return p.layer == Layer::cut_fit; });
    DrawnText legend{{box.low.x, box.low.y - 2 * legend_height_mm},
                     legend_height_mm,
                     0,
                     has_fit ? "mm, true size. Solid: fit; saw leaving the line, then sand to it. Dashed: rough."
                             : "mm, true size. Cut along the dashed line."};
    if (text_width_mm(legend) > box.size().x) legend.text = "mm 1:1";
    const double width = std::max(box.size().x, text_width_mm(legend)) + 2 * border_mm;
    const double height = box.size().y + 2 * legend_height_mm + 2 * border_mm;

    const SvgText svg(box);
    std::string text =
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"" +
        number(width) + "mm\" height=\"" + number(height) + "mm\" viewBox=\"0 0 " + number(width) + ' ' +
        number(height) + "\">\n<title>" + escape_markup(drawing.title) + "</title>\n";
    for (const LayerLook& look : looks) text += layer_group(drawing, look, svg);
    text += "<g id=\"legend\" class=\"legend\" fill=\"#555555\" font-family=\"sans-serif\">\n" + svg.text(legend) +
            "</g>\n";
    return text + "</svg>\n";
}

}  // namespace cradlewright
