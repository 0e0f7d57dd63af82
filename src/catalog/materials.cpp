// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/catalog/materials.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <vector>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

Spread gpa(double low, double value, double high) {
    return {Pressure::gpa(low).mpa(), Pressure::gpa(value).mpa(), Pressure::gpa(high).mpa()};
}
Spread kg_m3(double low, double value, double high) {
    return {Density::kg_m3(low).kg_mm3(), Density::kg_m3(value).kg_mm3(), Density::kg_m3(high).kg_mm3()};
}

std::vector<Material> make_materials() {
    return {
        {"birch-plywood",
         gpa(5, 9, 12),
         0.3,
         kg_m3(650, 680, 700),
         {"finnish-plywood",
          "panel tables, from memory: 9-12 GPa along, 5-7 across the face grain; the spread covers both; value, "
          "Poisson's ratio and E/G assumed"},
         14,
         {},
         true},
        {"softwood-plywood",
         gpa(6.96, 7, 8.55),
         0.3,
         kg_m3(400, 500, 600),
         {"wood-handbook", "Table 12-1, from memory, face grain; Poisson's ratio and E/G assumed"},
         14,
         {},
         true},
        {"hardboard",
         gpa(3.10, 3.5, 5.52),
         0.3,
         kg_m3(900, 950, 1000),
         {"wood-handbook", "Table 12-1, from memory; Poisson's ratio assumed"}},
        {"mdf",
         gpa(0.7 * 3.59, 3.0, 3.59),
         0.3,
         kg_m3(700, 800, 900),
         {"wood-handbook",
          "Table 12-1, from memory; low end 0.7 of it for boards loaded in their plane (moduli differ 17-61 %, "
          "BioResources 10(2) 3070); Poisson's ratio assumed"}},
        {"pine",
         gpa(8.5, 8.5, 12.3),
         0.3,
         kg_m3(350, 400, 510),
         {"wood-handbook",
          "Table 5-3, from memory: eastern white 8.5 GPa, ponderosa 8.9, loblolly 12.3 at 12 % moisture; the weakest "
          "is taken; Table 5-1, from memory: E/G of pines 8 to 21; across the grain 3.0 to 5.4 MPa; Poisson's ratio "
          "assumed"},
         16,
         {3.0, 3.0, 5.4},
         true},
        {"rigid-pvc",
         gpa(2.76, 2.76, 3.79),
         0.38,
         kg_m3(1390, 1390, 1390),
         {"plastics-table", "row of rigid PVC: 2.76 GPa flexural, 3.79 tensile; Poisson's ratio from memory"}},
        {"acrylic",
         gpa(2.76, 2.76, 2.76),
         0.35,
         kg_m3(1190, 1190, 1190),
         {"plastics-table", "row of acrylic; Poisson's ratio assumed"}},
        {"polypropylene",
         gpa(1.07, 1.07, 1.7),
         0.4,
         kg_m3(910, 910, 910),
         {"plastics-table", "row of polypropylene, 1.07 GPa; other tables 1.2-1.7; Poisson's ratio assumed"}},
        {"hdpe",
         gpa(1.0, 1.08, 1.5),
         0.4,
         kg_m3(970, 970, 970),
         {"plastics-table", "row of HDPE, 1.08 GPa; other tables 1.0-1.5; Poisson's ratio assumed"}},
        {"xps-foam",
         gpa(0.010, 0.012, 0.020),
         0.3,
         kg_m3(28, 35, 45),
         {"en-13164",
          "data sheets of this type, from memory: 200 to 700 kPa at 10 % squash; values and Poisson's ratio assumed"},
         0,
         {0.2, 0.3, 0.7}},
        {"pu-foam",
         gpa(0.004, 0.010, 0.020),
         0.3,
         kg_m3(30, 60, 100),
         {"gibson-ashby",
          "rigid polyurethane foam, from memory; crush 0.3 (rho / 1200 kg/m3)^1.5 x 127 MPa over the density's spread; "
          "value and Poisson's ratio assumed"},
         0,
         {0.15, 0.43, 0.92}},
        {"e-glass",
         gpa(72.4, 72.4, 72.4),
         0.22,
         kg_m3(2540, 2540, 2540),
         {"jang-1994", "table of fibre properties, row E-glass; Poisson's ratio assumed"}},
        {"carbon",
         gpa(230, 230, 230),
         0.2,
         kg_m3(1770, 1770, 1800),
         {"jang-1994", "table of fibre properties, row PAN carbon of standard modulus; Poisson's ratio assumed"}},
        {"epoxy",
         gpa(2.6, 3.2, 3.5),
         0.35,
         kg_m3(1100, 1150, 1200),
         {"mallick", "matrix tables, room-temperature cure, from memory; Poisson's ratio assumed"}},
        {"polyester",
         gpa(2.5, 3.0, 3.5),
         0.35,
         kg_m3(1100, 1200, 1250),
         {"mallick", "matrix tables, from memory; middle of 2.5-3.5 GPa; Poisson's ratio assumed"}},
        {"gel-coat", gpa(3, 3, 3), 0.35, kg_m3(1150, 1200, 1300),
         Source::common_practice("unfilled resin with fumed silica; Poisson's ratio assumed")},
    };
}

