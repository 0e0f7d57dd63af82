// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

/// Other people's programs that read what we write.
namespace cradlewright::test {

/// A folder of its own for one test, removed at the end.
class ScratchFolder {
public:
    explicit ScratchFolder(const std::string& name)
        : path_(std::filesystem::temp_directory_path() / ("cradlewright-" + name + "-" + std::to_string(::getpid()))) {
        std::filesystem::remove_all(path_);
        std::filesystem::create_directories(path_);
    }
    ~ScratchFolder() { std::filesystem::remove_all(path_); }
    ScratchFolder(const ScratchFolder&) = delete;
    ScratchFolder& operator=(const ScratchFolder&) = delete;
    [[nodiscard]] std::string operator/(const std::string& name) const { return (path_ / name).string(); }

private:
    std::filesystem::path path_;
};

/// Standard output of a command. Errors: runtime_error when it fails or is not installed.
inline std::string output_of(const std::string& command) {
    std::FILE* pipe = ::popen(command.c_str(), "r");
    if (pipe == nullptr) throw std::runtime_error("cannot start: " + command);
    std::string text;
    std::array<char, 4096> buffer{};
    for (std::size_t n = 0; (n = std::fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) text.append(buffer.data(), n);
    const int status = ::pclose(pipe);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) throw std::runtime_error("failed: " + command + "\n" + text);
    return text;
}

inline std::string bytes_of(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

/// A gray picture, row 0 at the top.
struct Picture {
    int width = 0, height = 0;
    double dots_per_mm = 0;
    std::string pixels;

    [[nodiscard]] bool is_dark(int x, int y, int limit = 128) const {
        return static_cast<unsigned char>(pixels[static_cast<std::size_t>(y * width + x)]) < limit;
    }
    /// Runs of dark pixels along a row as {start, length}, px.
    [[nodiscard]] std::vector<std::pair<int, int>> runs_in_row(int y, int limit = 128) const {
        return runs(width, [&](int i) { return is_dark(i, y, limit); });
    }
    [[nodiscard]] std::vector<std::pair<int, int>> runs_in_column(int x, int limit = 128) const {
        return runs(height, [&](int i) { return is_dark(x, i, limit); });
    }

private:
    template <class Dark>
    static std::vector<std::pair<int, int>> runs(int count, const Dark& dark) {
        std::vector<std::pair<int, int>> result;
        for (int i = 0; i < count; ++i) {
            if (!dark(i)) continue;
            const int start = i;
            while (i < count && dark(i)) ++i;
            result.emplace_back(start, i - start);
        }
        return result;
    }
};

/// One page of a PDF as poppler draws it.
inline Picture page_picture(const std::string& pdf, int page, int dpi) {
    const std::string number = std::to_string(page);
    std::istringstream text(
        output_of("pdftoppm -gray -r " + std::to_string(dpi) + " -f " + number + " -l " + number + " '" + pdf + "'"));
    std::string magic;
    int largest = 0;
    Picture picture;
    text >> magic >> picture.width >> picture.height >> largest;
    text.get();
    picture.pixels.assign(std::istreambuf_iterator<char>(text), std::istreambuf_iterator<char>());
    picture.dots_per_mm = dpi / 25.4;
    if (magic != "P5" || picture.pixels.size() != static_cast<std::size_t>(picture.width * picture.height)) {
        throw std::runtime_error("pdftoppm wrote no picture");
    }
    return picture;
}

}  // namespace cradlewright::test
