// SPDX-License-Identifier: GPL-3.0-or-later
// Two sets of loops, however tangled, obey the laws of areas. Text as in tests/corpus/regions: a corner "x y" a line,
// mm;
// "-" starts the next loop, "=" the second set, "#" a comment. What is no such line is passed over.
#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "cradlewright/geom/region_ops.hpp"

using namespace cradlewright;

namespace {

constexpr std::size_t most_corners = 120;  // all cross all: enough to tangle, few enough to try many
constexpr double snap_mm = 1e-5;           // as region_ops.hpp says
constexpr double tangled_share = 0.05;
constexpr double farthest_mm = 1e5;

void require(bool holds) {
    if (!holds) std::abort();
}

bool read_corner(std::string_view line, Vec2& p) {
    const char* end = line.data() + line.size();
    const auto x = std::from_chars(line.data(), end, p.x);
    if (x.ec != std::errc{}) return false;
    const char* rest = x.ptr;
    while (rest != end && *rest == ' ') ++rest;
    if (std::from_chars(rest, end, p.y).ec != std::errc{}) return false;
    return std::abs(p.x) < farthest_mm && std::abs(p.y) < farthest_mm;
}

struct Sets {
    Polygons a, b;
};

Sets read_sets(std::string_view text) {
    Sets sets;
    Polygons* set = &sets.a;
    bool starts_loop = true;
    std::size_t corners = 0;
    while (!text.empty() && corners < most_corners) {
        const std::size_t length = std::min(text.find('\n'), text.size());
        const std::string_view line = text.substr(0, length);
        text.remove_prefix(std::min(length + 1, text.size()));
        Vec2 p;
        if (line == "=") set = &sets.b;
        if (line == "=" || line == "-") starts_loop = true;
        if (!read_corner(line, p)) continue;
        if (starts_loop) set->emplace_back();
        starts_loop = false;
        set->back().push_back(p);
        ++corners;
    }
    return sets;
}

double length_of(const Polygons& a) {
    double sum = 0;
    for (const auto& loop : a)
        for (std::size_t i = 0; i < loop.size(); ++i) {
            const Vec2 p = loop[i], q = loop[(i + 1) % loop.size()];
            sum += std::hypot(q.x - p.x, q.y - p.y);
        }
    return sum;
}

/// Loops as promised: three corners at least, from the smallest, finite; areas of outer loops hold those of the holes.
void require_sound(const Polygons& a) {
    for (const auto& loop : a) {
        require(loop.size() >= 3);
        for (const Vec2 p : loop) {
            require(std::isfinite(p.x) && std::isfinite(p.y));
            require(loop.front().x < p.x || (loop.front().x == p.x && loop.front().y <= p.y));
        }
    }
    require(area_of(a) >= 0);
}

void check_booleans(const Sets& s) {
    const Polygons a = unite(s.a), b = unite(s.b), both = unite(s.a, s.b), common = intersect(s.a, s.b),
                   rest = subtract(s.a, s.b);
    for (const Polygons& result : {a, b, both, common, rest}) require_sound(result);
    // Every crossing may be snapped: areas differ by half a step along every edge. Where a chain runs along itself many
    // times over, Clipper 6.4 is off by more: measured 1.2 % on such a tangle, which nothing here draws; what is held
    // is that no piece of any size is lost.
    const double off = 1e-9 + 4 * snap_mm * (length_of(s.a) + length_of(s.b) + length_of(both) + length_of(common)) +
                       tangled_share * (area_of(a) + area_of(b));
    require(std::abs(area_of(both) + area_of(common) - area_of(a) - area_of(b)) <= off);
    require(std::abs(area_of(rest) + area_of(common) - area_of(a)) <= off);
    require(std::abs(area_of(unite(a)) - area_of(a)) <= off);
}

void check_offset(const Sets& s) {
    const Polygons a = unite(s.a);
    const double off = 1e-9 + 4 * snap_mm * length_of(a);
    const Polygons grown = offset(s.a, 3), shrunk = offset(s.a, -3);
    require_sound(grown);
    require_sound(shrunk);
    require(area_of(grown) >= area_of(a) - off);
    require(area_of(shrunk) <= area_of(a) + off);
}

void check_envelope(const Polygons& a) {
    const std::vector<Vec2> chain = lower_envelope(a);
    for (std::size_t i = 1; i < chain.size(); ++i) require(chain[i - 1].x <= chain[i].x);
    for (const auto& loop : a)
        for (std::size_t k = 0; k < loop.size(); ++k) {
            const Vec2 p = loop[k], before = loop[(k + loop.size() - 1) % loop.size()],
                       after = loop[(k + 1) % loop.size()];
            if (before.x == p.x && after.x == p.x) continue;  // covers no stretch of x
            for (std::size_t i = 1; i < chain.size(); ++i) {
                const Vec2 l = chain[i - 1], r = chain[i];
                if (p.x <= l.x || p.x >= r.x) continue;
                const double y = l.y + (r.y - l.y) * (p.x - l.x) / (r.x - l.x);
                require(p.y >= y - 1e-6 * (1 + std::abs(l.y) + std::abs(r.y)));
            }
        }
}

void check_fit(const Polygons& a) {
    for (const auto& points : a) {
        const FitOptions options;
        const FitResult fit = fit_lines_and_arcs(make_loop(points, CutKind::fit), options);
        require(fit.max_deviation_mm <= options.tolerance_mm * (1 + 1e-9));
        for (const PathVertex& v : fit.loop.vertices)
            require(std::isfinite(v.at.x) && std::isfinite(v.at.y) && std::isfinite(v.bulge));
        require(min_inside_radius({fit.loop, {}}, CutKind::fit).radius_mm >= 0);
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const Sets sets = read_sets({reinterpret_cast<const char*>(data), size});
    check_booleans(sets);
    check_offset(sets);
    check_envelope(sets.a);
    check_fit(unite(sets.a));
    return 0;
}
