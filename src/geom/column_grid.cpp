// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/column_grid.hpp"

#include <algorithm>
#include <numeric>

#include "cradlewright/base/error.hpp"
#include "geom/least_most.hpp"

namespace cradlewright {

namespace {

constexpr double unit_roundoff = std::numeric_limits<double>::epsilon() / 2;

struct Interval {
    double low = std::numeric_limits<double>::infinity(), high = -std::numeric_limits<double>::infinity();
    void add(double v) {
        low = std::min(low, v);
        high = std::max(high, v);
    }
    [[nodiscard]] bool is_empty() const { return low > high; }
};

/// Adds the x of the part of a segment that lies in the slab of y.
void add_clipped(Vec2 a, Vec2 b, Interval slab, Interval& x) {
    if (a.y > b.y) std::swap(a, b);
    if (b.y < slab.low || a.y > slab.high) return;
    const auto x_at = [&](double y) { return a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)); };
    x.add(a.y < slab.low ? x_at(slab.low) : a.x);
    x.add(b.y > slab.high ? x_at(slab.high) : b.x);
}

/// Which cells a triangle touches: never too few, row by row, so that long slanting faces do not fill their box.
class CellWalk {
public:
    CellWalk(Vec2 low, double cell, std::size_t columns, std::size_t rows, double pad)
        : low_(low), cell_(cell), columns_(columns), rows_(rows), pad_(pad) {}

    template <class Use>
    void operator()(const std::array<Vec2, 3>& t, Use&& use) const {
        const double x_low = least_of(t[0].x, t[1].x, t[2].x), x_high = most_of(t[0].x, t[1].x, t[2].x);
        const double y_low = least_of(t[0].y, t[1].y, t[2].y), y_high = most_of(t[0].y, t[1].y, t[2].y);
        const std::size_t first_row = row(y_low - pad_), last_row = row(y_high + pad_);
        const std::size_t first = column(x_low - pad_), last = column(x_high + pad_);
        const bool box_is_tight = last - first < 2 || last_row == first_row;
        for (std::size_t r = first_row; r <= last_row; ++r) {
            std::size_t from = first, to = last;
            if (!box_is_tight) {
                const Interval x = extent_in_row(t, r);
                if (x.is_empty()) continue;
                from = column(x.low - pad_);
                to = column(x.high + pad_);
            }
            for (std::size_t c = from; c <= to; ++c) use(r * columns_ + c);
        }
    }

private:
    [[nodiscard]] Interval extent_in_row(const std::array<Vec2, 3>& t, std::size_t r) const {
        const double bottom = low_.y + static_cast<double>(r) * cell_;
        const Interval slab{bottom - pad_, bottom + cell_ + pad_};
        Interval x;
        add_clipped(t[0], t[1], slab, x);
        add_clipped(t[1], t[2], slab, x);
        add_clipped(t[2], t[0], slab, x);
        return x;
    }
    [[nodiscard]] std::size_t column(double x) const { return clamped((x - low_.x) / cell_, columns_); }
    [[nodiscard]] std::size_t row(double y) const { return clamped((y - low_.y) / cell_, rows_); }
    static std::size_t clamped(double i, std::size_t count) {
        return std::min(static_cast<std::size_t>(std::max(i, 0.0)), count - 1);
    }

    Vec2 low_;
    double cell_;
    std::size_t columns_, rows_;
    double pad_;
};

/// A face seen along the columns.
std::array<Vec2, 3> shadow_of(const Triangle& t, const std::vector<Vec3>& local) {
    const auto flat = [&](VertexId v) { return Vec2{local[v].x, local[v].y}; };
    return {flat(t[0]), flat(t[1]), flat(t[2])};
}

