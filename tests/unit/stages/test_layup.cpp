// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <numbers>

#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/mechanics/resin.hpp"
#include "cradlewright/stages/layup.hpp"
#include "stages/layup_kit.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using Catch::Detail::Approx;

namespace {

/// The halves of a plug without panels and beads: mould and part cover the same surface.
Layup bare_layup(const test::PartedPlug& plug, const Settings& settings) {
    return plan_layup(plug.posed, plug.parting, {}, {}, {}, settings);
}

const LaidSurface& surface_of(const Layup& layup, const std::string& id) {
    for (const LaidSurface& surface : layup.surfaces)
        if (surface.id == id) return surface;
    FAIL("no surface " << id);
    return layup.surfaces.front();
}

double max_shear_rad(const LaidSurface& surface) {
    double most = 0;
    for (const ClothPiece& piece : surface.pieces) most = std::max(most, piece.max_shear_rad);
    return most;
}

}  // namespace

TEST_CASE("a dome is cut into pieces that do not lock", "[stages][layup]") {
    constexpr double radius = 100;
    const test::PartedPlug plug = test::parted_plug(test::make_sphere(radius, 5));
    Settings settings;
    settings.kit.darts = 0;
    const Layup layup = bare_layup(plug, settings);
    REQUIRE(layup.surfaces.size() == 4);
    for (const LaidSurface& surface : layup.surfaces) {
        CAPTURE(surface.id);
        CHECK(surface.area_mm2 == Approx(2 * std::numbers::pi * radius * radius).epsilon(0.02));
        CHECK(surface.deviation_mm < 1);
        CHECK(surface.pieces.size() > 1);
        CHECK(surface.pieces_needed == int(surface.pieces.size()));
        CHECK(max_shear_rad(surface) < cut_share * Angle::deg(30).rad());
        double laid = 0;
        for (const ClothPiece& piece : surface.pieces) {
            laid += piece.laid_mm2;
            CHECK(piece.area_mm2() > piece.laid_mm2);
            CHECK(norm(piece.start) > 0);
        }
        // Overlaps cover what lies between pieces; a sheared cell covers less than it is cut from.
        CHECK(laid > 0.75 * surface.area_mm2);
        CHECK(laid < 1.15 * surface.area_mm2);
    }
    settings.kit.pieces = 1;
    const Layup whole = bare_layup(plug, settings);
    const LaidSurface& one = surface_of(whole, "mould-1");
    CHECK(one.pieces.size() == 1);
    CHECK(one.pieces_needed > 1);
    CHECK(max_shear_rad(one) > Angle::deg(40).rad());
    // A weave that shears further wants fewer pieces.
    settings.kit.pieces = 12;
    for (const char* name : {"glass-160", "glass-300"}) settings.cloths.at(name).lock_rad = Angle::deg(58).rad();
    CHECK(surface_of(bare_layup(plug, settings), "mould-1").pieces.size() < surface_of(layup, "mould-1").pieces.size());
}

