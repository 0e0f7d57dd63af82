// SPDX-License-Identifier: GPL-3.0-or-later
// Pin-jointed net: C. Mack, H. M. Taylor, "The Fitting of Woven Cloth to Surfaces" (1956) [from memory]; as a curve net
// already P. L. Chebyshev, "Sur la coupe des vetements" (1878) [from memory].
#include "geom/cloth_net.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "geom/point_index.hpp"

namespace cradlewright {
namespace {

constexpr double met_share = 1e-4;        // of a cell: how well a node meets the surface
constexpr int most_rounds = 40;           // of that search; creases need the most
constexpr double side_tolerance = 0.01;   // cells with a side further off are torn
constexpr double over_share = 0.02;       // of a cell: a node further off the mesh lies beyond its rim
constexpr double off_most = 1.5;          // cells: further beyond the rim nothing is laid
constexpr int near_threads = 4;           // nodes so few threads apart are neighbours however sheared
constexpr double on_itself_cells = 0.95;  // closer to a node that is none, the net would lie on itself
constexpr int samples_a_cell = 4;         // along the rim

std::uint64_t place_key(int i, int j) {
    return (std::uint64_t{static_cast<std::uint32_t>(i)} << 32) | static_cast<std::uint32_t>(j);
}

/// Edges between what is wanted and what is not, or nothing.
struct Rim {
    std::vector<std::pair<Vec3, Vec3>> edges;
    std::vector<Vec3> samples;
    std::vector<std::size_t> edge_of;
};

Rim find_rim(const NetSurface& surface, std::span<const std::uint8_t> wanted, double spacing_mm) {
    const TriMesh& mesh = surface.mesh();
    Rim rim;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        if (!wanted.empty() && !wanted[f]) continue;
        const auto c = mesh.corners(f);
        for (unsigned k = 0; k < 3; ++k) {
            const FaceId beyond = surface.adjacency()[3 * f + k];
            if (beyond != no_id && (wanted.empty() || wanted[beyond])) continue;
            const Vec3 a = c[k], b = c[(k + 1) % 3];
            const int pieces = std::max(1, static_cast<int>(std::ceil(norm(b - a) / spacing_mm)));
            for (int n = 0; n < pieces; ++n) {
                rim.samples.push_back(a + (b - a) * ((n + 0.5) / pieces));
                rim.edge_of.push_back(rim.edges.size());
            }
            rim.edges.emplace_back(a, b);
        }
    }
    return rim;
}

double distance_to_edge(Vec3 p, const std::pair<Vec3, Vec3>& edge) {
    const Vec3 along = edge.second - edge.first;
    const double t = std::clamp(dot(p - edge.first, along) / dot(along, along), 0.0, 1.0);
    return norm(p - (edge.first + along * t));
}

}  // namespace

NetSurface::NetSurface(const TriMesh& mesh)
    : mesh_(&mesh), index_(mesh), vertex_normal_(mesh.vertices.size()), adjacency_(face_adjacency(mesh)) {
    for (const Triangle& t : mesh.triangles) {
        const Vec3 n = area_vector({mesh.vertices[t[0]], mesh.vertices[t[1]], mesh.vertices[t[2]]});
        for (const VertexId v : t) vertex_normal_[v] += n;
    }
    for (Vec3& n : vertex_normal_) n = normalized(n);
}

NetSurface::Place NetSurface::nearest(Vec3 query) const {
    const MeshIndex::Nearest found = index_.nearest(query);
    CRADLEWRIGHT_PRECONDITION(found.face != no_id);
    const Triangle& t = mesh_->triangles[found.face];
    const auto c = mesh_->corners(found.face);
    const Vec3 across = area_vector(c);
    const double whole = dot(across, across);
    Vec3 normal;
    for (unsigned k = 0; k < 3; ++k) {
        const double share = dot(across, cross(c[(k + 1) % 3] - found.point, c[(k + 2) % 3] - found.point)) / whole;
        normal += vertex_normal_[t[k]] * std::clamp(share, 0.0, 1.0);
    }
    return {found.point, norm(normal) > 0 ? normalized(normal) : normalized(across), found.face, found.distance_mm};
}

const NetNode* ClothNet::find(int i, int j) const {
    const auto it = by_place_.find(place_key(i, j));
    return it == by_place_.end() ? nullptr : &nodes[it->second];
}

Vec3 ClothNet::middle(const NetCell& cell) const {
    Vec3 sum;
    for (const std::size_t n : cell.corner) sum += nodes[n].at;
    return sum / 4;
}

