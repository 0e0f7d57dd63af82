// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the room against values from outside: check_values.txt, one line each, with its source.
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <functional>
#include <limits>
#include <map>
#include <numbers>
#include <set>
#include <sstream>

#include "cradlewright/mechanics/beam.hpp"
#include "cradlewright/mechanics/laminate.hpp"
#include "cradlewright/mechanics/lifting.hpp"
#include "cradlewright/mechanics/resin.hpp"
#include "cradlewright/mechanics/section.hpp"
#include "cradlewright/mechanics/sheet.hpp"
#include "cradlewright/mechanics/stand.hpp"

using namespace cradlewright;

namespace {

constexpr double no_shear = std::numeric_limits<double>::infinity();
constexpr double rad = std::numbers::pi / 180;

struct Row {
    std::string id, what, provenance, source;
    std::vector<double> in;
    double expected = 0, tolerance = 0;
};

std::string trimmed(const std::string& text) {
    const auto from = text.find_first_not_of(' '), to = text.find_last_not_of(' ');
    return from == std::string::npos ? "" : text.substr(from, to - from + 1);
}

std::vector<Row> read_rows() {
    std::ifstream file(std::string(CRADLEWRIGHT_SOURCE_DIR) + "/tests/unit/mechanics/check_values.txt");
    std::vector<Row> rows;
    for (std::string line; std::getline(file, line);) {
        if (line.empty() || line[0] == '#') continue;
        std::vector<std::string> cells;
        std::istringstream split(line);
        for (std::string cell; std::getline(split, cell, '|');) cells.push_back(trimmed(cell));
        CAPTURE(line);
        REQUIRE(cells.size() == 7);
        Row row{cells[0], cells[1], cells[5], cells[6], {}, std::stod(cells[3]), std::stod(cells[4])};
        std::istringstream inputs(cells[2]);
        for (double v = 0; inputs >> v;) row.in.push_back(v);
        rows.push_back(row);
    }
    return rows;
}

Beam even_beam(double length, double ei, double load, std::vector<double> supports, double ga = no_shear) {
    return {{{0, ei, ga, load}, {length, ei, ga, load}}, std::move(supports), Hold::both_ways};
}
Beam equal_spans(int spans, double span, double ei, double load) {
    std::vector<double> supports;
    for (int i = 0; i <= spans; ++i) supports.push_back(span * i);
    return even_beam(span * spans, ei, load, supports);
}
double rectangle_ei(double e, double width, double height) { return e * width * height * height * height / 12; }
double deepest_mm(const BentBeam& bent) { return bent.dip_mm[bent.deepest()]; }

Slice ellipse(double a, double b, int n = 4000) {
    SliceLoop loop;
    for (int i = 0; i < n; ++i) {
        const double t = 2 * std::numbers::pi * i / n;
        loop.points.push_back({a * std::cos(t), b * std::sin(t)});
    }
    return {loop};
}

/// Four-digit foil of chord 1, 12 %, open tail; without the tail's end face when its length is nothing.
Slice foil(int n) {
    const auto half = [](double x) {
        return 0.6 *
               (0.2969 * std::sqrt(x) - 0.1260 * x - 0.3516 * x * x + 0.2843 * x * x * x - 0.1015 * x * x * x * x);
    };
    SliceLoop loop;
    for (int i = 0; i <= n; ++i) {
        const double x = 0.5 * (1 + std::cos(std::numbers::pi * i / n));
        loop.points.push_back({x, half(x)});
    }
    for (int i = n - 1; i >= 0; --i) {
        const double x = 0.5 * (1 + std::cos(std::numbers::pi * i / n));
        loop.points.push_back({x, -half(x)});
    }
    return {loop};
}

double foil_skin_i(int n) {
    const SkinMoments skin = skin_moments(foil(n), 0);
    constexpr double half_tail = 0.6 * 0.0021;  // its face counts in our outline and not in the value
    return skin.ixx_mm3 - 2 * half_tail * half_tail * half_tail / 3;
}

/// A rectangle a x b on its four edges, nu = 0.3, D = 1; `cells` along b. Dip at its centre.
double supported_plate(double a, double b, int cells, const std::function<PatchLoad(Vec2)>& load_at) {
    SheetGrid grid;
    grid.rows = static_cast<std::size_t>(cells);
    grid.columns = 2 * static_cast<std::size_t>(std::lround(cells * a / b / 2));
    grid.step_x_mm = a / static_cast<double>(grid.columns);
    grid.step_y_mm = b / cells;
    grid.is_solid.assign(grid.rows * grid.columns, 1);
    std::vector<Vec2> supports;
    for (std::size_t c = 0; c <= grid.columns; ++c)
        for (const std::size_t r : {std::size_t{0}, grid.rows}) supports.push_back(grid.node(c, r));
    for (std::size_t r = 1; r < grid.rows; ++r)
        for (const std::size_t c : {std::size_t{0}, grid.columns}) supports.push_back(grid.node(c, r));
    const BentSheet sheet(grid, isotropic_sheet(12 * (1 - 0.09), 0.3, 1), supports);
    const PatchLoad load = load_at({a / 2, b / 2});
    const auto dips = sheet.dips({&load, 1});
    return dips[grid.rows / 2 * (grid.columns + 1) + grid.columns / 2];
}
double plate_uniform(double ratio) {
    // One patch a cell, together an even load of 1.
    const double a = ratio, b = 1;
    SheetGrid grid;
    grid.rows = 20;
    grid.columns = 2 * static_cast<std::size_t>(std::lround(10 * ratio));
    grid.step_x_mm = a / static_cast<double>(grid.columns);
    grid.step_y_mm = b / 20;
    grid.is_solid.assign(grid.rows * grid.columns, 1);
    std::vector<Vec2> supports;
    std::vector<PatchLoad> loads;
    for (std::size_t c = 0; c <= grid.columns; ++c)
        for (std::size_t r = 0; r <= grid.rows; ++r) {
            if (c == 0 || r == 0 || c == grid.columns || r == grid.rows) supports.push_back(grid.node(c, r));
            if (c == grid.columns || r == grid.rows) continue;
            const double area = grid.step_x_mm * grid.step_y_mm;
            loads.push_back(
                {grid.node(c, r) + Vec2{grid.step_x_mm / 2, grid.step_y_mm / 2}, grid.step_x_mm, grid.step_y_mm, area});
        }
    const BentSheet sheet(grid, isotropic_sheet(12 * (1 - 0.09), 0.3, 1), supports);
    return sheet.dips(loads)[grid.rows / 2 * (grid.columns + 1) + grid.columns / 2];
}
double plate_point(double ratio) {
    return supported_plate(ratio, 1, 24, [](Vec2 middle) { return PatchLoad{middle, 0, 0, 1}; });
}

/// Long sheet on two lines, overhanging one of them, a line load on its free edge: dip in the middle of that edge.
double sheet_overhang(double d, double poisson, double span, double reach, double load) {
    SheetGrid grid;
    grid.rows = 20;
    grid.columns = 80;
    grid.step_y_mm = (span + reach) / 20;
    grid.step_x_mm = grid.step_y_mm;
    grid.is_solid.assign(grid.rows * grid.columns, 1);
    std::vector<Vec2> supports;
    for (std::size_t c = 0; c <= grid.columns; ++c) {
        supports.push_back(grid.node(c, 0));
        supports.push_back(grid.node(c, 0) + Vec2{0, span});
    }
    const double length = grid.step_x_mm * 80;
    std::vector<PatchLoad> loads;
    for (std::size_t c = 0; c < grid.columns; ++c)
        loads.push_back({grid.node(c, grid.rows) + Vec2{grid.step_x_mm / 2, 0}, grid.step_x_mm, 0, load * length / 80});
    // Cylindrical bending: nu = 0 across keeps the ends flat as in the middle of an endless sheet.
    const SheetStiffness stiffness{d, poisson * d, d, (1 - poisson) / 2 * d};
    const BentSheet sheet(grid, stiffness, supports);
    return sheet.dips(loads)[grid.rows * (grid.columns + 1) + grid.columns / 2];
}

Cloth cloth_of(double g_m2, double fibre_kg_m3, double mass_share) {
    Cloth cloth;
    cloth.areal_mass_kg_mm2 = ArealMass::g_m2(g_m2).kg_mm2();
    cloth.fibre_density_kg_mm3 = Density::kg_m3(fibre_kg_m3).kg_mm3();
    cloth.fibre_mass_fraction = mass_share;
    return cloth;
}
double kg_mm3(double kg_m3) { return Density::kg_m3(kg_m3).kg_mm3(); }

double foam_middle_load(const std::vector<double>& v) {
    const double e = v[0], g = v[1], a = v[2], b = v[3], length = v[4], force = v[5], k = v[6];
    const double ei = e * std::numbers::pi * a * b * b * b / 4, ga = k * std::numbers::pi * a * b * g;
    const PointLoad load{length / 2, force};
    const auto dip = [&](double shear) {
        return deepest_mm(bend_beam(even_beam(length, ei, 0, {0, length}, shear), {&load, 1}));
    };
    return k > 0 ? dip(ga) - dip(no_shear) : dip(no_shear);
}

using Formula = std::function<double(const std::vector<double>&)>;
const std::map<std::string, Formula>& formulas() {
    using In = const std::vector<double>&;
    static const std::map<std::string, Formula> all{
        {"span-dip",
         [](In v) {
             return deepest_mm(bend_beam(even_beam(v[3], rectangle_ei(v[0], v[1], v[2]), v[4], {0, v[3]}), {}));
         }},
        {"spans-dip",
         [](In v) {
             const double ei = rectangle_ei(v[0], v[1], v[2]);
             return deepest_mm(bend_beam(equal_spans(static_cast<int>(v[5]), v[3], ei, v[4]), {}));
         }},
        {"spans-reaction",
         [](In v) {
             return bend_beam(equal_spans(static_cast<int>(v[0]), 1, 1, 1), {})
                 .reaction_n[static_cast<std::size_t>(v[1])];
         }},
        {"overhang-tip-load",
         [](In v) {
             const PointLoad load{v[3] + v[4], v[5]};
             const Beam beam = even_beam(v[3] + v[4], rectangle_ei(v[0], v[1], v[2]), 0, {0, v[3]});
             return bend_beam(beam, {&load, 1}).dip_mm.back();
         }},
        {"overhang-tip-own",
         [](In v) {
             const Beam beam = even_beam(v[3] + v[4], rectangle_ei(v[0], v[1], v[2]), v[5], {0, v[3]});
             return bend_beam(beam, {}).dip_mm.back();
         }},
        {"foam-ellipse", foam_middle_load},
        {"foam-ellipse-own",
         [](In v) {
             const double area = std::numbers::pi * v[1] * v[2], ei = v[0] * area * v[2] * v[2] / 4;
             return deepest_mm(bend_beam(even_beam(v[3], ei, kg_mm3(v[4]) * area * standard_gravity, {0, v[3]}), {}));
         }},
        {"ellipse-i", [](In v) { return section_properties(ellipse(v[0], v[1])).ixx_mm4; }},
        {"ellipse-skin-i", [](In v) { return v[2] * skin_moments(ellipse(v[0], v[1]), v[2] / 2).ixx_mm3; }},
        {"tube-upright", [](In v) { return skin_moments(ellipse(v[0], v[0]), 0).upright_mm; }},
        {"foil-skin-i", [](In v) { return foil_skin_i(static_cast<int>(v[0])); }},
        {"rigidity", [](In v) { return isotropic_sheet(v[0], v[1], v[2]).d11; }},
        {"plate-uniform", [](In v) { return plate_uniform(v[0]); }},
        {"plate-point", [](In v) { return plate_point(v[0]); }},
        {"plate-patch",
         [](In v) { return supported_plate(1, 1, 40, [&](Vec2 middle) {
                        return PatchLoad{middle, v[0], v[0], 1};
                    }); }},
        {"plate-point-mm",
         [](In v) {
             const double d = isotropic_sheet(v[0], v[1], v[2]).d11;
             return plate_point(1) * v[4] * v[3] * v[3] / d;
         }},
        {"sheet-overhang",
         [](In v) { return sheet_overhang(isotropic_sheet(v[0], v[1], v[2]).d11, 0, v[3], v[4], v[5]); }},
        {"clamped-edge", [](In v) { return clamped_edge_dip_mm(v[0], v[1], v[2], v[3]); }},
        {"long-panel", [](In v) { return long_panel_dip_mm(v[0], v[1], v[2]); }},
        {"stop-force", [](In v) { return stop_force_n(v[0], v[1] * rad, v[2]); }},
        {"slide-angle-deg", [](In v) { return slide_angle_rad(v[0]) / rad; }},
        {"tip-angle-deg", [](In v) { return tip_angle_rad(v[0], v[1]) / rad; }},
        {"v-saddle", [](In v) { return v_saddle_force_n(v[0], v[1] * rad); }},
        {"saddle-pressure", [](In v) { return saddle_pressure_mpa(v[0], v[1], v[2]); }},
        {"under-plate", [](In v) { return pressure_share_under_plate(v[0], v[1], v[2]); }},
        {"buckling", [](In v) { return plate_buckling_load_n(v[0], v[1], v[2], v[3]); }},
        {"fibre-share", [](In v) { return fibre_volume_share(cloth_of(v[0], v[1], v[2]), kg_mm3(v[3])); }},
        {"ply-thickness", [](In v) { return ply_thickness_mm(cloth_of(v[0], v[1], v[2]), kg_mm3(v[3])); }},
        {"ply-resin-g-m2", [](In v) { return ply_resin_kg_mm2(cloth_of(v[0], 2540, v[1])) * 1e9; }},
        {"ply-modulus", [](In v) { return ply_modulus_mpa(v[0], v[1], v[2], v[3]); }},
        {"mat-modulus",
         [](In v) {
             return ply_modulus_mpa(0.375, v[3], v[4], fibre_volume_share(cloth_of(450, v[1], v[0]), kg_mm3(v[2])));
         }},
        {"glass-rule", [](In v) { return glass_rule_modulus_mpa(v[0]); }},
        {"stack",
         [](In v) {
             return stack_stiffness_n_mm(
                 std::vector<StackLayer>(static_cast<std::size_t>(v[0]), StackLayer{v[1], v[2]}));
         }},
        {"sandwich",
         [](In v) {
             const std::vector<StackLayer> layers{{v[1], v[0]}, {v[2], v[3]}, {v[1], v[0]}};
             return stack_stiffness_n_mm(layers);
         }},
        {"free-shrinkage", [](In v) { return free_shrinkage(v[0]); }},
        {"shrinkage-mm-m", [](In v) { return 1000 * laminate_shrinkage(v[0], v[1], v[2], v[3], v[4]); }},
        {"pot-life-min", [](In v) { return pot_life_s(60 * v[0], v[1], v[2]) / 60; }},
        {"batch", [](In v) { return largest_batch_kg(60 * v[0], 60 / v[1]); }},
        {"mix-base-g", [](In v) { return 1000 * mix_by_mass(v[0] / 1000, v[1]).base_kg; }},
        {"lift",
         [](In v) {
             return recommended_lift_kg({10 * v[0], 10 * v[1], 10 * v[2], v[3] * rad, v[4], Grip(int(v[5]))});
         }},
        {"team-lift", [](In v) { return team_lift_kg(v[0], int(v[1])); }},
        {"team-size", [](In v) { return double(people_to_lift(v[0], v[1], int(v[2]))); }},
        {"lift-to-free", [](In v) { return lift_to_free_mm(v[0], v[1], v[2] * rad); }},
    };
    return all;
}

}  // namespace

TEST_CASE("values from outside", "[mechanics][check-values]") {
    const std::vector<Row> rows = read_rows();
    CHECK(rows.size() >= 40);
    std::set<std::string> ids, used;
    for (const Row& row : rows) {
        CAPTURE(row.id, row.what, row.source);
        CHECK(ids.insert(row.id).second);
        CHECK((row.provenance == "published" || row.provenance == "from-memory" || row.provenance == "derived"));
        CHECK_FALSE(row.source.empty());
        REQUIRE(formulas().contains(row.what));
        used.insert(row.what);
        const double value = formulas().at(row.what)(row.in);
        CHECK(value == Approx(row.expected).epsilon(row.tolerance).margin(1e-12));
    }
    CHECK(used.size() == formulas().size());
}
