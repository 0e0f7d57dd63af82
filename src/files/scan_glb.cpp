// SPDX-License-Identifier: GPL-3.0-or-later
// Format: Khronos Group, "glTF 2.0 Specification" (2021), sec. 3.5 to 3.7 (scenes, accessors, meshes) and 4.4 (binary
// container).
#include <array>
#include <cstdint>
#include <cstring>
#include <nlohmann/json.hpp>
#include <utility>
#include <vector>

#include "files/affine.hpp"
#include "files/scan_formats.hpp"

namespace cradlewright {

namespace {

using Json = nlohmann::json;

constexpr std::uint32_t magic = 0x46546C67, json_chunk = 0x4E4F534A, binary_chunk = 0x004E4942;
constexpr std::size_t head_size = 12, chunk_head_size = 8;
constexpr std::size_t unsigned_byte = 5121, unsigned_short = 5123, unsigned_int = 5125, float_type = 5126;
constexpr std::size_t mode_triangles = 4, mode_strip = 5, mode_fan = 6;

std::uint32_t word_at(std::string_view bytes, std::size_t at) {
    std::uint32_t value = 0;
    std::memcpy(&value, bytes.data() + at, sizeof value);
    return value;
}

class GlbReader {
public:
    GlbReader(std::string_view bytes, const std::string& place) : file_(bytes), place_(place), builder_(place) {}

    FileMesh read() && {
        split_chunks();
        const Json& needed = list(root_, "extensionsRequired");
        if (!needed.empty())
            fail_scan(place_, "needs the extension " + needed[0].dump() + ", which is not read",
                      "export it without compression and extensions");
        is_visited_.assign(list(root_, "nodes").size(), 0);
        const Json& scenes = list(root_, "scenes");
        const std::size_t scene = number(root_, "scene", 0);
        if (scene < scenes.size())
            for (const Json& node : list(scenes[scene], "nodes")) pending_.emplace_back(index(node), Affine{});
        while (!pending_.empty()) {
            const auto [node, placement] = pending_.back();
            pending_.pop_back();
            add_node(node, placement);
        }
        FileMesh out = std::move(builder_).finish();
        out.mm_per_unit = 1000;
        return out;
    }

private:
    void split_chunks() {
        if (file_.size() < head_size || word_at(file_, 0) != magic || word_at(file_, 4) != 2)
            fail_scan(place_, "is not a GLB file of version 2", "check the file's format");
        const std::size_t length = word_at(file_, 8);
        if (length > file_.size())
            fail_scan(place_,
                      "is cut short: it ends at byte " + std::to_string(file_.size()) + " of " + std::to_string(length),
                      "copy or export the scan again");
        std::string_view text;
        for (std::size_t at = head_size; at + chunk_head_size <= file_.size();) {
            const std::size_t size = word_at(file_, at), kind = word_at(file_, at + 4);
            at += chunk_head_size;
            if (size > file_.size() - at)
                fail_scan(place_, "has a chunk that reaches beyond byte " + std::to_string(file_.size()));
            if (kind == json_chunk && text.empty()) text = file_.substr(at, size);
            if (kind == binary_chunk && data_.empty()) data_ = file_.substr(at, size);
            at += size;
        }
        root_ = Json::parse(text.begin(), text.end(), nullptr, false);
        if (!root_.is_object()) broken("its description");
    }

    [[noreturn]] void broken(const std::string& what) const {
        fail_scan(place_, "is damaged in " + what, "export the scan again");
    }
    /// Member `key`, or an empty list.
    [[nodiscard]] static const Json& list(const Json& in, const char* key) {
        static const Json nothing = Json::array();
        const auto it = in.is_object() ? in.find(key) : in.end();
        return it != in.end() && it->is_array() ? *it : nothing;
    }
    [[nodiscard]] std::size_t index(const Json& value) const {
        if (!value.is_number_unsigned()) broken("a number");
        return value.get<std::size_t>();
    }
    [[nodiscard]] std::size_t number(const Json& in, const char* key, std::size_t fallback) const {
        const auto it = in.is_object() ? in.find(key) : in.end();
        return it == in.end() ? fallback : index(*it);
    }
    [[nodiscard]] const Json& item(const char* key, std::size_t i) const {
        const auto it = root_.find(key);
        if (it == root_.end() || !it->is_array() || i >= it->size() || !(*it)[i].is_object()) broken(key);
        return (*it)[i];
    }

    template <std::size_t n>
    [[nodiscard]] std::array<double, n> numbers(const Json& in, const char* key, std::array<double, n> value) const {
        const Json& values = list(in, key);
        if (values.empty()) return value;
        if (values.size() != n) broken(key);
        for (std::size_t i = 0; i < n; ++i) {
            if (!values[i].is_number()) broken(key);
            value[i] = values[i].get<double>();
        }
        return value;
    }

    [[nodiscard]] Affine placement_of(const Json& node) const {
        if (node.contains("matrix")) {  // column by column
            const auto m = numbers<16>(node, "matrix", {1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1});
            return {{m[0], m[1], m[2]}, {m[4], m[5], m[6]}, {m[8], m[9], m[10]}, {m[12], m[13], m[14]}};
        }
        const auto t = numbers<3>(node, "translation", {0, 0, 0});
        const auto q = numbers<4>(node, "rotation", {0, 0, 0, 1});
        const auto s = numbers<3>(node, "scale", {1, 1, 1});
        const double x = q[0], y = q[1], z = q[2], w = q[3];
        return {Vec3{1 - 2 * (y * y + z * z), 2 * (x * y + z * w), 2 * (x * z - y * w)} * s[0],
                Vec3{2 * (x * y - z * w), 1 - 2 * (x * x + z * z), 2 * (y * z + x * w)} * s[1],
                Vec3{2 * (x * z + y * w), 2 * (y * z - x * w), 1 - 2 * (x * x + y * y)} * s[2],
                {t[0], t[1], t[2]}};
    }

