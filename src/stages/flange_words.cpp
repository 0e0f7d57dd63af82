// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/flange_words.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace cradlewright {
namespace {

constexpr double fair_open_mm = 0.5;     // of a joint's top: filler and sandpaper fair it. Assumed
constexpr double pressed_share = 0.01;   // of the length: a bow that a hand presses down. Assumed
constexpr double bend_word_share = 0.3;  // on a panel's pattern, from the plug outward along its bend lines
constexpr double bend_word_mm = 3;

class Wording {
public:
    Wording(Flange& flange, const Settings& settings) : flange_(flange), settings_(settings) {}

    void write() {
        std::map<std::string, int> count;
        for (FlangePanel& panel : flange_.panels) {
            panel.id = panel.part.id = "panel-" + panel.edge + "-" + std::to_string(++count[panel.edge]);
            panel.part.note = "drawn face is the top; fit edge toward the plug";
            if (panel.is_curved()) word_bend(panel);
        }
        add_ridges();
        for (FlangePanel& panel : flange_.panels)
            for (const PanelBevel& bevel : panel.bevels) word_bevel(panel, bevel);
    }

private:
    [[nodiscard]] std::string len(double mm) const {
        return format_quantity(Quantity::of(Length::mm(mm)), settings_.units);
    }

    void word_bend(FlangePanel& panel) const {
        for (const BendMap::Ruling& ruling : panel.part.bend->rulings)
            panel.part.marks.push_back(
                {MarkKind::text, {ruling.from + (ruling.to - ruling.from) * bend_word_share}, "bend", bend_word_mm});
        const Vec2 size = bounding_box(panel.part.outline).size();
        const double length = std::max(size.x, size.y), bow = length * length / (8 * panel.bend_radius_mm);
        panel.part.note += bow < pressed_share * length
                               ? "; bows up to " + len(bow) + " over its length: press it down on the ribs"
                               : "; bend to radius " + len(std::floor(panel.bend_radius_mm / 10) * 10) +
                                     " or more about the lines named bend, over the ribs";
    }

    /// On a ridge square-cut edges touch below and leave their tops apart by the thickness times the angle.
    void add_ridges() {
        const std::size_t n = flange_.panels.size();
        for (std::size_t i = 0; i < n; ++i) {
            FlangePanel& a = flange_.panels[i];
            const bool goes_on = i + 1 < n && flange_.panels[i + 1].loop == a.loop;
            const auto first = std::ranges::find(flange_.panels, a.loop, &FlangePanel::loop);
            FlangePanel& b = goes_on ? flange_.panels[i + 1] : *first;
            if (&a == &b || a.last != b.first) continue;
            const auto middle = [](const FlangePanel& p) {
                return placed(p.part, bounding_box(p.part.outline).center());
            };
            const double angle = angle_between(a.normal, b.normal);
            const double open = 2 * a.part.thickness_mm * std::tan(angle / 2);
            if (dot(b.normal - a.normal, middle(b) - middle(a)) <= 0 || open < fair_open_mm) continue;
            a.bevels.push_back({b.id, angle / 2, open / 2});
            b.bevels.push_back({a.id, angle / 2, open / 2});
        }
    }

    void word_bevel(FlangePanel& panel, const PanelBevel& bevel) const {
        panel.part.note += "; cut square the edge toward " + bevel.toward + " leaves its top up to " +
                           len(bevel.open_mm) + " short: fill it, or saw so far outside the line, the saw tilted " +
                           fixed(Angle::rad(bevel.angle_rad).deg(), 0) + " deg to undercut";
    }

    Flange& flange_;
    const Settings& settings_;
};

}  // namespace

void word_panels(Flange& flange, const Settings& settings) { Wording(flange, settings).write(); }

}  // namespace cradlewright
