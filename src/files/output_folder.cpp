// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/files/output_folder.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <system_error>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace fs = std::filesystem;

namespace {

[[noreturn]] void fail_io(const fs::path& place, std::string_view doing, const std::error_code& reason) {
    throw Error(ErrorCode::io, place.string(), std::string(doing) + ": " + reason.message());
}

/// The target without a trailing slash, links in it followed: a linked folder is replaced where it really lies.
fs::path settled(const fs::path& target) {
    std::error_code reason;
    fs::path path = fs::weakly_canonical(fs::absolute(target, reason), reason);
    if (reason) fail_io(target, "cannot be looked up", reason);
    if (!path.has_filename()) path = path.parent_path();
    return path;
}

bool is_within(const fs::path& inner, const fs::path& outer) {
    return std::mismatch(outer.begin(), outer.end(), inner.begin(), inner.end()).first == outer.end();
}

/// First free name ".NAME.SUFFIX-N" beside `target`. Counting keeps the library free of clocks and random numbers;
/// `take` must claim the name atomically and say whether it got it.
template <class Take>
fs::path claim_beside(const fs::path& target, std::string_view suffix, Take&& take) {
    constexpr int most_leftovers = 10000;
    for (int n = 1; n <= most_leftovers; ++n) {
        fs::path candidate = target.parent_path() /
                             ("." + target.filename().string() + "." + std::string(suffix) + "-" + std::to_string(n));
        if (take(candidate)) return candidate;
    }
    throw Error(ErrorCode::io, target.string(), "too many unfinished folders lie beside it",
                "delete the hidden ones named ." + target.filename().string() + ".*");
}

fs::path make_working_folder(const fs::path& target) {
    return claim_beside(target, "partial", [&](const fs::path& candidate) {
        std::error_code reason;
        const bool is_new = fs::create_directory(candidate, reason);
        if (reason && reason != std::errc::file_exists) fail_io(target, "cannot be written", reason);
        return is_new;
    });
}

/// Folders on the way to `path`, itself included, that do not exist yet; deepest first.
std::vector<fs::path> missing_folders(fs::path path) {
    std::vector<fs::path> missing;
    std::error_code ignored;
    for (; !path.empty() && !fs::exists(path, ignored) && path != path.parent_path(); path = path.parent_path())
        missing.push_back(path);
    return missing;
}

void remove_empty(const std::vector<fs::path>& folders) {
    std::error_code ignored;
    for (const fs::path& folder : folders) fs::remove(folder, ignored);  // fails, as it should, when others filled it
}

void write_bytes(const fs::path& path, std::string_view bytes) {
    errno = 0;
    std::ofstream file(path, std::ios::binary | std::ios::trunc);
    file.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    file.close();
    if (!file) fail_io(path, "cannot be written", {errno == 0 ? EIO : errno, std::generic_category()});
}

void refuse_to_lose(const fs::path& target, std::span<const fs::path> needed) {
    for (const fs::path& path : needed)
        if (is_within(settled(path), target))
            throw Error(ErrorCode::bad_input, target.string(), "will not be replaced, " + path.string() + " lies in it",
                        "choose another folder with --out");
}

}  // namespace

OutputFolder::OutputFolder(const fs::path& target, Existing existing, std::span<const fs::path> needed)
    : target_(settled(target)), existing_(existing) {
    std::error_code reason;
    if (fs::exists(target_, reason)) {
        if (!fs::is_directory(target_, reason))
            throw Error(ErrorCode::bad_input, target.string(), "is a file, not a folder",
                        "choose another name with --out");
        if (existing == Existing::keep)
            throw Error(ErrorCode::bad_input, target.string(), "exists and is kept",
                        "choose another folder with --out, or --overwrite to replace it");
        refuse_to_lose(target_, needed);
    }
    made_parents_ = missing_folders(target_.parent_path());
    try {
        fs::create_directories(target_.parent_path(), reason);
        if (reason) fail_io(target_.parent_path(), "cannot be made", reason);
        working_ = make_working_folder(target_);
    } catch (...) {
        remove_empty(made_parents_);
        throw;
    }
}

OutputFolder::~OutputFolder() {
    if (is_committed_) return;
    std::error_code ignored;
    fs::remove_all(working_, ignored);
    remove_empty(made_parents_);
}

fs::path OutputFolder::add(std::string_view relative) {
    const fs::path name = fs::path(relative).lexically_normal();
    CRADLEWRIGHT_PRECONDITION(name.has_filename() && name.is_relative() && *name.begin() != "..");
    const fs::path path = working_ / name;
    std::error_code reason;
    fs::create_directories(path.parent_path(), reason);
    if (reason) fail_io(path.parent_path(), "cannot be made", reason);
    if (std::ranges::find(files_, relative) == files_.end()) files_.emplace_back(relative);
    return path;
}

void OutputFolder::write(std::string_view relative, std::string_view bytes) { write_bytes(add(relative), bytes); }

void OutputFolder::commit() {
    CRADLEWRIGHT_PRECONDITION(!is_committed_);
    std::error_code reason;
    for (const std::string& file : files_)
        if (!fs::is_regular_file(working_ / file, reason))
            throw Error(ErrorCode::io, (target_ / file).string(), "was not written");

    fs::path aside;
    if (fs::exists(target_, reason)) {
        // Somebody else may have made the folder while we computed: `keep` still holds.
        if (existing_ == Existing::keep) throw Error(ErrorCode::io, target_.string(), "appeared meanwhile and is kept");
        aside = claim_beside(target_, "old", [](const fs::path& candidate) { return !fs::exists(candidate); });
        fs::rename(target_, aside, reason);
        if (reason) fail_io(target_, "cannot be moved aside", reason);
    }
    fs::rename(working_, target_, reason);
    if (reason) {
        const std::error_code why = reason;
        if (!aside.empty()) fs::rename(aside, target_, reason);
        fail_io(target_, "cannot be put in place", why);
    }
    is_committed_ = true;
    // The new folder is in place; an old one that cannot be deleted is litter, not a failure.
    if (!aside.empty()) fs::remove_all(aside, reason);
}

void write_file(const fs::path& path, std::string_view bytes, OutputFolder::Existing existing) {
    const fs::path target = settled(path);
    std::error_code reason;
    if (fs::exists(target, reason) && (existing == OutputFolder::Existing::keep || fs::is_directory(target, reason)))
        throw Error(ErrorCode::bad_input, path.string(), "exists and is kept", "choose another name, or --overwrite");
    const fs::path partial =
        claim_beside(target, "partial", [](const fs::path& candidate) { return !fs::exists(candidate); });
    try {
        write_bytes(partial, bytes);
        fs::rename(partial, target);
    } catch (const fs::filesystem_error& error) {
        fs::remove(partial, reason);
        fail_io(path, "cannot be put in place", error.code());
    } catch (const Error&) {
        fs::remove(partial, reason);
        throw Error(ErrorCode::io, path.string(), "cannot be written", "is the folder there, writable and not full?");
    }
}

}  // namespace cradlewright