std::vector<Resin> make_resins() {
    return {
        {"epoxy",
         {0.02, 0.02, 0.07},
         {"resin-shrinkage-pages",
          "about 2 % by volume; the other page 2-7 %; a third, 0.01 %, contradicts both and is left out"}},
        {"polyester",
         {0.05, 0.07, 0.13},
         {"resin-shrinkage-pages", "up to 8 % by volume; the other page 5-13 %; value assumed within both"}},
    };
}

Stock sheet(std::string name, std::string material, double thickness_mm, double length_mm, double width_mm) {
    return {std::move(name), std::move(material),
            thickness_mm,    length_mm,
            width_mm,        Source::common_practice("usual sheet; measure the thickness, nominal is not actual")};
}

Stock strip(std::string name, double thickness_mm, double width_mm) {
    return {std::move(name), "pine",
            thickness_mm,    2400,
            width_mm,        Source::common_practice("usual planed strip; measure it")};
}

std::vector<Stock> make_stocks() {
    return {
        sheet("birch-ply-6", "birch-plywood", 6, 1525, 1525),
        sheet("birch-ply-9", "birch-plywood", 9, 1525, 1525),
        sheet("birch-ply-12", "birch-plywood", 12, 1525, 1525),
        sheet("birch-ply-18", "birch-plywood", 18, 1525, 1525),
        sheet("hardboard-3", "hardboard", 3, 2440, 1220),
        sheet("mdf-9", "mdf", 9, 2440, 1220),
        sheet("mdf-18", "mdf", 18, 2440, 1220),
        sheet("pvc-2", "rigid-pvc", 2, 2440, 1220),
        sheet("pvc-3", "rigid-pvc", 3, 2440, 1220),
        sheet("pvc-4", "rigid-pvc", 4, 2440, 1220),
        sheet("pvc-6", "rigid-pvc", 6, 2440, 1220),
        sheet("pp-3", "polypropylene", 3, 2000, 1000),
        strip("pine-12x20", 12, 20),
        strip("pine-20x40", 20, 40),
    };
}

struct Fibre {
    Density density;
    Pressure e;
    double diameter_um;
};

constexpr double random_mat_share = 0.375;  // mean of cos^4 over all directions

Cloth cloth(std::string name, double g_m2, const Fibre& fibre, double fibre_mass_fraction, const Spread& class_mm,
            double filament_share, Source source) {
    return {.name = std::move(name),
            .areal_mass_kg_mm2 = ArealMass::g_m2(g_m2).kg_mm2(),
            .fibre_density_kg_mm3 = fibre.density.kg_mm3(),
            .fibre_diameter_mm = fibre.diameter_um * 1e-3,
            .fibre_e_mpa = fibre.e.mpa(),
            .fibre_mass_fraction = fibre_mass_fraction,
            .class_radius_mm = class_mm.value,
            .class_radius_low_mm = class_mm.low,
            .class_radius_high_mm = class_mm.high,
            .filament_share = filament_share,
            .weave = filament_share == random_mat_share ? Weave::mat : Weave::plain,
            .source = std::move(source)};
}

