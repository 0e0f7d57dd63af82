// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/files/write_gcode.hpp"

#include <cmath>

namespace cradlewright {

namespace {

/// Writes moves with rounded coordinates and remembers where the rounding has put the cutter.
class GcodeWriter {
public:
    GcodeWriter(const SheetPath& path, UnitSystem units) : path_(path), is_inch_(units == UnitSystem::inch) {}

    std::string text() {
        head();
        for (const ToolRun& run : path_.runs) {
            comment(title_of(run));
            for (const ToolMove& move : run.moves) write(move);
        }
        comment("park");
        line("G0 Z" + coordinate(to_unit(path_.safe_mm)));
        line("G0 X" + coordinate(0) + " Y" + coordinate(0));
        line("M5");
        line("M2");
        return std::move(text_);
    }

private:
    /// A comment may hold neither parentheses nor anything beyond ASCII; a long one goes on in the next line.
    void comment(const std::string& words) {
        constexpr std::size_t longest = 100;
        std::string plain;
        for (const char c : words) plain += c == '(' || c == ')' ? ' ' : c >= ' ' && c <= '~' ? c : '?';
        while (plain.size() > longest) {
            std::size_t cut = plain.rfind(' ', longest);
            if (cut == std::string::npos || cut == 0) cut = longest;
            line("(" + plain.substr(0, cut) + ")");
            plain.erase(0, plain[cut] == ' ' ? cut + 1 : cut);
        }
        line("(" + plain + ")");
    }
    void line(const std::string& words) { text_ += words + '\n'; }

    [[nodiscard]] double to_unit(double mm) const { return is_inch_ ? mm / mm_per_inch : mm; }
    /// As the file will say it.
    [[nodiscard]] double rounded(double mm) const {
        const double scale = is_inch_ ? 1e5 : 1e4;
        return std::round(to_unit(mm) * scale) / scale;
    }
    [[nodiscard]] std::string coordinate(double value) const { return fixed(value, is_inch_ ? 5 : 4); }
    [[nodiscard]] std::string length(double mm) const {
        return is_inch_ ? fixed(mm / mm_per_inch, 3) + " in" : fixed(mm, 2) + " mm";
    }
    [[nodiscard]] std::string feed(double mm_min) const {
        return is_inch_ ? fixed(mm_min / mm_per_inch, 2) : fixed(mm_min, 1);
    }
    [[nodiscard]] std::string feed_in_words(double mm_min) const {
        return feed(mm_min) + (is_inch_ ? " in/min" : " mm/min");
    }

    void head() {
        const CuttingValues& values = path_.values;
        comment("sheet-" + path_.stock + "-" + std::to_string(path_.number) + ": " + std::to_string(path_.part_count) +
                (path_.part_count == 1 ? " part, " : " parts, ") + "about " +
                format_quantity({path_.time_s, Dimension::time}) + " of running");
        comment("stock: " + path_.stock + ", " + path_.material + ", " + length(path_.length_mm) + " x " +
                length(path_.width_mm) + ", thickness as told " + length(path_.thickness_mm) + "; measure it");
        comment("cutter: straight or up-cut end mill of " + length(path_.cutter_mm) + ", " +
                std::to_string(path_.flutes) + (path_.flutes == 1 ? " edge" : " edges") +
                ", flat end, long enough for " + length(path_.depth_mm));
        comment("zero: X Y at the lower left corner of the sheet, X along it; Z at its top face");
        comment("safe height " + length(path_.safe_mm) +
                " above the sheet: clamps and screws below it, and outside the cuts");
        comment("cut " + length(path_.depth_mm) + " deep in " + std::to_string(path_.passes) + " passes, " +
                (path_.depth_mm > path_.thickness_mm ? "into a board under the sheet that may be cut"
                                                     : "what is left holds the parts: cut it with a knife"));
        comment(std::string(path_.direction == CutDirection::climb ? "climb" : "conventional") +
                " cutting; spindle clockwise " + fixed(values.speed_rpm, 0) + " a minute, feed " +
                feed_in_words(values.feed_mm_min) + ", led in at " + feed_in_words(path_.ramp_feed_mm_min));
        comment("speed, feed and depth: a start from " + values.source.key + ", " + values.source.where);
        comment("CAUTION: the machine's manual and the cutter maker's data overrule them");
        comment("CAUTION: hold the sheet down over its whole area; small parts and waste come loose");
        comment("CAUTION: dust extraction on; eye, ear and dust protection; hands away; stay at the stop button");
        comment("CAUTION: run it first in the air, well above the sheet, without spindle");
        for (const UnreachedCut& cut : path_.unreached) {
            // Rough corners may keep the cutter's radius.
            if (cut.cut == CutKind::rough && cut.place.left_mm < path_.cutter_mm / 2) continue;
            comment("not cleared: " + cut.part + " at X" + coordinate(rounded(cut.place.at.x)) + " Y" +
                    coordinate(rounded(cut.place.at.y)) + ", " +
                    (std::isfinite(cut.place.left_mm) ? length(cut.place.left_mm) + " stay: file it"
                                                      : "narrower than the cutter"));
        }
        line(is_inch_ ? "G20" : "G21");
        line("G17 G40 G90 G94");
        line("G0 Z" + coordinate(rounded(path_.safe_mm)));
        line("S" + fixed(values.speed_rpm, 0) + " M3");
    }