/// Lays one net.
class NetLayer {
public:
    NetLayer(const NetSurface& surface, const NetOptions& options) : surface_(surface), options_(options) {
        net_.cell_mm = options.cell_mm;
    }

    ClothNet lay() {
        const NetSurface::Place start = surface_.nearest(options_.start);
        const Vec3 warp = normalized(options_.warp - start.normal * dot(options_.warp, start.normal));
        CRADLEWRIGHT_PRECONDITION(norm(warp) > 0);
        const Vec3 weft = cross(start.normal, warp);
        add({.i = 0, .j = 0, .at = start.at, .normal = start.normal, .face = start.face}, 0);
        lay_thread(warp, 1, 0);
        lay_thread(-warp, -1, 0);
        lay_thread(weft, 0, 1);
        lay_thread(-weft, 0, -1);
        for (const int si : {1, -1})
            for (const int sj : {1, -1}) lay_quadrant(si, sj);
        find_cells();
        measure_inside();
        return std::move(net_);
    }

private:
    /// The point of a circle that lies on the surface, nearest to its point at `ahead`; `ahead`, `up` unit, square.
    struct Circle {
        Vec3 middle;
        double radius;
        Vec3 ahead, up;
    };
    std::optional<NetSurface::Place> meet(const Circle& circle, Vec3& at) const {
        at = circle.middle + circle.ahead * circle.radius;
        NetSurface::Place place = surface_.nearest(at);
        double angle = 0;
        for (int round = 0; round < most_rounds; ++round) {
            const double a = dot(place.normal, circle.ahead), b = dot(place.normal, circle.up);
            const double tilt = std::atan2(b, a), reach = circle.radius * std::hypot(a, b);
            const double height = dot(place.normal, circle.middle - place.at);
            if (!(reach > 0)) return std::nullopt;
            const double turn = std::acos(std::clamp(-height / reach, -1.0, 1.0));
            const auto folded = [](double x) { return std::remainder(x, 2 * std::numbers::pi); };
            const double one = folded(tilt + turn), other = folded(tilt - turn);
            double next = std::abs(one) < std::abs(other) ? one : other;
            if (round > most_rounds / 2) next = (next + angle) / 2;  // a crease may throw it to and fro
            const double step = std::abs(next - angle) * circle.radius;
            angle = next;
            at = circle.middle + (circle.ahead * std::cos(angle) + circle.up * std::sin(angle)) * circle.radius;
            place = surface_.nearest(at);
            if (step < met_share * options_.cell_mm) break;
        }
        // Beyond the rim the surface goes on in the tangent plane, so only what is left across it counts as missed.
        if (std::abs(dot(at - place.at, place.normal)) > over_share * 5 * options_.cell_mm) return std::nullopt;
        return place;
    }

    void add(NetNode node, int parent_steps) {
        if (node.i < options_.first_i || node.i > options_.last_i) return;
        const bool is_over = node.off_mm <= over_share * options_.cell_mm;
        const bool is_wanted = options_.wanted.empty() || options_.wanted[node.face];
        node.steps_beyond = is_over && is_wanted ? 0 : parent_steps + 1;
        if (node.steps_beyond > options_.rows_beyond || node.off_mm > off_most * options_.cell_mm) return;
        if (net_.nodes.size() >= static_cast<std::size_t>(options_.most_nodes)) return;
        if (is_over && lies_on_itself(node)) return;
        net_.by_place_.emplace(place_key(node.i, node.j), net_.nodes.size());
        if (is_over) near_[cell_of(node.at)].push_back(net_.nodes.size());
        net_.nodes.push_back(node);
    }

    using CellKey = std::array<int, 3>;
    [[nodiscard]] CellKey cell_of(Vec3 p) const {
        const auto number = [&](double v) { return static_cast<int>(std::floor(v / options_.cell_mm)); };
        return {number(p.x), number(p.y), number(p.z)};
    }
    /// Round a closed body the net comes back to where it has been: there it ends, in a seam.
    [[nodiscard]] bool lies_on_itself(const NetNode& node) const {
        const CellKey at = cell_of(node.at);
        for (int n = 0; n < 27; ++n) {
            const auto it = near_.find({at[0] + n % 3 - 1, at[1] + n / 3 % 3 - 1, at[2] + n / 9 - 1});
            if (it == near_.end()) continue;
            for (const std::size_t k : it->second) {
                const NetNode& other = net_.nodes[k];
                if (std::max(std::abs(other.i - node.i), std::abs(other.j - node.j)) > near_threads &&
                    norm(other.at - node.at) < on_itself_cells * options_.cell_mm && dot(other.normal, node.normal) > 0)
                    return true;
            }
        }
        return false;
    }

