// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>

#include "checks/families.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "geom/self_crossings.hpp"

namespace cradlewright {
namespace {

// A scan off by more than this, or by this share of the length, was taken in the wrong unit or has drifted.
constexpr double caliper_slack_mm = 0.5, caliper_slack_share = 0.003;
constexpr double crossing_cell_edges = 5;  // crossings nearer than this many edges are one place

double extent_along(const Design& design, Vec3 axis_scan) {
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (const Vec3& v : design.posed.mesh().vertices) {
        const double t = dot(v, axis_scan);
        low = std::min(low, t);
        high = std::max(high, t);
    }
    return high - low;
}

/// What a caliper set to this check would read on the scan.
double scan_reading(const Design& design, const CaliperCheck& caliper) {
    const Frame3& plug = design.posed.pose.plug_in_scan;
    if (caliper.axis == "span") return extent_along(design, plug.x);
    if (caliper.axis == "front") return extent_along(design, plug.y);
    if (caliper.axis == "up") return extent_along(design, plug.z);
    const MeshIndex index(design.posed.mesh());
    return norm(index.nearest(plug.to_parent(*caliper.to)).point - index.nearest(plug.to_parent(*caliper.from)).point);
}

/// Where the surface passes through itself beside a parting line: line and bead cannot follow it there.
std::vector<Crossing> crossings_at_parting(const Design& design) {
    const TriMesh& mesh = design.posed.mesh();
    const double edge = design.posed.plug.repair.mean_edge_mm;
    if (!design.parting.is_found() || !(edge > 0)) return {};
    std::vector<Vec3> line;
    for (const PartingLoop& loop : design.parting.loops)
        for (const Vec3 p : positions(mesh, loop.surface_line)) line.push_back(p);
    const std::vector<FaceId> band = faces_near(mesh, line, edge / 2);  // and some further ones, see there
    if (band.empty()) return {};
    return crossing_places(mesh, crossing_faces(mesh, band), crossing_cell_edges * edge);
}

Check crossing_check(const Design& design, const std::vector<Crossing>& places) {
    Check c;
    c.id = "scan.quality";
    c.subject = "surface at the parting line";
    c.value = c.low = c.high = Quantity::count(static_cast<double>(places.size()));
    c.limit = Quantity::count(0);
    c.relation = Relation::at_most;
    c.at = design.posed.pose.to_fixture(places.front().center);
    c.formula = "places where triangles beside the line cross each other";
    c.source = Source::derived("exact test of the triangles that the line runs by");
    c.advice = "cut " + std::to_string(places.size()) + (places.size() == 1 ? " place" : " places") +
               " out of the scan, so that it is closed as a hole, or scan it again; survey lists them all";
    return judged(std::move(c));
}

}  // namespace

std::vector<Check> check_scan_quality(const Design& design) {
    const Plug& plug = design.posed.plug;
    Check c;
    c.id = "scan.quality";
    c.subject = plug.name;
    c.value = Quantity::of(Length::mm(plug.noise_mm));
    c.low = Quantity::of(Length::mm(0.8 * plug.noise_mm));  // the estimate is good to 20 %
    c.high = Quantity::of(Length::mm(1.2 * plug.noise_mm));
    c.limit = Quantity::of(design.settings.flange.gap / 2);
    c.relation = Relation::at_most;
    c.formula = "1.4826 median |vertex less quadratic surface through its two rings| / its share of unit noise";
    c.source = Source::derived("covariance of the least-squares fit; limit: half the panel gap");
    c.advice = c.high.value <= c.limit.value
                   ? "scan is quiet enough to cut by"
                   : "rescan with finer steps, or open flange.gap to " + fixed(2.4 * plug.noise_mm, 2) + " mm";
    std::vector<Check> checks{judged(std::move(c))};
    // Told only where it is so: beside the noise a count that passes would say nothing.
    const std::vector<Crossing> crossings = crossings_at_parting(design);
    if (!crossings.empty()) checks.push_back(crossing_check(design, crossings));
    return checks;
}

std::vector<Check> check_scan_caliper(const Design& design) {
    if (design.settings.calipers.empty())
        return {not_applicable_check("scan.caliper", "scan",
                                     "no [[caliper]] was given; three measured lengths would catch a wrong unit")};
    std::vector<Check> checks;
    for (const CaliperCheck& caliper : design.settings.calipers) {
        const double reading = scan_reading(design, caliper), measured = caliper.measured.mm();
        Check c;
        c.id = "scan.caliper";
        c.subject = caliper.name;
        c.value = Quantity::of(Length::mm(std::abs(reading - measured)));
        const double doubt = 2 * design.posed.plug.noise_mm;
        c.low = Quantity::of(Length::mm(std::max(0.0, c.value.value - doubt)));
        c.high = Quantity::of(Length::mm(c.value.value + doubt));
        c.limit = Quantity::of(Length::mm(std::max(caliper_slack_mm, caliper_slack_share * measured)));
        c.relation = Relation::at_most;
        c.formula = "|scan - caliper|; limit the larger of 0.5 mm and 0.3 %";
        c.source = Source::common_practice("what a hand scanner holds over a metre");
        c.advice = c.value.value <= c.limit.value ? "scan agrees with the caliper"
                                                  : "scan reads " + fixed(reading, 2) + " mm where the caliper reads " +
                                                        fixed(measured, 2) + " mm: scale it with --known";
        checks.push_back(judged(std::move(c)));
    }
    return checks;
}

}  // namespace cradlewright
