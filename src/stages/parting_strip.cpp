// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: parting.md beside this file.
#include "stages/parting_strip.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

namespace cradlewright {
namespace {

constexpr std::size_t samples = 64;
constexpr std::size_t least_samples = 4;  // of a side or the strip
constexpr double closest_view_mm = 1.5;   // half of the first view; each further one is twice as wide
constexpr double least_turn_rad = 0.44;   // 25 deg at either corner
constexpr double most_bend_share = 0.33;  // of the turn at either corner: a strip bent more is a round nose
constexpr double rms_of_bend = 0.0373;    // per width and turn: parabola's sag w t / 8, times sqrt(4 / 45) (derived)
constexpr double least_side_share = 0.4;  // of the strip's width: so much of either side must show
constexpr double round_share = 0.15;      // of the strip beside each corner may be a rounded arris

/// Straight line by total least squares.
struct Line {
    Vec2 at, along;
    double misfit = 0;  ///< sum of squares
};

/// Sums over the first points, so that a line through any stretch costs the same.
class Stretches {
public:
    explicit Stretches(const std::array<Vec2, samples>& points) {
        for (std::size_t i = 0; i < samples; ++i) {
            const Vec2 p = points[i];
            const Sums& s = sums_[i];
            sums_[i + 1] = {s.x + p.x, s.y + p.y, s.xx + p.x * p.x, s.xy + p.x * p.y, s.yy + p.y * p.y};
        }
    }
    /// Points first .. last - 1.
    [[nodiscard]] Line line(std::size_t first, std::size_t last) const {
        const Spread s = spread(first, last);
        const double angle = 0.5 * std::atan2(2 * s.xy, s.xx - s.yy);
        return {s.middle, {std::cos(angle), std::sin(angle)}, misfit(s)};
    }
    [[nodiscard]] double misfit(std::size_t first, std::size_t last) const { return misfit(spread(first, last)); }

private:
    struct Sums {
        double x = 0, y = 0, xx = 0, xy = 0, yy = 0;
    };
    struct Spread {
        Vec2 middle;
        double xx, xy, yy;
    };
    [[nodiscard]] Spread spread(std::size_t first, std::size_t last) const {
        const Sums &a = sums_[first], &b = sums_[last];
        const auto n = static_cast<double>(last - first);
        const Vec2 m{(b.x - a.x) / n, (b.y - a.y) / n};
        return {m, b.xx - a.xx - n * m.x * m.x, b.xy - a.xy - n * m.x * m.y, b.yy - a.yy - n * m.y * m.y};
    }
    [[nodiscard]] static double misfit(const Spread& s) {
        return std::max(0.0, 0.5 * (s.xx + s.yy) - std::hypot(0.5 * (s.xx - s.yy), s.xy));
    }
    std::array<Sums, samples + 1> sums_;
};

Vec2 meeting(const Line& a, const Line& b) {
    return a.at + a.along * (cross(b.at - a.at, b.along) / cross(a.along, b.along));
}

/// One view of the section: evenly spaced points about its origin.
class View {
public:
    View(const EdgeSection& section, double half_mm)
        : low_(std::max(-half_mm, section.arc.front())), high_(std::min(half_mm, section.arc.back())) {
        for (std::size_t i = 0; i < samples; ++i) points_[i] = section.at(arc(i));
    }

    [[nodiscard]] std::optional<Strip> strip(double noise_mm) const {
        const Stretches stretches(points_);
        std::size_t first = 0, last = 0;
        double least = std::numeric_limits<double>::infinity();
        for (std::size_t a = least_samples; a + 2 * least_samples <= samples; ++a)
            for (std::size_t b = a + least_samples; b + least_samples <= samples; ++b) {
                const double misfit = stretches.misfit(0, a) + stretches.misfit(a, b) + stretches.misfit(b, samples);
                if (misfit >= least) continue;
                least = misfit;
                first = a;
                last = b;
            }
        const double width = arc(last - 1) - arc(first), slack = 0.5 * width + arc(1) - arc(0);
        const double side = least_side_share * width;
        const bool is_in_view = arc(first) - low_ >= side && high_ - arc(last - 1) >= side;
        if (!is_in_view || arc(first) > slack || arc(last - 1) < -slack || width > widest_strip_mm) return {};
        // Lines again without what a rounded arris takes of them.
        const auto leave = static_cast<std::size_t>(round_share * static_cast<double>(last - first));
        const auto side_leave = [&](std::size_t count) { return std::min(leave, count - least_samples); };
        const std::size_t inner = std::min(leave, (last - first - least_samples) / 2);
        const Line upper = stretches.line(0, first - side_leave(first));
        const Line strip = stretches.line(first + inner, last - inner);
        const Line lower = stretches.line(last + side_leave(samples - last), samples);
        const double rms = std::sqrt(strip.misfit / static_cast<double>(last - first - 2 * inner));
        const double corner = std::min(turn(upper, strip), turn(strip, lower));
        if (corner < least_turn_rad) return {};
        if (rms > std::hypot(rms_of_bend * most_bend_share * corner * width, 2 * noise_mm)) return {};
        return Strip{meeting(upper, strip), meeting(strip, lower), 0};
    }

private:
    [[nodiscard]] double arc(std::size_t i) const {
        return low_ + (high_ - low_) * static_cast<double>(i) / static_cast<double>(samples - 1);
    }
    /// Angle between two lines without direction.
    [[nodiscard]] static double turn(const Line& a, const Line& b) {
        return std::atan2(std::abs(cross(a.along, b.along)), std::abs(dot(a.along, b.along)));
    }

    double low_, high_;
    std::array<Vec2, samples> points_;
};

}  // namespace

std::optional<Strip> fit_strip(const EdgeSection& section, double noise_mm) {
    for (double half = closest_view_mm; half <= strip_reach_mm; half *= 2) {
        std::optional<Strip> strip = View(section, half).strip(noise_mm);
        if (!strip) continue;
        const double from = section.nearest(strip->upper).arc_mm, to = section.nearest(strip->lower).arc_mm;
        for (std::size_t i = 0; i + 1 < section.arc.size(); ++i) {
            const double middle = 0.5 * (section.arc[i] + section.arc[i + 1]);
            // The piece above the origin and the one below it lie on one face.
            if (middle > from && middle < to && section.arc[i + 1] != 0) ++strip->triangles_across;
        }
        return strip;
    }
    return {};
}

}  // namespace cradlewright