    [[nodiscard]] const NetNode* usable(int i, int j) const {
        const NetNode* node = net_.find(i, j);
        return node != nullptr && !node->is_locked ? node : nullptr;
    }
    [[nodiscard]] bool is_locked(int i, int j) const {
        const NetNode* node = net_.find(i, j);
        return node != nullptr && node->is_locked;
    }

    /// Goes on straight from a node: its osculating plane holds the normal, as a geodesic's does.
    bool go_on(const NetNode& from, Vec3 along, int i, int j) {
        const Vec3 ahead = normalized(along - from.normal * dot(along, from.normal));
        if (!(norm(ahead) > 0)) return false;
        NetNode node;
        node.i = i, node.j = j;
        const auto place = meet({from.at, options_.cell_mm, ahead, from.normal}, node.at);
        if (!place) return false;
        node.normal = place->normal, node.face = place->face, node.off_mm = place->off_mm;
        add(node, from.steps_beyond);
        return net_.find(i, j) != nullptr;
    }

    void lay_thread(Vec3 along, int di, int dj) {
        int i = 0, j = 0;
        const NetNode* last = net_.find(0, 0);
        Vec3 ahead = along;
        while (true) {
            const NetNode from = *last;
            if (!go_on(from, ahead, i + di, j + dj)) return;
            i += di, j += dj;
            last = net_.find(i, j);
            ahead = last->at - from.at;
        }
    }

    void lay_quadrant(int si, int sj) {
        int row_end = 0;
        while (usable(si * (row_end + 1), 0) != nullptr) ++row_end;
        for (int n = 1;; ++n) {
            int laid_to = 0;
            for (int m = 1; m <= std::max(row_end, laid_to) + 1; ++m)
                if (lay_node(si * m, sj * n, si, sj)) laid_to = m;
            if (laid_to == 0) return;
            row_end = laid_to;
        }
    }

    bool lay_node(int i, int j, int si, int sj) {
        const NetNode *a = usable(i - si, j), *b = usable(i, j - sj), *d = usable(i - si, j - sj);
        if (a != nullptr && b != nullptr && d != nullptr) return close_cell(*d, *a, *b, i, j);
        // What lies behind a locked place is left to another piece.
        if (is_locked(i - si, j) || is_locked(i, j - sj) || is_locked(i - si, j - sj)) return false;
        if (a == nullptr && b != nullptr && b->steps_beyond == 0)
            if (const NetNode* before = usable(i, j - 2 * sj)) {
                const NetNode from = *b;
                return go_on(from, from.at - before->at, i, j);
            }
        if (b == nullptr && a != nullptr && a->steps_beyond == 0)
            if (const NetNode* before = usable(i - 2 * si, j)) {
                const NetNode from = *a;
                return go_on(from, from.at - before->at, i, j);
            }
        return false;
    }

    /// Mean raw shear of the cell that a node closes and of those behind it.
    [[nodiscard]] double mean_behind(const NetNode& node) const {
        const int si = node.i < 0 ? -1 : 1, sj = node.j < 0 ? -1 : 1;
        double sum = node.closing_rad;
        int count = 1;
        for (int a = 0; a < 3; ++a)
            for (int b = a == 0 ? 1 : 0; b < 3; ++b)
                if (const NetNode* behind = net_.find(node.i - a * si, node.j - b * sj)) {
                    sum += behind->closing_rad;
                    ++count;
                }
        return sum / count;
    }

    bool close_cell(const NetNode& d, const NetNode& a, const NetNode& b, int i, int j) {
        const double cell = options_.cell_mm, half = norm(b.at - a.at) / 2;
        if (!(half < cell) || !(half > 0)) return false;
        const Vec3 middle = (a.at + b.at) * 0.5, axis = (b.at - a.at) / (2 * half);
        const Vec3 away = middle - d.at;
        const Vec3 ahead = normalized(away - axis * dot(away, axis));
        if (!(norm(ahead) > 0)) return false;
        const int steps = std::min(a.steps_beyond, b.steps_beyond);
        const Vec3 from = d.at;
        NetNode node;
        node.i = i, node.j = j;
        const auto place = meet({middle, std::sqrt(cell * cell - half * half), ahead, cross(axis, ahead)}, node.at);
        if (!place) return false;
        node.normal = place->normal, node.face = place->face, node.off_mm = place->off_mm;
        const int quadrant = (i < 0) == (j < 0) ? 1 : -1;
        node.closing_rad = quadrant * shear_of(2 * half, norm(node.at - from));
        node.is_locked = std::abs(mean_behind(node)) > options_.most_shear_rad;
        const bool is_locked = node.is_locked;
        add(node, steps);
        return !is_locked && net_.find(i, j) != nullptr;
    }

