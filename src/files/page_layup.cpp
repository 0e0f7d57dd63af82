// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/page_layup.hpp"

#include <algorithm>
#include <cmath>

#include "files/markup.hpp"
#include "files/page_pictures.hpp"
#include "files/page_table.hpp"

namespace cradlewright {
namespace {

/// Wet mat and peel ply pull to so much. Source: assumed.
constexpr double most_give = 0.1;

class LayupPage {
public:
    explicit LayupPage(const Design& design)
        : layup_(design.layup), options_(design.settings.kit), units_(design.settings.units) {}

    [[nodiscard]] std::string html() const {
        if (layup_.surfaces.empty()) return {};
        return paragraph(
                   "Every ply of a surface is cut alike, by the pattern in <code>layup/</code>, but where the rolls of "
                   "its "
                   "cloths differ in width; <code>layup/by-hand.pdf</code> has the figures to draw the patterns on "
                   "wrapping paper. The solid line is the "
                   "edge of the surface, the outer one where the cloth is cut; lay the cross first, the arrow along "
                   "the "
                   "span, and smooth outward along warp and weft before anything else. Crosses with one number on two "
                   "pieces come to lie on each other.") +
               pieces() + flats() + pours() + halves() + shopping() +
               paragraph(
                   "Shear is how far the threads turn from the square; where it reaches the weave's lock angle "
                   "the cloth wrinkles, so it is slit (darts) or cut into pieces before. Darts run square to the warp "
                   "from the "
                   "edge to the cross of their number; lay the warp through the start first, then each strip from its "
                   "middle outward, and let the lips lap. A net of threads that "
                   "neither stretch nor "
                   "slip gives it, laid on a coarse copy of the scan. Try one ply dry first.") +
               "<p class=\"small\">The data sheets of resin, hardener and gel coat overrule mixing ratio, pot life and "
               "temperature. Mix no more than a batch, spread it out at once: a full pot heats itself and can "
               "burn.</p>\n";
    }

private:
    [[nodiscard]] std::string kg(double value) const { return format_quantity(Quantity::of(Mass::kg(value)), units_); }
    [[nodiscard]] std::string len(double mm) const { return format_quantity(Quantity::of(Length::mm(mm)), units_, 0); }

    [[nodiscard]] std::string pieces() const {
        Table table("Cloth patterns, with margins and overlaps", {{"Pattern"},
                                                                  {"Of"},
                                                                  {"Plies", Cell::number},
                                                                  {"Length × width", Cell::number},
                                                                  {"Most shear", Cell::number},
                                                                  {"Darts"}});
        for (const LaidSurface& surface : layup_.surfaces)
            for (const ClothPiece& piece : surface.pieces) {
                const Vec2 size = bounding_box(piece.part.outline).size();
                table.row({"<code>" + escape_markup(piece.part.id) + "</code>", escape_markup(surface.what),
                           plies_of(surface, piece), len(size.x) + " &times; " + len(size.y),
                           format_quantity(Quantity::of(Angle::rad(piece.max_shear_rad)), units_, 0), darts_of(piece)});
            }
        return table.html();
    }

    /// "2, laps to 9 mm": what the lips of the worst do.
    [[nodiscard]] std::string darts_of(const ClothPiece& piece) const {
        if (piece.darts.empty()) return "&ndash;";
        double lap = 0, opens = 0;
        for (const Dart& dart : piece.darts) lap = std::max(lap, dart.lap_mm), opens = std::max(opens, dart.opens_mm);
        std::string text = std::to_string(piece.darts.size());
        if (lap > dart_tip_mm) text += ", laps to " + len(std::min(lap, options_.overlap.mm()));
        if (opens > dart_tip_mm) text += ", opens to " + len(opens);
        return text;
    }

    /// "4", or "3: glass-160, glass-300" where the rolls of others are wider or narrower.
    [[nodiscard]] static std::string plies_of(const LaidSurface& surface, const ClothPiece& piece) {
        std::string text = std::to_string(piece.plies);
        if (piece.runs.size() == surface.laminate.plies.size()) return text;
        for (std::size_t n = 0; n < piece.runs.size(); ++n)
            text += (n == 0 ? ": " : ", ") + escape_markup(surface.laminate.plies[piece.runs[n]].cloth.name);
        return text;
    }

    [[nodiscard]] std::string flats() const {
        Table table(
            "The same places laid flat without shear, for mat, peel ply and film",
            {{"Pattern"}, {"Of"}, {"On the surface", Cell::number}, {"Flat", Cell::number}, {"The sheet must give"}});
        const auto area = [](double mm2) { return fixed(mm2 / 1e6, 3) + " m&sup2;"; };
        const auto percent = [](double strain) { return fixed(100 * std::abs(strain), 1) + " %"; };
        for (const LaidSurface& surface : layup_.surfaces)
            for (const FlatPiece& flat : surface.flats) {
                const std::string by =
                    percent(flat.least_strain) + " shorter to " + percent(flat.most_strain) + " longer";
                std::string give = by;
                if (!flat.trouble.empty())
                    give = escape_markup(flat.trouble);
                else if (flat.is_exact())
                    give = "nothing: it unrolls";
                else if (std::max(-flat.least_strain, flat.most_strain) > most_give)
                    give = by + ", more than sheet does: slit it from the edge and lap";
                table.row({"<code>" + flat.part.id + "</code>", escape_markup(surface.what), area(flat.surface_mm2),
                           flat.trouble.empty() ? area(flat.flat_mm2) : "&ndash;", give});
            }
        return table.html() +
               paragraph(
                   "A weave takes bends both ways by shear and is cut by the patterns above; what cannot shear is cut "
                   "by these and stretched, torn at the edge (mat) or slit and lapped where it must give more than a "
                   "few percent.");
    }

