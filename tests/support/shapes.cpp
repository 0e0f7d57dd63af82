// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/shapes.hpp"

#include <algorithm>
#include <map>
#include <numbers>
#include <numeric>
#include <random>
#include <utility>

namespace cradlewright::test {

namespace {

constexpr double pi = std::numbers::pi;

double turn_fraction(int i, int n) { return 2 * pi * i / n; }

/// Builds bodies from rings: equal numbers of vertices, counter-clockwise seen against the axis, stacked along it.
class Loft {
public:
    using Ring = std::vector<VertexId>;

    VertexId add(Vec3 p) {
        mesh_.vertices.push_back(p);
        return static_cast<VertexId>(mesh_.vertices.size() - 1);
    }

    /// `point(i)` for i = 0 .. n - 1.
    template <class PointAt>
    Ring add_ring(int n, PointAt&& point) {
        Ring ring;
        for (int i = 0; i < n; ++i) ring.push_back(add(point(i)));
        return ring;
    }

    void add_face(VertexId a, VertexId b, VertexId c) { mesh_.triangles.push_back({a, b, c}); }

    void bridge(const Ring& lower, const Ring& upper) {
        for (std::size_t i = 0; i < lower.size(); ++i) {
            const std::size_t j = (i + 1) % lower.size();
            add_face(lower[i], lower[j], upper[j]);
            add_face(lower[i], upper[j], upper[i]);
        }
    }

    /// Fan that closes the upper end; `center` may be an apex.
    void close_top(const Ring& ring, Vec3 center) {
        const VertexId c = add(center);
        for (std::size_t i = 0; i < ring.size(); ++i) add_face(c, ring[i], ring[(i + 1) % ring.size()]);
    }

    void close_bottom(const Ring& ring, Vec3 center) { close_top(turned_over(ring), center); }

    /// The ring seen from the other side; the first vertex stays first.
    static Ring turned_over(Ring ring) {
        std::reverse(ring.begin() + 1, ring.end());
        return ring;
    }

    TriMesh take() { return std::move(mesh_); }

private:
    TriMesh mesh_;
};

/// A chain's points with further ones between, no further apart than `step_mm`; its corners stay.
std::vector<Vec2> divided(const std::vector<Vec2>& chain, double step_mm) {
    std::vector<Vec2> result{chain.front()};
    for (std::size_t i = 0; i + 1 < chain.size(); ++i) {
        const int pieces = std::max(1, static_cast<int>(std::ceil(norm(chain[i + 1] - chain[i]) / step_mm - 1e-9)));
        for (int k = 1; k <= pieces; ++k)
            result.push_back(chain[i] + (chain[i + 1] - chain[i]) * (static_cast<double>(k) / pieces));
    }
    return result;
}

/// Octahedron on the unit sphere, split into four `levels` times.
class UnitSphere {
public:
    explicit UnitSphere(int levels) {
        mesh_.vertices = {{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}};
        mesh_.triangles = {{0, 2, 4}, {2, 1, 4}, {1, 3, 4}, {3, 0, 4}, {2, 0, 5}, {1, 2, 5}, {3, 1, 5}, {0, 3, 5}};
        for (int i = 0; i < levels; ++i) subdivide();
    }

    TriMesh take() { return std::move(mesh_); }

private:
    void subdivide() {
        std::vector<Triangle> fine;
        fine.reserve(4 * mesh_.triangles.size());
        middles_.clear();
        for (const auto& [a, b, c] : mesh_.triangles) {
            const VertexId ab = middle(a, b), bc = middle(b, c), ca = middle(c, a);
            fine.insert(fine.end(), {{a, ab, ca}, {ab, b, bc}, {ca, bc, c}, {ab, bc, ca}});
        }
        mesh_.triangles = std::move(fine);
    }

    VertexId middle(VertexId a, VertexId b) {
        const auto [place, is_new] =
            middles_.try_emplace(std::minmax(a, b), static_cast<VertexId>(mesh_.vertices.size()));
        if (is_new) mesh_.vertices.push_back(normalized(mesh_.vertices[a] + mesh_.vertices[b]));
        return place->second;
    }

