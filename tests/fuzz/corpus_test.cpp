// Every text of the corpus, and texts made of it by chance, the same each time: what once harmed a
// reader stays in the corpus. tools/test --fuzz looks for more.
#include "targets.hpp"

#include "base/random.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <vector>

namespace firstmow::fuzz {

namespace {

std::vector<std::string> corpus_of(const std::string& name) {
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator(std::string(FIRSTMOW_SOURCE_DIR) +
                                                                 "/tests/fuzz/corpus/" + name))
        files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    std::vector<std::string> texts;
    for (const auto& file : files) {
        std::ostringstream text;
        text << std::ifstream(file, std::ios::binary).rdbuf();
        texts.push_back(text.str());
    }
    return texts;
}

std::string spoilt(std::string text, Random& random) {
    const auto place = [&] {
        return static_cast<std::size_t>(random.uniform(0, static_cast<double>(text.size())));
    };
    const int changes = 1 + static_cast<int>(random.uniform(0, 6));
    for (int i = 0; i < changes && !text.empty(); ++i) {
        switch (static_cast<int>(random.uniform(0, 5))) {
        case 0:
            text[place()] = static_cast<char>(random.bits() & 0xFF);
            break;
        case 1:
            text.resize(place());
            break;
        case 2:
            text.erase(place(), 1 + static_cast<std::size_t>(random.uniform(0, 9)));
            break;
        case 3: {
            const std::string piece = text.substr(place(), 40);
            text.insert(place(), piece);
            break;
        }
        default:
            text.insert(place(), "1e308");
            break;
        }
    }
    return text;
}

} // namespace

TEST_CASE("no text harms a reader") {
    constexpr int kSpoilt = 300;
    for (const Target& target : targets()) {
        CAPTURE(std::string(target.name));
        const auto corpus = corpus_of(target.name);
        REQUIRE_FALSE(corpus.empty());
        Random random(20260822);
        target.read("");
        for (const std::string& text : corpus) {
            target.read(text);
            for (int i = 0; i < kSpoilt; ++i)
                target.read(spoilt(text, random));
        }
        target.read(std::string(300'000, '['));
        target.read(std::string(300'000, '{'));
        target.read(std::string(100'000, '\0'));
    }
    CHECK(targets().size() >= 10);
}

} // namespace firstmow::fuzz