/// Fibres: [jang-1994], table of fibre properties: E-glass 72.4 GPa, 2540 kg/m3, 9-17 um; PAN carbon 230 GPa, 1770
/// kg/m3, 7 um. Fine yarn for cloth and coarse for roving are the ends of that range; 13 um for mat is its middle
/// (assumed). Fibre mass fractions by hand layup: [iso-12215-5], defaults, from memory: mat 0.30, roving and cloth
/// 0.45-0.50, carbon 0.45-0.55; the heavy roving takes the low end because hand rolling leaves it wetter (assumed).
std::vector<Cloth> make_cloths() {
    const auto glass = [](double diameter_um) { return Fibre{Density::kg_m3(2540), Pressure::gpa(72.4), diameter_um}; };
    const Fibre carbon{Density::kg_m3(1770), Pressure::gpa(230), 7};
    constexpr double square = 0.5, random_mat = random_mat_share;
    // A radius on which a cloth is reported to hold bounds its class from above, so the value is the least such radius
    // or, where practice gives a range for a class of weights, its upper end. Low: the least radius known for the class
    // or, where one alone is given, the next smaller tool or what wet adhesion alone holds; high: what general advice
    // asks for.
    constexpr Spread light_mm{9.5, 10.6, 12.7}, heavy_mm{11.3, 12.7, 12.7}, carbon_mm{7.9, 9.5, 9.5};
    constexpr Spread mat_mm{10, 12, 12}, roving_mm{20, 25, 25};
    const Source light_glass{
        "fillet-trade-pages",
        "glass 135-200 g/m2 held on 10.6-15.9 mm, lower end taken; by another builder on 9.5; high: "
        "moulded glass in general no sharper than 12.7"};
    const Source heavy_glass = Source::common_practice(
        "radius for glass 200-350 g/m2, plain or twill: 12.7 mm; low: wet adhesion alone, 11.3 mm at 320 g/m2 "
        "(derived)");
    const Source thin_carbon = Source::common_practice(
        "radius for plain carbon up to 200 g/m2: 3/8 in, 9.5 mm; low: 5/16 in, the next smaller tool (assumed)");
    const Source mat =
        Source::common_practice("radius for chopped mat 300-450 g/m2, well rolled: 10-12 mm; upper end taken");
    return {
        cloth("glass-160", 160, glass(9), 0.5, light_mm, square, light_glass),
        cloth("glass-300", 300, glass(9), 0.5, heavy_mm, square, heavy_glass),
        cloth("glass-320", 320, glass(9), 0.5, heavy_mm, square, heavy_glass),
        cloth("carbon-93", 93, carbon, 0.5, carbon_mm, square, thin_carbon),
        cloth("carbon-200", 200, carbon, 0.5, carbon_mm, square, thin_carbon),
        cloth("mat-300", 300, glass(13), 0.3, mat_mm, random_mat, mat),
        cloth("mat-450", 450, glass(13), 0.3, mat_mm, random_mat, mat),
        cloth("roving-600", 600, glass(17), 0.45, roving_mm, square,
              Source::common_practice("radius for woven roving 400-600 g/m2: 20-25 mm; upper end taken")),
    };
}

std::vector<PaperSize> make_papers() {
    const auto inches = [](std::string_view name, double width, double height, std::string where) {
        return PaperSize{name, Length::inch(width).mm(), Length::inch(height).mm(), {"asme-y14.1", std::move(where)}};
    };
    return {
        {"a4", 210, 297, {"iso-216", "size A4, from memory"}},
        {"a3", 297, 420, {"iso-216", "size A3, from memory"}},
        inches("letter", 8.5, 11, "size A, from memory"),
        inches("tabloid", 11, 17, "size B, from memory"),
        {"legal", Length::inch(8.5).mm(), Length::inch(14).mm(), Source::common_practice("8 1/2 x 14 in")},
    };
}

