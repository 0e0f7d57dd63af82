// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "cradlewright/base/source.hpp"
#include "cradlewright/base/units.hpp"

namespace cradlewright {

/// A value with the spread its source or trade gives; low <= value <= high, in the inside unit.
struct Spread {
    double low = 0, value = 0, high = 0;
};

/// A solid, for stiffness and mass.
struct Material {
    std::string_view name;  ///< "birch-plywood"
    Spread e_mpa;
    double poisson = 0.3;
    Spread density_kg_mm3;
    Source source;
    double e_over_g = 0;  ///< along the grain over shear; 0 = isotropic, 2 (1 + nu)
    Spread crush_mpa{};   ///< pressure that leaves a dent, across the grain; 0 = not known, harder than wood
    bool has_grain = false;
    /// Strain of the skin that a sheet bears bent for good. Source: common practice for dry plywood and hardboard;
    /// taken for plastics too, which bear more.
    double bend_strain = 0.006;
};
/// Shear modulus that goes with a modulus of this material, MPa.
double shear_modulus_mpa(const Material& material, double e_mpa);

/// A laminating resin; its modulus is that of the material of the same name.
struct Resin {
    std::string_view name;
    Spread volume_shrinkage;  ///< through the whole cure, ratio
    Source source;
};

enum class Grain { as_material, along, none };

/// Sheet or strip to cut parts from. Thickness is what the builder measured.
struct Stock {
    std::string name;
    std::string material;  ///< key into materials()
    double thickness_mm = 0;
    double length_mm = 0, width_mm = 0;
    Source source;
    Grain grain = Grain::as_material;
    std::string offcuts{};  ///< pieces at hand, "600mm x 400mm, ..."; offcuts_of() reads it
    double margin_mm = 10;  ///< kept free along the edges of a piece; room_on() says what a tool needs beyond
};
/// Whether parts should lie along its length for the sake of the grain. Errors: as material().
bool has_grain(const Stock& stock);
/// Least radius to which a sheet is bent cold, mm: thickness / (2 bend_strain). Errors: as material().
double least_bend_radius_mm(const Stock& stock);

/// How a cloth is made, which decides how far it shears.
enum class Weave {
    plain,
    twill,
    satin,
    mat,  ///< chopped strands: nothing locks, wet strands slide past each other
};

/// A cloth by weight and weave, with the smallest bead radius that trade practice lets it follow.
struct Cloth {
    std::string name;
    double areal_mass_kg_mm2 = 0;
    double fibre_density_kg_mm3 = 0;
    double fibre_diameter_mm = 0;
    double fibre_e_mpa = 0;
    double fibre_mass_fraction = 0.5;  ///< by hand layup
    double class_radius_mm = 0;        ///< R_class of the ply bend rule
    /// What the sources of the radius differ by, low <= class radius <= high; 0 = no spread known, as where one was
    /// told.
    double class_radius_low_mm = 0, class_radius_high_mm = 0;
    double overhang_mm = 0;       ///< of the builder's own overhang test at 41.5 deg; 0 = not tested
    double filament_share = 0.5;  ///< f of the free-filament bending stiffness: 1/2 for 0/90, 3/8 random mat
    Weave weave = Weave::plain;
    double lock_rad = 0;      ///< shear at which the builder's own sample wrinkled; 0 = that of its weave
    double roll_mm = 1270;    ///< width of the roll. Source: common practice, 50 in
    double price_per_m2 = 0;  ///< in the builder's currency; 0 = not told
    Source source;
};
/// Shear, measured from the square, at which threads lie side by side and the cloth wrinkles; low and high over the
/// weave's range, all one number where it was told. Infinite for mat. Source: common practice: plain 30-40, twill
/// 45-50, satin 50-60 deg; measure by pulling a square drawn on the bias until it wrinkles.
Spread lock_angle_rad(const Cloth& cloth);

struct PaperSize {
    std::string_view name;
    double width_mm = 0, height_mm = 0;  ///< height 0: from a roll, pages are as long as the part needs
    Source source;
};

std::span<const Material> materials();
std::span<const Resin> resins();
std::span<const Stock> default_stocks();
std::span<const Cloth> default_cloths();
std::span<const PaperSize> papers();

/// Errors: Error(bad_input) naming the known ones.
const Material& material(std::string_view name);
const Resin& resin(std::string_view name);

/// Smallest inside radius a bandsaw blade of given width cuts, mm: the larger of the published charts, linear between
/// rows. Precondition: width_mm > 0. Beyond the chart's ends the end row is scaled. Source: key "bandsaw-charts".
double bandsaw_min_radius_mm(double blade_width_mm);

}  // namespace cradlewright