TEST_CASE("darts let a piece of a dome reach further without locking", "[stages][layup]") {
    const test::PartedPlug plug = test::parted_plug(test::make_sphere(100, 5));
    Settings settings;
    settings.kit.darts = 0;
    const Layup bare = bare_layup(plug, settings);
    settings.kit.darts = 4;
    const Layup slit = bare_layup(plug, settings);
    for (const LaidSurface& surface : slit.surfaces) {
        CAPTURE(surface.id);
        const LaidSurface& without = surface_of(bare, surface.id);
        CHECK(surface.pieces.size() < without.pieces.size());
        CHECK(max_shear_rad(surface) < cut_share * Angle::deg(30).rad());
        for (const ClothPiece& piece : without.pieces) CHECK(piece.darts.empty());
        std::size_t darts = 0, marks = 0;
        for (const ClothPiece& piece : surface.pieces) {
            const Polygons cut = to_polygons(piece.part.outline);
            for (const Dart& dart : piece.darts) {
                ++darts;
                CHECK(contains(cut, dart.tip));
                if (dart.wedge.empty()) {
                    CHECK(distance_to_polyline(dart.edge, cut.front(), true) < 1);
                    continue;
                }
                // The wedge's point is on the slit; within it nothing is left.
                CHECK(dart.wedge.front().x == dart.tip.x);
                CHECK(std::abs(dart.wedge.front().y) >= std::abs(dart.tip.y));
                CHECK(area_of(intersect(cut, {dart.wedge})) < 0.01 * area_of({dart.wedge}));
                CHECK(dart.opens_mm <= settings.kit.overlap.mm() / 2);
            }
            for (const Mark& mark : piece.part.marks) marks += mark.text.starts_with("dart ");
            CHECK((piece.part.note.find("dart") != std::string::npos) == !piece.darts.empty());
        }
        CHECK(darts > 0);
        CHECK(marks == darts);
    }
    // Told to cut one piece only, darts still ease it.
    settings.kit.pieces = 1;
    const double with = max_shear_rad(surface_of(bare_layup(plug, settings), "mould-1"));
    settings.kit.darts = 0;
    CHECK(with < 0.8 * max_shear_rad(surface_of(bare_layup(plug, settings), "mould-1")));
}

TEST_CASE("the kit adds up", "[stages][layup]") {
    const test::PartedPlug plug = test::parted_plug(test::make_elliptic_cylinder(40, 15, 300, 96, 60));
    Settings settings;
    settings.kit.waste = 0.2;
    settings.kit.resin_price = 10;
    const Layup layup = bare_layup(plug, settings);
    const LayupKit& kit = layup.kit;
    double mix = 0, fibre = 0, gel = 0;
    for (const LaidSurface& surface : layup.surfaces) {
        // Nearly all of it unrolls: one piece, hardly sheared but at the ends' rims.
        CHECK(surface.pieces.size() <= 3);
        for (const PlyRun& run : surface.laminate.plies)
            fibre += run.count * run.cloth.areal_mass_kg_mm2 * surface.cloth_mm2();
        const Laminate laminate =
            make_laminate(settings, surface.is_mould ? settings.laminate_mould : settings.laminate_part, "test");
        mix += 1.2 * cure(laminate, material("epoxy").e_mpa).resin_kg_mm2 * surface.cloth_mm2();
        gel += surface.is_mould ? 1.2 * 0.5 * material("gel-coat").density_kg_mm3.value * surface.area_mm2 : 0;
    }
    CHECK(kit.fibre_kg == Approx(fibre));
    CHECK(kit.resin_kg + kit.hardener_kg == Approx(mix));
    CHECK(kit.hardener_kg / kit.resin_kg == Approx(0.3));
    CHECK(kit.gel_coat_kg == Approx(gel));
    CHECK(kit.thickener_kg == Approx(0.03 * gel));
    CHECK(kit.cost == Approx(10 * mix));
    CHECK(kit.batch_kg == batch_kg(settings.kit));
    for (const LayupKit::Pour& pour : kit.pours) CHECK(pour.batches == std::ceil(pour.mix_kg / kit.batch_kg));
    CHECK(kit.pours.size() == 4);
    // The single mould has no second half.
    settings.mould.use = MouldUse::single;
    CHECK(bare_layup(plug, settings).surfaces.size() == 2);
}

