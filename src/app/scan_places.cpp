// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/scan_places.hpp"

#include <algorithm>
#include <utility>

#include "cradlewright/stages/pose.hpp"
#include "geom/scan_weak_places.hpp"
#include "geom/self_crossings.hpp"

namespace cradlewright::app {

namespace {

/// Which third of the box the point is in: -1, 0, 1.
int third(double x, double low, double high) {
    const double t = high > low ? (x - low) / (high - low) : 0.5;
    return t < 1.0 / 3 ? -1 : t > 2.0 / 3 ? 1 : 0;
}

class Finder {
public:
    Finder(const Plug& plug, const Settings& settings)
        : plug_(plug), settings_(settings), frame_(pose_plug(plug, settings.pose, 0).pose.plug_in_scan) {
        for (const Vec3 p : plug.mesh->vertices) box_.add(frame_.to_local(p));
    }

    std::vector<ScanPlace> find() && {
        add_openings();
        add_crossings();
        add_crowded_edges();
        add_weak_places();
        add_holes();
        add_pieces();
        return std::move(places_);
    }

private:
    [[nodiscard]] std::string mm(double v) const {
        return format_quantity(Quantity::of(Length::mm(v)), settings_.units);
    }
    [[nodiscard]] std::string fine_mm(double v) const {
        return format_quantity(Quantity::of(Length::mm(v)), settings_.units, 3);
    }

    void add(std::string kind, Vec3 at, double size_mm, std::string what, std::string advice, bool asks_for_scan) {
        const Vec3 in_plug = frame_.to_local(at);
        places_.push_back({std::move(kind), at, in_plug, where_on_plug(in_plug, box_), size_mm, std::move(what),
                           std::move(advice), asks_for_scan});
    }

    void add_openings() {
        const bool is_told = settings_.plug.opening == PlugOpening::cap;
        for (const Opening& o : plug_.mesh->openings)
            add("opening", o.center, o.perimeter_mm, "open over " + mm(o.perimeter_mm) + " round",
                is_told ? "capped flat as told; nothing measured stands behind it"
                        : "say what is there with plug.opening: cap, mirror, or join a second scan",
                false);
    }
    void add_crossings() {
        const double apart = 5 * plug_.repair.mean_edge_mm;
        if (!(apart > 0)) return;
        const auto pairs = crossing_faces(*plug_.mesh);
        for (const Crossing& c : crossing_places(*plug_.mesh, pairs, apart))
            add("crossing", c.center, 2 * c.reach_mm,
                "the surface passes through itself, " + std::to_string(c.pairs) + (c.pairs == 1 ? " pair" : " pairs") +
                    " of triangles",
                "cut that place out and let it be closed as a hole, or scan it again", c.pairs > many_pairs);
    }
    void add_crowded_edges() {
        for (const Vec3 p : plug_.repair.trouble_places)
            add("edge", p, 0, "an edge had more than two triangles", "look at that place in the mended mesh", false);
    }
    void add_weak_places() {
        const double bearable = settings_.flange.gap.mm() / 2;  // the limit of scan.quality
        for (const WeakPlace& w : noisy_places(*plug_.mesh, plug_.noise_mm))
            add("noise", w.center, 2 * w.reach_mm, "noise of " + fine_mm(w.value_mm) + " over " + mm(2 * w.reach_mm),
                w.value_mm > bearable ? "scan it again, slower and square to the surface; dust or spray shiny places"
                                      : "bearable, but dust or spray shiny places next time",
                w.value_mm > bearable);
        if (!(plug_.noise_mm > 0)) return;  // a drawn shape has few triangles where it is flat
        for (const WeakPlace& w : thin_places(*plug_.mesh))
            if (w.chord_mm > plug_.noise_mm)  // less is hidden by the noise
                add("coverage", w.center, 2 * w.reach_mm,
                    "triangles of " + mm(w.value_mm) + " over " + mm(2 * w.reach_mm) + ", " + fine_mm(w.chord_mm) +
                        " off the curve",
                    "scan it again from nearer or from another side", w.chord_mm > bearable);
    }
    void add_holes() {
        for (const ClosedHole& h : plug_.repair.closed_holes)
            add("hole", h.center, h.perimeter_mm, "a hole of " + mm(h.perimeter_mm) + " round was closed",
                "scan it again if a panel, a saddle or the bead lies there", false);
    }
    void add_pieces() {
        for (const StrayShell& s : plug_.repair.stray_shells)
            add("piece", s.center, 0,
                "a loose piece of " + format_quantity(Quantity::of(Area::mm2(s.area_mm2)), settings_.units) +
                    " was left out",
                "if it belongs to the plug, join them in the scanning program", false);
    }

    static constexpr std::size_t many_pairs = 20;  // a fold, not a speck of noise; assumed

    const Plug& plug_;
    const Settings& settings_;
    Frame3 frame_;
    Box3 box_;
    std::vector<ScanPlace> places_;
};

}  // namespace

std::string where_on_plug(Vec3 point, const Box3& box) {
    const int x = third(point.x, box.low.x, box.high.x), y = third(point.y, box.low.y, box.high.y);
    const std::string span = x < 0 ? "near end-a" : x > 0 ? "near end-b" : "halfway along the span";
    const std::string side = y < 0 ? "back" : y > 0 ? "front" : "middle";
    return span + ", " + side + (point.z < box.center().z ? ", underside" : ", top");
}

std::vector<ScanPlace> find_scan_places(const Plug& plug, const Settings& settings) {
    return Finder(plug, settings).find();
}

}  // namespace cradlewright::app
