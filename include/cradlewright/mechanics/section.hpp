// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/geom/slices.hpp"

namespace cradlewright {

/// Integrals along the mid-line of a skin on a section's outline, axes of the slice (y upward), about the mid-line's
/// own centroid. Times the skin's thickness they are its area and second moments.
struct SkinMoments {
    double length_mm = 0;
    Vec2 centroid;
    double ixx_mm3 = 0, iyy_mm3 = 0, ixy_mm3 = 0;  ///< ixx = integral of y^2 ds
    double upright_mm = 0;                         ///< integral of (dy/ds)^2 ds: what carries upright shear as a web
};

/// In: closed loops of a section; the mid-line lies `inset_mm` inside the outline (half the skin's thickness).
/// Each vertex moves square to the chord of its neighbours, so the inset must be small beside the radius of bends.
/// Cost: O(points). Source: key "roark", App. A (I = t times the integral of z^2 ds), from memory.
SkinMoments skin_moments(const Slice& slice, double inset_mm);

/// Stiffness of a solid, MPa.
struct Elastic {
    double e_mpa = 0, g_mpa = 0;
};
/// Isotropic: G = E / (2 (1 + nu)). Precondition: nu > -1.
Elastic isotropic(double e_mpa, double poisson);

/// What a section is made of: a core all over, and a skin on its outline (0 = none).
struct SectionBuild {
    Elastic core, skin;
    double skin_mm = 0;
};

/// What a beam's section resists.
struct SectionStiffness {
    double ei_n_mm2 = 0;  ///< upright bending, free to move sideways
    double ga_n = 0;      ///< upright shear, form factor included
};

/// Form factor of shear of a solid section. Rectangle 5/6 (Reissner), round 0.9; the lower is taken for any outline.
/// Source: key "roark", Table 8.1 footnotes on form factors (6/5 and 10/9), from memory.
inline constexpr double solid_shear_factor = 5.0 / 6.0;

/// Core and skin about their common stiff centroid. A section that is not symmetric turns sideways as it bends:
/// EI = EIxx - EIxy^2 / EIyy. The skin counts by what it adds to the core in its place. Shear: core by
/// solid_shear_factor, skin by its upright share (exact for tubes and boxes of thin wall).
/// In: section and skin of one slice. Out: zeros for an empty section. Source: derived; unsymmetric bending from key
/// "roark", sec. 8.4, from memory.
SectionStiffness section_stiffness(const SectionProperties& section, const SkinMoments& skin,
                                   const SectionBuild& build);
/// Solid rectangle, `height_mm` along the load.
SectionStiffness rectangle_stiffness(double width_mm, double height_mm, const Elastic& elastic);

}  // namespace cradlewright