/// Which side of a -> b the origin is on, 0 when it is nearer than `rounding` or the arithmetic hides it. Exactly
/// antisymmetric in a and b (given no contraction to fused multiply-add), so the two faces of an edge never both refuse
/// a point.
double side_of_origin(Vec2 a, Vec2 b, double rounding) {
    const double forward = a.x * b.y, backward = a.y * b.x;
    // Bound of the two products, their difference and the two subtractions that made each coordinate. Source: derived,
    // after J. R. Shewchuk, "Adaptive Precision Floating-Point Arithmetic" (1997), sec. 4.
    const double bound = 8 * unit_roundoff * (std::abs(forward) + std::abs(backward)) +
                         rounding * (std::abs(b.x - a.x) + std::abs(b.y - a.y));
    const double difference = forward - backward;
    return std::abs(difference) <= bound ? 0 : difference;
}

/// Whether `at` is too far outside the face's box to lie over it.
bool misses_box(const std::array<Vec3, 3>& c, Vec2 at, double pad) {
    const double x0 = least_of(c[0].x, c[1].x, c[2].x) - pad, x1 = most_of(c[0].x, c[1].x, c[2].x) + pad;
    const double y0 = least_of(c[0].y, c[1].y, c[2].y) - pad, y1 = most_of(c[0].y, c[1].y, c[2].y) + pad;
    return at.x < x0 || at.x > x1 || at.y < y0 || at.y > y1;
}

/// Local z of the face over `at`; NaN where the face is not over it or stands upright.
double height_over(const std::array<Vec3, 3>& corner, Vec2 at, double rounding) {
    constexpr double none = std::numeric_limits<double>::quiet_NaN();
    std::array<Vec2, 3> d;
    for (std::size_t k = 0; k < 3; ++k) d[k] = Vec2{corner[k].x, corner[k].y} - at;
    const std::array<double, 3> side{side_of_origin(d[1], d[2], rounding), side_of_origin(d[2], d[0], rounding),
                                     side_of_origin(d[0], d[1], rounding)};
    if (least_of(side[0], side[1], side[2]) < 0 && most_of(side[0], side[1], side[2]) > 0) return none;
    const double sum = side[0] + side[1] + side[2];
    // All three zero: the face is upright, and its neighbours answer for the edges it shares with them.
    if (sum == 0) return none;
    const double z = (side[0] * corner[0].z + side[1] * corner[1].z + side[2] * corner[2].z) / sum;
    return std::clamp(z, least_of(corner[0].z, corner[1].z, corner[2].z),
                      most_of(corner[0].z, corner[1].z, corner[2].z));
}

/// More cells than this cost memory (4 byte each) without making columns any cheaper.
constexpr double most_cells = 1 << 23;

}  // namespace

ColumnGrid::ColumnGrid(const TriMesh& mesh, const Frame3& frame, double cell_mm)
    : mesh_(&mesh), frame_(frame), cell_(cell_mm) {
    CRADLEWRIGHT_PRECONDITION(cell_mm > 0);
    if (mesh.triangles.empty()) return;
    local_.reserve(mesh.vertices.size());
    Box2 box;
    double reach_square = 0;  // of the vertex furthest from the frame's origin, which scales the rounding of x and y
    for (const Vec3 v : mesh.vertices) {
        const Vec3 p = local_.emplace_back(frame.to_local(v));
        box.add({p.x, p.y});
        reach_square = std::max(reach_square, dot(p, p));
    }
    // A few roundings of to_local, here and in whoever made the point asked about.
    rounding_ = 16 * unit_roundoff * std::sqrt(reach_square);
    const double pad = 2 * rounding_;
    low_ = box.low - Vec2{pad, pad};
    const Vec2 size = box.size() + Vec2{2 * pad, 2 * pad};
    cell_ = std::max({cell_, std::sqrt(size.x * size.y / most_cells), std::max(size.x, size.y) / most_cells});
    columns_ = static_cast<std::size_t>(size.x / cell_) + 1;
    rows_ = static_cast<std::size_t>(size.y / cell_) + 1;

    const CellWalk cells_of(low_, cell_, columns_, rows_, pad);
    start_.assign(columns_ * rows_ + 1, 0);
    for (const Triangle& t : mesh.triangles) cells_of(shadow_of(t, local_), [&](std::size_t cell) { ++start_[cell]; });
    std::partial_sum(start_.begin(), start_.end(), start_.begin());
    entries_.resize(start_.back());
    // Filled from the back, which turns the ends of the cells into their starts and leaves the faces in rising order.
    for (std::size_t f = mesh.face_count(); f-- > 0;) {
        const Entry entry = entry_of(static_cast<FaceId>(f));
        cells_of(shadow_of(mesh.triangles[f], local_), [&](std::size_t cell) { entries_[--start_[cell]] = entry; });
    }
}

