// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/mechanics/beam.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "cradlewright/base/error.hpp"
#include "mechanics/band_matrix.hpp"

namespace cradlewright {
namespace {

constexpr double least_elements = 100;
constexpr double same_place = 1e-9;  // of the length: nodes nearer than this are one

// Gauss-Legendre on [0, 1]. Source: Abramowitz, Stegun, Handbook of Mathematical Functions, Table 25.4, n = 4.
constexpr std::array<double, 4> gauss_at{0.5 - 0.5 * 0.861136311594053, 0.5 - 0.5 * 0.339981043584856,
                                         0.5 + 0.5 * 0.339981043584856, 0.5 + 0.5 * 0.861136311594053};
constexpr std::array<double, 4> gauss_weight{0.5 * 0.347854845137454, 0.5 * 0.652145154862546, 0.5 * 0.652145154862546,
                                             0.5 * 0.347854845137454};

BeamPoint between(const BeamPoint& a, const BeamPoint& b, double x) {
    const double t = b.x_mm > a.x_mm ? (x - a.x_mm) / (b.x_mm - a.x_mm) : 0;
    const auto mix = [t](double p, double q) { return p == q ? p : p + t * (q - p); };
    return {x, mix(a.ei_n_mm2, b.ei_n_mm2), mix(a.ga_n, b.ga_n), mix(a.load_n_mm, b.load_n_mm)};
}

/// Forces on the ends of an element: K u + fixed, u = (dip, slope) at a then b.
struct Element {
    std::array<std::array<double, 4>, 4> stiffness{};
    std::array<double, 4> fixed{};
};

/// Cantilever held at a: what force Q, moment M and the line load do to b, by virtual work; inverted, that is the
/// stiffness. With r = distance to b: moment M + Q r + load beyond, shear Q + load beyond.
Element make_element(const BeamPoint& a, const BeamPoint& b) {
    const double length = b.x_mm - a.x_mm, qa = a.load_n_mm, qb = b.load_n_mm;
    double f11 = 0, f12 = 0, f22 = 0, d1 = 0, d2 = 0;
    for (std::size_t i = 0; i < gauss_at.size(); ++i) {
        const BeamPoint p = between(a, b, a.x_mm + gauss_at[i] * length);
        const double w = gauss_weight[i] * length, r = (1 - gauss_at[i]) * length;
        const double q = p.load_n_mm;
        const double load_shear = r * (q + qb) / 2, load_moment = r * r * (q + 2 * qb) / 6;
        const double bend = w / p.ei_n_mm2, shear = w / p.ga_n;
        f11 += r * r * bend + shear;
        f12 += r * bend;
        f22 += bend;
        d1 += load_moment * r * bend + load_shear * shear;
        d2 += load_moment * bend;
    }
    const double det = f11 * f22 - f12 * f12;
    const double k11 = f22 / det, k12 = -f12 / det, k22 = f11 / det;

    // Rows of the end at a follow from equilibrium of the element: -(1, 0; L, 1) times those at b.
    Element e;
    const std::array<std::array<double, 4>, 2> at_b{
        {{-k11, -k11 * length - k12, k11, k12}, {-k12, -k12 * length - k22, k12, k22}}};
    const double force_b = -(k11 * d1 + k12 * d2), moment_b = -(k12 * d1 + k22 * d2);
    const double load = length * (qa + qb) / 2, load_moment_a = length * length * (qa + 2 * qb) / 6;
    for (std::size_t c = 0; c < 4; ++c) {
        e.stiffness[2][c] = at_b[0][c];
        e.stiffness[3][c] = at_b[1][c];
        e.stiffness[0][c] = -at_b[0][c];
        e.stiffness[1][c] = -length * at_b[0][c] - at_b[1][c];
    }
    e.fixed = {-force_b - load, -length * force_b - moment_b - load_moment_a, force_b, moment_b};
    return e;
}

/// Elements and factors are made once; each set of forces costs a substitution a contact state.
class Bender {
public:
    Bender(const Beam& beam, std::span<const double> places_mm) : beam_(beam) {
        CRADLEWRIGHT_PRECONDITION(beam.points.size() >= 2 && beam.supports_mm.size() >= 2);
        for (const BeamPoint& p : beam.points) CRADLEWRIGHT_PRECONDITION(p.ei_n_mm2 > 0 && p.ga_n > 0);
        place_nodes(places_mm);
        assemble();
    }

    BentBeam bend(std::span<const PointLoad> loads) {
        load_ = own_load_;
        for (const PointLoad& p : loads) load_[2 * node_at(p.x_mm)] += p.force_n;
        std::vector<bool> holds(support_node_.size(), true);
        BentBeam bent = solve(holds);
        if (beam_.hold == Hold::both_ways) return bent;
        // Contact: let go what pulls, take back what sinks; each round changes the worst one.
        for (std::size_t round = 0; round < 4 * holds.size(); ++round) {
            const std::size_t worst = worst_contact(bent, holds);
            if (worst == holds.size()) break;
            holds[worst] = !holds[worst];
            bent = solve(holds);
        }
        return bent;
    }

private:
    void place_nodes(std::span<const double> places_mm) {
        const double low = beam_.points.front().x_mm, high = beam_.points.back().x_mm, length = high - low;
        CRADLEWRIGHT_PRECONDITION(length > 0);
        std::vector<double> fixed(places_mm.begin(), places_mm.end());
        for (const BeamPoint& p : beam_.points) fixed.push_back(p.x_mm);
        for (const double s : beam_.supports_mm) fixed.push_back(s);
        for (double& x : fixed) {
            CRADLEWRIGHT_PRECONDITION(x >= low - same_place * length && x <= high + same_place * length);
            x = std::clamp(x, low, high);
        }
        std::sort(fixed.begin(), fixed.end());
        x_.push_back(low);
        for (const double x : fixed) {
            const double gap = x - x_.back();
            if (gap <= same_place * length) continue;
            const auto pieces = static_cast<int>(std::ceil(gap * least_elements / length - same_place));
            const double from = x_.back();
            for (int i = 1; i < pieces; ++i) x_.push_back(from + gap * i / pieces);
            x_.push_back(x);
        }
        for (const double s : beam_.supports_mm) support_node_.push_back(node_at(s));
    }

