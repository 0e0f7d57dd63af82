// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

/// \file Beams of changing section on several supports. One axis x in mm; loads and dips positive downward.
namespace cradlewright {

/// A place along a beam; everything is linear between neighbours.
struct BeamPoint {
    double x_mm = 0;
    double ei_n_mm2 = 0;
    double ga_n = 0;  ///< shear stiffness with its form factor; infinity leaves shear out
    double load_n_mm = 0;
};
struct PointLoad {
    double x_mm = 0, force_n = 0;
};

/// How supports hold.
enum class Hold {
    both_ways,  ///< glued or screwed: they also pull
    push_only,  ///< the beam lies on them and may lift off; the last two keep hold, tipping is another check's matter
};

/// A beam from the first to the last point; what lies beyond the outer supports overhangs.
/// Precondition: points by rising x, at least two, EI and GA > 0; at least two supports, rising, within the beam.
struct Beam {
    std::vector<BeamPoint> points;
    std::vector<double> supports_mm;
    Hold hold = Hold::both_ways;
};

/// A bent beam.
struct BentBeam {
    std::vector<double> x_mm, dip_mm;  ///< at the nodes: points, supports, loads and some between
    std::vector<double> reaction_n;    ///< one a support, upward; 0 where the beam lifted off
    [[nodiscard]] std::size_t deepest() const;
};

/// Bends the beam under its own line load and point loads. Timoshenko elements with the
/// flexibility integrated over the linear EI and GA of each (4 Gauss points), so nodes are exact up to that integral;
/// at least 100 elements. Supports are rigid. Guarantees: reactions sum to the loads to 1e-8. Cost: O(nodes) a contact
/// state, few states. Source: key "roark", ch. 8, from memory, for what it reproduces; the flexibility form is derived
/// from virtual work.
BentBeam bend_beam(const Beam& beam, std::span<const PointLoad> loads);

/// The worst of one force put at each place in turn, on top of the own load.
struct WorstDip {
    double dip_mm = 0, x_mm = 0;     ///< deepest place
    double load_x_mm = 0;            ///< where the force stood
    double own_dip_mm = 0;           ///< deepest without the force
    std::vector<double> reaction_n;  ///< greatest of each support over all places
};
/// In: places to try, each within the beam; none leaves the own load alone. Cost: the elements once, a substitution a
/// place.
WorstDip worst_dip(const Beam& beam, double force_n, std::span<const double> places_mm);

}  // namespace cradlewright