/// The range is rounded outward to single precision.
ColumnGrid::Entry ColumnGrid::entry_of(FaceId f) const {
    constexpr float far = std::numeric_limits<float>::infinity();
    const Triangle& t = mesh_->triangles[f];
    const double a = local_[t[0]].z, b = local_[t[1]].z, c = local_[t[2]].z;
    return {f, std::nextafter(static_cast<float>(least_of(a, b, c)), -far),
            std::nextafter(static_cast<float>(most_of(a, b, c)), far)};
}

std::span<const ColumnGrid::Entry> ColumnGrid::entries_at(Vec2 at) const {
    const double column = (at.x - low_.x) / cell_, row = (at.y - low_.y) / cell_;
    // Written so that NaN falls out too.
    if (!(column >= 0 && row >= 0 && column < static_cast<double>(columns_) && row < static_cast<double>(rows_)))
        return {};
    const std::size_t cell = static_cast<std::size_t>(row) * columns_ + static_cast<std::size_t>(column);
    return std::span(entries_).subspan(start_[cell], start_[cell + 1] - start_[cell]);
}

/// Hands the crossings of the column with those faces that `may_matter` to `use` until that says stop (true).
template <class Wanted, class Visit>
void ColumnGrid::visit(Vec2 at, Wanted&& may_matter, Visit&& use) const {
    for (const Entry& entry : entries_at(at)) {
        if (!may_matter(entry)) continue;
        const Triangle& t = mesh_->triangles[entry.face];
        const std::array<Vec3, 3> corners{local_[t[0]], local_[t[1]], local_[t[2]]};
        if (misses_box(corners, at, 2 * rounding_)) continue;
        const double z = height_over(corners, at, rounding_);
        if (!std::isnan(z) && use(entry.face, z)) return;
    }
}

double ColumnGrid::top(Vec2 at) const {
    double highest = -std::numeric_limits<double>::infinity();
    visit(
        at, [&](const Entry& e) { return double{e.high} > highest; },
        [&](FaceId, double z) {
            highest = std::max(highest, z);
            return false;
        });
    return highest;
}

double ColumnGrid::bottom(Vec2 at) const {
    double lowest = std::numeric_limits<double>::infinity();
    visit(
        at, [&](const Entry& e) { return double{e.low} < lowest; },
        [&](FaceId, double z) {
            lowest = std::min(lowest, z);
            return false;
        });
    return lowest;
}

ColumnGrid::Cover ColumnGrid::cover(Vec2 at, double low, double high) const {
    Cover found;
    visit(
        at,
        [&](const Entry& e) {
            return (!found.is_above && double{e.high} > high) || (!found.is_below && double{e.low} < low);
        },
        [&](FaceId, double z) {
            found.is_above = found.is_above || z > high;
            found.is_below = found.is_below || z < low;
            return found.is_above && found.is_below;
        });
    return found;
}

void ColumnGrid::faces_between(Vec2 at, double low, double high, std::vector<FaceId>& faces) const {
    visit(
        at, [&](const Entry& e) { return double{e.high} > low && double{e.low} < high; },
        [&](FaceId f, double z) {
            if (z > low && z < high) faces.push_back(f);
            return false;
        });
}

}  // namespace cradlewright
