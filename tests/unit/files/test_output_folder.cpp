// SPDX-License-Identifier: GPL-3.0-or-later
// The promise under test is the contract's: files are written beside their place and renamed, an existing folder is
// kept unless told otherwise, and nothing is left behind when the work stops half way.
#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <set>
#include <string>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/output_folder.hpp"

namespace fs = std::filesystem;
using namespace cradlewright;

namespace {

/// A folder of its own for one test, removed at the end.
class Sandbox {
public:
    Sandbox() : path_(fs::temp_directory_path() / ("cradlewright-output-folder-" + std::to_string(::getpid()))) {
        fs::remove_all(path_);
        fs::create_directories(path_);
    }
    ~Sandbox() { fs::remove_all(path_); }
    Sandbox(const Sandbox&) = delete;
    Sandbox& operator=(const Sandbox&) = delete;

    [[nodiscard]] const fs::path& path() const { return path_; }
    /// Every path below the sandbox, hidden ones too.
    [[nodiscard]] std::set<std::string> listing() const {
        std::set<std::string> names;
        for (const fs::directory_entry& entry : fs::recursive_directory_iterator(path_))
            names.insert(entry.path().lexically_relative(path_).string());
        return names;
    }

private:
    fs::path path_;
};

std::string text_of(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

void put(const fs::path& path, const std::string& text) {
    fs::create_directories(path.parent_path());
    std::ofstream(path, std::ios::binary) << text;
}

ErrorCode code_of(const std::function<void()>& action) {
    try {
        action();
    } catch (const Error& error) {
        return error.code();
    }
    FAIL("no Error was thrown");
    return ErrorCode::internal;
}

}  // namespace

TEST_CASE("a committed folder holds what was written and nothing else", "[files][output_folder]") {
    const Sandbox box;
    OutputFolder folder(box.path() / "deep" / "job", OutputFolder::Existing::keep);
    folder.write("report.json", "{}");
    folder.write("cut/rib-1.svg", std::string("a\0b", 3));
    folder.write("report.json", "{}");
    CHECK_FALSE(fs::exists(box.path() / "deep" / "job"));
    folder.commit();
    CHECK(folder.files() == std::vector<std::string>{"report.json", "cut/rib-1.svg"});
    CHECK(box.listing() ==
          std::set<std::string>{"deep", "deep/job", "deep/job/report.json", "deep/job/cut", "deep/job/cut/rib-1.svg"});
    CHECK(text_of(box.path() / "deep/job/cut/rib-1.svg") == std::string("a\0b", 3));
}

TEST_CASE("an uncommitted folder leaves no trace", "[files][output_folder]") {
    const Sandbox box;
    put(box.path() / "job/old.txt", "old");
    const auto before = box.listing();
    {
        OutputFolder folder(box.path() / "job", OutputFolder::Existing::replace);
        folder.write("new.txt", "new");
        CHECK(text_of(box.path() / "job/old.txt") == "old");
    }
    CHECK(box.listing() == before);
}

TEST_CASE("parents made for nothing go again, those in use stay", "[files][output_folder]") {
    const Sandbox box;
    put(box.path() / "kept/x", "x");
    const auto before = box.listing();
    {
        OutputFolder folder(box.path() / "kept/a/b/job", OutputFolder::Existing::keep);
        folder.write("new.txt", "new");
    }
    CHECK(box.listing() == before);
    {
        OutputFolder folder(box.path() / "kept/a/b/job", OutputFolder::Existing::keep);
        put(box.path() / "kept/a/mine.txt", "mine");
    }
    CHECK(box.listing() == std::set<std::string>{"kept", "kept/x", "kept/a", "kept/a/mine.txt"});
}

TEST_CASE("an existing folder is kept unless told", "[files][output_folder]") {
    const Sandbox box;
    put(box.path() / "job/old.txt", "old");
    const auto before = box.listing();
    CHECK(code_of([&] { OutputFolder(box.path() / "job", OutputFolder::Existing::keep); }) == ErrorCode::bad_input);
    CHECK(box.listing() == before);

    OutputFolder folder(box.path() / "job/", OutputFolder::Existing::replace);
    folder.write("new.txt", "new");
    folder.commit();
    CHECK(box.listing() == std::set<std::string>{"job", "job/new.txt"});
}

TEST_CASE("a folder that appears while the work runs is kept", "[files][output_folder]") {
    const Sandbox box;
    {
        OutputFolder folder(box.path() / "job", OutputFolder::Existing::keep);
        folder.write("new.txt", "new");
        put(box.path() / "job/other.txt", "other");
        CHECK(code_of([&] { folder.commit(); }) == ErrorCode::io);
    }
    CHECK(box.listing() == std::set<std::string>{"job", "job/other.txt"});
}

TEST_CASE("replacing never deletes the scan, the job file or the folder in use", "[files][output_folder]") {
    const Sandbox box;
    put(box.path() / "job/sub/scan.stl", "scan");
    const std::vector<fs::path> needed{box.path() / "job/sub/scan.stl"};
    const auto before = box.listing();
    for (const char* target : {"job", "job/sub", "job/../job/."})
        CHECK(code_of([&] { OutputFolder(box.path() / target, OutputFolder::Existing::replace, needed); }) ==
              ErrorCode::bad_input);
    CHECK(box.listing() == before);
    // A folder whose name merely starts the same is another folder.
    put(box.path() / "jo/x", "x");
    OutputFolder(box.path() / "jo", OutputFolder::Existing::replace, needed);
    // The scan's own folder may hold the output beside the scan.
    OutputFolder(box.path() / "job/sub/out", OutputFolder::Existing::replace, needed);
}

TEST_CASE("a linked folder is replaced where it lies", "[files][output_folder]") {
    const Sandbox box;
    put(box.path() / "real/old.txt", "old");
    fs::create_directory_symlink(box.path() / "real", box.path() / "link");
    OutputFolder folder(box.path() / "link", OutputFolder::Existing::replace);
    folder.write("new.txt", "new");
    folder.commit();
    CHECK(fs::is_symlink(box.path() / "link"));
    CHECK(text_of(box.path() / "real/new.txt") == "new");
}

TEST_CASE("unusable targets are refused before any work", "[files][output_folder]") {
    const Sandbox box;
    put(box.path() / "file", "x");
    CHECK(code_of([&] { OutputFolder(box.path() / "file", OutputFolder::Existing::replace); }) == ErrorCode::bad_input);
    CHECK(code_of([&] { OutputFolder(box.path() / "file/job", OutputFolder::Existing::replace); }) == ErrorCode::io);
    CHECK(code_of([&] { OutputFolder("/proc/job", OutputFolder::Existing::keep); }) == ErrorCode::io);
    CHECK(text_of(box.path() / "file") == "x");
}

TEST_CASE("a missing or failed file stops the commit", "[files][output_folder]") {
    const Sandbox box;
    put(box.path() / "job/old.txt", "old");
    {
        OutputFolder folder(box.path() / "job", OutputFolder::Existing::replace);
        folder.add("promised.txt");
        CHECK(code_of([&] { folder.commit(); }) == ErrorCode::io);
        // /dev/full stands in for a full disk.
        fs::create_symlink("/dev/full", folder.add("full.bin"));
        CHECK(code_of([&] { folder.write("full.bin", std::string(100000, 'x')); }) == ErrorCode::io);
    }
    CHECK(box.listing() == std::set<std::string>{"job", "job/old.txt"});
}

TEST_CASE("names that leave the folder are a caller's mistake", "[files][output_folder]") {
    const Sandbox box;
    OutputFolder folder(box.path() / "job", OutputFolder::Existing::keep);
    for (const char* name : {"../x", "a/../../x", "/etc/x", "", "dir/"})
        CHECK(code_of([&] { folder.add(name); }) == ErrorCode::internal);
    CHECK(folder.files().empty());
}

TEST_CASE("two runs at once do not share a working folder", "[files][output_folder]") {
    const Sandbox box;
    OutputFolder first(box.path() / "job", OutputFolder::Existing::keep);
    OutputFolder second(box.path() / "job", OutputFolder::Existing::keep);
    CHECK(first.add("a") != second.add("a"));
}

TEST_CASE("what a killed run left is removed by the next, what a running one holds is not", "[files][output_folder]") {
    const Sandbox box;
    put(box.path() / ".job.partial-1/cut/rib-1.svg", "half");
    put(box.path() / ".job.partial-7/report.json", "half");
    // Names that only look alike are somebody's own.
    for (const char* name :
         {".job.partial-x/a", ".job.partial-/a", ".jobs.partial-1/a", "job.partial-1/a", ".job.partial-1.bak/a"})
        put(box.path() / name, "mine");
    OutputFolder running(box.path() / "job", OutputFolder::Existing::replace);
    running.write("one", "1");
    OutputFolder second(box.path() / "job", OutputFolder::Existing::replace);
    second.write("two", "2");
    second.commit();
    running.commit();
    CHECK(box.listing() == std::set<std::string>{".job.partial-x", ".job.partial-x/a", ".job.partial-",
                                                 ".job.partial-/a", ".jobs.partial-1", ".jobs.partial-1/a",
                                                 "job.partial-1", "job.partial-1/a", ".job.partial-1.bak",
                                                 ".job.partial-1.bak/a", "job", "job/one"});
}

TEST_CASE("errors name files as they will be called, and the cause", "[files][output_folder]") {
    const Sandbox box;
    OutputFolder folder(box.path() / "job", OutputFolder::Existing::keep);
    fs::create_symlink("/dev/full", folder.add("cut/full.bin"));
    try {
        folder.write("cut/full.bin", std::string(100000, 'x'));
        FAIL("no Error was thrown");
    } catch (const Error& error) {
        CHECK(std::string(error.what()) ==
              (box.path() / "job/cut/full.bin").string() +
                  ": cannot be written: No space left on device; free some room, or choose another disk");
    }
}

TEST_CASE("a single file is replaced whole or not at all", "[files][output_folder]") {
    const Sandbox box;
    const fs::path path = box.path() / "mended.ply";
    write_file(path, "one", OutputFolder::Existing::keep);
    CHECK(code_of([&] { write_file(path, "two", OutputFolder::Existing::keep); }) == ErrorCode::bad_input);
    CHECK(text_of(path) == "one");
    write_file(path, "two", OutputFolder::Existing::replace);
    CHECK(text_of(path) == "two");
    CHECK(code_of([&] { write_file(box.path() / "no/such/x", "x", OutputFolder::Existing::keep); }) == ErrorCode::io);
    CHECK(box.listing() == std::set<std::string>{"mended.ply"});
}
