// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/rs274.hpp"

#include <charconv>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <set>

namespace cradlewright::test {

namespace {

using std::numbers::pi;
constexpr double mm_per_inch_by_law = 25.4;

[[noreturn]] void refuse(int line, const std::string& what) {
    throw Rs274Error("line " + std::to_string(line) + ": " + what);
}

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Words of one line; letters once each but G and M (3.3.5).
struct Block {
    std::map<char, double> words;
    std::set<int> g, m;  ///< tenths of the number, as G59.1 is one code
    std::vector<std::string> comments;
};

class BlockReader {
public:
    BlockReader(std::string_view text, int line) : text_(text), line_(line) {}

    Block read() {
        constexpr std::size_t longest = 256;  // 3.3
        if (text_.size() > longest) refuse(line_, "over 256 characters (3.3)");
        skip();
        if (peek() == '/') ++at_;
        skip();
        if (lower(peek()) == 'n') read_line_number();
        for (skip(); at_ < text_.size(); skip()) {
            if (text_[at_] == '(')
                read_comment();
            else
                read_word();
        }
        return block_;
    }

private:
    [[nodiscard]] char peek() const { return at_ < text_.size() ? text_[at_] : '\0'; }
    void skip() {
        while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\t')) ++at_;
    }
    void read_line_number() {
        ++at_;
        skip();
        const std::size_t from = at_;
        while (is_digit(peek())) ++at_;
        if (at_ == from || at_ - from > 5) refuse(line_, "line number of one to five digits (3.3.1)");
    }
    void read_comment() {
        const std::size_t end = text_.find(')', at_), nested = text_.find('(', at_ + 1);
        if (end == std::string_view::npos) refuse(line_, "comment is not closed (3.3.4)");
        if (nested < end) refuse(line_, "comment within a comment (3.3.4)");
        for (std::size_t i = at_; i < end; ++i)
            if (text_[i] < ' ' || text_[i] > '~') refuse(line_, "comment with a character that does not print (3.3.4)");
        block_.comments.emplace_back(text_.substr(at_ + 1, end - at_ - 1));
        at_ = end + 1;
    }
    void read_word() {
        const char letter = lower(text_[at_]);
        if (std::string_view("fgijkmpqrstxyz").find(letter) == std::string_view::npos)
            refuse(line_, std::string("no word begins with '") + text_[at_] + "' (3.3.2)");
        ++at_;
        const double value = read_number();
        if (letter == 'g' || letter == 'm') {
            const double tenths = value * 10;
            if (tenths < 0 || tenths > 999 || std::abs(tenths - std::round(tenths)) > 1e-3)
                refuse(line_, "no such code (3.5, 3.6)");
            if (!(letter == 'g' ? block_.g : block_.m).insert(static_cast<int>(std::lround(tenths))).second)
                refuse(line_, "a code twice (3.3.5)");
        } else if (!block_.words.try_emplace(letter, value).second) {
            refuse(line_, std::string("word ") + letter + " twice (3.3.5)");
        }
    }
    /// Sign, digits, at most one point, at least one digit (3.3.2.1); blanks anywhere within (3.3).
    double read_number() {
        std::string digits;
        bool has_point = false, has_digit = false;
        for (skip(); at_ < text_.size(); ++at_, skip()) {
            const char c = text_[at_];
            const bool is_sign = (c == '+' || c == '-') && digits.empty();
            if (!is_digit(c) && !is_sign && !(c == '.' && !has_point)) break;
            has_point = has_point || c == '.';
            has_digit = has_digit || is_digit(c);
            if (c != '+') digits += c;
            if (c == '+') digits += '0';
        }
        double value = 0;
        const auto [end, code] =
            std::from_chars(digits.data(), digits.data() + digits.size(), value, std::chars_format::fixed);
        if (!has_digit || code != std::errc{} || end != digits.data() + digits.size() || !std::isfinite(value))
            refuse(line_, "number cannot be read (3.3.2.1)");
        constexpr double largest = 1e7;  // assumed: 10 km, beyond any machine; squares of larger numbers overflow
        if (std::abs(value) > largest) refuse(line_, "number beyond any machine");
        return value;
    }