    /// From the two diagonals of a rhombus, positive where the one between warp and weft is the longer.
    static double shear_of(double across, double along) { return std::numbers::pi / 2 - 2 * std::atan2(across, along); }

    void find_cells() {
        for (std::size_t n = 0; n < net_.nodes.size(); ++n) {
            const int i = net_.nodes[n].i, j = net_.nodes[n].j;
            NetCell cell{.corner = {n, 0, 0, 0}};
            constexpr std::array<std::array<int, 2>, 4> step{{{0, 0}, {1, 0}, {1, 1}, {0, 1}}};
            bool is_whole = true;
            for (std::size_t k = 1; k < 4 && is_whole; ++k) {
                const auto it = net_.by_place_.find(place_key(i + step[k][0], j + step[k][1]));
                is_whole = it != net_.by_place_.end();
                if (is_whole) cell.corner[k] = it->second;
            }
            if (!is_whole) continue;
            std::array<Vec3, 4> p;
            for (std::size_t k = 0; k < 4; ++k) p[k] = net_.nodes[cell.corner[k]].at;
            for (std::size_t k = 0; k < 4; ++k)
                is_whole = is_whole && std::abs(norm(p[(k + 1) % 4] - p[k]) / net_.cell_mm - 1) < side_tolerance;
            if (!is_whole) continue;
            cell.shear_rad = shear_of(norm(p[3] - p[1]), norm(p[2] - p[0]));
            net_.cells.push_back(cell);
        }
        smooth_shear();
    }

    void smooth_shear() {
        std::unordered_map<std::uint64_t, double> raw;
        for (const NetCell& cell : net_.cells) {
            const NetNode& first = net_.nodes[cell.corner[0]];
            raw.emplace(place_key(first.i, first.j), cell.shear_rad);
        }
        for (NetCell& cell : net_.cells) {
            const NetNode& first = net_.nodes[cell.corner[0]];
            double sum = 0;
            int count = 0;
            for (int n = 0; n < 9; ++n)
                if (const auto it = raw.find(place_key(first.i + n % 3 - 1, first.j + n / 3 - 1)); it != raw.end())
                    sum += it->second, ++count;
            cell.shear_rad = std::abs(sum / count);
            for (const std::size_t c : cell.corner)
                net_.nodes[c].shear_rad = std::max(net_.nodes[c].shear_rad, cell.shear_rad);
        }
    }

    void measure_inside() {
        const Rim rim = find_rim(surface_, options_.wanted, net_.cell_mm / samples_a_cell);
        const PointIndex index(rim.samples);
        for (NetNode& node : net_.nodes) {
            const auto near = index.nearest(node.at, std::numeric_limits<double>::infinity());
            const double distance =
                near ? distance_to_edge(node.at, rim.edges[rim.edge_of[near->index]]) : 1e3 * net_.cell_mm;
            node.inside_mm = node.steps_beyond == 0 ? distance : -distance;
        }
    }

    const NetSurface& surface_;
    const NetOptions& options_;
    ClothNet net_;
    std::map<CellKey, std::vector<std::size_t>> near_;  // nodes over the mesh, by cells of space
};

ClothNet lay_net(const NetSurface& surface, const NetOptions& options) {
    CRADLEWRIGHT_PRECONDITION(options.cell_mm > 0);
    CRADLEWRIGHT_PRECONDITION(options.wanted.empty() || options.wanted.size() == surface.mesh().face_count());
    return NetLayer(surface, options).lay();
}

namespace {

/// Positive where the cloth is used. Shear counts as if it rose by a radian over ten cells, which only decides where
/// between two nodes a line falls.
double use_of(const NetNode& node, double most_shear_rad, double cell_mm) {
    return std::min(node.inside_mm, (most_shear_rad - node.shear_rad) * 10 * cell_mm);
}

/// Points on the grid: a node, or the crossing on the thread from it along warp (1) or weft (2).
struct GridPoint {
    int i = 0, j = 0, on = 0;
    auto operator<=>(const GridPoint&) const = default;
};

}  // namespace