    void add_node(std::size_t i, const Affine& parent) {
        const Json& node = item("nodes", i);
        if (std::exchange(is_visited_[i], char{1}) != 0) broken("its nodes, which are no tree");
        const Affine placement = parent.after(placement_of(node));
        for (const Json& child : list(node, "children")) pending_.emplace_back(index(child), placement);
        if (!node.contains("mesh")) return;
        for (const Json& primitive : list(item("meshes", index(node["mesh"])), "primitives"))
            add_primitive(primitive, placement);
    }

    /// Elements of an accessor inside the binary chunk.
    struct View {
        const char* first = nullptr;
        std::size_t count = 0, stride = 0, component = 0;
    };
    [[nodiscard]] View view_of(std::size_t accessor, const char* type, std::size_t components) const {
        const Json& a = item("accessors", accessor);
        if (a.contains("sparse") || !a.contains("bufferView") || !a.contains("type") || a["type"] != type)
            broken("an accessor of a kind that is not read");
        View view;
        view.component = number(a, "componentType", 0);
        view.count = number(a, "count", 0);
        const std::size_t size = components * (view.component == unsigned_byte    ? 1u
                                               : view.component == unsigned_short ? 2u
                                                                                  : 4u);
        const Json& b = item("bufferViews", number(a, "bufferView", 0));
        const std::size_t begin = number(b, "byteOffset", 0), length = number(b, "byteLength", 0);
        const std::size_t skip = number(a, "byteOffset", 0);
        view.stride = number(b, "byteStride", size);
        const bool is_inside = number(b, "buffer", 0) == 0 && begin <= data_.size() && length <= data_.size() - begin &&
                               skip <= length && view.stride >= size && view.stride <= 256;
        if (!is_inside) broken("a view of its data");
        if (view.count > 0 && (length - skip < size || (view.count - 1) > (length - skip - size) / view.stride))
            broken("a view of its data");
        view.first = data_.data() + begin + skip;
        return view;
    }

    void add_primitive(const Json& primitive, const Affine& placement) {
        spend(1);
        const std::size_t mode = number(primitive, "mode", mode_triangles);
        if (mode < mode_triangles) return;  // points and lines
        const auto attributes = primitive.find("attributes");
        if (mode > mode_fan || attributes == primitive.end() || !attributes->contains("POSITION")) broken("a mesh");
        const View points = view_of(number(*attributes, "POSITION", 0), "VEC3", 3);
        if (points.component != float_type) broken("positions that are not floats");
        const std::size_t base = builder_.vertex_count();
        add_points(points, placement);
        std::vector<std::size_t> corners;
        if (primitive.contains("indices")) {
            corners = read_indices(view_of(index(primitive["indices"]), "SCALAR", 1), base);
        } else {
            for (std::size_t i = 0; i < points.count; ++i) corners.push_back(base + i);
        }
        spend(corners.size());
        add_faces(corners, mode);
    }

    void add_points(const View& points, const Affine& placement) {
        spend(points.count);
        for (std::size_t i = 0; i < points.count; ++i) {
            std::array<float, 3> c;
            std::memcpy(c.data(), points.first + i * points.stride, sizeof c);
            builder_.add_vertex(placement({double{c[0]}, double{c[1]}, double{c[2]}}));
        }
    }

    [[nodiscard]] std::vector<std::size_t> read_indices(const View& view, std::size_t base) const {
        if (view.component != unsigned_byte && view.component != unsigned_short && view.component != unsigned_int)
            broken("its triangles' corners");
        const std::size_t size = view.component == unsigned_byte ? 1 : view.component == unsigned_short ? 2 : 4;
        std::vector<std::size_t> out;
        for (std::size_t i = 0; i < view.count; ++i) {
            std::uint32_t value = 0;
            std::memcpy(&value, view.first + i * view.stride, size);
            out.push_back(base + value);
        }
        return out;
    }

    void add_faces(const std::vector<std::size_t>& c, std::size_t mode) {
        const std::size_t step = mode == mode_triangles ? 3 : 1;
        for (std::size_t i = 0; i + 2 < c.size(); i += step) {
            std::array<std::size_t, 3> face{c[i], c[i + 1], c[i + 2]};
            if (mode == mode_fan) face[0] = c[0];
            if (mode == mode_strip && i % 2 != 0) std::swap(face[0], face[1]);
            builder_.add_face(face);
        }
    }

    /// A scene may use a mesh many times; in a small file that adds up to any size.
    void spend(std::size_t elements) {
        spent_ += elements;
        if (spent_ > 4 * file_.size()) fail_scan(place_, "repeats its meshes too often", "export the plug alone");
    }

    std::string_view file_, data_;
    const std::string& place_;
    MeshBuilder builder_;
    Json root_;
    std::vector<char> is_visited_;
    std::vector<std::pair<std::size_t, Affine>> pending_;
    std::size_t spent_ = 0;
};

}  // namespace

FileMesh read_glb(std::string_view bytes, const std::string& place) { return GlbReader(bytes, place).read(); }

}  // namespace cradlewright
