// SPDX-License-Identifier: GPL-3.0-or-later
// What is drawn on a panel's flat pattern for the things placed on it.
#include <algorithm>
#include <cmath>
#include <utility>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/hardware.hpp"
#include "stages/mark_text.hpp"

namespace cradlewright {
namespace {

using Sizes = HardwareSizes;

constexpr double cross_mm = 4, inside_mm = 2, air_mm = 1.5;
Box2 box_about(Vec2 p, double radius) { return {p - Vec2{radius, radius}, p + Vec2{radius, radius}}; }

bool overlap(const Box2& a, const Box2& b) {
    return a.low.x < b.high.x + air_mm && b.low.x < a.high.x + air_mm && a.low.y < b.high.y + air_mm &&
           b.low.y < a.high.y + air_mm;
}

/// Marks of all things on one panel; names are written last, clear of them and of each other.
class PanelMarker {
public:
    PanelMarker(FlangePanel& panel, const LocatorShape& shape)
        : panel_(panel), shape_(shape), inside_(offset(to_polygons(panel.part.outline), -inside_mm)) {}

    void mark(const std::vector<const HardwareItem*>& items) {
        const std::size_t before = panel_.part.marks.size();
        for (const HardwareItem* item : items) outline(*item);
        for (std::size_t i = 0; i < before; ++i) {
            const Mark& mark = panel_.part.marks[i];
            if (mark.kind != MarkKind::text) continue;
            const Vec2 low = mark.points.front();
            taken_.push_back({low, low + mark_text_size(mark.text, mark.size_mm)});
        }
        for (std::size_t i = 0; i < items.size(); ++i) label(words_for(*items[i]), items[i]->id, taken_[i]);
    }

private:
    void circle(Vec2 at, double diameter) { panel_.part.marks.push_back({MarkKind::circle, {at}, "", diameter / 2}); }
    void chain(std::vector<Vec2> points) { panel_.part.marks.push_back({MarkKind::line, std::move(points), "", 0}); }

    void outline(const HardwareItem& item) {
        double radius = 0;
        switch (item.kind) {
            case HardwareKind::locator:
                radius = locator(item);
                break;
            case HardwareKind::port:
                circle(item.flat, Sizes::port);
                radius = Sizes::port / 2;
                break;
            case HardwareKind::jack:
                circle(item.flat, Sizes::jack);
                circle(item.flat, Sizes::pad);
                radius = Sizes::pad / 2;
                break;
            case HardwareKind::bolt:
                circle(item.flat, Sizes::bolt);
                radius = Sizes::bolt / 2;
                break;
            case HardwareKind::notch:
                notch(item);
                return;
        }
        panel_.part.marks.push_back({MarkKind::cross, {item.flat}, "", cross_mm});
        taken_.push_back(box_about(item.flat, std::max(radius, cross_mm)));
    }

    /// Its print, the hole for its screw. Returns how far the print reaches.
    double locator(const HardwareItem& item) {
        circle(item.flat, Sizes::screw);
        if (!item.has_shim()) {
            circle(item.flat, 2 * shape_.radius_mm);
            return shape_.radius_mm;
        }
        // Uphill is where the axis leans to, seen on the panel.
        const Vec3 aside = cross(item.normal, item.out);
        const Vec2 uphill = item.flat_out * dot(item.axis, item.out) + perp(item.flat_out) * dot(item.axis, aside);
        std::vector<Vec2> print = shape_.print(item.shim_rad, -normalized(uphill));
        const double far = norm(print.front());
        print.push_back(print.front());
        for (Vec2& p : print) p += item.flat;
        chain(std::move(print));
        return far;
    }

    void notch(const HardwareItem& item) {
        constexpr double short_of_rim_mm = 0.5;
        const Vec2 side = perp(item.flat_out) * (Sizes::notch_width / 2);
        const Vec2 mouth = item.flat - item.flat_out * short_of_rim_mm;
        const Vec2 end = item.flat - item.flat_out * Sizes::notch_depth;
        Box2 box;
        for (const Vec2 p : {mouth - side, end - side, end + side, mouth + side}) box.add(p);
        chain({mouth - side, end - side, end + side, mouth + side});
        taken_.push_back(box);
    }

    static std::string words_for(const HardwareItem& item) {
        if (item.kind != HardwareKind::locator) return item.id;
        std::string words = item.id + " drill " + fixed(Sizes::screw, 1);
        if (item.has_shim()) words += " shim " + fixed(Angle::rad(item.shim_rad).deg(), 1) + " deg";
        return words;
    }

    [[nodiscard]] bool is_free(const Box2& box) const {
        const Vec2 corners[] = {box.low, {box.high.x, box.low.y}, box.high, {box.low.x, box.high.y}, box.center()};
        return std::all_of(std::begin(corners), std::end(corners), [&](Vec2 p) { return contains(inside_, p); }) &&
               std::none_of(taken_.begin(), taken_.end(), [&](const Box2& other) { return overlap(box, other); });
    }

    void label(const std::string& words, const std::string& id, const Box2 about) {
        const auto write = [&](const std::string& text, double height, Vec2 low) {
            panel_.part.marks.push_back({MarkKind::text, {low}, text, height});
            taken_.push_back({low, low + mark_text_size(text, height)});
        };
        const double gap = 1.1 * air_mm;
        for (const double height : {4.0, 3.0, 2.5})
            for (const std::string& text : {words, id}) {
                const Vec2 size = mark_text_size(text, height), middle = about.center() - size * 0.5;
                for (const Vec2 low : {Vec2{about.high.x + gap, middle.y}, Vec2{about.low.x - gap - size.x, middle.y},
                                       Vec2{middle.x, about.high.y + gap}, Vec2{middle.x, about.low.y - gap - size.y}})
                    if (is_free({low, low + size})) return write(text, height, low);
            }
        // Anywhere is better than nowhere.
        write(id, 2.5, {about.high.x + gap, about.center().y});
    }

    FlangePanel& panel_;
    const LocatorShape& shape_;
    Polygons inside_;
    std::vector<Box2> taken_;  // by items first, in their order, then by words
};

}  // namespace

Flange mark_hardware(Flange flange, const Hardware& hardware) {
    for (FlangePanel& panel : flange.panels) {
        std::vector<const HardwareItem*> items;
        for (const HardwareItem& item : hardware.items)
            if (item.panel == panel.id) items.push_back(&item);
        if (!items.empty()) PanelMarker(panel, hardware.locator).mark(items);
    }
    return flange;
}

}  // namespace cradlewright