    [[nodiscard]] std::size_t node_at(double x) const {
        const auto next = std::lower_bound(x_.begin(), x_.end(), x);
        if (next == x_.end()) return x_.size() - 1;
        if (next == x_.begin()) return 0;
        const auto at = static_cast<std::size_t>(next - x_.begin());
        return x - x_[at - 1] < x_[at] - x ? at - 1 : at;
    }

    void assemble() {
        stiffness_ = BandMatrix(2 * x_.size(), 3);
        own_load_.assign(2 * x_.size(), 0.0);
        std::size_t piece = 0;
        for (std::size_t n = 0; n + 1 < x_.size(); ++n) {
            const double middle = 0.5 * (x_[n] + x_[n + 1]);
            while (piece + 2 < beam_.points.size() && beam_.points[piece + 1].x_mm < middle) ++piece;
            const BeamPoint &a = beam_.points[piece], &b = beam_.points[piece + 1];
            const Element e = make_element(between(a, b, x_[n]), between(a, b, x_[n + 1]));
            for (std::size_t r = 0; r < 4; ++r) {
                own_load_[2 * n + r] -= e.fixed[r];
                for (std::size_t c = 0; c <= r; ++c) stiffness_.add(2 * n + r, 2 * n + c, e.stiffness[r][c]);
            }
        }
    }

    const BandMatrix& factors(const std::vector<bool>& holds) {
        const auto [found, is_new] = factors_.try_emplace(holds, stiffness_);
        if (is_new) {
            for (std::size_t s = 0; s < holds.size(); ++s)
                if (holds[s]) found->second.hold(2 * support_node_[s]);
            found->second.factor();
        }
        return found->second;
    }

    [[nodiscard]] BentBeam solve(const std::vector<bool>& holds) {
        std::vector<double> right = load_;
        for (std::size_t s = 0; s < holds.size(); ++s)
            if (holds[s]) right[2 * support_node_[s]] = 0;
        const std::vector<double> u = factors(holds).solve(std::move(right));
        BentBeam bent;
        bent.x_mm = x_;
        for (std::size_t n = 0; n < x_.size(); ++n) bent.dip_mm.push_back(u[2 * n]);
        for (std::size_t s = 0; s < holds.size(); ++s) {
            const std::size_t row = 2 * support_node_[s];
            bent.reaction_n.push_back(holds[s] ? load_[row] - stiffness_.row_times(row, u) : 0);
        }
        return bent;
    }

    /// Support that pulls hardest, else the free one that the beam sinks into deepest, else their count.
    [[nodiscard]] std::size_t worst_contact(const BentBeam& bent, const std::vector<bool>& holds) const {
        double all = 0, deepest = 0;
        for (const double r : bent.reaction_n) all += std::abs(r);
        const auto count = std::count(holds.begin(), holds.end(), true);
        std::size_t worst = holds.size();
        if (count > 2) {
            double pull = -same_place * all;
            for (std::size_t s = 0; s < holds.size(); ++s) {
                if (!holds[s] || bent.reaction_n[s] >= pull) continue;
                pull = bent.reaction_n[s];
                worst = s;
            }
        }
        if (worst != holds.size()) return worst;
        for (std::size_t s = 0; s < holds.size(); ++s) {
            const double dip = bent.dip_mm[support_node_[s]];
            if (holds[s] || dip <= std::max(deepest, same_place)) continue;
            deepest = dip;
            worst = s;
        }
        return worst;
    }

    const Beam& beam_;
    std::vector<double> x_;
    std::vector<std::size_t> support_node_;
    BandMatrix stiffness_{0, 0};
    std::vector<double> own_load_, load_;
    std::map<std::vector<bool>, BandMatrix> factors_;  // by contact state
};

}  // namespace

std::size_t BentBeam::deepest() const {
    return static_cast<std::size_t>(std::max_element(dip_mm.begin(), dip_mm.end()) - dip_mm.begin());
}

BentBeam bend_beam(const Beam& beam, std::span<const PointLoad> loads) {
    std::vector<double> places;
    for (const PointLoad& p : loads) places.push_back(p.x_mm);
    return Bender(beam, places).bend(loads);
}

WorstDip worst_dip(const Beam& beam, double force_n, std::span<const double> places_mm) {
    Bender bender(beam, places_mm);
    const BentBeam own = bender.bend({});
    WorstDip worst;
    worst.reaction_n = own.reaction_n;
    worst.dip_mm = worst.own_dip_mm = own.dip_mm[own.deepest()];
    worst.x_mm = worst.load_x_mm = own.x_mm[own.deepest()];
    for (const double x : places_mm) {
        const PointLoad load{x, force_n};
        const BentBeam bent = bender.bend({&load, 1});
        const std::size_t at = bent.deepest();
        for (std::size_t s = 0; s < bent.reaction_n.size(); ++s)
            worst.reaction_n[s] = std::max(worst.reaction_n[s], bent.reaction_n[s]);
        if (bent.dip_mm[at] <= worst.dip_mm) continue;
        worst.dip_mm = bent.dip_mm[at];
        worst.x_mm = bent.x_mm[at];
        worst.load_x_mm = x;
    }
    return worst;
}

}  // namespace cradlewright
