// SPDX-License-Identifier: GPL-3.0-or-later
// What to measure before anything is glued, with what it has to be.
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <set>

#include "stages/work_words.hpp"

namespace cradlewright {
namespace {

constexpr double no_second = std::numeric_limits<double>::quiet_NaN();

/// Height of the level line scored across an upright; the longest level stroke that is there.
std::optional<double> level_line_mm(const PlatePart& part) {
    double longest = 0, height = 0;
    for (const Mark& mark : part.marks) {
        if (mark.kind != MarkKind::line || mark.points.size() != 2) continue;
        const Vec3 a = placed(part, mark.points[0]), b = placed(part, mark.points[1]);
        if (std::abs(a.z - b.z) > 1e-6 || !(norm(b - a) > longest)) continue;
        longest = norm(b - a), height = a.z;
    }
    return longest > 0 ? std::optional(height) : std::nullopt;
}

class DryFit {
public:
    explicit DryFit(const WorkInput& input) : in_(input), words_(input.settings) {}

    std::vector<DryFitRow> rows() {
        base();
        stations();
        seats();
        plug();
        gaps();
        thicknesses();
        return std::move(rows_);
    }

private:
    void add(std::string id, std::string group, std::string what, double target, double tolerance, std::string when_off,
             std::string setting = {}) {
        rows_.push_back({std::move(id), std::move(group), std::move(what), target, tolerance, std::move(setting),
                         std::move(when_off), no_second});
    }

    void base() {
        const PlatePart& base = in_.cradle.base;
        if (base.id.empty()) return;
        const Vec2 size = bounding_box(base.outline).size();
        const auto level = [](double length) { return std::max(0.3, DryFitTolerance::level_mm_m * length / 1000); };
        const std::string shim = "shim under the base";
        add("base-level-along", "Base", "out of level along the span, end to end", 0, level(size.x), shim);
        add("base-level-across", "Base", "out of level across, edge to edge", 0, level(size.y), shim);
        add("base-wind", "Base", "rise of the fourth corner over the other three", 0, level(size.x),
            "shim under the base, or a flatter board");
        const double diagonal = norm(size);
        for (const char* which : {"1", "2"})
            add(std::string("base-diagonal-") + which, "Base", std::string("diagonal ") + which, diagonal,
                DryFitTolerance::diagonal,
                "both too long or short: take no measures from the edges; unlike: draw the rib lines from a square");
    }

    void stations() {
        const Rib* first = nullptr;
        for (const Rib& rib : in_.cradle.ribs) {
            if (first == nullptr) {
                first = &rib;
                continue;
            }
            add("station-" + rib.part.id, "Uprights",
                "from the face of " + first->part.id + " to the same face of " + rib.part.id,
                std::abs(rib.station_mm - first->station_mm), DryFitTolerance::station, "move the rib along its line");
        }
    }

    void seats() {
        for (const std::vector<Rib>* ribs : {&in_.cradle.ribs, &in_.cradle.long_ribs})
            for (const Rib& rib : *ribs)
                if (const std::optional<double> level = level_line_mm(rib.part))
                    add("level-" + rib.part.id, "Uprights", "level line of " + rib.part.id + " above the base", *level,
                        in_.settings.limits.seat_deviation.mm(), "foot not home in its slots, or base not flat");
        for (const std::vector<Rib>* ribs : {&in_.cradle.ribs, &in_.cradle.long_ribs})
            for (const Rib& rib : *ribs) {
                int number = 0;
                for (const std::vector<Vec2>& seat : rib.seats) {
                    if (seat.empty()) continue;
                    const std::string id = rib.part.id + "-" + std::to_string(++number);
                    if (std::abs(seat.front().y - seat.back().y) < 0.05) {
                        add_seat(id, rib, "middle", (seat.front() + seat.back()) * 0.5);
                    } else {
                        add_seat(id + "-left", rib, "left end", seat.front());
                        add_seat(id + "-right", rib, "right end", seat.back());
                    }
                }
            }
    }

    void add_seat(const std::string& id, const Rib& rib, const std::string& which, Vec2 at) {
        const std::string place =
            std::abs(at.x) < 0.05
                ? "at the middle"
                : words_.len(std::abs(at.x), 1) + (at.x > 0 ? " right of the middle" : " left of the middle");
        add("seat-" + id, "Seats", rib.part.id + ", " + place + ", " + which + " of the seat", at.y,
            in_.settings.limits.seat_deviation.mm(),
            "high: plane the seat; low: pack it; right from the level line but not from the base: the rib stands "
            "wrong, "
            "not the seat");
        if (const std::optional<double> level = level_line_mm(rib.part)) rows_.back().from_level_mm = at.y - *level;
    }

    void plug() {
        const Box3& box = in_.posed.box_fixture;
        add("plug-rock", "Plug", "rocking: gap at any saddle's corner when the opposite one is pressed", 0,
            in_.settings.limits.seat_deviation.mm(), "pack the pad that is free, or ease the one it rocks on");
        add("plug-top", "Plug", "highest point of the plug above the base", box.high.z,
            in_.settings.limits.seat_deviation.mm() + DryFitTolerance::thickness,
            "pads thicker or thinner than told: see their thickness below");
        add("plug-span", "Plug", "overall length along the span, square between two blocks", box.size().x,
            std::max(1.0, in_.settings.limits.seat_deviation.mm()),
            "the scan's scale is off: tell what you measured as plug.known and design again", "plug.known");
    }

    void gaps() {
        const FlangeOptions& flange = in_.settings.flange;
        for (const FlangePanel& panel : in_.flange.panels)
            add("gap-" + panel.id, "Gaps", panel.id + " to the plug, widest", panel.max_gap_mm,
                std::max(0.0, flange.gap_limit.mm() - panel.max_gap_mm),
                "wider than " + words_.len(flange.gap_limit.mm()) + ": shift or recut; touching: ease the panel");
    }

    void thicknesses() {
        const Settings& s = in_.settings;
        std::set<std::string> stocks;
        for (const PlatePart* part : standing_plates(in_.cradle)) stocks.insert(part->stock);
        for (const FlangePanel& panel : in_.flange.panels) stocks.insert(panel.part.stock);
        for (const Stringer& stringer : in_.cradle.stringers) stocks.insert(stringer.part.stock);
        if (!in_.cradle.base.id.empty()) stocks.insert(in_.cradle.base.stock);
        const std::string again = "tell the measured figure and make the files again before cutting more";
        for (const std::string& name : stocks)
            add("thickness-" + name, "Thicknesses", "sheet or strip " + name, stock(s, name).thickness_mm,
                DryFitTolerance::thickness, again, "stock." + name + ".thickness");
        add("thickness-pad", "Thicknesses", "saddle pad with the plug's weight on it", s.cradle.pad.mm(),
            DryFitTolerance::thickness, again, "cradle.pad");
        add("thickness-glue", "Thicknesses", "glue under a panel, from a trial on scrap", s.flange.glue.mm(),
            DryFitTolerance::thickness, again, "flange.glue");
    }

    const WorkInput& in_;
    Words words_;
    std::vector<DryFitRow> rows_;
};

}  // namespace

std::vector<DryFitRow> dry_fit_sheet(const WorkInput& input) { return DryFit(input).rows(); }

}  // namespace cradlewright