    TriMesh mesh_;
    std::map<std::pair<VertexId, VertexId>, VertexId> middles_;
};

/// Point of a NACA four-digit outline with closed tail: x behind the nose, y above the chord line, in chords.
/// `side` +1 upper, -1 lower. Source: Ladson, Brooks, Hill, Sproles, NASA TM-4741 (1996); last coefficient 0.1036
/// closes the tail.
Vec2 naca_point(int digits, double x, double side) {
    const double m = digits / 1000 / 100.0, p = digits / 100 % 10 / 10.0, t = digits % 100 / 100.0;
    const double thickness =
        5 * t * (0.2969 * std::sqrt(x) + x * (-0.1260 + x * (-0.3516 + x * (0.2843 - x * 0.1036))));
    double camber = 0, slope = 0;
    if (m > 0 && p > 0) {
        const double scale = x < p ? m / (p * p) : m / ((1 - p) * (1 - p));
        const double lead = x < p ? 0 : 1 - 2 * p;
        camber = scale * (lead + 2 * p * x - x * x);
        slope = scale * 2 * (p - x);
    }
    const double angle = std::atan(slope);
    return {x - side * thickness * std::sin(angle), camber + side * thickness * std::cos(angle)};
}

/// Triangles across a section whose vertex i (upper side) faces vertex n - i (lower side); vertex 0 nose, n / 2 tail.
void cap_section(Loft& loft, const Loft::Ring& ring) {
    const std::size_t n = ring.size(), tail = n / 2;
    loft.add_face(ring[0], ring[1], ring[n - 1]);
    for (std::size_t i = 1; i + 1 < tail; ++i) {
        loft.add_face(ring[i], ring[i + 1], ring[n - i - 1]);
        loft.add_face(ring[i], ring[n - i - 1], ring[n - i]);
    }
    loft.add_face(ring[tail - 1], ring[tail], ring[tail + 1]);
}

/// Own deviates: std::normal_distribution, std::uniform_int_distribution and std::shuffle differ between systems.
class Random {
public:
    explicit Random(std::uint32_t seed) : engine_(seed) {}

    /// Uniform in (0, 1), both ends excluded.
    double uniform() { return (static_cast<double>(engine_()) + 0.5) / 4294967296.0; }

    /// Uniform in 0 .. n - 1; the bias of at most n / 2^32 does not matter here.
    std::size_t below(std::size_t n) { return static_cast<std::size_t>(uniform() * static_cast<double>(n)); }

    /// Standard normal. Source: G. E. P. Box, M. E. Muller, "A Note on the Generation of Random Normal Deviates"
    /// (1958).
    double normal() {
        const double radius = std::sqrt(-2 * std::log(uniform()));
        return radius * std::cos(2 * pi * uniform());
    }

