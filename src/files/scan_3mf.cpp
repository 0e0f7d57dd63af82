// SPDX-License-Identifier: GPL-3.0-or-later
// Format: 3MF Consortium, "3D Manufacturing Format Core Specification" 1.3, sec. 3.4 (model and unit), 3.3 (transforms)
// and 4 (objects), from memory.
#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "files/affine.hpp"
#include "files/scan_formats.hpp"
#include "files/text_words.hpp"
#include "files/zip_entry.hpp"

namespace cradlewright {

namespace {

/// A start tag: name and attributes as written; entities do not occur in what is read here.
struct Tag {
    std::string_view name;
    std::vector<std::pair<std::string_view, std::string_view>> attributes;

    [[nodiscard]] std::optional<std::string_view> find(std::string_view key) const {
        for (const auto& [k, value] : attributes)
            if (k == key) return value;
        return std::nullopt;
    }
};

/// Start tags of an XML text one after the other; end tags, text and comments are passed over.
class XmlTags {
public:
    explicit XmlTags(std::string_view text) : rest_(text) {}

    bool next(Tag& tag) {
        while (skip_to('<')) {
            if (rest_.starts_with("!--")) {
                if (!skip_past("-->")) return false;
                continue;
            }
            if (rest_.empty() || rest_[0] == '/' || rest_[0] == '?' || rest_[0] == '!') continue;
            tag.name = take_name();
            tag.attributes.clear();
            while (add_attribute(tag)) {
            }
            return true;
        }
        return false;
    }

private:
    bool skip_to(char c) {
        const std::size_t at = rest_.find(c);
        rest_ = at == std::string_view::npos ? std::string_view{} : rest_.substr(at + 1);
        return at != std::string_view::npos;
    }
    bool skip_past(std::string_view mark) {
        const std::size_t at = rest_.find(mark);
        rest_ = at == std::string_view::npos ? std::string_view{} : rest_.substr(at + mark.size());
        return at != std::string_view::npos;
    }
    std::string_view take_name() {
        const std::size_t end = std::min(rest_.find_first_of(" \t\r\n=/>"), rest_.size());
        const std::string_view name = rest_.substr(0, end);
        rest_.remove_prefix(end);
        return name;
    }
    void skip_blanks() { rest_.remove_prefix(std::min(rest_.find_first_not_of(" \t\r\n"), rest_.size())); }
    /// False at the end of the tag, or where it is damaged.
    bool add_attribute(Tag& tag) {
        skip_blanks();
        const std::string_view key = take_name();
        skip_blanks();
        if (key.empty() || !rest_.starts_with('=')) return false;
        rest_.remove_prefix(1);
        skip_blanks();
        if (rest_.empty() || (rest_[0] != '"' && rest_[0] != '\'')) return false;
        const std::size_t end = rest_.find(rest_[0], 1);
        if (end == std::string_view::npos) return false;
        tag.attributes.emplace_back(key, rest_.substr(1, end - 1));
        rest_.remove_prefix(end + 1);
        return true;
    }

    std::string_view rest_;
};

struct Component {
    std::size_t object = 0;
    Affine placement;
};

struct Object {
    std::vector<Vec3> vertices;
    std::vector<std::array<std::size_t, 3>> triangles;
    std::vector<Component> components;
};

double mm_of_3mf_unit(std::string_view unit, const std::string& place) {
    constexpr std::pair<std::string_view, double> units[] = {{"micron", 0.001}, {"millimeter", 1}, {"centimeter", 10},
                                                             {"inch", 25.4},    {"foot", 304.8},   {"meter", 1000}};
    for (const auto& [name, mm] : units)
        if (name == unit) return mm;
    fail_scan(place, "states the unknown unit \"" + std::string(unit) + "\"",
              "say the unit with --unit after exporting again");
}

class ModelReader {
public:
    ModelReader(std::string_view text, const std::string& place) : place_(place), text_(text), builder_(place) {}

