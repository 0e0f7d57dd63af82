// SPDX-License-Identifier: GPL-3.0-or-later
// Runs a fuzz target without libFuzzer: plain_driver SEED_FOLDER [CHANGES [SECONDS]]. Every seed as it is, then CHANGES
// changed copies of each (2000 unless told) in turn, the same in every run; stops after SECONDS (60 unless told), which
// a slow sanitizer may need. Prints how many it ran. A target that finds a fault aborts.
#include <algorithm>
#include <chrono>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <random>
#include <string>
#include <vector>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

namespace fs = std::filesystem;
using Bytes = std::vector<std::uint8_t>;

std::vector<Bytes> read_seeds(const fs::path& folder) {
    std::vector<fs::path> paths;
    for (const fs::directory_entry& entry : fs::directory_iterator(folder)) paths.push_back(entry.path());
    std::sort(paths.begin(), paths.end());
    std::vector<Bytes> seeds;
    for (const fs::path& path : paths) {
        std::ifstream file(path, std::ios::binary);
        seeds.emplace_back(std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>());
    }
    return seeds;
}

/// Changes a few places: a bit, a byte, a number of four bytes at the rim of its range, a piece left out, copied, or
/// taken from another seed.
class Changer {
public:
    explicit Changer(const std::vector<Bytes>& seeds) : seeds_(seeds) {}

    Bytes change(Bytes bytes) {
        for (std::size_t n = 1 + below(4); n > 0 && !bytes.empty(); --n) change_once(bytes);
        return bytes;
    }

private:
    std::size_t below(std::size_t n) { return static_cast<std::size_t>(random_()) % n; }

    void change_once(Bytes& bytes) {
        const std::size_t at = below(bytes.size());
        const auto place = bytes.begin() + static_cast<std::ptrdiff_t>(at);
        const auto piece = static_cast<std::ptrdiff_t>(1 + below(std::min<std::size_t>(bytes.size() - at, 64)));
        switch (below(6)) {
            case 0:
                *place = static_cast<std::uint8_t>(*place ^ (1u << below(8)));
                break;
            case 1:
                *place = static_cast<std::uint8_t>(below(256));
                break;
            case 2:
                std::fill_n(place, std::min<std::ptrdiff_t>(piece, 4), static_cast<std::uint8_t>(below(2) * 255));
                break;
            case 3:
                bytes.erase(place, place + piece);
                break;
            case 4:
                insert(bytes, at, Bytes(place, place + piece));
                break;
            default:
                insert(bytes, at, piece_of(seeds_[below(seeds_.size())]));
        }
    }
    static void insert(Bytes& bytes, std::size_t at, const Bytes& piece) {
        bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(at), piece.begin(), piece.end());
    }
    Bytes piece_of(const Bytes& seed) {
        if (seed.empty()) return {};
        const std::size_t from = below(seed.size()), size = 1 + below(std::min<std::size_t>(seed.size() - from, 64));
        const auto start = seed.begin() + static_cast<std::ptrdiff_t>(from);
        return {start, start + static_cast<std::ptrdiff_t>(size)};
    }

    const std::vector<Bytes>& seeds_;
    std::mt19937 random_{1};
};

void run(const Bytes& bytes) { LLVMFuzzerTestOneInput(bytes.data(), bytes.size()); }

}  // namespace

int main(int argc, char** argv) {
    if (argc < 2) return 2;
    try {
        const std::vector<Bytes> seeds = read_seeds(argv[1]);
        const int changes = argc > 2 ? std::stoi(argv[2]) : 2000;
        const std::chrono::seconds longest(argc > 3 ? std::stoi(argv[3]) : 60);
        if (seeds.empty()) return 2;
        for (const Bytes& seed : seeds) run(seed);
        Changer changer(seeds);
        const auto start = std::chrono::steady_clock::now();
        int rounds = 0;
        for (; rounds < changes && std::chrono::steady_clock::now() - start < longest; ++rounds)
            for (const Bytes& seed : seeds) run(changer.change(seed));
        std::cout << seeds.size() << " seeds, " << static_cast<std::size_t>(rounds) * seeds.size()
                  << " changed copies\n";
        return 0;
    } catch (const std::exception& error) {
        std::cerr << "escaped: " << error.what() << '\n';
        return 1;
    }
}