struct BladeRow {
    double width_in, radius_in;
};

/// Charts differ: the largest radius of the three in each row, in inches as printed.
constexpr std::array blade_rows{
    BladeRow{1.0 / 8, 3.0 / 16}, BladeRow{3.0 / 16, 3.0 / 8}, BladeRow{1.0 / 4, 5.0 / 8}, BladeRow{3.0 / 8, 1.5},
    BladeRow{1.0 / 2, 2.5},      BladeRow{5.0 / 8, 4},        BladeRow{3.0 / 4, 5.5},     BladeRow{1, 7.625},
};

}  // namespace

std::span<const Material> materials() {
    static const std::vector<Material> rows = make_materials();
    return rows;
}

std::span<const Resin> resins() {
    static const std::vector<Resin> rows = make_resins();
    return rows;
}

double least_bend_radius_mm(const Stock& stock) {
    return stock.thickness_mm / (2 * material(stock.material).bend_strain);
}

std::span<const Stock> default_stocks() {
    static const std::vector<Stock> rows = make_stocks();
    return rows;
}

std::span<const Cloth> default_cloths() {
    static const std::vector<Cloth> rows = make_cloths();
    return rows;
}

std::span<const PaperSize> papers() {
    static const std::vector<PaperSize> rows = make_papers();
    return rows;
}

Spread lock_angle_rad(const Cloth& cloth) {
    const auto deg = [](double low, double high) {
        return Spread{Angle::deg(low).rad(), Angle::deg((low + high) / 2).rad(), Angle::deg(high).rad()};
    };
    if (cloth.lock_rad > 0) return {cloth.lock_rad, cloth.lock_rad, cloth.lock_rad};
    switch (cloth.weave) {
        case Weave::plain:
            return deg(30, 40);
        case Weave::twill:
            return deg(45, 50);
        case Weave::satin:
            return deg(50, 60);
        case Weave::mat:
            break;
    }
    constexpr double never = std::numeric_limits<double>::infinity();
    return {never, never, never};
}

const Material& material(std::string_view name) {
    const auto all = materials();
    const auto found = std::find_if(all.begin(), all.end(), [&](const Material& m) { return m.name == name; });
    if (found == all.end()) {
        std::string known;
        for (const Material& m : all) {
            known += (known.empty() ? "" : ", ") + std::string(m.name);
        }
        throw Error(ErrorCode::bad_input, "material " + std::string(name), "unknown material", "known are " + known);
    }
    return *found;
}

bool has_grain(const Stock& stock) {
    return stock.grain == Grain::along || (stock.grain == Grain::as_material && material(stock.material).has_grain);
}

double shear_modulus_mpa(const Material& material, double e_mpa) {
    return e_mpa / (material.e_over_g > 0 ? material.e_over_g : 2 * (1 + material.poisson));
}

const Resin& resin(std::string_view name) {
    const auto all = resins();
    const auto found = std::find_if(all.begin(), all.end(), [&](const Resin& r) { return r.name == name; });
    if (found == all.end()) throw Error(ErrorCode::bad_input, "resin " + std::string(name), "unknown resin");
    return *found;
}

double bandsaw_min_radius_mm(double blade_width_mm) {
    CRADLEWRIGHT_PRECONDITION(blade_width_mm > 0);
    const double width_in = Length::mm(blade_width_mm).inch();
    const auto scaled = [&](const BladeRow& row) {
        return Length::inch(row.radius_in * (width_in / row.width_in)).mm();
    };
    const auto above = std::find_if(blade_rows.begin(), blade_rows.end(),
                                    [&](const BladeRow& row) { return row.width_in >= width_in; });
    if (above == blade_rows.begin()) {
        return scaled(blade_rows.front());
    }
    if (above == blade_rows.end()) {
        return scaled(blade_rows.back());
    }
    const BladeRow& below = *(above - 1);
    const double share = (width_in - below.width_in) / (above->width_in - below.width_in);
    return Length::inch(below.radius_in + share * (above->radius_in - below.radius_in)).mm();
}

}  // namespace cradlewright
