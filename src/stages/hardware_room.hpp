// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/hardware.hpp"

/// \file Where there is room on the flange. Private to the stages.
namespace cradlewright {

/// A place beside the parting line, on the top face of a panel. Fixture frame, mm.
struct Spot {
    const FlangePanel* panel = nullptr;
    double reach_mm = 0;  ///< from the panel line, square to it, along the panel
    Vec3 at, normal, out;
    Vec2 flat, flat_out;
};
/// The one place where a distance beside the line becomes a point in space and on the flat pattern. Empty where the
/// line runs straight away from the panel.
std::optional<Spot> spot_on(const FlangePanel& panel, Vec3 line_point, Vec3 outward, double reach_mm);

/// An outer loop by its length, from where the plug's +x axis leaves it, seen from the middle of the line: so places
/// follow the plug, not the pose nor the point at which the loop is written first.
class LoopWalk {
public:
    LoopWalk(const PartingLoop& loop, std::size_t number, const PosedPlug& posed, const Flange& flange);

    [[nodiscard]] double length_mm() const { return length_; }
    /// How far along a point of panel_line lies, in [0, length).
    [[nodiscard]] double along(std::size_t i) const;
    /// The panel beside a place; null where there is none. Any s; the loop closes.
    [[nodiscard]] const FlangePanel* panel(double s) const;
    [[nodiscard]] std::optional<Spot> spot(double s, double reach_mm) const;
    [[nodiscard]] const PartingLoop& loop() const { return *loop_; }

private:
    struct Place {
        std::size_t index = 0;  // of the point behind
        double share = 0;       // of the way to the next
    };
    [[nodiscard]] Place place(double s) const;
    [[nodiscard]] double start(const PosedPlug& posed) const;

    const PartingLoop* loop_;
    std::vector<double> far_;  // of each point from panel_line[0]; one more than points
    double length_ = 0, start_ = 0;
    std::vector<const FlangePanel*> panel_of_;  // of the piece after each point
};

/// What is taken on the panels, above and below.
class FlangeRoom {
public:
    FlangeRoom(const Flange& flange, const Cradle& cradle, const Beads& beads);

    /// Widest foot of the clay on a panel, either half's, from the panel line.
    [[nodiscard]] double foot_mm(const FlangePanel& panel) const;
    /// Does a disc about a place lie on the panel and stay clear of its edges?
    [[nodiscard]] bool is_on_panel(const Spot& spot, double clear_mm);
    /// Is there no strip, rib or block under the panel within `clear_mm` of a place?
    [[nodiscard]] bool is_clear_below(const Spot& spot, double clear_mm);
    /// How far out the panel reaches there, from the panel line; 0 where it does not reach `from_mm`.
    [[nodiscard]] double rim_mm(const LoopWalk& walk, double s, double from_mm);

private:
    struct Upright {
        const PlatePart* part;
        Polygons grown;
        double by_mm;
    };
    const Polygons& inset(const FlangePanel& panel, double by_mm);
    void grow_uprights(double by_mm);

    const Cradle& cradle_;
    std::map<std::string, double> foot_;
    std::map<std::pair<std::string, double>, Polygons> insets_;
    std::vector<Upright> uprights_;
};

}  // namespace cradlewright