TEST_CASE("each half has its own kit, and the shared one is their sum", "[stages][layup]") {
    const test::PartedPlug plug = test::parted_plug(test::make_elliptic_cylinder(40, 15, 300, 96, 60));
    Settings settings;
    const Layup bare = bare_layup(plug, settings);
    const LayupKit kit = make_kit(bare.surfaces, {0.2, 0.3}, settings);
    LayupKit::Pour sum;
    std::map<std::string, double> area;
    int pieces = 0, counted = 0;
    for (const LayupKit::Pour& pour : kit.pours) {
        CHECK(pour.resin_kg + pour.hardener_kg == Approx(pour.mix_kg));
        sum.resin_kg += pour.resin_kg, sum.hardener_kg += pour.hardener_kg;
        sum.gel_coat_kg += pour.gel_coat_kg, sum.thickener_kg += pour.thickener_kg;
        sum.fibre_kg += pour.fibre_kg, sum.peel_ply_mm2 += pour.peel_ply_mm2;
        sum.release_mm2 += pour.release_mm2, sum.clay_kg += pour.clay_kg;
        for (const LayupKit::Pour::Cloth& cloth : pour.cloths) {
            area[cloth.name] += cloth.area_mm2;
            counted += cloth.pieces;
        }
    }
    CHECK(kit.resin_kg == Approx(sum.resin_kg));
    CHECK(kit.hardener_kg == Approx(sum.hardener_kg));
    CHECK(kit.gel_coat_kg == Approx(sum.gel_coat_kg));
    CHECK(kit.thickener_kg == Approx(sum.thickener_kg));
    CHECK(kit.fibre_kg == Approx(sum.fibre_kg));
    CHECK(kit.peel_ply_mm2 == Approx(sum.peel_ply_mm2));
    double fibre = 0;
    for (const LaidSurface& surface : bare.surfaces)
        for (const ClothPiece& piece : surface.pieces) pieces += piece.plies;
    for (const auto& [name, mm2] : area) fibre += settings.cloths.at(name).areal_mass_kg_mm2 * mm2;
    CHECK(counted == pieces);
    CHECK(fibre == Approx(kit.fibre_kg));  // every cloth's mass, by its own area
    const auto line = [&](const std::string& item) {
        const auto found = std::ranges::find(kit.lines, item, &KitLine::item);
        REQUIRE(found != kit.lines.end());
        return found->amount;
    };
    CHECK(line("release wax") == Approx(settings.kit.wax_coats * sum.release_mm2 / 1e6));
    CHECK(line("release film") == Approx(settings.kit.film_coats * sum.release_mm2 / 1e6));
    CHECK(line("modelling clay without sulphur") == Approx(0.5));
    CHECK(sum.clay_kg == Approx(0.5));
    Layup layup = bare;
    layup.kit = kit;
    REQUIRE(find_pour(layup, "mould-2") != nullptr);
    CHECK(find_pour(layup, "mould-2")->clay_kg == 0.3);
    CHECK(find_pour(layup, "part-2")->clay_kg == 0);
    CHECK(find_pour(layup, "mould-3") == nullptr);
}

TEST_CASE("cloth wider than its roll is cut into strips that lap", "[stages][layup]") {
    const test::PartedPlug plug = test::parted_plug(test::make_elliptic_cylinder(60, 20, 300, 96, 60));
    Settings settings;
    const ClothPiece whole = surface_of(bare_layup(plug, settings), "part-1").pieces.front();
    const double width = bounding_box(whole.part.outline).size().y;
    for (const char* name : {"glass-160", "glass-300"}) settings.cloths.at(name).roll_mm = 0.6 * width;
    const LaidSurface strips = surface_of(bare_layup(plug, settings), "part-1");
    REQUIRE(strips.pieces.size() == 2);
    double sum = 0;
    for (const ClothPiece& piece : strips.pieces) {
        CHECK(bounding_box(piece.part.outline).size().y < 0.6 * width);
        sum += bounding_box(piece.part.outline).size().y;
    }
    CHECK(sum == Approx(width + settings.kit.overlap.mm()).margin(1.5));
}

