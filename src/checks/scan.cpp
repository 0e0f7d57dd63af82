// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "checks/advice.hpp"
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
    for (const Vec3& v : design.posed.plug.scanned().mesh->vertices) {
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
    const MeshIndex index(*design.posed.plug.scanned().mesh);
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

struct Reading {
    double scan_mm = 0, measured_mm = 0, doubt_mm = 0;
    [[nodiscard]] double slack_mm() const { return std::max(caliper_slack_mm, caliper_slack_share * measured_mm); }
};

/// Factors of scale at which every caliper passes; empty when low > high.
struct ScaleRange {
    double low = 0, high = std::numeric_limits<double>::infinity();
};
ScaleRange common_scale(const std::vector<Reading>& readings) {
    ScaleRange range;
    for (const Reading& r : readings) {
        if (!(r.scan_mm > 0)) return {1, 0};
        // The doubt grows with the scale too.
        range.low = std::max(range.low, (r.measured_mm - r.slack_mm()) / (r.scan_mm - r.doubt_mm));
        range.high = std::min(range.high, (r.measured_mm + r.slack_mm()) / (r.scan_mm + r.doubt_mm));
    }
    return range;
}

/// The unit that was meant, when the told one is off by just such a factor.
std::string_view unit_meant(const std::string& told, const ScaleRange& scale) {
    for (const auto& [from, from_mm] : scan_units)
        for (const auto& [to, to_mm] : scan_units)
            if (told == from && to != from && to_mm / from_mm >= scale.low && to_mm / from_mm <= scale.high) return to;
    return {};
}

/// What brings all calipers and the scan together, if anything does.
std::string scale_advice(const Design& design, const std::vector<Reading>& readings) {
    const ScaleRange scale = common_scale(readings);
    if (scale.low > scale.high) {
        double least = std::numeric_limits<double>::infinity(), most = 0;
        for (const Reading& r : readings) {
            least = std::min(least, r.measured_mm / r.scan_mm);
            most = std::max(most, r.measured_mm / r.scan_mm);
        }
        return "no one scale fits all calipers (" + fixed(least, 4) + " to " + fixed(most, 4) +
               " times the scan): measure again, and if that holds, rescan";
    }
    const std::string& unit = design.settings.plug.unit;
    if (const std::string_view meant = unit_meant(unit, scale); !meant.empty())
        return "the scan is in another unit: set plug.unit to " + std::string(meant);
    const double middle = 0.5 * (scale.low + scale.high);
    constexpr double most_beside_unit = 0.01;  // as the pipeline takes a known length beside a told unit
    const bool is_beside = unit.empty() || std::abs(middle - 1) < most_beside_unit;
    return "set plug.known to \"" + fixed(middle * extent_along(design, design.posed.pose.plug_in_scan.x), 2) +
           " mm along span\"" + (is_beside ? "" : " and leave plug.unit out");
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
    c.advice = c.high.value <= c.limit.value ? "scan is quiet enough to cut by"
                                             : "rescan with finer steps, or open flange.gap to " +
                                                   length_to_set(design.settings, 2 * c.high.value, Rounding::up);
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
    std::vector<Reading> readings;
    for (const CaliperCheck& caliper : design.settings.calipers)
        readings.push_back({scan_reading(design, caliper), caliper.measured.mm(), 2 * design.posed.plug.noise_mm});
    std::vector<Check> checks;
    for (std::size_t i = 0; i < readings.size(); ++i) {
        const Reading& reading = readings[i];
        Check c;
        c.id = "scan.caliper";
        c.subject = design.settings.calipers[i].name;
        c.value = Quantity::of(Length::mm(std::abs(reading.scan_mm - reading.measured_mm)));
        c.low = Quantity::of(Length::mm(std::max(0.0, c.value.value - reading.doubt_mm)));
        c.high = Quantity::of(Length::mm(c.value.value + reading.doubt_mm));
        c.limit = Quantity::of(Length::mm(reading.slack_mm()));
        c.relation = Relation::at_most;
        c.formula = "|scan - caliper|; limit the larger of 0.5 mm and 0.3 %";
        c.source = Source::common_practice("what a hand scanner holds over a metre");
        c = judged(std::move(c));
        c.advice = c.verdict == Verdict::pass
                       ? "scan agrees with the caliper"
                       : "scan reads " + length_text(design.settings, reading.scan_mm) + " where the caliper reads " +
                             length_text(design.settings, reading.measured_mm) + ": " + scale_advice(design, readings);
        checks.push_back(std::move(c));
    }
    return checks;
}

}  // namespace cradlewright
