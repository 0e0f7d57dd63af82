// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/toml.hpp"

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

constexpr std::string_view byte_order_mark = "\xef\xbb\xbf";

bool is_ascii(char c) { return static_cast<unsigned char>(c) < 0x80; }

/// A character of UTF-8 and its number of bytes; 0 bytes when it is broken or written longer than need be.
struct Character {
    char32_t code = 0;
    std::size_t bytes = 0;
};

Character character_at(std::string_view text) {
    const auto byte = [&](std::size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0u; };
    const unsigned head = byte(0);
    const std::size_t bytes = head < 0x80         ? 1
                              : (head >> 5) == 6  ? 2
                              : (head >> 4) == 14 ? 3
                              : (head >> 3) == 30 ? 4
                                                  : 0;
    if (bytes <= 1) {
        return {head, bytes};
    }
    char32_t code = head & (0x7fu >> bytes);
    for (std::size_t i = 1; i < bytes; ++i) {
        if ((byte(i) & 0xc0) != 0x80) {
            return {};
        }
        code = code << 6 | (byte(i) & 0x3f);
    }
    constexpr char32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    const bool is_surrogate = code >= 0xd800 && code < 0xe000;
    return code < least[bytes] || is_surrogate || code > 0x10ffff ? Character{} : Character{code, bytes};
}

/// Rewrites a job so that the parser meets nothing beyond ASCII, where its test for exotic blanks runs into unreachable
/// code: texts are escaped, comments masked, and the rest is refused, as the standard has it. Lines stay, and so do
/// columns up to the first such text of a line.
class AsciiWriter {
public:
    AsciiWriter(std::string_view text, const std::string& file) : text_(text), file_(file) {}

    std::string write() {
        at_ = text_.starts_with(byte_order_mark) ? byte_order_mark.size() : 0;
        while (at_ < text_.size()) {
            const char c = text_[at_];
            if (c == '"' || c == '\'') {
                write_text(c);
            } else if (c == '#') {
                write_comment();
            } else if (is_ascii(c)) {
                out_ += c;
                ++at_;
            } else {
                refuse("a character outside quotes is neither letter, digit nor sign",
                       "names are made of a-z, 0-9 and -; a blank pasted from elsewhere may look right and be another");
            }
        }
        return std::move(out_);
    }

private:
    [[noreturn]] void refuse(const char* problem, const char* hint) const {
        const auto line = std::count(out_.begin(), out_.end(), '\n') + 1;
        const std::size_t column = out_.size() - (out_.rfind('\n') + 1) + 1;
        throw Error(ErrorCode::bad_input, file_ + ":" + std::to_string(line) + ":" + std::to_string(column), problem,
                    hint);
    }

    Character take_character() {
        const Character c = character_at(text_.substr(at_));
        if (c.bytes == 0) {
            refuse("is not UTF-8 text", "save the file as UTF-8");
        }
        at_ += c.bytes;
        return c;
    }

    void write_comment() {
        while (at_ < text_.size() && text_[at_] != '\n') {
            const Character c = take_character();
            out_ += c.bytes == 1 ? static_cast<char>(c.code) : '?';
        }
    }

    /// To behind the closing quote; a line end stops it too, and the parser then complains.
    void write_text(char quote) {
        if (text_.substr(at_, 3) == std::string(3, quote)) {
            refuse("texts over several lines are not taken", "write it in one line, between one pair of quotes");
        }
        const std::size_t end = end_of_text(quote);
        const std::string_view whole = text_.substr(at_, end - at_);
        if (std::all_of(whole.begin(), whole.end(), is_ascii)) {
            out_ += whole;
            at_ = end;
        } else {
            write_escaped(quote, end);
        }
    }

    [[nodiscard]] std::size_t end_of_text(char quote) const {
        for (std::size_t i = at_ + 1; i < text_.size() && text_[i] != '\n'; ++i) {
            if (text_[i] == quote) {
                return i + 1;
            }
            const bool escapes_next = quote == '"' && text_[i] == '\\' && i + 1 < text_.size() && text_[i + 1] != '\n';
            i += escapes_next ? 1 : 0;
        }
        return std::min(text_.find('\n', at_), text_.size());
    }

    /// Double quotes whatever stood there; what single quotes take as it is must then be escaped as well.
    void write_escaped(char quote, std::size_t end) {
        out_ += '"';
        ++at_;
        while (at_ < end) {
            const Character c = take_character();
            if (c.bytes > 1) {
                write_escape(c.code);
            } else if (at_ == end && static_cast<char>(c.code) == quote) {
                out_ += '"';
            } else {
                const bool is_special = quote == '\'' && (c.code == U'"' || c.code == U'\\');
                out_ += is_special ? "\\" : "";
                out_ += static_cast<char>(c.code);
            }
        }
    }

    void write_escape(char32_t code) {
        constexpr std::string_view hex = "0123456789ABCDEF";
        out_ += "\\U";
        for (int shift = 28; shift >= 0; shift -= 4) {
            out_ += hex[code >> shift & 15];
        }
    }

    std::string_view text_;
    const std::string& file_;
    std::size_t at_ = 0;
    std::string out_;
};

bool breaks_parser(std::string_view text) {
    try {
        static_cast<void>(toml::parse(text));
    } catch (const toml::parse_error&) {
        return false;
    } catch (const TomlAssumptionBroken&) {
        return true;
    }
    return false;
}

/// The parser does not say where it gave up: it is the first line that breaks it, and every longer text does so too.
std::size_t line_that_breaks_parser(std::string_view text) {
    std::vector<std::size_t> ends;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\n') {
            ends.push_back(i + 1);
        }
    }
    const auto first = std::partition_point(ends.begin(), ends.end(),
                                            [&](std::size_t end) { return !breaks_parser(text.substr(0, end)); });
    return static_cast<std::size_t>(first - ends.begin()) + 1;
}

}  // namespace

std::string place_in(const std::string& file, const toml::source_position& position) {
    return file + ":" + std::to_string(position.line) + ":" + std::to_string(position.column);
}

toml::table parse_toml(std::string_view text, const std::string& file) {
    const std::string ascii = AsciiWriter(text, file).write();
    try {
        return toml::parse(ascii);
    } catch (const toml::parse_error& error) {
        throw Error(ErrorCode::bad_input, place_in(file, error.source().begin), error.description(),
                    "texts stand in quotes, sections in brackets");
    } catch (const TomlAssumptionBroken&) {
        throw Error(ErrorCode::bad_input, file + ":" + std::to_string(line_that_breaks_parser(ascii)),
                    "this line cannot be read", "a section is written [plug], a list of checks [[caliper]]");
    }
}

}  // namespace cradlewright
