// SPDX-License-Identifier: GPL-3.0-or-later
// Bottom-left placing on a raster, after J. A. Bennell, J. F. Oliveira, "The geometry of nesting problems: a tutorial",
// Eur. J. Oper. Res. 184 (2008) 397-415, sec. 2: here the raster is conservative, so that no pair of parts needs a
// second look, and a row that fails names the next one worth trying.
#include "cradlewright/output/layout.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <tuple>

#include "cradlewright/catalog/cutting.hpp"
#include "output/sheet_grid.hpp"

namespace cradlewright {

namespace {

/// A part as wide as its strip shall not miss it by the rounding of its frame.
constexpr double rounding_mm = 1e-6;
/// Chords for arcs; parts may come nearer to each other by twice this.
constexpr double sag_mm = 0.02;
constexpr double finest_cell_mm = 2;
constexpr double most_cells = 2000;  // along a sheet; what a place may be off, on the longest stock, is still 1/2000

double cell_of(const Stock& stock) {
    return std::max(finest_cell_mm, std::max(stock.length_mm, stock.width_mm) / most_cells);
}

/// A part turned, its box at the origin.
struct Turned {
    double angle_rad = 0;
    Vec2 corner, size;  ///< of the box once turned
    CellCover bare, grown;
};

Turned turn(const PlatePart& part, double angle_rad, double gap_mm, double cell_mm) {
    Turned t;
    t.angle_rad = angle_rad;
    const Region region = moved(part.outline, angle_rad, {});
    const Box2 box = bounding_box(region);
    t.corner = box.low;
    t.size = box.size();
    // A part cut from another one's hole would fall with the waste: holes are filled.
    const Polygons shape = to_polygons({moved(region, 0, -box.low).outer, {}}, sag_mm);
    t.bare = cover(shape, cell_mm);
    t.grown = cover(offset(shape, gap_mm, sag_mm), cell_mm);
    return t;
}

/// A sheet while it fills. Room for parts is what its margins leave.
class OpenSheet {
public:
    OpenSheet(Sheet sheet, Vec2 margin, double cell_mm)
        : sheet_(std::move(sheet)),
          margin_(margin),
          room_(Vec2{sheet_.length_mm, sheet_.width_mm} - margin * 2),
          cell_mm_(cell_mm),
          grid_(steps(room_.x) + 1, steps(room_.y) + 1) {}

    [[nodiscard]] bool takes(Vec2 size) const {
        return size.x <= room_.x + rounding_mm && size.y <= room_.y + rounding_mm;
    }

    bool place(const PlatePart& part, const std::vector<Turned>& turns) {
        const Turned* best = nullptr;
        std::pair<int, int> at;
        for (const Turned& t : turns) {
            if (!takes(t.size)) continue;
            const auto found = grid_.find_room(t.bare, steps(room_.x - t.size.x), steps(room_.y - t.size.y));
            if (!found) continue;
            if (best == nullptr || end_of(t, *found) < end_of(*best, at)) {
                best = &t;
                at = *found;
            }
        }
        if (best == nullptr) return false;
        grid_.take(best->grown, at.first, at.second);
        const Vec2 low = margin_ + Vec2{double(at.first), double(at.second)} * cell_mm_;
        sheet_.placements.push_back({part.id, best->angle_rad, low - best->corner});
        sheet_.use += area_of(part.outline) / (sheet_.length_mm * sheet_.width_mm);
        const Vec2 high = low + best->size + margin_;
        sheet_.needed = {std::max(sheet_.needed.x, high.x), std::max(sheet_.needed.y, high.y)};
        return true;
    }

    [[nodiscard]] const Sheet& sheet() const { return sheet_; }

private:
    [[nodiscard]] int steps(double room) const {
        return static_cast<int>(std::floor(std::max(room + rounding_mm, 0.0) / cell_mm_));
    }
    /// How far along the sheet a part ends, then how far across, in whole steps so that rounding decides nothing.
    [[nodiscard]] std::pair<long, long> end_of(const Turned& t, std::pair<int, int> at) const {
        return {at.first + std::lround(t.size.x / cell_mm_), at.second + std::lround(t.size.y / cell_mm_)};
    }

