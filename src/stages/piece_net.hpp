// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "cradlewright/stages/layup.hpp"
#include "geom/cloth_net.hpp"

namespace cradlewright {

/// The net of one piece of cloth. Where it is slit, a strip each between darts, all hanging from the warp through the
/// piece's start, the spine, which none of the darts crosses. Flat frame: as ClothNet's.
class PieceNet {
public:
    /// Of one strip. In: as lay_net.
    static PieceNet lay(const NetSurface& surface, const NetOptions& options);
    /// This net, of one strip and laid with the same options, in equal strips with so many darts between them; fewer
    /// when strips would be narrower than least_strip_cells.
    [[nodiscard]] PieceNet slit(const NetSurface& surface, const NetOptions& options, int darts) const;

    [[nodiscard]] double cell_mm() const { return strips_.front().net.cell_mm; }
    [[nodiscard]] int strip_count() const { return static_cast<int>(strips_.size()); }
    /// Where it is laid first: a point of the surface.
    [[nodiscard]] Vec3 start() const { return start_; }
    /// As ClothNet::outline, of all strips; darts are not open in it.
    [[nodiscard]] Polygons outline(double most_shear_rad) const;
    /// Nodes whose places on the flat cloth lie in the region.
    [[nodiscard]] std::vector<Vec3> nodes_in(const Polygons& flat) const;
    /// Most shear of a cell that is used, and its middle; 0 when there is none.
    [[nodiscard]] std::pair<double, Vec3> worst(double most_shear_rad) const;
    /// How much of the flat cloth lies on other strips.
    [[nodiscard]] double doubled_share(const Polygons& flat) const;
    /// The place at a point of the flat cloth, from the nodes round it.
    [[nodiscard]] Vec3 place_on(Vec2 flat) const;
    /// As on_cloth.
    [[nodiscard]] std::vector<std::optional<Vec2>> find(std::span<const Vec3> points) const;
    /// Between every two strips, on either side of the spine, where their lips part by more than dart_tip_mm. Each ends
    /// where the cloth, `flat`, ends; lips lap by `overlap_mm` at most.
    [[nodiscard]] std::vector<Dart> darts(const Polygons& flat, double overlap_mm) const;

private:
    struct Strip {
        ClothNet net;
        int middle = 0;           ///< the spine's node that its net starts from
        int first = 0, last = 0;  ///< of the spine's nodes, shared with the strips beside it
    };
    [[nodiscard]] const Strip& strip_at(double x_mm) const;
    /// Of a strip, in the region, without those on the columns that it shares.
    [[nodiscard]] std::vector<Vec3> own_nodes(const Strip& strip, const Polygons& flat) const;
    [[nodiscard]] std::optional<Dart> dart_between(const Strip& left, const Strip& right, int side,
                                                   const Polygons& flat, double overlap_mm) const;
    /// What is cut out between two strips: half of it from either lip. `laps`: distance from the spine and lap.
    [[nodiscard]] std::vector<Vec2> wedge_between(const Strip& left, const Strip& right, const Dart& dart,
                                                  const std::vector<std::pair<double, double>>& laps,
                                                  double overlap_mm) const;
    std::vector<Strip> strips_;  // along the warp
    Vec3 start_;
};

}  // namespace cradlewright