    FileMesh read() && {
        XmlTags tags(text_);
        for (Tag tag; tags.next(tag);) read_tag(tag);
        if (!has_model_) damaged("a model");
        for (const Component& item : build_) add_object(item);
        FileMesh out = std::move(builder_).finish();
        out.mm_per_unit = mm_per_unit_;
        return out;
    }

private:
    void read_tag(const Tag& tag) {
        if (tag.name == "model") {
            has_model_ = true;
            mm_per_unit_ = mm_of_3mf_unit(tag.find("unit").value_or("millimeter"), place_);
        } else if (tag.name == "object") {
            const auto [it, is_new] = number_of_.emplace(std::string(text(tag, "id")), objects_.size());
            if (!is_new) damaged("two objects of one id");
            objects_.emplace_back();
        } else if (tag.name == "vertex") {
            current().vertices.push_back({real(tag, "x"), real(tag, "y"), real(tag, "z")});
        } else if (tag.name == "triangle") {
            current().triangles.push_back({whole(tag, "v1"), whole(tag, "v2"), whole(tag, "v3")});
        } else if (tag.name == "component") {
            const Component part = component(tag);
            // Only earlier objects: no object can hold itself.
            if (objects_.empty() || part.object + 1 >= objects_.size()) damaged("a component");
            current().components.push_back(part);
        } else if (tag.name == "item") {
            build_.push_back(component(tag));
        }
    }

    [[noreturn]] void damaged(const std::string& what) const {
        fail_scan(place_, "is damaged or incomplete: " + what, "export the scan again");
    }
    Object& current() {
        if (objects_.empty()) damaged("a mesh outside an object");
        return objects_.back();
    }
    [[nodiscard]] std::string_view text(const Tag& tag, std::string_view key) const {
        const auto value = tag.find(key);
        if (!value) damaged(std::string(tag.name) + " without " + std::string(key));
        return *value;
    }
    [[nodiscard]] double real(const Tag& tag, std::string_view key) const {
        const auto value = to_real(text(tag, key));
        if (!value) damaged(std::string(tag.name) + " with " + std::string(key) + " that is no number");
        return *value;
    }
    [[nodiscard]] std::size_t whole(const Tag& tag, std::string_view key) const {
        const auto value = to_whole(text(tag, key));
        if (!value || *value < 0) damaged(std::string(tag.name) + " with " + std::string(key) + " that is no index");
        return static_cast<std::size_t>(*value);
    }
    [[nodiscard]] Component component(const Tag& tag) const {
        const auto it = number_of_.find(std::string(text(tag, "objectid")));
        if (it == number_of_.end()) damaged("an object that is not in this model");
        Component out;
        out.object = it->second;
        const auto transform = tag.find("transform");
        if (!transform) return out;
        TextLines words(*transform, place_);
        words.next();
        if (words.words().size() != 12) damaged("a transform");
        const auto row = [&](std::size_t i) { return Vec3{words.real(i), words.real(i + 1), words.real(i + 2)}; };
        out.placement = {row(0), row(3), row(6), row(9)};
        return out;
    }

    void add_object(const Component& item) {
        std::vector<Component> pending{item};
        while (!pending.empty()) {
            const Component part = pending.back();
            pending.pop_back();
            const Object& object = objects_[part.object];
            spend(1 + object.vertices.size() + object.triangles.size() + object.components.size());
            const std::size_t base = builder_.vertex_count();
            for (const Vec3 p : object.vertices) builder_.add_vertex(part.placement(p));
            for (std::array<std::size_t, 3> t : object.triangles) {
                for (std::size_t& v : t) v = v < object.vertices.size() ? base + v : builder_.vertex_count();
                builder_.add_face(t);
            }
            for (const Component& inner : object.components)
                pending.push_back({inner.object, part.placement.after(inner.placement)});
        }
    }

    /// Objects may be used many times; in a small file that adds up to any size.
    void spend(std::size_t elements) {
        spent_ += elements;
        if (spent_ > text_.size()) fail_scan(place_, "repeats its objects too often", "export the plug alone");
    }

    const std::string& place_;
    std::string_view text_;
    MeshBuilder builder_;
    bool has_model_ = false;
    double mm_per_unit_ = 1;
    std::map<std::string, std::size_t> number_of_;
    std::vector<Object> objects_;
    std::vector<Component> build_;
    std::size_t spent_ = 0;
};

}  // namespace

FileMesh read_3mf(std::string_view bytes, const std::string& place) {
    const auto is_usual = [](std::string_view name) { return equals_ignoring_case(name, "3D/3dmodel.model"); };
    const auto is_model = [](std::string_view name) { return name.ends_with(".model"); };
    auto model = unpack_zip_entry(bytes, is_usual, place);
    if (!model) model = unpack_zip_entry(bytes, is_model, place);
    if (!model) fail_scan(place, "holds no model", "check the file's format");
    return ModelReader(*model, place).read();
}

}  // namespace cradlewright