    std::string_view text_;
    std::size_t at_ = 0;
    int line_;
    Block block_;
};

/// Modal groups of the report's Table 4 as far as they are known here.
constexpr int motion_group[] = {0, 10, 20, 30};

class Machine {
public:
    explicit Machine(Program& program) : program_(program) {}

    void execute(const Block& block, int line) {
        if (block.m.size() > 4) refuse(line, "over four M words (3.3.5)");
        program_.comments.insert(program_.comments.end(), block.comments.begin(), block.comments.end());
        const std::optional<int> motion = one_of(block.g, motion_group, "motion", line);
        for (const auto& [letter, value] : block.words)
            if (std::string_view("fijsxyz").find(letter) == std::string_view::npos)
                refuse(line, std::string("word ") + letter + " goes with no code here");
        for (const int code : block.g) check_known(code, line);
        // In the report's order of execution (Table 8): feed, speed, spindle, units, motion, stop.
        set_units(block, line);
        if (const auto f = block.words.find('f'); f != block.words.end()) {
            if (f->second < 0) refuse(line, "negative feed (3.7.1)");
            feed_ = f->second;
        }
        if (const auto s = block.words.find('s'); s != block.words.end()) {
            if (s->second < 0) refuse(line, "negative speed (3.7.2)");
            program_.speed_rpm = s->second;
        }
        switch_spindle(block, line);
        if (motion) motion_ = *motion;
        move(block, motion.has_value(), line);
        if (block.m.contains(20) || block.m.contains(300)) program_.has_ended = true;
    }

private:
    static constexpr int no_motion = -1;

    template <class Codes>
    static std::optional<int> one_of(const std::set<int>& given, const Codes& group, const char* name, int line) {
        std::optional<int> found;
        for (const int code : group) {
            if (!given.contains(code)) continue;
            if (found) refuse(line, std::string("two codes of group ") + name + " (3.4)");
            found = code;
        }
        return found;
    }
    static void check_known(int code, int line) {
        static const std::set<int> known{0, 10, 20, 30, 170, 200, 210, 400, 900, 940};
        if (!known.contains(code)) refuse(line, "G" + std::to_string(code / 10) + " is not known here");
    }
    void set_units(const Block& block, int line) {
        constexpr int units[] = {200, 210};
        const std::optional<int> code = one_of(block.g, units, "units", line);
        if (block.g.contains(900)) is_absolute_ = true;
        if (block.g.contains(170)) has_plane_ = true;
        if (!code) return;
        // The report advises against a change of units once anything has moved (3.5.7).
        if (!program_.motions.empty()) refuse(line, "units after a move (3.5.7)");
        program_.is_inch = *code == 200;
        has_units_ = true;
    }
    void switch_spindle(const Block& block, int line) {
        static const std::set<int> known{20, 30, 50, 300};
        for (const int code : block.m)
            if (!known.contains(code)) refuse(line, "M" + std::to_string(code / 10) + " is not known here");
        if (block.m.contains(30) && block.m.contains(50)) refuse(line, "two codes of group spindle (3.4)");
        if (block.m.contains(20) && block.m.contains(300)) refuse(line, "two codes of group stopping (3.4)");
        if (block.m.contains(30)) {
            if (!(program_.speed_rpm > 0)) refuse(line, "M3 at speed 0 (3.6.2)");
            spins_ = true;
        }
        if (block.m.contains(50)) spins_ = false;
    }

