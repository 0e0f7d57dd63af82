// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <set>

#include "files/page_view.hpp"
#include "support/sample_design.hpp"
#include "support/text.hpp"

namespace cradlewright {
namespace {

using test::has;

using Json = nlohmann::json;

Json data_of(const std::string& section) {
    const std::string open = "id=\"view-data\">";
    const std::size_t from = section.find(open) + open.size();
    return Json::parse(section.substr(from, section.find("</script>", from) - from));
}

/// Source: RFC 4648, sec. 4.
std::string from_base64(const std::string& text) {
    const std::string letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string bytes;
    unsigned bits = 0, count = 0;
    for (const char c : text) {
        if (c == '=') break;
        bits = bits << 6 | unsigned(letters.find(c));
        count += 6;
        if (count >= 8) bytes += char(bits >> (count -= 8) & 255);
    }
    return bytes;
}
std::vector<unsigned> numbers(const std::string& base64, std::size_t width) {
    const std::string bytes = from_base64(base64);
    std::vector<unsigned> list(bytes.size() / width, 0);
    for (std::size_t i = 0; i < list.size() * width; ++i)
        list[i / width] |= unsigned(static_cast<unsigned char>(bytes[i])) << (8 * (i % width));
    return list;
}

TEST_CASE("the 3D view's data is the scene, to the quantum of its box", "[files]") {
    const Design design = test::sample_design();
    const Scene scene = make_scene(design);
    const Json data = data_of(view_section(design, scene));
    REQUIRE(data["nodes"].size() == scene.nodes.size());
    const auto axis = [](Vec3 v, std::size_t k) { return k == 0 ? v.x : k == 1 ? v.y : v.z; };
    for (std::size_t i = 0; i < scene.nodes.size(); ++i) {
        const SceneNode& node = scene.nodes[i];
        const Json& shown = data["nodes"][i];
        INFO(node.name);
        CHECK(shown["id"] == node.name);
        const std::vector<unsigned> points = numbers(shown["points"], 2), corners = numbers(shown["corners"], 2);
        REQUIRE(points.size() == 3 * node.mesh.vertices.size());
        REQUIRE(corners.size() == 3 * node.mesh.triangles.size());
        for (std::size_t p = 0; p < points.size(); ++p) {
            const double low = data["low"][p % 3], high = data["high"][p % 3];
            const double at = low + points[p] / 65535.0 * (high - low);
            CHECK(std::abs(at - axis(node.mesh.vertices[p / 3], p % 3)) <= 0.5000001 * (high - low) / 65535);
        }
        for (std::size_t c = 0; c < corners.size(); ++c) CHECK(corners[c] == node.mesh.triangles[c / 3][c % 3]);
        CHECK(shown["say"].get<std::string>().starts_with(node.name + ": "));
    }
}

TEST_CASE("the 3D view cuts at every rib and knows which half each face leaves with", "[files]") {
    const Design design = test::sample_design();
    const Scene scene = make_scene(design);
    const std::string section = view_section(design, scene);
    const Json data = data_of(section);
    REQUIRE(data["cuts"].size() == design.cradle.ribs.size() + design.cradle.long_ribs.size());
    for (std::size_t i = 0; i < design.cradle.ribs.size(); ++i) {
        CHECK(data["cuts"][i]["at"] == design.cradle.ribs[i].station_mm);
        CHECK(data["cuts"][i]["axis"] == 0);
    }
    for (const Json& node : data["nodes"]) {
        if (node["id"] != "plug") continue;
        const std::string halves = from_base64(node["halves"]);
        std::size_t first = 0, faces = 0;
        for (const char half : halves) first += half == 1 ? 1 : 0, ++faces;
        CHECK(faces == design.posed.mesh().face_count());  // few enough not to be thinned
        CHECK(first == std::size_t(std::ranges::count(design.parting.half, 1)));
    }
    // Every kind that is there can be hidden, none that is not.
    std::set<std::size_t> kinds;
    for (const Json& node : data["nodes"]) kinds.insert(node["kind"].get<std::size_t>());
    for (std::size_t k = 0; k < data["kinds"].size(); ++k)
        CHECK(has(section, "data-kind=\"" + std::to_string(k) + "\"") == (kinds.count(k) == 1));
    CHECK(has(section, "value=\"draft\""));
}

TEST_CASE("without a parting line the 3D view shows the plug alone", "[files]") {
    const Design design = test::unparted_design();
    const std::string section = view_section(design, make_scene(design));
    const Json data = data_of(section);
    REQUIRE(data["nodes"].size() == 1);
    CHECK(data["nodes"][0]["drafts"] == false);
    CHECK(data["cuts"].empty());
    CHECK_FALSE(has(section, "value=\"draft\""));
}

TEST_CASE("the draft bands of the 3D view are the limits of the draft check", "[files]") {
    Design design = test::sample_design();
    design.settings.release.min_draft = Angle::deg(2);
    design.settings.release.good_draft = Angle::deg(5);
    const Json bands = data_of(view_section(design, make_scene(design)))["bands"];
    REQUIRE(bands.size() == 4);
    CHECK(bands[0]["upTo"] == 0);
    CHECK(bands[1]["upTo"].get<double>() == Approx(2));
    CHECK(bands[2]["upTo"].get<double>() == Approx(5));
    CHECK(has(bands[3]["name"].get<std::string>(), "5 deg"));
}

}  // namespace
}  // namespace cradlewright