    [[nodiscard]] static std::string title_of(const ToolRun& run) {
        std::string title = run.parts;
        title += run.kind == RunKind::mark ? ": mark" : run.kind == RunKind::inside ? ": inside" : ": outside";
        if (run.tabs > 0) title += ", " + std::to_string(run.tabs) + (run.tabs == 1 ? " tab" : " tabs");
        if (run.tabs == 0 && run.skin_mm > 0) title += ", skin " + fixed(run.skin_mm, 2) + " mm";
        return title;
    }

    void write(const ToolMove& move) {
        const Vec2 to{rounded(move.to.x), rounded(move.to.y)};
        const double z = rounded(move.to.z);
        // An arc whose ends fall together would be read as a full circle.
        const bool is_still = to == at_;
        if (is_still && z == z_) return;
        const bool is_arc = move.bulge != 0 && !is_still && !is_flat(to, move.bulge);
        std::string words = move.kind == MoveKind::rapid ? "G0" : !is_arc ? "G1" : move.bulge > 0 ? "G3" : "G2";
        if (!is_still) words += " X" + coordinate(to.x) + " Y" + coordinate(to.y);
        if (z != z_) words += " Z" + coordinate(z);
        if (is_arc) {
            // From the rounded ends, so that both have one radius.
            const Vec2 centre = arc_of(at_, to, move.bulge).center - at_;
            words += " I" + coordinate(centre.x) + " J" + coordinate(centre.y);
        }
        if (move.kind != MoveKind::rapid) words += feed_word(move.kind);
        line(words);
        at_ = to;
        z_ = z;
    }
    /// So flat that the last digit does not show it.
    [[nodiscard]] bool is_flat(Vec2 to, double bulge) const {
        return std::abs(bulge) * norm(to - at_) / 2 < (is_inch_ ? 1e-5 : 1e-4);
    }

    std::string feed_word(MoveKind kind) {
        const double mm_min = kind == MoveKind::plunge ? path_.values.plunge_mm_min / 2
                              : kind == MoveKind::ramp ? path_.ramp_feed_mm_min
                                                       : path_.values.feed_mm_min;
        std::string word = " F" + feed(mm_min);
        if (word == feed_) return {};
        feed_ = word;
        return word;
    }

    const SheetPath& path_;
    bool is_inch_;
    std::string text_, feed_;
    Vec2 at_{NAN, NAN};  ///< in the file's unit, as rounded
    double z_ = NAN;
};

}  // namespace

std::string gcode_text(const SheetPath& path, UnitSystem units) { return GcodeWriter(path, units).text(); }

}  // namespace cradlewright
