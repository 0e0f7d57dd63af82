// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace cradlewright {

/// Writes a whole folder or nothing: files go to a hidden folder beside the target, commit() renames it into place.
/// An uncommitted folder removes itself.
class OutputFolder {
public:
    enum class Existing { keep, replace };
    /// Errors: Error(io) when the target exists and is to be kept, or its parent cannot be written.
    OutputFolder(std::filesystem::path target, Existing existing);
    ~OutputFolder();
    OutputFolder(const OutputFolder&) = delete;
    OutputFolder& operator=(const OutputFolder&) = delete;

    /// Where to write a file of this relative name; makes its folders and remembers the name.
    std::filesystem::path add(std::string_view relative);
    /// Writes bytes. Errors: Error(io) (full disk, ...).
    void write(std::string_view relative, std::string_view bytes);
    [[nodiscard]] const std::vector<std::string>& files() const { return files_; }   ///< relative, in order of adding
    void commit();

private:
    std::filesystem::path target_, working_;
    Existing existing_;
    bool is_committed_ = false;
    std::vector<std::string> files_;
};

}  // namespace cradlewright
