// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/files/job_file.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <fstream>
#include <iterator>
#include <optional>
#include <utility>
#include <vector>

#include "cradlewright/base/error.hpp"
#include "cradlewright/catalog/bibliography.hpp"
#include "files/toml.hpp"

namespace cradlewright {
namespace {

constexpr std::string_view caliper_section = "caliper";

// ---- keys -----------------------------------------------------------------------------------------------------------

std::string_view section_of(std::string_view key) {
    const std::size_t dot = key.rfind('.');
    return dot == std::string_view::npos ? std::string_view() : key.substr(0, dot);
}

std::string_view last_part(std::string_view key) { return key.substr(key.rfind('.') + 1); }

std::vector<std::string_view> parts_of(std::string_view key) {
    std::vector<std::string_view> parts;
    for (std::size_t dot = 0; dot != std::string_view::npos;) {
        dot = key.find('.');
        parts.push_back(key.substr(0, dot));
        key.remove_prefix(dot == std::string_view::npos ? key.size() : dot + 1);
    }
    return parts;
}

/// True when `pattern` begins with `key`, part by part: "edge" and "edge.front" for "edge.*".
bool begins_with(std::string_view pattern, std::string_view key) {
    const auto wanted = parts_of(pattern);
    const auto given = parts_of(key);
    return given.size() <= wanted.size() &&
           std::equal(given.begin(), given.end(), wanted.begin(),
                      [](std::string_view g, std::string_view w) { return g == w || w == "*"; });
}

bool is_section(std::string_view key) {
    const auto rows = setting_rows();
    return std::any_of(rows.begin(), rows.end(), [&](const SettingRow& row) {
        const std::string_view section = section_of(row.key);
        return !section.empty() && begins_with(section, key);
    });
}

/// Sections as a user would write them, `name` in place of free names.
std::vector<std::string> sections_like(std::string_view key) {
    std::vector<std::string> sections{std::string(caliper_section)};
    for (const SettingRow& row : setting_rows()) {
        std::string section(section_of(row.key));
        if (section.ends_with('*')) {
            section.replace(section.size() - 1, 1, last_part(key));
        }
        if (!section.empty() && section != sections.back()) {
            sections.push_back(section);
        }
    }
    return sections;
}

// ---- reading --------------------------------------------------------------------------------------------------------

/// Applies one parsed file, in the order of its lines so that the first mistake is the one reported.
class JobReader {
public:
    JobReader(std::string file, Settings& settings) : file_(std::move(file)), settings_(settings) {}

    void apply(const toml::table& root) {
        collect(root, "");
        std::stable_sort(items_.begin(), items_.end(), [](const Item& a, const Item& b) {
            return std::pair(a.position.line, a.position.column) < std::pair(b.position.line, b.position.column);
        });
        for (const Item& item : items_) {
            apply(item);
        }
    }

private:
    struct Item {
        std::string key;
        toml::source_position position;  ///< of the key
        const toml::node* node = nullptr;
    };

    [[nodiscard]] std::string place(const toml::source_position& position) const { return place_in(file_, position); }

    [[noreturn]] void refuse(const toml::source_position& position, const std::string& problem,
                             const std::string& hint) const {
        throw Error(ErrorCode::bad_input, place(position), problem, hint);
    }

    void collect(const toml::table& table, const std::string& prefix) {
        for (const auto& [key, node] : table) {
            items_.push_back({prefix + std::string(key.str()), key.source().begin, &node});
            if (const toml::table* inner = node.as_table()) {
                collect(*inner, prefix + std::string(key.str()) + ".");
            }
        }
    }

    void apply(const Item& item) {
        if (item.key == caliper_section) {
            apply_calipers(item);
        } else if (item.node->is_table()) {
            require_section(item);
        } else if (is_section(item.key)) {
            refuse(item.position, "\"" + item.key + "\" is a section",
                   "write [" + item.key + "] and its settings below");
        } else {
            apply_setting(item);
        }
    }

    void require_section(const Item& item) const {
        if (is_section(item.key)) {
            return;
        }
        if (find_setting(item.key) != nullptr) {
            refuse(item.position, item.key + " is a setting, not a section",
                   "write " + std::string(last_part(item.key)) + " = \"...\"");
        }
        constexpr std::size_t longest = 60;
        const std::string near = nearest_name(item.key, sections_like(item.key));
        refuse(item.position, "unknown section \"" + item.key.substr(0, longest) + "\"",
               near.empty() ? "a new job file lists every section" : "did you mean [" + near + "]?");
    }

