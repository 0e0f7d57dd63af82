// SPDX-License-Identifier: GPL-3.0-or-later
// Shelves by decreasing height, first fit: E. G. Coffman, M. R. Garey, D. S. Johnson, R. E. Tarjan, "Performance bounds
// for level-oriented two-dimensional packing algorithms", SIAM J. Comput. 9 (1980) 808-826. We add quarter turns and
// sheets.
#include "cradlewright/output/layout.hpp"

#include <algorithm>
#include <numbers>
#include <tuple>

namespace cradlewright {

namespace {

/// A part's box, lying the way it was turned.
struct Item {
    const PlatePart* part = nullptr;
    Box2 box;  ///< part frame
    bool is_turned = false;
    [[nodiscard]] Vec2 size() const { return is_turned ? Vec2{box.size().y, box.size().x} : box.size(); }
};

struct Shelf {
    double low = 0, height = 0, used = 0;  ///< used: where the next part starts
};

/// Up to this width stock is a strip, planed to width: parts may take all of it, no margin along its edges.
/// Source: common practice.
constexpr double widest_strip_mm = 100;
/// A part as wide as its strip shall not miss it by the rounding of its frame.
constexpr double rounding_mm = 1e-6;

/// The sheets of one stock while they fill.
class Packer {
public:
    Packer(const Stock& stock, const LayoutOptions& options)
        : stock_(stock), options_(options), side_margin_(stock.width_mm > widest_strip_mm ? options.margin_mm : 0) {}

    [[nodiscard]] bool has_room(Vec2 size) const {
        return options_.margin_mm + size.x <= right_end() && side_margin_ + size.y <= upper_end();
    }

    void place(const Item& item) {
        for (std::size_t k = 0; k < sheets_.size(); ++k) {
            if (place_on_shelf(k, item) || place_on_new_shelf(k, item)) return;
        }
        sheets_.push_back(
            {stock_.name, static_cast<int>(sheets_.size()) + 1, stock_.length_mm, stock_.width_mm, {}, 0});
        shelves_.emplace_back();
        place_on_new_shelf(sheets_.size() - 1, item);
    }

    [[nodiscard]] const std::vector<Sheet>& sheets() const { return sheets_; }

private:
    bool place_on_shelf(std::size_t sheet, const Item& item) {
        for (Shelf& shelf : shelves_[sheet]) {
            if (item.size().y > shelf.height || shelf.used + item.size().x > right_end()) continue;
            put(sheet, shelf, item);
            return true;
        }
        return false;
    }

    bool place_on_new_shelf(std::size_t sheet, const Item& item) {
        std::vector<Shelf>& shelves = shelves_[sheet];
        const double low =
            shelves.empty() ? side_margin_ : shelves.back().low + shelves.back().height + options_.gap_mm;
        if (low + item.size().y > upper_end()) return false;
        shelves.push_back({low, item.size().y, options_.margin_mm});
        put(sheet, shelves.back(), item);
        return true;
    }

    void put(std::size_t sheet, Shelf& shelf, const Item& item) {
        // A quarter turn takes (x, y) to (-y, x): the box's upper left corner becomes the lower left one.
        const Vec2 corner = item.is_turned ? Vec2{-item.box.high.y, item.box.low.x} : item.box.low;
        sheets_[sheet].placements.push_back(
            {item.part->id, item.is_turned ? std::numbers::pi / 2 : 0, Vec2{shelf.used, shelf.low} - corner});
        sheets_[sheet].use += area_of(item.part->outline) / (stock_.length_mm * stock_.width_mm);
        shelf.used += item.size().x + options_.gap_mm;
    }

    [[nodiscard]] double right_end() const { return stock_.length_mm - options_.margin_mm + rounding_mm; }
    [[nodiscard]] double upper_end() const { return stock_.width_mm - side_margin_ + rounding_mm; }

    Stock stock_;
    LayoutOptions options_;
    double side_margin_;
    std::vector<Sheet> sheets_;
    std::vector<std::vector<Shelf>> shelves_;  ///< per sheet
};

/// Lies flat along the sheet when it can; upright only when its length does not fit. Strips always lie along.
bool turn_to_fit(Item& item, const Packer& packer) {
    item.is_turned = item.box.size().y > item.box.size().x;
    if (packer.has_room(item.size())) return true;
    if (item.part->kind == PartKind::stringer) return false;
    item.is_turned = !item.is_turned;
    return packer.has_room(item.size());
}

std::vector<std::string> stock_names(const std::vector<const PlatePart*>& parts) {
    std::vector<std::string> names;
    for (const PlatePart* part : parts) {
        if (std::find(names.begin(), names.end(), part->stock) == names.end()) names.push_back(part->stock);
    }
    return names;
}

}  // namespace

Layout lay_out(const Design& design, const LayoutOptions& options) {
    const std::vector<const PlatePart*> parts = all_parts(design);
    Layout layout;
    for (const std::string& name : stock_names(parts)) {
        Packer packer(stock(design.settings, name), options);
        std::vector<Item> items;
        for (const PlatePart* part : parts) {
            if (part->stock != name) continue;
            Item item{part, bounding_box(part->outline)};
            if (turn_to_fit(item, packer)) {
                items.push_back(item);
            } else {
                layout.too_large.push_back(part->id);
            }
        }
        std::stable_sort(items.begin(), items.end(), [](const Item& a, const Item& b) {
            return std::tuple(-a.size().y, -a.size().x) < std::tuple(-b.size().y, -b.size().x);
        });
        for (const Item& item : items) packer.place(item);
        layout.sheets.insert(layout.sheets.end(), packer.sheets().begin(), packer.sheets().end());
    }
    return layout;
}

}  // namespace cradlewright