    [[nodiscard]] std::string pours() const {
        Table table("Resin by surface, with waste", {{"Surface"},
                                                     {"Gel coat", Cell::number},
                                                     {"Resin and hardener", Cell::number},
                                                     {"Batches of " + kg(layup_.kit.batch_kg), Cell::number}});
        for (const LayupKit::Pour& pour : layup_.kit.pours)
            table.row({"<code>" + pour.surface + "</code>", pour.gel_coat_kg > 0 ? kg(pour.gel_coat_kg) : "&ndash;",
                       kg(pour.mix_kg), std::to_string(pour.batches)});
        return table.html();
    }

    /// A half's own kit, to be laid out before that half is begun.
    [[nodiscard]] std::string halves() const {
        std::vector<const LayupKit::Pour*> kits;
        std::vector<Column> columns{{"Item"}};
        for (const int half : {1, 2})
            if (const LayupKit::Pour* pour = find_pour(layup_, "mould-" + std::to_string(half))) {
                kits.push_back(pour);
                columns.push_back({"Half " + std::to_string(half), Cell::number});
            }
        if (kits.empty()) return {};
        Table table("Kit of each half of the mould", columns);
        const auto row = [&](const std::string& what, const auto& amount) {
            std::vector<std::string> cells{what};
            for (const LayupKit::Pour* kit : kits) cells.push_back(amount(*kit));
            table.row(cells);
        };
        using Pour = LayupKit::Pour;
        row("Gel coat", [&](const Pour& p) { return kg(p.gel_coat_kg); });
        row("Fumed silica in it", [&](const Pour& p) { return kg(p.thickener_kg); });
        for (const Pour::Cloth& cloth : kits.front()->cloths)
            row(escape_markup(cloth.name), [&](const Pour& p) { return cloth_text(p, cloth.name); });
        row("Peel ply",
            [&](const Pour& p) { return count_text(p.peel_pieces, "piece", "pieces") + ", " + m2(p.peel_ply_mm2); });
        row("Resin", [&](const Pour& p) { return kg(p.resin_kg); });
        row("Hardener", [&](const Pour& p) { return kg(p.hardener_kg); });
        row("Batches of " + kg(layup_.kit.batch_kg), [&](const Pour& p) { return std::to_string(p.batches); });
        row("Release: " + fixed(options_.wax_coats, 0) + " coats of wax, " + fixed(options_.film_coats, 0) +
                " of film, each over",
            [&](const Pour& p) { return m2(p.release_mm2); });
        row("Clay of its beads", [&](const Pour& p) { return kg(p.clay_kg); });
        row("Tabbing of its plates, all plies", [&](const Pour& p) { return m2(p.tab_mm2); });
        row("Resin and hardener to tab them",
            [&](const Pour& p) { return kg(p.tab_resin_kg) + " + " + kg(p.tab_hardener_kg); });
        row("Soft strip under them", [&](const Pour& p) { return len(p.strip_mm); });
        return table.html();
    }
    [[nodiscard]] static std::string count_text(int count, std::string_view one, std::string_view many) {
        return counted(static_cast<std::size_t>(count), one, many);
    }
    [[nodiscard]] static std::string m2(double mm2) { return fixed(mm2 / 1e6, 2) + " m&sup2;"; }
    [[nodiscard]] static std::string cloth_text(const LayupKit::Pour& pour, const std::string& name) {
        for (const LayupKit::Pour::Cloth& cloth : pour.cloths)
            if (cloth.name == name)
                return count_text(cloth.plies, "ply", "plies") + ", " + count_text(cloth.pieces, "piece", "pieces") +
                       ", " + m2(cloth.area_mm2);
        return "&ndash;";
    }

    [[nodiscard]] std::string shopping() const {
        const bool has_cost = layup_.kit.cost > 0;
        std::vector<Column> columns{{"Item"}, {"For"}, {"Amount", Cell::number}};
        if (has_cost) columns.push_back({"Cost", Cell::number});
        Table table("Shopping list, for both halves of the mould and one part", columns);
        for (const KitLine& line : layup_.kit.lines) {
            std::vector<std::string> cells{escape_markup(line.item), escape_markup(line.use), amount(line)};
            if (has_cost) cells.push_back(line.cost > 0 ? fixed(line.cost, 2) : "&ndash;");
            table.row(cells);
        }
        return table.html() + (has_cost ? paragraph("Together " + fixed(layup_.kit.cost, 2) + ".") : "");
    }
    [[nodiscard]] std::string amount(const KitLine& line) const {
        if (line.unit == "kg") return kg(line.amount);
        if (line.unit == "m") return len(line.amount * 1000);
        return fixed(line.amount, 1) + " m&sup2;";
    }

    const Layup& layup_;
    const KitOptions& options_;
    UnitSystem units_;
};

}  // namespace

std::string layup_section(const Design& design) { return LayupPage(design).html(); }

}  // namespace cradlewright