Polygons ClothNet::outline(double most_shear_rad) const {
    constexpr std::array<std::array<int, 2>, 4> step{{{0, 0}, {1, 0}, {1, 1}, {0, 1}}};
    std::map<GridPoint, Vec2> place;
    std::map<std::pair<GridPoint, GridPoint>, int> sides;
    for (const NetCell& cell : cells) {
        std::array<double, 4> use;
        for (std::size_t k = 0; k < 4; ++k) use[k] = use_of(nodes[cell.corner[k]], most_shear_rad, cell_mm);
        std::vector<GridPoint> round;
        const NetNode& base = nodes[cell.corner[0]];
        for (std::size_t k = 0; k < 4; ++k) {
            const std::size_t next = (k + 1) % 4;
            const int i = base.i + step[k][0], j = base.j + step[k][1];
            const int ni = base.i + step[next][0], nj = base.j + step[next][1];
            if (use[k] > 0) {
                round.push_back({i, j, 0});
                place[round.back()] = Vec2{double(i), double(j)} * cell_mm;
            }
            if ((use[k] > 0) == (use[next] > 0)) continue;
            // The same thread seen from either cell gives the same point, to the last bit.
            const bool is_forward = i < ni || j < nj;
            const double from = is_forward ? use[k] : use[next], to = is_forward ? use[next] : use[k];
            const double t = from / (from - to);
            const int low_i = std::min(i, ni), low_j = std::min(j, nj);
            round.push_back({low_i, low_j, i != ni ? 1 : 2});
            place[round.back()] = Vec2{low_i + (i != ni ? t : 0), low_j + (i != ni ? 0 : t)} * cell_mm;
        }
        if (round.size() < 3) continue;
        for (std::size_t k = 0; k < round.size(); ++k) {
            const GridPoint a = round[k], b = round[(k + 1) % round.size()];
            const auto back = sides.find({b, a});
            if (back != sides.end()) {
                if (--back->second == 0) sides.erase(back);
            } else {
                ++sides[{a, b}];
            }
        }
    }
    Polygons chains;
    std::multimap<GridPoint, GridPoint> next;
    for (const auto& [side, count] : sides) next.emplace(side.first, side.second);
    while (!next.empty()) {
        std::vector<Vec2> chain;
        auto it = next.begin();
        const GridPoint first = it->first;
        while (it != next.end()) {
            chain.push_back(place.at(it->first));
            const GridPoint to = it->second;
            next.erase(it);
            if (to == first) break;
            it = next.find(to);
        }
        if (chain.size() >= 3) chains.push_back(std::move(chain));
    }
    return unite(chains);
}

std::size_t ClothNet::worst_cell(double most_shear_rad) const {
    std::size_t worst = cells.size();
    for (std::size_t c = 0; c < cells.size(); ++c) {
        const bool is_used = std::ranges::all_of(
            cells[c].corner, [&](std::size_t n) { return use_of(nodes[n], most_shear_rad, cell_mm) > 0; });
        if (is_used && (worst == cells.size() || cells[c].shear_rad > cells[worst].shear_rad)) worst = c;
    }
    return worst;
}

std::vector<std::optional<Vec2>> on_cloth(const ClothNet& net, std::span<const Vec3> points) {
    std::vector<Vec3> places;
    for (const NetNode& node : net.nodes) places.push_back(node.at);
    const PointIndex index(places);
    std::vector<std::optional<Vec2>> found;
    for (const Vec3 p : points) {
        const auto near = index.nearest(p, 1.5 * net.cell_mm);
        if (!near) {
            found.emplace_back();
            continue;
        }
        const NetNode& node = net.nodes[near->index];
        // Along the thread that leads toward the point, on either side; a missing one is the other's mirror image.
        const auto thread = [&](int di, int dj) {
            const NetNode *ahead = net.find(node.i + di, node.j + dj), *back = net.find(node.i - di, node.j - dj);
            if (ahead != nullptr && back != nullptr) return (ahead->at - back->at) / 2;
            return ahead != nullptr ? ahead->at - node.at : back != nullptr ? node.at - back->at : Vec3{};
        };
        const Vec3 u = thread(1, 0), v = thread(0, 1), d = p - node.at;
        const double uu = dot(u, u), vv = dot(v, v), uv = dot(u, v), whole = uu * vv - uv * uv;
        if (!(whole > 0)) {
            found.emplace_back();
            continue;
        }
        const double s = (dot(d, u) * vv - dot(d, v) * uv) / whole, t = (dot(d, v) * uu - dot(d, u) * uv) / whole;
        found.emplace_back(Vec2{node.i + s, node.j + t} * net.cell_mm);
    }
    return found;
}

}  // namespace cradlewright
