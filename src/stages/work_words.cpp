// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/work_words.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace cradlewright {
namespace {

/// "rib-" and 5 of "rib-5"; 0 where no number ends it.
std::pair<std::string, int> stem_and_number(const std::string& id) {
    const std::size_t dash = id.rfind('-');
    int number = 0;
    if (dash == std::string::npos) return {id, 0};
    const char* end = id.data() + id.size();
    const auto read = std::from_chars(id.data() + dash + 1, end, number);
    if (read.ec != std::errc() || read.ptr != end) return {id, 0};
    return {id.substr(0, dash + 1), number};
}

std::string number_text(double value) {
    std::string text = fixed(value, 1);
    if (text.ends_with(".0")) text.resize(text.size() - 2);
    return text;
}

}  // namespace

const char* const caution_blades =
    "Blades, band saws and routers: guards on, hands clear, sharp tools, as the machine's manual says. Deburr cut "
    "edges.";
const char* const caution_dust =
    "Dust of glass, carbon, wood, filler and sealer: extraction and a particle filter when sawing and sanding, wet "
    "where "
    "you can. Carbon dust conducts and ruins electrics.";
const char* const caution_solvent =
    "Solvents, sealers and release agents: moving air, no flame or spark, gloves that the safety data sheet names, a "
    "respirator for organic vapour. Keep used rags in a closed metal bin outdoors.";
const char* const caution_resin =
    "Resin, hardener and gel coat: read the safety data sheets first. Gloves that they name, sleeves, eye protection, "
    "moving air; no skin contact with epoxy hardeners, they sensitise for life. The data sheet sets ratio, temperature "
    "and "
    "times, not this page.";
const char* const caution_exotherm =
    "Exotherm: a full pot heats itself and can boil or burn. Mix no more than the batch named, spread it out at once, "
    "and "
    "stand a pot that smokes outdoors on bare ground.";
const char* const caution_peroxide =
    "Peroxide initiator blinds: goggles and an eye-wash in reach. Never bring it together with cobalt accelerator "
    "except "
    "through the resin, keep it off rags and steel, and weigh it by the data sheet.";
const char* const caution_lifting =
    "Lifting: straight backs, a clear path, feet out from under, one person gives the word. The figure is a guide for "
    "planning; who is not sure takes a hoist with slings made for it.";
const char* const caution_opening =
    "Opening: plastic wedges only, never steel. Face shield when air is on, low pressure through a regulator, nobody "
    "over "
    "or in line with the joint.";

std::string some(std::size_t count, const char* one, const char* many) {
    return std::to_string(count) + " " + (count == 1 ? one : many);
}

std::string named(const std::vector<std::string>& ids) {
    std::vector<std::string> words;
    for (std::size_t i = 0; i < ids.size();) {
        const auto [stem, first] = stem_and_number(ids[i]);
        std::size_t k = i + 1;
        while (k < ids.size() && first > 0 && stem_and_number(ids[k]) == std::pair{stem, first + int(k - i)}) ++k;
        if (k - i < 3) k = i + 1;
        words.push_back(k - i == 1 ? ids[i] : ids[i] + " to " + ids[k - 1]);
        i = k;
    }
    std::string text;
    for (std::size_t i = 0; i < words.size(); ++i)
        text += (i == 0 ? "" : i + 1 == words.size() ? " and " : ", ") + words[i];
    return text;
}

std::string spell_time(double seconds) {
    constexpr double minute = 60, hour = 3600, day = 24 * hour;
    if (seconds < 2 * hour && std::fmod(seconds, hour) != 0) return number_text(seconds / minute) + " min";
    if (seconds <= 2 * day) return number_text(seconds / hour) + " h";
    return number_text(seconds / day) + " days";
}

std::size_t count_of(const Hardware& hardware, HardwareKind kind) {
    return static_cast<std::size_t>(std::ranges::count(hardware.items, kind, &HardwareItem::kind));
}

bool wants_peroxide(const Settings& settings) { return settings.mould.resin != "epoxy"; }

std::vector<std::string> resin_cautions(const Settings& settings) {
    std::vector<std::string> cautions{caution_resin, caution_exotherm};
    if (wants_peroxide(settings)) cautions.emplace_back(caution_peroxide);
    return cautions;
}

}  // namespace cradlewright