    /// Fisher-Yates: a permutation of 0 .. n - 1.
    std::vector<std::uint32_t> permutation(std::size_t n) {
        std::vector<std::uint32_t> order(n);
        std::iota(order.begin(), order.end(), 0u);
        for (std::size_t i = n; i > 1; --i) std::swap(order[i - 1], order[below(i)]);
        return order;
    }

private:
    std::mt19937 engine_;  // its sequence is fixed by the C++ standard
};

std::vector<Vec3> vertex_normals(const TriMesh& mesh) {
    std::vector<Vec3> normals(mesh.vertices.size());
    for (FaceId f = 0; f < mesh.face_count(); ++f)
        for (const VertexId v : mesh.triangles[f]) normals[v] += area_vector(mesh.corners(f));
    for (Vec3& n : normals) n = normalized(n);
    return normals;
}

TriMesh stacked_squares(double bottom, double top, double z_bottom, double z_top) {
    const auto corner = [](double side, double z) {
        return [=](int i) { return Vec3{(i == 0 || i == 3 ? 0.5 : -0.5) * side, (i < 2 ? 0.5 : -0.5) * side, z}; };
    };
    Loft loft;
    const auto lower = loft.add_ring(4, corner(bottom, z_bottom));
    loft.close_bottom(lower, {0, 0, z_bottom});
    if (top > 0) {
        const auto upper = loft.add_ring(4, corner(top, z_top));
        loft.bridge(lower, upper);
        loft.close_top(upper, {0, 0, z_top});
    } else {
        loft.close_top(lower, {0, 0, z_top});
    }
    return loft.take();
}

}  // namespace

TriMesh make_box(Vec3 size) {
    TriMesh mesh;
    for (const double z : {-0.5, 0.5})
        for (const double y : {-0.5, 0.5})
            for (const double x : {-0.5, 0.5}) mesh.vertices.push_back({x * size.x, y * size.y, z * size.z});
    mesh.triangles = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                      {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
    return mesh;
}

TriMesh make_sphere(double radius, int levels) { return make_ellipsoid({radius, radius, radius}, levels); }

double chord_sag(const TriMesh& sphere, double radius) {
    double least = radius;
    for (FaceId f = 0; f < sphere.face_count(); ++f) {
        const auto c = sphere.corners(f);
        least = std::min(least, dot(c[0], normalized(area_vector(c))));
    }
    return radius - least;
}

TriMesh make_ellipsoid(Vec3 semi_axes, int levels) {
    TriMesh mesh = UnitSphere(levels).take();
    for (Vec3& p : mesh.vertices) p = {p.x * semi_axes.x, p.y * semi_axes.y, p.z * semi_axes.z};
    return mesh;
}

TriMesh make_torus(double major, double minor, int nu, int nv) {
    Loft loft;
    std::vector<Loft::Ring> rings;
    // Each ring is a circle of the tube's cross section, stacked round the axis; counter-clockwise seen against that
    // walk.
    for (int u = 0; u < nu; ++u) {
        const double a = turn_fraction(u, nu);
        rings.push_back(loft.add_ring(nv, [&](int v) {
            const double b = turn_fraction(v, nv), r = major + minor * std::cos(b);
            return Vec3{r * std::cos(a), r * std::sin(a), -minor * std::sin(b)};
        }));
    }
    for (std::size_t u = 0; u < rings.size(); ++u) loft.bridge(rings[u], rings[(u + 1) % rings.size()]);
    return loft.take();
}

TriMesh make_elliptic_cylinder(double half_y, double half_z, double length, int n, int m) {
    Loft loft;
    Loft::Ring previous;
    for (int j = 0; j <= m; ++j) {
        const double x = length * (static_cast<double>(j) / m - 0.5);
        const auto ring = loft.add_ring(n, [&](int i) {
            const double a = turn_fraction(i, n);
            return Vec3{x, half_y * std::cos(a), half_z * std::sin(a)};
        });
        if (j == 0)
            loft.close_bottom(ring, {x, 0, 0});
        else
            loft.bridge(previous, ring);
        if (j == m) loft.close_top(ring, {x, 0, 0});
        previous = ring;
    }
    return loft.take();
}

TriMesh make_cone(double base_radius, double top_radius, double height, int n) {
    const auto circle = [n](double r, double z) {
        return [=](int i) {
            const double a = turn_fraction(i, n);
            return Vec3{r * std::cos(a), r * std::sin(a), z};
        };
    };
    Loft loft;
    const auto base = loft.add_ring(n, circle(base_radius, 0));
    loft.close_bottom(base, {0, 0, 0});
    if (top_radius > 0) {
        const auto top = loft.add_ring(n, circle(top_radius, height));
        loft.bridge(base, top);
        loft.close_top(top, {0, 0, height});
    } else {
        loft.close_top(base, {0, 0, height});
    }
    return loft.take();
}

std::vector<Vec2> profile_arc(Vec2 center, double radius, double from_rad, double to_rad, int pieces) {
    std::vector<Vec2> points;
    for (int i = 0; i <= pieces; ++i) {
        const double a = from_rad + (to_rad - from_rad) * i / pieces;
        points.push_back({center.x + radius * std::cos(a), center.y + radius * std::sin(a)});
    }
    return points;
}

TriMesh make_lathe(const std::vector<Vec2>& profile, double step_mm, int n) {
    Loft loft;
    Loft::Ring previous;
    const std::vector<Vec2> points = divided(profile, step_mm);
    for (std::size_t k = 1; k + 1 < points.size(); ++k) {
        const auto ring = loft.add_ring(n, [&](int i) {
            const double a = turn_fraction(i, n);
            return Vec3{points[k].x * std::cos(a), points[k].x * std::sin(a), points[k].y};
        });
        if (k == 1)
            loft.close_bottom(ring, {0, 0, points.front().y});
        else
            loft.bridge(previous, ring);
        previous = ring;
    }
    loft.close_top(previous, {0, 0, points.back().y});
    return loft.take();
}

TriMesh make_cut_off_plate(const CutOffPlate& plate) {
    const double half = plate.strip / 2, tail = -plate.chord / 2, lean = half * std::tan(plate.lean_rad);
    const double radius = plate.thickness / 2, nose = plate.chord / 2 - radius;
    // Counter-clockwise seen against x (y right, z up): tail's upper corner, strip down, lower side, nose, upper side.
    const Vec2 upper{tail + lean, half}, lower{tail - lean, -half};
    std::vector<Vec2> section = divided({upper, lower}, plate.strip / plate.strip_rows);
    const auto go_on = [&](const std::vector<Vec2>& more) {
        const std::vector<Vec2> fine = divided(more, plate.step_mm);
        section.insert(section.end(), fine.begin() + 1, fine.end());
    };
    go_on({lower, {nose, -radius}});
    go_on(profile_arc({nose, 0}, radius, -pi / 2, pi / 2, static_cast<int>(pi * radius / plate.step_mm)));
    go_on({{nose, radius}, upper});
    section.pop_back();

    const auto n = static_cast<int>(section.size());
    const int m = static_cast<int>(plate.length / plate.step_mm);
    Loft loft;
    const auto ring_at = [&](double x, double scale) {
        return loft.add_ring(n, [&](int i) {
            const Vec2 p = section[static_cast<std::size_t>(i)];
            return Vec3{x, p.x * scale, p.y * scale};
        });
    };
    std::vector<Loft::Ring> rings;
    const int cap = static_cast<int>(plate.chord / 2 / plate.step_mm / 3);
    for (int k = 1; k < cap; ++k) rings.push_back(ring_at(-plate.length / 2, double(k) / cap));
    for (int j = 0; j <= m; ++j) rings.push_back(ring_at(plate.length * (double(j) / m - 0.5), 1));
    for (int k = cap - 1; k > 0; --k) rings.push_back(ring_at(plate.length / 2, double(k) / cap));
    loft.close_bottom(rings.front(), {-plate.length / 2, 0, 0});
    for (std::size_t k = 0; k + 1 < rings.size(); ++k) loft.bridge(rings[k], rings[k + 1]);
    loft.close_top(rings.back(), {plate.length / 2, 0, 0});
    return loft.take();
}

TriMesh twisted(TriMesh mesh, double rate_rad_per_mm) {
    for (Vec3& p : mesh.vertices) {
        const double c = std::cos(rate_rad_per_mm * p.x), s = std::sin(rate_rad_per_mm * p.x);
        p = {p.x, c * p.y - s * p.z, s * p.y + c * p.z};
    }
    return mesh;
}

TriMesh make_pyramid(double base, double top, double height) { return stacked_squares(base, top, 0, height); }

TriMesh make_naca_prism(int digits, double chord, double length, int n, int m) {
    Loft loft;
    Loft::Ring previous;
    for (int j = 0; j <= m; ++j) {
        const double span = length * j / m;
        const auto ring = loft.add_ring(n, [&](int i) {
            // Cosine spacing: dense at nose and tail.
            const double x = (1 - std::cos(turn_fraction(i, n))) / 2;
            const Vec2 p = naca_point(digits, x, 2 * i <= n ? 1 : -1);
            return Vec3{span, chord * (0.5 - p.x), chord * p.y};
        });
        if (j == 0)
            cap_section(loft, Loft::turned_over(ring));
        else
            loft.bridge(previous, ring);
        if (j == m) cap_section(loft, ring);
        previous = ring;
    }
    return loft.take();
}

TriMesh with_noise(TriMesh mesh, double sigma_mm, std::uint32_t seed) {
    Random random(seed);
    const auto normals = vertex_normals(mesh);
    for (std::size_t v = 0; v < normals.size(); ++v) mesh.vertices[v] += normals[v] * (sigma_mm * random.normal());
    return mesh;
}

TriMesh placed(TriMesh mesh, const Frame3& frame) {
    for (Vec3& p : mesh.vertices) p = frame.to_parent(p);
    for (Opening& o : mesh.openings) {
        o.center = frame.to_parent(o.center);
        o.normal = frame.direction_to_parent(o.normal);
    }
    return mesh;
}

TriMesh shuffled(const TriMesh& mesh, std::uint32_t seed) {
    Random random(seed);
    const auto new_id = random.permutation(mesh.vertices.size());
    TriMesh result;
    result.vertices.resize(mesh.vertices.size());
    for (std::size_t v = 0; v < new_id.size(); ++v) result.vertices[new_id[v]] = mesh.vertices[v];
    for (const std::uint32_t f : random.permutation(mesh.face_count())) {
        const Triangle& t = mesh.triangles[f];
        const std::size_t k = random.below(3);
        result.triangles.push_back({new_id[t[k]], new_id[t[(k + 1) % 3]], new_id[t[(k + 2) % 3]]});
        if (!mesh.face_origin.empty()) result.face_origin.push_back(mesh.face_origin[f]);
    }
    result.openings = mesh.openings;
    for (Opening& o : result.openings)
        for (VertexId& v : o.loop) v = new_id[v];
    return result;
}

}  // namespace cradlewright::test
