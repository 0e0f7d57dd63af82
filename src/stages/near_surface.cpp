// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/near_surface.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "cradlewright/base/error.hpp"
#include "geom/nearest_on_triangle.hpp"

// Ray and triangle: T. Moeller, B. Trumbore (1997). Walk along a ray: J. Amanatides, A. Woo (1987). Both [from memory].

namespace cradlewright {

namespace {

// Cells a reach is divided into. More: empty cells cost. Fewer: faces do.
constexpr double cells_a_reach = 12;
constexpr double most_cells = 1 << 21;

std::optional<double> ray_meets_triangle(Vec3 origin, Vec3 direction, const std::array<Vec3, 3>& t) {
    const Vec3 ab = t[1] - t[0], ac = t[2] - t[0];
    const Vec3 p = cross(direction, ac);
    const double determinant = dot(ab, p);
    if (std::abs(determinant) < 1e-14 * norm(ab) * norm(ac)) return std::nullopt;  // edge-on: the neighbours are met
    // A little over the edges, so that no ray slips between two faces.
    constexpr double slack = 1e-9;
    const Vec3 to_origin = origin - t[0];
    const double u = dot(to_origin, p) / determinant;
    if (u < -slack || u > 1 + slack) return std::nullopt;
    const Vec3 q = cross(to_origin, ab);
    const double v = dot(direction, q) / determinant;
    if (v < -slack || u + v > 1 + slack) return std::nullopt;
    const double distance = dot(ac, q) / determinant;
    if (distance < -slack) return std::nullopt;
    return std::max(0.0, distance);
}

Box3 box_of(const std::array<Vec3, 3>& corners) {
    Box3 box;
    for (const Vec3 c : corners) box.add(c);
    return box;
}

Box3 box_round(Vec3 center, double half) {
    Box3 box;
    box.add(center - Vec3{half, half, half});
    box.add(center + Vec3{half, half, half});
    return box;
}

double squared(double v) { return v * v; }

}  // namespace

NearSurface::NearSurface(const TriMesh& mesh, std::span<const Vec3> anchors, double reach_mm) : mesh_(mesh) {
    CRADLEWRIGHT_PRECONDITION(reach_mm > 0);
    if (anchors.empty()) {
        start_.assign(2, 0);
        return;
    }
    size_grid(anchors, reach_mm);
    std::vector<std::uint8_t> is_wanted(start_.size() - 1, 0);
    mark(anchors, reach_mm, is_wanted);
    sort_faces(is_wanted);
    set_balls();
}

void NearSurface::size_grid(std::span<const Vec3> anchors, double reach_mm) {
    for (const Vec3 a : anchors) {
        const Box3 box = box_round(a, reach_mm);
        box_.add(box.low);
        box_.add(box.high);
    }
    const Vec3 size = box_.size();
    cell_ = std::max(reach_mm / cells_a_reach, std::cbrt(size.x * size.y * size.z / most_cells));
    count_ = {1 + static_cast<int>(size.x / cell_), 1 + static_cast<int>(size.y / cell_),
              1 + static_cast<int>(size.z / cell_)};
    start_.assign(index(count_[0] - 1, count_[1] - 1, count_[2] - 1) + 2, 0);
}

void NearSurface::mark(std::span<const Vec3> anchors, double reach_mm, std::vector<std::uint8_t>& is_wanted) const {
    // Anchors along a line are denser than cells; those near a marked one are covered by marking a little more.
    const double skip_mm = cell_ / 2, marked_mm = reach_mm + skip_mm;
    const double limit = squared(marked_mm + cell_ * std::sqrt(3.0) / 2);
    const Vec3* last = nullptr;
    for (const Vec3& anchor : anchors) {
        if (last && norm(anchor - *last) <= skip_mm) continue;
        last = &anchor;
        Range rows = range_of(box_round(anchor, marked_mm));
        rows.high[0] = rows.low[0];
        each_cell(rows, [&](int, int y, int z) {
            const Vec3 d = center_of(0, y, z) - anchor;
            const double half = std::sqrt(std::max(0.0, limit - d.y * d.y - d.z * d.z));
            const int from = std::clamp(cell_along(anchor.x - half, box_.low.x), 0, count_[0] - 1);
            const int to = std::clamp(cell_along(anchor.x + half, box_.low.x), 0, count_[0] - 1);
            std::fill_n(is_wanted.begin() + static_cast<std::ptrdiff_t>(index(from, y, z)), to - from + 1,
                        std::uint8_t{1});
        });
    }
}

void NearSurface::sort_faces(const std::vector<std::uint8_t>& is_wanted) {
    struct Entry {
        std::uint32_t cell;
        FaceId face;
    };
    std::vector<Entry> entries;
    for (FaceId f = 0; f < mesh_.face_count(); ++f) {
        const auto corners = mesh_.corners(f);
        const Range range = range_of(box_of(corners));
        if (range.is_empty) continue;
        const bool is_large =
            range.high[0] - range.low[0] > 1 || range.high[1] - range.low[1] > 1 || range.high[2] - range.low[2] > 1;
        const Vec3 normal = is_large ? normalized(area_vector(corners)) : Vec3{};
        // Half the extent of a cell along the normal: keeps large slanted faces out of cells they do not touch.
        const double half = cell_ / 2 * (std::abs(normal.x) + std::abs(normal.y) + std::abs(normal.z)) * (1 + 1e-9);
        each_cell(range, [&](int x, int y, int z) {
            const std::size_t cell = index(x, y, z);
            if (!is_wanted[cell]) return;
            if (!is_large || std::abs(dot(center_of(x, y, z) - corners[0], normal)) <= half)
                entries.push_back({static_cast<std::uint32_t>(cell), f});
        });
    }
    for (const Entry& e : entries) ++start_[e.cell + 1];
    for (std::size_t c = 1; c < start_.size(); ++c) start_[c] += start_[c - 1];
    faces_.resize(entries.size());
    std::vector<std::uint32_t> next(start_.begin(), start_.end() - 1);
    for (const Entry& e : entries) faces_[next[e.cell]++] = e.face;
}

void NearSurface::set_balls() {
    // Of single precision over the grid's extent, twice: for the centre here and the query there.
    const Vec3 size = box_.size();
    const double rounding_mm = 4e-7 * (size.x + size.y + size.z);
    balls_.reserve(faces_.size());
    for (const FaceId f : faces_) {
        const auto c = mesh_.corners(f);
        const Vec3 center = (c[0] + c[1] + c[2]) / 3;
        const double radius_mm = std::max({norm(c[0] - center), norm(c[1] - center), norm(c[2] - center)});
        const Vec3 local = center - box_.low;
        balls_.push_back({static_cast<float>(local.x), static_cast<float>(local.y), static_cast<float>(local.z),
                          static_cast<float>((radius_mm + rounding_mm) * (1 + 1e-6))});
    }
}

int NearSurface::cell_along(double coordinate, double low) const {
    constexpr double far = 1e9;  // keeps the conversion defined for points far outside
    return static_cast<int>(std::clamp(std::floor((coordinate - low) / cell_), -far, far));
}

NearSurface::Range NearSurface::range_of(const Box3& box) const {
    Range range;
    range.low = {cell_along(box.low.x, box_.low.x), cell_along(box.low.y, box_.low.y),
                 cell_along(box.low.z, box_.low.z)};
    range.high = {cell_along(box.high.x, box_.low.x), cell_along(box.high.y, box_.low.y),
                  cell_along(box.high.z, box_.low.z)};
    for (std::size_t a = 0; a < 3; ++a) {
        if (range.high[a] < 0 || range.low[a] >= count_[a]) return range;
        range.low[a] = std::max(range.low[a], 0);
        range.high[a] = std::min(range.high[a], count_[a] - 1);
    }
    range.is_empty = false;
    return range;
}

std::size_t NearSurface::index(int x, int y, int z) const {
    const auto u = [](int v) { return static_cast<std::size_t>(v); };
    return (u(z) * u(count_[1]) + u(y)) * u(count_[0]) + u(x);
}

Vec3 NearSurface::center_of(int x, int y, int z) const { return box_.low + Vec3{x + 0.5, y + 0.5, z + 0.5} * cell_; }

template <class Use>
void NearSurface::each_cell(const Range& range, Use&& use) const {
    if (range.is_empty) return;
    for (int z = range.low[2]; z <= range.high[2]; ++z)
        for (int y = range.low[1]; y <= range.high[1]; ++y)
            for (int x = range.low[0]; x <= range.high[0]; ++x) use(x, y, z);
}

void NearSurface::improve(Nearest& best, Vec3 query, FaceId face) const {
    const auto corners = mesh_.corners(face);
    const Vec3 point = nearest_on_triangle(query, corners);
    const double distance_mm = norm(query - point);
    const double tie_mm = 1e-9 * (1 + best.distance_mm);
    if (distance_mm > best.distance_mm + tie_mm) return;
    const Vec3 normal = normalized(area_vector(corners));
    const double side_mm = dot(query - point, normal);
    if (best.face != no_id && distance_mm >= best.distance_mm - tie_mm) {
        const double best_side_mm = dot(query - best.point, normalized(area_vector(mesh_.corners(best.face))));
        if (std::abs(side_mm) <= std::abs(best_side_mm)) return;
    }
    best = {face, point, distance_mm, side_mm >= 0};
}

void NearSurface::search_cell(Nearest& best, Vec3 query, std::size_t cell) const {
    const Vec3 local = query - box_.low;
    const auto x = static_cast<float>(local.x), y = static_cast<float>(local.y), z = static_cast<float>(local.z);
    for (std::uint32_t k = start_[cell]; k < start_[cell + 1]; ++k) {
        const Ball& ball = balls_[k];
        const float dx = ball.x - x, dy = ball.y - y, dz = ball.z - z;
        const float most = static_cast<float>(best.distance_mm) + ball.radius;
        if (dx * dx + dy * dy + dz * dz <= most * most * 1.00001f) improve(best, query, faces_[k]);
    }
}

NearSurface::Nearest NearSurface::nearest(Vec3 query, double range_mm, FaceId hint) const {
    Nearest best;
    best.distance_mm = std::max(0.0, range_mm);
    if (hint != no_id) improve(best, query, hint);
    struct Candidate {
        double away_squared;
        std::size_t cell;
        auto operator<=>(const Candidate&) const = default;
    };
    std::vector<Candidate> candidates;
    const auto limit = [&best] { return squared(best.distance_mm * (1 + 1e-9) + 1e-9); };
    each_cell(range_of(box_round(query, best.distance_mm)), [&](int x, int y, int z) {
        const std::size_t cell = index(x, y, z);
        if (is_vacant(cell)) return;
        const Vec3 d = center_of(x, y, z) - query;
        const double h = cell_ / 2;
        const double away = squared(std::max(0.0, std::abs(d.x) - h)) + squared(std::max(0.0, std::abs(d.y) - h)) +
                            squared(std::max(0.0, std::abs(d.z) - h));
        if (away <= limit()) candidates.push_back({away, cell});
    });
    // Nearest cells first, so that the range shrinks before the many are looked at.
    std::ranges::sort(candidates);
    for (const Candidate& c : candidates) {
        if (c.away_squared > limit()) break;
        search_cell(best, query, c.cell);
    }
    return best;
}

void NearSurface::flag_within(Vec3 center, double radius_mm, std::vector<std::uint8_t>& flags) const {
    each_cell(range_of(box_round(center, radius_mm)), [&](int x, int y, int z) {
        const std::size_t cell = index(x, y, z);
        for (std::uint32_t k = start_[cell]; k < start_[cell + 1]; ++k) {
            const auto c = mesh_.corners(faces_[k]);
            if (norm((c[0] + c[1] + c[2]) / 3 - center) <= radius_mm) flags[faces_[k]] = 1;
        }
    });
}

std::optional<double> NearSurface::first_hit(Vec3 origin, Vec3 direction, double range_mm) const {
    const std::array<double, 3> from{origin.x - box_.low.x, origin.y - box_.low.y, origin.z - box_.low.z};
    const std::array<double, 3> along{direction.x, direction.y, direction.z};
    Cell cell{cell_along(origin.x, box_.low.x), cell_along(origin.y, box_.low.y), cell_along(origin.z, box_.low.z)};
    double entered_mm = 0;
    std::optional<double> first;
    while (entered_mm <= range_mm) {
        std::size_t axis = 0;
        double leave_mm = std::numeric_limits<double>::infinity();
        bool is_in_grid = true;
        for (std::size_t a = 0; a < 3; ++a) {
            is_in_grid = is_in_grid && cell[a] >= 0 && cell[a] < count_[a];
            if (along[a] == 0) continue;  // exactly parallel never leaves through this side
            const double wall = (cell[a] + (along[a] > 0 ? 1 : 0)) * cell_;
            const double there_mm = (wall - from[a]) / along[a];
            if (there_mm < leave_mm) leave_mm = there_mm, axis = a;
        }
        const std::size_t here = is_in_grid ? index(cell[0], cell[1], cell[2]) : 0;
        for (std::uint32_t k = start_[here]; is_in_grid && k < start_[here + 1]; ++k) {
            const auto hit = ray_meets_triangle(origin, direction, mesh_.corners(faces_[k]));
            if (hit && *hit <= range_mm && (!first || *hit < *first)) first = hit;
        }
        // A face in this cell may be met in a later one, where something nearer may still come first.
        if (first && *first <= leave_mm + 1e-9) return first;
        cell[axis] += along[axis] > 0 ? 1 : -1;
        entered_mm = leave_mm;
    }
    return first;
}

}  // namespace cradlewright
