// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/files/output_folder.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <fstream>
#include <system_error>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace fs = std::filesystem;

namespace {

constexpr std::string_view partial_suffix = "partial";

/// The number in ".NAME.SUFFIX-N"; empty when `text` is no such name.
std::string_view leftover_number(std::string_view text, std::string_view suffix) {
    const std::size_t at = text.rfind("." + std::string(suffix) + "-");
    if (!text.starts_with('.') || at == std::string_view::npos || at == 0) return {};
    const std::string_view number = text.substr(at + suffix.size() + 2);
    return number.find_first_not_of("0123456789") == std::string_view::npos ? number : std::string_view{};
}

/// The path under its final name: nobody knows the hidden folder in which it is being written.
fs::path as_named(const fs::path& path) {
    fs::path named;
    for (const fs::path& piece : path) {
        const std::string text = piece.string();
        const std::string_view number = leftover_number(text, partial_suffix);
        const std::size_t tail = partial_suffix.size() + 2 + number.size();
        named /= number.empty() ? text : text.substr(1, text.size() - 1 - tail);
    }
    return named;
}

[[noreturn]] void fail_io(const fs::path& place, std::string_view doing, const std::error_code& reason) {
    const bool is_full =
        reason == std::errc::no_space_on_device || reason == std::error_code(EDQUOT, std::generic_category());
    throw Error(ErrorCode::io, as_named(place).string(), std::string(doing) + ": " + reason.message(),
                is_full ? "free some room, or choose another disk" : "");
}

std::error_code last_error(int number) { return {number == 0 ? EIO : number, std::generic_category()}; }

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

/// Whoever works in a folder holds it locked; the system lets go when the run ends, however it ends.
enum class Hold { held, held_by_another, gone, cannot_tell };
struct HeldFolder {
    Hold hold;
    int handle;  ///< -1 unless held
};
HeldFolder hold_folder(const fs::path& folder) {
    const int handle = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (handle < 0) return {errno == ENOENT ? Hold::gone : Hold::cannot_tell, -1};
    if (::flock(handle, LOCK_EX | LOCK_NB) == 0) {
        // Between open and lock somebody may have taken it for abandoned and deleted it.
        std::error_code ignored;
        if (fs::is_directory(folder, ignored)) return {Hold::held, handle};
        ::close(handle);
        return {Hold::gone, -1};
    }
    const bool is_busy = errno == EWOULDBLOCK;
    ::close(handle);
    return {is_busy ? Hold::held_by_another : Hold::cannot_tell, -1};
}

/// Deletes what killed runs left beside `target`: hidden folders of ours that no running program holds.
void remove_abandoned(const fs::path& target) {
    const std::string start = "." + target.filename().string() + ".";
    std::error_code ignored;
    std::vector<fs::path> found;
    for (fs::directory_iterator at(target.parent_path(), ignored), end; at != end; at.increment(ignored)) {
        const std::string name = at->path().filename().string();
        if (name.starts_with(start) && !leftover_number(name, partial_suffix).empty() &&
            name.size() - leftover_number(name, partial_suffix).size() == start.size() + partial_suffix.size() + 1)
            found.push_back(at->path());
    }
    for (const fs::path& folder : found) {
        const HeldFolder held = hold_folder(folder);
        if (held.hold != Hold::held) continue;
        fs::remove_all(folder, ignored);
        ::close(held.handle);
    }
}

struct WorkingFolder {
    fs::path path;
    int handle;
};
WorkingFolder make_working_folder(const fs::path& target) {
    int handle = -1;
    fs::path path = claim_beside(target, partial_suffix, [&](const fs::path& candidate) {
        std::error_code reason;
        const bool is_new = fs::create_directory(candidate, reason);
        if (reason && reason != std::errc::file_exists) fail_io(target, "cannot be written", reason);
        if (!is_new) return false;
        const HeldFolder held = hold_folder(candidate);
        handle = held.handle;
        return held.hold == Hold::held || held.hold == Hold::cannot_tell;
    });
    return {std::move(path), handle};
}

/// Puts `fresh` in the place of `target`, whose old contents are then at `fresh`, in one step. False: this file system
/// cannot.
bool exchange(const fs::path& fresh, const fs::path& target) {
    return ::renameat2(AT_FDCWD, fresh.c_str(), AT_FDCWD, target.c_str(), RENAME_EXCHANGE) == 0;
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
    if (!file) fail_io(path, "cannot be written", last_error(errno));
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
        remove_abandoned(target_);
        const WorkingFolder working = make_working_folder(target_);
        working_ = working.path;
        handle_ = working.handle;
    } catch (...) {
        remove_empty(made_parents_);
        throw;
    }
}

OutputFolder::~OutputFolder() {
    std::error_code ignored;
    if (!is_committed_) {
        fs::remove_all(working_, ignored);
        remove_empty(made_parents_);
    }
    if (handle_ >= 0) ::close(handle_);
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
        if (exchange(working_, target_)) {
            is_committed_ = true;
            // The new folder is in place; an old one that cannot be deleted is litter, not a failure.
            fs::remove_all(working_, reason);
            return;
        }
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
    if (!aside.empty()) fs::remove_all(aside, reason);
}

void refuse_to_replace(const fs::path& path, OutputFolder::Existing existing) {
    const fs::path target = settled(path);
    std::error_code reason;
    if (fs::exists(target, reason) && (existing == OutputFolder::Existing::keep || fs::is_directory(target, reason)))
        throw Error(ErrorCode::bad_input, path.string(), "exists and is kept", "choose another name, or --overwrite");
}

void write_file(const fs::path& path, std::string_view bytes, OutputFolder::Existing existing) {
    refuse_to_replace(path, existing);
    const fs::path target = settled(path);
    std::error_code reason;
    const fs::path partial =
        claim_beside(target, partial_suffix, [](const fs::path& candidate) { return !fs::exists(candidate); });
    try {
        write_bytes(partial, bytes);
    } catch (const Error&) {
        fs::remove(partial, reason);
        throw;
    }
    fs::rename(partial, target, reason);
    if (!reason) return;
    const std::error_code why = reason;
    fs::remove(partial, reason);
    fail_io(path, "cannot be put in place", why);
}

}  // namespace cradlewright