    void apply_setting(const Item& item) {
        const SettingRow* row = find_setting(item.key);
        // An unknown key is reported as such, whatever its value.
        const std::string text = row != nullptr ? text_of(*item.node, *row, item) : std::string();
        const toml::source_position& position = row != nullptr ? item.node->source().begin : item.position;
        set_setting(settings_, item.key, text, Origin::job, place(position));
    }

    [[nodiscard]] std::string text_of(const toml::node& node, const SettingRow& row, const Item& item) const {
        if (const auto* text = node.as_string()) {
            return text->get();
        }
        if (const auto* list = node.as_array(); list != nullptr && row.takes_list) {
            return text_of_list(*list, item);
        }
        if (row.kind == SettingKind::quantity && node.is_integer()) {
            return std::to_string(node.as_integer()->get());
        }
        if (row.kind == SettingKind::quantity && node.is_floating_point()) {
            std::array<char, 32> buffer{};
            const double number = node.as_floating_point()->get();
            return {buffer.data(), std::to_chars(buffer.data(), buffer.data() + buffer.size(), number).ptr};
        }
        refuse(node.source().begin, item.key + " is no text", "write the value in quotes: \"...\"");
    }

    [[nodiscard]] std::string text_of_list(const toml::array& list, const Item& item) const {
        std::string text;
        for (const toml::node& node : list) {
            const auto* part = node.as_string();
            if (part == nullptr) {
                refuse(node.source().begin, item.key + " holds something that is no text",
                       "write every value in quotes: [\"...\", \"...\"]");
            }
            text += (text.empty() ? "" : ", ") + part->get();
        }
        return text;
    }

    void apply_calipers(const Item& item) {
        const toml::array* list = item.node->as_array();
        if (list == nullptr || !list->is_homogeneous<toml::table>()) {
            if (item.node->is_table()) {
                refuse(item.position, "caliper checks are a list", "write [[caliper]] with two brackets");
            }
            refuse(item.position, "caliper is a list of checks", "write [[caliper]] and its lines below");
        }
        for (const toml::node& node : *list) {
            const std::string where = place(node.source().begin);
            add_caliper(settings_, caliper_of(*node.as_table()), where);
        }
    }

    [[nodiscard]] CaliperCheck caliper_of(const toml::table& table) const {
        CaliperCheck caliper;
        for (const auto& [key, node] : table) {
            const std::string_view name = key.str();
            const std::string where = place(node.source().begin) + ": caliper." + std::string(name.substr(0, 20));
            if (name == "name") {
                caliper.name = string_of(node, where);
            } else if (name == "axis") {
                caliper.axis = string_of(node, where);
            } else if (name == "from") {
                caliper.from = point_of(string_of(node, where), where);
            } else if (name == "to") {
                caliper.to = point_of(string_of(node, where), where);
            } else if (name == "measured") {
                caliper.measured = parse_length(string_of(node, where), where);
            } else {
                const std::string near = nearest_name(name, caliper_keys());
                refuse(key.source().begin, "unknown key in [[caliper]]: \"" + std::string(name.substr(0, 60)) + "\"",
                       near.empty() ? "known are name, axis, from, to, measured" : "did you mean " + near + "?");
            }
        }
        return caliper;
    }

    static const std::vector<std::string>& caliper_keys() {
        static const std::vector<std::string> keys{"name", "axis", "from", "to", "measured"};
        return keys;
    }

    static std::string string_of(const toml::node& node, const std::string& where) {
        if (const auto* text = node.as_string()) {
            return text->get();
        }
        throw Error(ErrorCode::bad_input, where, "is no text", "write the value in quotes: \"...\"");
    }

    static Vec3 point_of(std::string_view text, const std::string& where) {
        std::array<double, 3> mm{};
        for (std::size_t i = 0; i < mm.size(); ++i) {
            const std::size_t comma = text.find(',');
            const bool is_last = i + 1 == mm.size();
            if ((comma == std::string_view::npos) != is_last) {
                throw Error(ErrorCode::bad_input, where, "is not three lengths", "for example \"120mm, -30mm, 0mm\"");
            }
            mm[i] = parse_length(text.substr(0, comma), where).mm();
            text.remove_prefix(is_last ? text.size() : comma + 1);
        }
        return {mm[0], mm[1], mm[2]};
    }

