// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/faces_near.hpp"

#include <algorithm>
#include <cstdint>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

constexpr int most_cells_an_axis = 512;
constexpr int most_cells_a_face = 256;  // a face spanning more cells is taken without looking

/// A bitmap of the cells that hold a point or neighbour one that does.
class CellMap {
public:
    CellMap(std::span<const Vec3> points, double radius_mm) {
        Box3 box;
        for (const Vec3& p : points) box.add(p);
        const Vec3 size = box.size();
        cell_ = std::max(radius_mm, std::max({size.x, size.y, size.z}) / (most_cells_an_axis - 6));
        low_ = box.low - Vec3{2, 2, 2} * cell_;
        nx_ = cells(size.x), ny_ = cells(size.y), nz_ = cells(size.z);
        is_near_.assign(static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_) * static_cast<std::size_t>(nz_),
                        0);
        for (const Vec3& p : points) {
            const auto [x, y, z] = cell_of(p);
            for (int i = x - 1; i <= x + 1; ++i)
                for (int j = y - 1; j <= y + 1; ++j)
                    for (int k = z - 1; k <= z + 1; ++k) is_near_[index(i, j, k)] = 1;
        }
    }

    [[nodiscard]] bool touches(const std::array<Vec3, 3>& corners) const {
        Box3 box;
        for (const Vec3& c : corners) box.add(c);
        auto low = cell_of(box.low), high = cell_of(box.high);
        if (high[0] < 0 || high[1] < 0 || high[2] < 0 || low[0] >= nx_ || low[1] >= ny_ || low[2] >= nz_) return false;
        const std::array<int, 3> last{nx_ - 1, ny_ - 1, nz_ - 1};
        std::int64_t count = 1;
        for (std::size_t a = 0; a < 3; ++a) {
            low[a] = std::max(low[a], 0);
            high[a] = std::min(high[a], last[a]);
            count *= high[a] - low[a] + 1;
        }
        if (count > most_cells_a_face) return true;
        for (int i = low[0]; i <= high[0]; ++i)
            for (int j = low[1]; j <= high[1]; ++j)
                for (int k = low[2]; k <= high[2]; ++k)
                    if (is_near_[index(i, j, k)]) return true;
        return false;
    }

private:
    [[nodiscard]] int cells(double extent) const { return static_cast<int>(extent / cell_) + 5; }
    [[nodiscard]] int cell_along(double v) const {
        return static_cast<int>(std::clamp(std::floor(v / cell_), -1.0, double{most_cells_an_axis + 1}));
    }
    [[nodiscard]] std::array<int, 3> cell_of(Vec3 p) const {
        return {cell_along(p.x - low_.x), cell_along(p.y - low_.y), cell_along(p.z - low_.z)};
    }
    [[nodiscard]] std::size_t index(int i, int j, int k) const {
        return (static_cast<std::size_t>(i) * static_cast<std::size_t>(ny_) + static_cast<std::size_t>(j)) *
                   static_cast<std::size_t>(nz_) +
               static_cast<std::size_t>(k);
    }

    double cell_ = 1;
    Vec3 low_;
    int nx_ = 0, ny_ = 0, nz_ = 0;
    std::vector<std::uint8_t> is_near_;
};

}  // namespace

std::vector<FaceId> faces_near(const TriMesh& mesh, std::span<const Vec3> points, double radius_mm) {
    CRADLEWRIGHT_PRECONDITION(radius_mm > 0);
    std::vector<FaceId> faces;
    if (points.empty()) return faces;
    const CellMap cells(points, radius_mm);
    for (FaceId f = 0; f < mesh.face_count(); ++f)
        if (cells.touches(mesh.corners(f))) faces.push_back(f);
    return faces;
}

}  // namespace cradlewright
