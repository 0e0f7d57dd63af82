// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/cli.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <memory>

#include "cradlewright/base/error.hpp"
#include "cradlewright/catalog/options.hpp"

namespace cradlewright::app {

namespace {

constexpr const char* place = "command line";

/// An option that is a shorter name of one setting.
struct SettingOption {
    const char* option;
    const char* key;
    const char* value_name;
    const char* help;
};
constexpr std::array setting_options{
    SettingOption{"--unit", "plug.unit", "UNIT", "unit of the scan: mm cm m in ft"},
    SettingOption{"--known", "plug.known", "TEXT", "\"LENGTH along span\" fixes the scale"},
    SettingOption{"--tilt", "pose.tilt", "ANGLE", "lifts the front edge"},
    SettingOption{"--turn", "pose.turn", "ANGLE", "turns about the vertical"},
    SettingOption{"--pull", "pose.pull", "DIR", "vertical, plug-up, best or X,Y,Z"},
    SettingOption{"--up", "pose.up", "AXIS", "x -x y -y z -z or X,Y,Z of the scan"},
    SettingOption{"--span", "pose.span", "AXIS", "the same for the long way"},
    SettingOption{"--ribs", "cradle.ribs", "N", "number of ribs; 0 chooses"},
    SettingOption{"--stations", "cradle.stations", "LIST", "where ribs stand, along the span"},
    SettingOption{"--paper", "paper.size", "SIZE", "letter legal tabloid a4 a3 or WxH"},
    SettingOption{"--units", "units", "SYSTEM", "metric or inch, for what you read"},
};

using Changes = std::vector<SettingChange>;

void add_setting(CLI::App& app, Changes& changes, const SettingOption& o) {
    app.add_option_function<std::string>(
           o.option,
           [&changes, o](const std::string& text) {
               changes.push_back({o.key, text, o.option});
           },
           o.help)
        ->type_name(o.value_name);
}

/// `--set` comes after the short names, so it beats them.
void add_set(CLI::App& app, Changes& changes) {
    app.add_option_function<std::vector<std::string>>(
           "--set",
           [&changes](const std::vector<std::string>& texts) {
               for (const std::string& text : texts) {
                   const std::size_t equals = text.find('=');
                   if (equals == std::string::npos || equals == 0)
                       throw Error(ErrorCode::bad_input, "--set", "'" + text + "' is not of the form section.key=value",
                                   "e.g. --set flange.width=50mm");
                   changes.push_back({text.substr(0, equals), text.substr(equals + 1), "--set"});
               }
           },
           "any setting; may be repeated")
        ->type_name("KEY=VALUE")
        ->allow_extra_args(false);
}

void add_common(CLI::App& app, Request& request) {
    app.add_flag("--json", request.prints_json, "print JSON on standard output");
    app.add_flag("--quiet", request.is_quiet, "print nothing but warnings and errors");
}

void add_settings(CLI::App& app, Request& request) {
    for (const SettingOption& option : setting_options) add_setting(app, request.changes, option);
    add_set(app, request.changes);
}

void add_threads(CLI::App& app, Request& request) {
    app.add_option("--threads", request.threads, "use at most N processors")
        ->type_name("N")
        ->check(CLI::Range(1, 1024));
}

void add_out(CLI::App& app, Request& request) {
    app.add_option("--out", request.out, "folder to write; out/<name> if not told")->type_name("DIR");
    app.add_flag("--overwrite", request.overwrites, "replace that folder if it exists");
    app.add_option("--dump-stages", request.dump, "also write what each stage found")->type_name("DIR");
}

CLI::App* add_command(CLI::App& app, Request& request, Command command, const char* name, const char* help) {
    CLI::App* sub = app.add_subcommand(name, help);
    sub->callback([&request, command] { request.command = command; });
    sub->get_formatter()->column_width(26);
    return sub;
}

void define_scan_commands(CLI::App& app, Request& request) {
    CLI::App* survey =
        add_command(app, request, Command::survey, "survey", "Say what a scan is and what to do about it");
    survey->add_option("SCAN", request.input, "scan or job file")->required();
    survey->add_option("--mended", request.mended, "write the mended mesh as PLY")->type_name("FILE");
    survey->add_flag("--overwrite", request.overwrites, "replace that file if it exists");

    CLI::App* sweep = add_command(app, request, Command::sweep, "sweep", "Compare tilts and recommend one");
    sweep->add_option("SCAN|JOB", request.input, "scan, or job file ending in .toml")->required();
    sweep->add_option("--from", request.sweep_from, "first tilt; -45deg")->type_name("ANGLE");
    sweep->add_option("--to", request.sweep_to, "last tilt; 45deg")->type_name("ANGLE");
    sweep->add_option("--steps", request.sweep_steps, "tilts tried, both ends included; 31")
        ->type_name("N")
        ->check(CLI::Range(2, 361));
    sweep->add_option("--out", request.out, "write chart and table into this folder")->type_name("DIR");
    sweep->add_flag("--overwrite", request.overwrites, "replace that folder if it exists");

    CLI::App* make = add_command(app, request, Command::make, "make", "Design the fixture and write everything");
    make->add_option("SCAN|JOB", request.input, "scan, or job file ending in .toml")->required();
    add_out(*make, request);

    CLI::App* parts =
        add_command(app, request, Command::parts, "parts", "Design the fixture, write the cut files only");
    parts->add_option("SCAN|JOB", request.input, "scan, or job file ending in .toml")->required();
    add_setting(*parts, request.changes, {"--cut-by", "cut-by", "HOW", "print (paper templates), saw or router"});
    add_out(*parts, request);

    CLI::App* layup = add_command(app, request, Command::layup, "layup", "Write cloth patterns and shopping list only");
    layup->add_option("SCAN|JOB", request.input, "scan, or job file ending in .toml")->required();
    add_out(*layup, request);

    CLI::App* fresh =
        add_command(app, request, Command::new_job, "new", "Print a commented job file with every setting");
    fresh->add_option("SCAN", request.input, "scan to name in it");

    for (CLI::App* command : {survey, sweep, make, parts, layup, fresh}) {
        add_settings(*command, request);
        add_common(*command, request);
    }
    for (CLI::App* command : {survey, sweep, make, parts, layup}) add_threads(*command, request);
}

void define_bench_commands(CLI::App& app, Request& request) {
    CLI::App* fillet = add_command(app, request, Command::fillet, "fillet", "Will these plies lie on a clay bead?");
    add_setting(*fillet, request.changes,
                {"--radius", "bead.radius", "LENGTH", "of the bead; auto finds the smallest"});
    fillet->get_option("--radius")->required();
    add_setting(*fillet, request.changes,
                {"--mould-plies", "laminate.mould.plies", "PLIES", "\"NAME xN, NAME xN\", outside first"});
    add_setting(*fillet, request.changes, {"--part-plies", "laminate.part.plies", "PLIES", "the same for the part"});
    fillet->add_option("--corner", request.corner, "between plug and panel; 90deg")->type_name("ANGLE");

    CLI::App* cloth =
        add_command(app, request, Command::cloth, "cloth", "Bending length and rigidity of your own cloth");
    cloth->add_option("--overhang", request.overhang, "of a strip whose tip meets 41.5 deg")
        ->type_name("LENGTH")
        ->required();
    cloth->add_option("--areal", request.areal_mass, "mass per area, e.g. 200g/m2")->type_name("W")->required();

    CLI::App* explain =
        add_command(app, request, Command::explain, "explain", "Say what a check computes and from where");
    explain->add_option("CHECK", request.check, "its id; none lists them all");
    explain->add_option("REPORT", request.report, "report.json of a run: its figures too");

    for (CLI::App* command : {fillet, cloth, explain}) {
        add_setting(*command, request.changes, {"--units", "units", "SYSTEM", "metric or inch, for what you read"});
        add_set(*command, request.changes);
        add_common(*command, request);
    }
}

void define(CLI::App& app, Request& request) {
    app.name("cradlewright");
    app.set_version_flag("--version", CRADLEWRIGHT_VERSION_TEXT);
    app.get_formatter()->column_width(26);
    app.failure_message([](const CLI::App*, const CLI::Error& error) { return std::string(error.what()); });
    app.footer(
        "Lengths carry a unit (9.5mm, 3/8in, 1 1/2 in, 0.3m), so do angles (12deg).\n"
        "Exit code: 0 done, every check passes or is marginal; 1 done, a check fails\n"
        "or is unknown; 2 could not run, nothing written.\n"
        "cradlewright COMMAND --help shows the options of a command.");
    define_scan_commands(app, request);
    define_bench_commands(app, request);
}

std::vector<std::string> command_names(const CLI::App& app) {
    std::vector<std::string> names;
    for (const CLI::App* sub : app.get_subcommands([](const CLI::App*) { return true; }))
        names.push_back(sub->get_name());
    return names;
}

std::vector<std::string> option_names(const CLI::App& app) {
    std::vector<std::string> names;
    for (const CLI::Option* option : app.get_options())
        for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
    return names;
}

std::string joined(const std::vector<std::string>& words) {
    std::string text;
    for (const std::string& word : words) text += (text.empty() ? "" : " ") + word;
    return text;
}

void refuse_unknown_command(const CLI::App& app, const std::string& word) {
    const std::vector<std::string> known = command_names(app);
    if (word.empty() || word.front() == '-' || std::ranges::find(known, word) != known.end()) return;
    const std::string nearest = nearest_name(word, known);
    throw Error(ErrorCode::bad_input, place, "there is no command '" + word + "'",
                nearest.empty() ? "known: " + joined(known) : "did you mean " + nearest + "?");
}

/// CLI11 names the word it could not place; we add the nearest option of the command in use.
[[noreturn]] void refuse_extra(const CLI::App& app) {
    const std::vector<std::string> words = app.remaining(true);
    const std::string word = words.empty() ? "" : words.front();
    const auto used = app.get_subcommands();
    const CLI::App& command = used.empty() ? app : *used.front();
    const std::string bare = word.substr(0, word.find('='));
    const std::string nearest = bare.starts_with("-") ? nearest_name(bare, option_names(command)) : "";
    throw Error(ErrorCode::bad_input, place, "'" + word + "' is not understood here",
                nearest.empty() ? "see cradlewright " + (used.empty() ? "" : command.get_name() + " ") + "--help"
                                : "did you mean " + nearest + "?");
}

}  // namespace

Request parse_command_line(int argc, const char* const* argv) {
    Request request;
    CLI::App app("Designs the fixture for moulding off a scanned plug.");
    define(app, request);
    if (argc < 2) {
        throw Error(ErrorCode::bad_input, place, "no command given",
                    "known: " + joined(command_names(app)) + "; see cradlewright --help");
    }
    refuse_unknown_command(app, argv[1]);
    try {
        app.parse(argc, argv);
    } catch (const CLI::CallForVersion& version) {
        request.text = std::string(version.what()) + "\n";
        request.command = Command::show_text;
    } catch (const CLI::CallForHelp&) {
        request.text = app.help();
        request.command = Command::show_text;
    } catch (const CLI::ExtrasError&) {
        refuse_extra(app);
    } catch (const CLI::ParseError& error) {
        throw Error(ErrorCode::bad_input, place, error.what(), "see cradlewright --help");
    }
    if (!request.text.empty()) return request;
    if (request.command == Command::show_text)
        throw Error(ErrorCode::bad_input, place, "no command given", "known: " + joined(command_names(app)));
    return request;
}

}  // namespace cradlewright::app