    std::string file_;
    Settings& settings_;
    std::vector<Item> items_;
};

std::string read_whole_file(const std::filesystem::path& path) {
    constexpr std::size_t largest = std::size_t{4} << 20;
    std::ifstream in(path, std::ios::binary);
    if (!in || std::filesystem::is_directory(path)) {
        throw Error(ErrorCode::io, path.generic_string(), "cannot be opened", "check the name of the job file");
    }
    std::string text(largest + 1, '\0');
    in.read(text.data(), static_cast<std::streamsize>(text.size()));
    if (in.bad()) {
        throw Error(ErrorCode::io, path.generic_string(), "cannot be read");
    }
    text.resize(static_cast<std::size_t>(in.gcount()));
    if (text.size() > largest) {
        throw Error(ErrorCode::bad_input, path.generic_string(), "is larger than 4 MiB", "is it a job file?");
    }
    return text;
}

// ---- writing --------------------------------------------------------------------------------------------------------

std::string toml_string(std::string_view text) {
    constexpr std::string_view hex = "0123456789ABCDEF";
    std::string quoted = "\"";
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (c == '"' || c == '\\') {
            quoted += '\\';
            quoted += c;
        } else if (byte < 0x20 || byte == 0x7f) {
            quoted += "\\u00";
            quoted += hex[byte / 16];
            quoted += hex[byte % 16];
        } else {
            quoted += c;
        }
    }
    return quoted + '"';
}

std::string toml_list(std::string_view text) {
    std::string list = "[";
    for (std::size_t start = 0; start < text.size();) {
        const std::size_t comma = std::min(text.find(',', start), text.size());
        const std::string_view item = text.substr(start, comma - start);
        const std::size_t first = std::min(item.find_first_not_of(' '), item.size());
        list += (list.size() > 1 ? ", " : "") + toml_string(item.substr(first));
        start = comma + 1;
    }
    return list + "]";
}

std::string toml_value(const SettingRow& row, std::string_view text) {
    const bool is_plain_number =
        row.kind == SettingKind::quantity && (row.dimension == Dimension::ratio || row.dimension == Dimension::count);
    if (is_plain_number && !text.empty()) {
        return std::string(text);
    }
    return row.takes_list ? toml_list(text) : toml_string(text);
}

/// Comment lines of at most 110 columns.
void append_comment(std::string& out, std::string_view text) {
    constexpr std::size_t widest = 108;
    while (!text.empty()) {
        std::size_t end = text.size();
        if (end > widest) {
            const std::size_t blank = text.rfind(' ', widest);
            end = blank == std::string_view::npos ? std::min(text.find(' '), text.size()) : blank;
        }
        out += "# ";
        out += text.substr(0, end);
        out += '\n';
        text.remove_prefix(std::min(text.size(), end + 1));
    }
}

std::string allowed_values(const SettingRow& row) {
    if (row.kind == SettingKind::quantity || row.dimension == Dimension::length) {
        return format_exact({row.low, row.dimension}) + " to " + format_exact({row.high, row.dimension}) + "; ";
    }
    if (row.kind != SettingKind::choice) {
        return {};
    }
    std::string words;
    for (const std::string& choice : row.choices) {
        words += (words.empty() ? "" : ", ") + (choice.empty() ? "\"\"" : choice);
    }
    return "one of " + words + "; ";
}

class JobWriter {
public:
    explicit JobWriter(const Settings& settings) : settings_(settings) {}

    std::string text() {
        append_comment(out_, "Job file. Lines that start with #name are defaults: take away the # to change one.");
        append_comment(out_, "Lengths carry a unit: 9.5mm, 3/8in, 1 1/2 in, 4ft 2in, 0.3m; angles: 12deg, 0.2rad.");
        const auto rows = setting_rows();
        for (auto first = rows.begin(); first != rows.end();) {
            const std::string_view section = section_of(first->key);
            const auto last =
                std::find_if(first, rows.end(), [&](const SettingRow& row) { return section_of(row.key) != section; });
            append_section(section, {first, last});
            first = last;
        }
        return std::move(out_);
    }

private:
    using Rows = std::span<const SettingRow>;

    void append_section(std::string_view section, Rows rows) {
        out_ += '\n';
        if (section.ends_with('*')) {
            append_named_sections(section.substr(0, section.size() - 2), rows);
        } else {
            if (!section.empty()) {
                out_ += "[" + std::string(section) + "]\n";
            }
            for (const SettingRow& row : rows) {
                append_help(row);
                append_value(row, "");
            }
        }
        if (section == "plug") {
            append_calipers();
        }
    }

    /// Help once, then one short block for each name.
    void append_named_sections(std::string_view section, Rows rows) {
        const std::string head(section);
        append_comment(out_, "Sections [" + head + ".NAME] hold:");
        for (const SettingRow& row : rows) {
            append_help(row, std::string(last_part(row.key)) + ": ");
        }
        const std::vector<std::string> names = names_in(section);
        if (names.empty()) {
            out_ += "#[" + head + ".front]\n";
        }
        for (const std::string& name : names) {
            out_ += "[" + head + "." + name + "]\n";
            for (const SettingRow& row : rows) {
                append_value(row, name);
            }
        }
    }

