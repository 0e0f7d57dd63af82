// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/geom/region.hpp"
#include "cradlewright/output/toolpath.hpp"

/// \file One cut of plan_router: where it starts, where its tabs stand, its moves down to full depth.
namespace cradlewright {

/// A straight piece of the outlines that a cut follows, to look up what an edge is for.
struct OutlinePiece {
    Vec2 a, b;
    CutKind cut = CutKind::rough;
};

/// A closed path of lines and arcs, by length along it; lengths beyond its own go on with the next lap.
class ClosedPath {
public:
    explicit ClosedPath(const Loop& loop);
    [[nodiscard]] double length() const { return edges_.empty() ? 0 : edges_.back().to; }
    [[nodiscard]] Vec2 at(double along) const;
    [[nodiscard]] bool is_straight_at(double along) const;
    /// Appends the moves from `from` to `to`, z going evenly from `z_from` to `z_to`. Precondition: from < to.
    void follow(double from, double to, double z_from, double z_to, MoveKind kind, std::vector<ToolMove>& moves) const;

private:
    struct Edge {
        Vec2 a, b;
        double bulge, from, to;
    };
    [[nodiscard]] std::size_t edge_at(double along) const;  ///< 0 <= along <= length()

    std::vector<Edge> edges_;
};

/// What all cuts of a sheet have in common. mm.
struct CutDepths {
    double thickness_mm = 0, cutter_mm = 0, safe_mm = 0;
    double through_mm = 0, skin_mm = 0, pass_mm = 0;
    double ramp_slope = 0;  ///< tangent
    double tab_spacing_mm = 0, tab_width_mm = 0, tab_height_mm = 0;
    [[nodiscard]] double depth_mm() const { return thickness_mm + (skin_mm > 0 ? -skin_mm : through_mm); }
};

/// The loop begun in the middle of its longest straight edge, one beside a rough edge if there is any.
Loop started(const Loop& loop, const std::vector<OutlinePiece>& outlines);
/// Moves of one closed cut from safe height to safe height; parts and kind are left to the caller.
ToolRun cut_run(const Loop& loop, const std::vector<OutlinePiece>& outlines, const CutDepths& depths);
/// Moves along an open or closed chain at `depth_mm` below the top face.
ToolRun mark_run(const std::vector<Vec2>& chain, double depth_mm, double safe_mm);

/// Passes of at most `pass_mm` that `depth_mm` takes.
int pass_count(double depth_mm, double pass_mm);

}  // namespace cradlewright