    Sheet sheet_;
    Vec2 margin_, room_;
    double cell_mm_;
    SheetGrid grid_;
};

/// The pieces of one stock.
class Packer {
public:
    Packer(const Settings& settings, const Stock& stock)
        : stock_(stock), room_(room_on(settings, stock)), cell_(cell_of(stock)) {
        for (const Vec2 size : offcuts_of(stock)) open(size, true);
    }

    /// False when it fits on no piece.
    bool place(const PlatePart& part) {
        const std::vector<Turned> turns = turns_of(part);
        for (OpenSheet& sheet : sheets_) {
            if (sheet.place(part, turns)) return true;
        }
        OpenSheet& fresh = open({stock_.length_mm, stock_.width_mm}, false);
        if (fresh.place(part, turns)) return true;
        sheets_.pop_back();
        return false;
    }

    /// Those that carry parts, numbered.
    [[nodiscard]] std::vector<Sheet> sheets() const {
        std::vector<Sheet> result;
        for (const OpenSheet& open : sheets_) {
            if (open.sheet().placements.empty()) continue;
            result.push_back(open.sheet());
            result.back().number = static_cast<int>(result.size());
        }
        return result;
    }

private:
    OpenSheet& open(Vec2 size, bool is_offcut) {
        Sheet sheet;
        sheet.stock = stock_.name;
        sheet.length_mm = size.x;
        sheet.width_mm = size.y;
        sheet.is_offcut = is_offcut;
        sheets_.emplace_back(std::move(sheet), Vec2{room_.end_mm, room_.side_mm}, cell_);
        return sheets_.back();
    }

    [[nodiscard]] std::vector<Turned> turns_of(const PlatePart& part) const {
        const double quarter = std::numbers::pi / 2;
        const Vec2 size = bounding_box(part.outline).size();
        const double along = size.y > size.x ? quarter : 0;
        std::vector<double> angles{along, along + 2 * quarter};
        const bool fits_along = std::max(size.x, size.y) <= stock_.length_mm - 2 * room_.end_mm + rounding_mm &&
                                std::min(size.x, size.y) <= stock_.width_mm - 2 * room_.side_mm + rounding_mm;
        if (part.kind != PartKind::stringer && !(has_grain(stock_) && fits_along))
            angles.insert(angles.end(), {quarter - along, 3 * quarter - along});
        std::vector<Turned> turns;
        for (const double angle : angles) turns.push_back(turn(part, angle, room_.gap_mm, cell_));
        return turns;
    }

    const Stock& stock_;
    StockRoom room_;
    double cell_;
    std::vector<OpenSheet> sheets_;  ///< offcuts first, from the smallest
};

std::vector<std::string> stock_names(const std::vector<const PlatePart*>& parts) {
    std::vector<std::string> names;
    for (const PlatePart* part : parts) {
        if (std::find(names.begin(), names.end(), part->stock) == names.end()) names.push_back(part->stock);
    }
    return names;
}

/// The longest first, then the largest: small ones find their place in what these leave.
bool goes_before(const PlatePart* a, const PlatePart* b) {
    const auto rank = [](const PlatePart* part) {
        const Vec2 size = bounding_box(part->outline).size();
        return std::tuple(-std::max(size.x, size.y), -size.x * size.y);
    };
    return rank(a) < rank(b);
}

}  // namespace

Layout lay_out(const Design& design) {
    const std::vector<const PlatePart*> parts = all_parts(design);
    Layout layout;
    for (const std::string& name : stock_names(parts)) {
        Packer packer(design.settings, stock(design.settings, name));
        std::vector<const PlatePart*> mine;
        std::copy_if(parts.begin(), parts.end(), std::back_inserter(mine),
                     [&](const PlatePart* part) { return part->stock == name; });
        std::stable_sort(mine.begin(), mine.end(), goes_before);
        for (const PlatePart* part : mine) {
            if (!packer.place(*part)) layout.too_large.push_back(part->id);
        }
        const std::vector<Sheet> sheets = packer.sheets();
        layout.sheets.insert(layout.sheets.end(), sheets.begin(), sheets.end());
    }
    return layout;
}

}  // namespace cradlewright
