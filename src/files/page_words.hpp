// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cradlewright/base/units.hpp"
#include "cradlewright/base/vec.hpp"
#include "cradlewright/stages/plate.hpp"
#include "files/markup.hpp"
#include "files/page_pictures.hpp"
#include "files/page_table.hpp"

/// \file What every section of report.html is written with. All strings returned are HTML.
namespace cradlewright {

/// Quantities in the job's units.
class PageWords {
protected:
    explicit PageWords(UnitSystem units) : units_(units) {}
    ~PageWords() = default;

    [[nodiscard]] std::string show(const Quantity& q) const { return escape_markup(format_quantity(q, units_)); }
    [[nodiscard]] std::string len(double mm) const { return length_cell(mm, 1, units_); }
    [[nodiscard]] std::string fine(double mm) const { return length_cell(mm, 2, units_); }
    [[nodiscard]] std::string area(double mm2) const { return show(Quantity::of(Area::mm2(mm2))); }
    [[nodiscard]] std::string mass(double kg) const { return show(Quantity::of(Mass::kg(kg))); }
    static std::string angle_deg(double deg) { return std::isfinite(deg) ? short_number(deg, 1) + " deg" : "unknown"; }
    static std::string angle(double rad) { return angle_deg(Angle::rad(rad).deg()); }
    [[nodiscard]] std::string dim(double mm) const { return dimension_text(mm, units_); }
    [[nodiscard]] std::string unit_word() const { return units_ == UnitSystem::inch ? "inches" : "mm"; }
    [[nodiscard]] std::string size(Vec3 s) const { return len(s.x) + " &times; " + len(s.y) + " &times; " + len(s.z); }
    [[nodiscard]] std::string place(Vec3 p) const { return dim(p.x) + ", " + dim(p.y) + ", " + dim(p.z); }
    static std::string direction(Vec3 d) {
        return short_number(d.x, 4) + ", " + short_number(d.y, 4) + ", " + short_number(d.z, 4);
    }
    static std::string id(std::string_view text) { return "<span class=\"id\">" + escape_markup(text) + "</span>"; }
    static std::string note(std::string_view text) { return text.empty() ? "" : paragraph(escape_markup(text)); }

    using Fact = std::pair<std::string_view, std::string>;
    static std::string facts(const std::vector<Fact>& list) {
        std::string html = "<dl class=\"facts\">";
        for (const auto& [term, value] : list) {
            html += "<div class=\"fact\"><dt>" + std::string(term) + "</dt><dd><b>" + value + "</b></dd></div>";
        }
        return html + "</dl>\n";
    }
    static std::string remark(const PlatePart& part) { return part.note.empty() ? "" : " " + escape_markup(part.note); }
    [[nodiscard]] std::string flat_size(const PlatePart& part) const {
        const Vec2 box = bounding_box(part.outline).size();
        return len(box.x) + " &times; " + len(box.y) + " &times; " + len(part.thickness_mm);
    }

    UnitSystem units_;
};

/// Figures of one page, numbered in the order they are asked for.
class PageFigures {
public:
    enum class Breadth { broad, narrow };
    /// `caption` is HTML; what the picture says of itself stays with the picture for those who cannot see it.
    std::string figure(const Picture& picture, Breadth breadth, std::string_view caption);
    /// A picture whose own words are its caption.
    std::string described(const Picture& picture, std::string_view more = {});

private:
    int count_ = 0;
};

}  // namespace cradlewright
