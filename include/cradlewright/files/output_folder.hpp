// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace cradlewright {

/// Writes a whole folder or nothing: files go to a hidden folder beside the target, commit() renames it into place.
/// An uncommitted folder removes itself, and the parents it had to make; what a killed run left is removed by the next.
/// Guarantees: until commit() has succeeded the old folder is untouched; if commit() fails the old folder is put back.
/// Killed at any moment: under the target's name lies the old folder or the new one, whole. (A file system that cannot
/// exchange two folders in one step has a moment in which the old one lies beside, as .NAME.old-N.)
/// Errors name files as they will be called, not as they lie in the hidden folder.
/// Not promised: that the bytes survive a power cut right after commit() (nothing is fsynced).
class OutputFolder {
public:
    enum class Existing { keep, replace };
    /// In: `target` need not exist; its parents are made. `needed` files or folders that replacing must not delete: the
    /// scan, the job file, the folder the user stands in. Errors: Error(bad_input) when the target exists and is to be
    /// kept, is not a folder, or holds one of `needed`; Error(io) when its parent cannot be written.
    OutputFolder(const std::filesystem::path& target, Existing existing,
                 std::span<const std::filesystem::path> needed = {});
    ~OutputFolder();
    OutputFolder(const OutputFolder&) = delete;
    OutputFolder& operator=(const OutputFolder&) = delete;

    /// Where to write a file of this relative name; makes its folders and remembers the name, once if added again.
    /// Precondition: `relative` stays inside the folder. Errors: Error(io).
    std::filesystem::path add(std::string_view relative);
    /// Writes bytes. Errors: Error(io) (full disk, ...).
    void write(std::string_view relative, std::string_view bytes);
    /// Relative names, in order of adding.
    [[nodiscard]] const std::vector<std::string>& files() const { return files_; }
    /// Precondition: not yet committed. Errors: Error(io) when a file that was added is missing or the swap fails.
    void commit();

private:
    std::filesystem::path target_, working_;
    Existing existing_;
    std::vector<std::filesystem::path> made_parents_;  ///< deepest first
    bool is_committed_ = false;
    int handle_ = -1;  ///< holds the working folder locked, so that other runs can tell it from an abandoned one
    std::vector<std::string> files_;
};

/// What write_file would refuse, before the work. Errors: Error(bad_input) when `path` exists and is to be kept, or is
/// a folder.
void refuse_to_replace(const std::filesystem::path& path, OutputFolder::Existing existing);

/// Writes one file beside its place, then renames it there: the old file stays whole if anything fails.
/// Errors: Error(io); Error(bad_input) when `path` exists and is to be kept.
void write_file(const std::filesystem::path& path, std::string_view bytes, OutputFolder::Existing existing);

}  // namespace cradlewright
