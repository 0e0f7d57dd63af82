// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/corner_relief.hpp"

#include <cmath>
#include <numbers>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace {

/// Turns from here on are corners and no fitted curve's kinks; as Tolerances::corner_rad.
constexpr double corner_rad = 0.70;
/// A corner is square when it is no farther off. Source: assumed; the arc then clears all but a file stroke.
constexpr double square_rad = 10 * std::numbers::pi / 180;
/// Share of an edge that the arcs at its two ends may take together.
constexpr double most_share = 0.5;

class Reliever {
public:
    Reliever(const Loop& loop, double radius) : v_(loop.vertices), radius_(radius) {}

    Loop relieved() {
        const std::size_t n = v_.size();
        Loop result;
        for (std::size_t i = 0; i < n; ++i) {
            const PathVertex& before = v_[(i + n - 1) % n];
            const PathVertex& here = v_[i];
            if (!is_corner(i)) {
                result.vertices.push_back(here);
                continue;
            }
            const Vec2 in = normalized(here.at - before.at), out = normalized(v_[(i + 1) % n].at - here.at);
            const double turn = right_turn(in, out);
            const double back = length(i + n - 1), ahead = length(i);
            const double taken = 2 * radius_ * std::sin(turn / 2);  // of either edge, by an arc on the bisector
            const bool is_square = std::abs(turn - std::numbers::pi / 2) < square_rad;
            if (taken <= room(i + n - 1, i) && taken <= room(i, i)) {
                result.vertices.push_back({here.at - in * taken, -std::tan(turn / 2), CutKind::rough});
                result.vertices.push_back({here.at + out * taken, 0, here.cut});
            } else if (is_square && back >= ahead && 2 * radius_ <= room(i + n - 1, i)) {
                result.vertices.push_back({here.at - in * (2 * radius_), -1, CutKind::rough});
                result.vertices.push_back(here);
            } else if (is_square && ahead > back && 2 * radius_ <= room(i, i)) {
                result.vertices.push_back({here.at, -1, CutKind::rough});
                result.vertices.push_back({here.at + out * (2 * radius_), 0, here.cut});
            } else {
                result.vertices.push_back(here);
            }
        }
        return result;
    }

private:
    static double right_turn(Vec2 in, Vec2 out) { return -std::atan2(cross(in, out), dot(in, out)); }
    [[nodiscard]] double length(std::size_t edge) const {
        const std::size_t n = v_.size();
        return norm(v_[(edge + 1) % n].at - v_[edge % n].at);
    }
    /// What an arc at one end may take of an edge, given a corner at the other.
    [[nodiscard]] double room(std::size_t edge, std::size_t end) const {
        const std::size_t n = v_.size();
        const std::size_t other = end % n == edge % n ? edge + 1 : edge;
        return length(edge) * most_share / (is_corner(other % n) ? 2 : 1);
    }
    [[nodiscard]] bool is_corner(std::size_t i) const {
        const std::size_t n = v_.size();
        const PathVertex& before = v_[(i + n - 1) % n];
        const PathVertex& here = v_[i];
        const Vec2 next = v_[(i + 1) % n].at;
        if (before.bulge != 0 || here.bulge != 0 || here.at == before.at || next == here.at) return false;
        if (before.cut != CutKind::fit && here.cut != CutKind::fit) return false;
        return right_turn(here.at - before.at, next - here.at) > corner_rad;
    }

    const std::vector<PathVertex>& v_;
    double radius_;
};

}  // namespace

Region with_corner_relief(const Region& region, double cutter_mm) {
    CRADLEWRIGHT_PRECONDITION(cutter_mm > 0);
    const double radius = cutter_mm / 2 + relief_over_mm;
    Region result{Reliever(region.outer, radius).relieved(), {}};
    for (const Loop& hole : region.holes) result.holes.push_back(Reliever(hole, radius).relieved());
    return result;
}

}  // namespace cradlewright