    [[nodiscard]] std::vector<std::string> names_in(std::string_view section) const {
        std::vector<std::string> names;
        const auto take = [&](const auto& entries) {
            for (const auto& [name, entry] : entries) {
                names.push_back(name);
            }
        };
        if (section == "edge") {
            take(settings_.edges);
        } else if (section == "cloth") {
            take(settings_.cloths);
        } else {
            CRADLEWRIGHT_PRECONDITION(section == "stock");
            take(settings_.stocks);
        }
        return names;
    }

    void append_help(const SettingRow& row, const std::string& prefix = {}) {
        append_comment(out_, prefix + row.help);
        const bool is_named = row.key.find('*') != std::string::npos;
        const std::string preset = is_named ? std::string() : "default " + default_text(row, "") + "; ";
        append_comment(out_, "  " + allowed_values(row) + preset + describe(row.source));
    }

    [[nodiscard]] std::string default_text(const SettingRow& row, std::string_view name) const {
        const std::string text = row.get(defaults_, name);
        return text.empty() ? "\"\"" : text;
    }

    void append_value(const SettingRow& row, const std::string& name) {
        const std::string text = row.get(settings_, name);
        const bool is_active = is_told(row, name, text) && reads_back(row, name, text);
        out_ += (is_active ? "" : "#") + std::string(last_part(row.key)) + " = " + toml_value(row, text) + "\n";
    }

    [[nodiscard]] bool is_told(const SettingRow& row, const std::string& name, const std::string& text) const {
        std::string key = row.key;
        if (const std::size_t star = key.find('*'); star != std::string::npos) {
            key.replace(star, 1, name);
        }
        return settings_.origin.contains(key) || text != row.get(defaults_, name);
    }

    /// What a new cloth or stock still lacks stands as 0 or empty, which no job may say.
    bool reads_back(const SettingRow& row, const std::string& name, const std::string& text) {
        try {
            row.set(scratch_, name, text, row.key);
            return true;
        } catch (const Error&) {
            return false;
        }
    }

    void append_calipers() {
        out_ += '\n';
        append_comment(out_,
                       "[[caliper]] checks hold the scan against the plug: a name, the measured length, and either "
                       "axis (span, front, up) or two points from and to in the plug's frame.");
        if (settings_.calipers.empty()) {
            out_ += "#[[caliper]]\n#name = \"overall span\"\n#axis = \"span\"\n#measured = \"842mm\"\n";
        }
        for (const CaliperCheck& caliper : settings_.calipers) {
            out_ += "[[caliper]]\nname = " + toml_string(caliper.name) + "\n";
            if (!caliper.axis.empty()) {
                out_ += "axis = " + toml_string(caliper.axis) + "\n";
            } else {
                out_ += "from = " + toml_string(point_text(*caliper.from)) + "\n";
                out_ += "to = " + toml_string(point_text(*caliper.to)) + "\n";
            }
            out_ += "measured = " + toml_string(format_exact(Quantity::of(caliper.measured))) + "\n";
        }
    }

    static std::string point_text(Vec3 p) {
        const auto text = [](double mm) { return format_exact(Quantity::of(Length::mm(mm))); };
        return text(p.x) + ", " + text(p.y) + ", " + text(p.z);
    }

    const Settings& settings_;
    const Settings defaults_;
    Settings scratch_;
    std::string out_;
};

}  // namespace

void read_job(const std::filesystem::path& path, Settings& settings) {
    read_job_text(read_whole_file(path), path, settings);
}

namespace {

/// A path that the job sets starts at the job's folder; one that it leaves alone stays as it was.
void settle_path(std::string& scan, const std::string& told_before, const std::filesystem::path& job) {
    if (scan.empty())
        scan = told_before;
    else if (std::filesystem::path(scan).is_relative())
        scan = (job.parent_path() / scan).lexically_normal().generic_string();
}

}  // namespace

void read_job_text(std::string_view text, const std::filesystem::path& path, Settings& settings) {
    const toml::table root = parse_toml(text, path.generic_string());
    const std::string scan_before = std::exchange(settings.plug.scan, {});
    const std::string second_before = std::exchange(settings.plug.second_scan, {});
    JobReader(path.generic_string(), settings).apply(root);
    settle_path(settings.plug.scan, scan_before, path);
    settle_path(settings.plug.second_scan, second_before, path);
}

std::string job_text(const Settings& settings) { return JobWriter(settings).text(); }

}  // namespace cradlewright