    void move(const Block& block, bool has_motion_word, int line) {
        const auto word = [&](char letter) -> std::optional<double> {
            const auto found = block.words.find(letter);
            if (found == block.words.end()) return std::nullopt;
            return found->second;
        };
        const bool has_axis = word('x') || word('y') || word('z');
        const bool has_offset = word('i') || word('j');
        if (!has_axis) {
            if (has_offset) refuse(line, "I or J without an axis word (3.5.3)");
            if (has_motion_word) refuse(line, "a motion code without an axis word (3.5.1 to 3.5.3)");
            return;
        }
        if (motion_ == no_motion) refuse(line, "axis words without a motion code (3.5)");
        if (!has_units_ || !is_absolute_ || !has_plane_)
            refuse(line, "a move before units, plane and distance mode are told");
        Vec3 to = at_;
        if (word('x')) to.x = *word('x');
        if (word('y')) to.y = *word('y');
        if (word('z')) to.z = *word('z');
        Motion m;
        m.line = line;
        m.is_rapid = motion_ == 0;
        m.spins = spins_;
        if (!m.is_rapid && !(feed_ > 0)) refuse(line, "feed 0 (3.5.2, 3.5.3)");
        const double unit = program_.is_inch ? mm_per_inch_by_law : 1;
        if (motion_ >= 20) {
            arc(m, to, word('i'), word('j'), line);
        } else if (has_offset) {
            refuse(line, "I or J in a straight move (3.3.5)");
        }
        m.from = at_ * unit;
        m.to = to * unit;
        m.center = m.center * unit;
        m.feed_mm_min = feed_ * unit;
        at_ = to;
        program_.motions.push_back(m);
    }
    void arc(Motion& m, Vec3 to, std::optional<double> i, std::optional<double> j, int line) const {
        if (!i && !j) refuse(line, "an arc without I and J (3.5.3.2)");
        m.center = {at_.x + i.value_or(0), at_.y + j.value_or(0)};
        const double start = std::hypot(i.value_or(0), j.value_or(0));
        const double end = std::hypot(to.x - m.center.x, to.y - m.center.y);
        if (start == 0) refuse(line, "an arc of radius 0 (3.5.3.2)");
        if (std::abs(start - end) > (program_.is_inch ? 0.0002 : 0.002))
            refuse(line, "radius at the end differs by " + std::to_string(end - start) + " (3.5.3.2)");
        m.turn = motion_ == 20 ? -1 : 1;
    }

    Program& program_;
    int motion_ = no_motion;
    double feed_ = 0;
    Vec3 at_;
    bool spins_ = false, is_absolute_ = false, has_plane_ = false, has_units_ = false;
};

bool is_percent(std::string_view line) {
    std::size_t signs = 0;
    for (const char c : line) {
        if (c == '%')
            ++signs;
        else if (c != ' ' && c != '\t')
            return false;
    }
    return signs == 1;
}

}  // namespace

double Motion::sweep_rad() const {
    if (turn == 0) return 0;
    const double start = std::atan2(from.y - center.y, from.x - center.x);
    const double end = std::atan2(to.y - center.y, to.x - center.x);
    double sweep = std::fmod(turn * (end - start), 2 * pi);
    if (sweep <= 0) sweep += 2 * pi;
    return sweep;
}

Vec3 Motion::at(double share) const {
    Vec3 p = from + (to - from) * share;
    if (turn == 0) return p;
    const double r0 = std::hypot(from.x - center.x, from.y - center.y),
                 r1 = std::hypot(to.x - center.x, to.y - center.y);
    const double angle = std::atan2(from.y - center.y, from.x - center.x) + turn * sweep_rad() * share;
    const double r = r0 + (r1 - r0) * share;
    p.x = center.x + r * std::cos(angle);
    p.y = center.y + r * std::sin(angle);
    return p;
}

double Motion::length() const {
    if (turn == 0) return norm(to - from);
    return std::hypot(sweep_rad() * std::hypot(from.x - center.x, from.y - center.y), to.z - from.z);
}

Program read_rs274(std::string_view text) {
    Program program;
    Machine machine(program);
    int number = 0;
    bool has_percent = false, is_over = false, is_first = true;
    while (!text.empty()) {
        const std::size_t end = text.find('\n');
        std::string_view line = text.substr(0, end);
        text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
        if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
        ++number;
        if (is_over) {
            if (line.find_first_not_of(" \t") != std::string_view::npos) refuse(number, "after the end (3.1)");
            continue;
        }
        if (is_percent(line)) {
            if (!is_first && !has_percent) refuse(number, "% only as first and last line (3.1)");
            if (has_percent) return program;  // what follows is not read
            has_percent = true;
            is_first = false;
            continue;
        }
        if (line.find_first_not_of(" \t") != std::string_view::npos) is_first = false;
        machine.execute(BlockReader(line, number).read(), number);
        is_over = program.has_ended && !has_percent;
    }
    if (!program.has_ended) refuse(number, "neither M2, M30 nor % at the end (3.1)");
    return program;
}

}  // namespace cradlewright::test