TEST_CASE("only the plies of a narrow roll are cut into strips", "[stages][layup]") {
    const test::PartedPlug plug = test::parted_plug(test::make_elliptic_cylinder(60, 20, 300, 96, 60));
    Settings settings;
    const LaidSurface alike = surface_of(bare_layup(plug, settings), "mould-1");
    REQUIRE(alike.pieces.size() == 1);
    const std::vector<PlyRun>& plies = alike.laminate.plies;
    REQUIRE(plies.size() > 1);
    CHECK(alike.pieces[0].plies == alike.ply_count());
    const Vec2 size = bounding_box(alike.pieces[0].part.outline).size();
    settings.cloths.at(std::string(plies[0].cloth.name)).roll_mm = 0.6 * size.y;

    const Layup layup = bare_layup(plug, settings);
    const LaidSurface surface = surface_of(layup, "mould-1");
    REQUIRE(surface.pieces.size() == 3);
    CHECK(surface.pieces_cut == 1);
    int narrow = 0, wide = 0;
    for (const ClothPiece& piece : surface.pieces) {
        const bool is_first = piece.runs == std::vector<std::size_t>{0};
        (is_first ? narrow : wide) += piece.plies;
        const double width = bounding_box(piece.part.outline).size().y;
        CHECK(width == Approx(is_first ? (size.y + settings.kit.overlap.mm()) / 2 : size.y).margin(1.5));
    }
    CHECK(narrow == 2 * plies[0].count);
    CHECK(wide == alike.ply_count() - plies[0].count);
    // By hand: as wide as 0.6 of the roll, strips lie one behind the other, two a ply; no other cloth needs more.
    const auto metres = [](const Layup& of, const std::string& item) {
        const auto line = std::ranges::find(of.kit.lines, item, &KitLine::item);
        return line == of.kit.lines.end() ? 0.0 : line->amount;
    };
    const Layup before = bare_layup(plug, Settings{});
    for (std::size_t r = 1; r < plies.size(); ++r) {
        const std::string name(plies[r].cloth.name);
        if (name != plies[0].cloth.name) CHECK(metres(layup, name) == metres(before, name));
    }
    double strips = 0;
    int count = 0;
    for (const LaidSurface& of : layup.surfaces)
        for (const ClothPiece& piece : of.pieces)
            for (const std::size_t r : piece.runs)
                if (of.laminate.plies[r].cloth.name == plies[0].cloth.name) {
                    strips += of.laminate.plies[r].count * bounding_box(piece.part.outline).size().x;
                    count += of.laminate.plies[r].count;
                }
    CHECK(metres(layup, std::string(plies[0].cloth.name)) == Approx((strips + 10 * (count - 1)) / 1000));
}

TEST_CASE("the net's pieces are also laid flat", "[stages][layup]") {
    const test::PartedPlug plug = test::parted_plug(test::make_elliptic_cylinder(60, 20, 300, 96, 60));
    const LaidSurface surface = surface_of(bare_layup(plug, Settings{}), "part-1");
    REQUIRE(surface.flats.size() == std::size_t(surface.pieces_cut));
    double flat = 0, on_surface = 0;
    for (const FlatPiece& piece : surface.flats) {
        REQUIRE(piece.trouble.empty());
        flat += piece.flat_mm2;
        on_surface += piece.surface_mm2;
        CHECK(area_of(piece.part.outline) > piece.flat_mm2);
        CHECK(piece.least_strain <= piece.most_strain);
    }
    CHECK(on_surface == Approx(surface.area_mm2).epsilon(1e-6));
    // Half an ellipse's circumference by the length, and two ends of half an ellipse. Source: arc length, closed form.
    double around = 0;
    for (int i = 0; i < 100000; ++i) {
        const double t = std::numbers::pi * (i + 0.5) / 100000;
        around += std::hypot(60 * std::sin(t), 20 * std::cos(t)) * std::numbers::pi / 100000;
    }
    CHECK(flat == Approx(around * 300 + std::numbers::pi * 60 * 20).epsilon(0.02));
}

TEST_CASE("pieces lie in rows across the roll", "[stages][layup]") {
    CHECK(roll_length_mm({}, 1000, 10) == 0);
    CHECK(roll_length_mm({{400, 300}}, 1000, 10) == 400);
    CHECK(roll_length_mm({{400, 300}, {300, 300}, {200, 300}}, 1000, 10) == 400);
    CHECK(roll_length_mm({{200, 400}, {400, 500}, {300, 500}}, 1000, 10) == 400 + 10 + 300);
    CHECK(roll_length_mm({{400, 2000}, {300, 100}}, 1000, 10) == 400 + 10 + 300);
}
