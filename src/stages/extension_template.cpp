// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "cradlewright/base/units.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/extension.hpp"
#include "cradlewright/stages/pose.hpp"
#include "stages/part_words.hpp"

namespace cradlewright {
namespace {

constexpr double pin_mm = 3;    // arms of the crosses at which both templates are pinned
constexpr double ridge_mm = 6;  // strokes that show where the outer face's ridge begins and ends

/// Two places far apart that lie well within both outlines: a nail through both crosses stands square to the joint.
std::vector<Vec2> pin_places(const Extension& e) {
    const Polygons both = intersect({e.inner}, {e.outer});
    for (const double inside : {2 * pin_mm, 1.2 * pin_mm}) {
        std::vector<Vec2> points;
        for (const auto& loop : offset(both, -inside)) points.insert(points.end(), loop.begin(), loop.end());
        std::pair<Vec2, Vec2> best;
        for (const Vec2 a : points)
            for (const Vec2 b : points)
                if (norm(b - a) > norm(best.second - best.first)) best = {a, b};
        if (norm(best.second - best.first) > 2 * pin_mm) return {best.first, best.second};
    }
    return {};
}

class TemplateMaker {
public:
    TemplateMaker(const Extension& extension, const Pose& pose, const Settings& settings)
        : extension_(extension), pose_(pose), settings_(settings), pins_(pin_places(extension)) {}

    [[nodiscard]] PlatePart inner() const {
        PlatePart part = blank(extension_.inner, "inner", 0);
        part.note = "section of the piece at the joint: that of the plug less " + length(extension_.trim_step_mm) +
                    " all round" + common_note();
        return part;
    }
    [[nodiscard]] PlatePart outer() const {
        PlatePart part = blank(extension_.outer, "outer", extension_.length_mm);
        part.note = "section of the piece " + length(extension_.length_mm) + " out" + common_note();
        return part;
    }

private:
    [[nodiscard]] std::string length(double mm) const {
        return format_quantity(Quantity::of(Length::mm(mm)), settings_.units);
    }
    [[nodiscard]] std::string common_note() const {
        return std::string("; drawn face outward") + (pins_.empty() ? "" : ", crosses of both in line");
    }

    [[nodiscard]] PlatePart blank(const std::vector<Vec2>& outline, const std::string& which, double height_mm) const {
        PlatePart part;
        part.id = "template-" + extension_.edge + "-" + which;
        part.kind = PartKind::section;
        part.stock = settings_.plug.template_stock;
        part.thickness_mm = stock(settings_, part.stock).thickness_mm;
        part.outline.outer = fit_lines_and_arcs(make_loop(outline, CutKind::fit)).loop;
        part.frame = compose(pose_.scan_to_fixture, extension_.joint);
        // On either end of the piece, the outer one beyond it.
        part.frame.origin += part.frame.z * (height_mm > 0 ? height_mm + part.thickness_mm : 0);
        for (const Vec2 pin : pins_) part.marks.push_back({MarkKind::cross, {pin}, "", pin_mm});
        if (height_mm > 0 && extension_.ridge[0] != extension_.ridge[1]) add_ridge(part);
        for (const char* words : {"outward, this way up", "out, up", "up"})
            if (write_words(part, words, pins_.empty() ? Vec2{} : pins_.front())) break;
        return part;
    }

    void add_ridge(PlatePart& part) const {
        const auto [a, b] = extension_.ridge;
        const Vec2 along = normalized(b - a) * std::min(ridge_mm, norm(b - a) / 4);
        part.marks.push_back({MarkKind::line, {a, a + along}, "", 0});
        part.marks.push_back({MarkKind::line, {b, b - along}, "", 0});
    }

    const Extension& extension_;
    const Pose& pose_;
    const Settings& settings_;
    std::vector<Vec2> pins_;
};

}  // namespace

std::vector<PlatePart> make_templates(const std::vector<Extension>& extensions, const Pose& pose,
                                      const Settings& settings) {
    std::vector<PlatePart> parts;
    for (const Extension& extension : extensions) {
        const TemplateMaker maker(extension, pose, settings);
        parts.push_back(maker.inner());
        parts.push_back(maker.outer());
    }
    return parts;
}

}  // namespace cradlewright
