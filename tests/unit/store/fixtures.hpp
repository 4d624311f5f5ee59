// What the tests of the journal share: a folder that goes away, made-up entries, a look at the
// file behind the store's back.
#pragma once

#include "store/store.hpp"

#include <cstdint>
#include <string>
#include <vector>

namespace firstmow::store::test {

class TempDir {
public:
    TempDir();
    ~TempDir();
    TempDir(const TempDir&) = delete;
    TempDir& operator=(const TempDir&) = delete;
    std::string file(const std::string& name) const { return path_ + "/" + name; }
    const std::string& path() const { return path_; }

private:
    std::string path_;
};

// The n-th second of a made-up August.
WallTime at(std::int64_t n);

engine::Cycle cycle(std::int64_t n, const std::string& zone = "front");
engine::Decision decision(std::int64_t n, const std::string& zone = "front");
engine::Moisture moisture(std::int64_t n, const std::string& zone = "front");
engine::PhaseRecord phase_change(std::int64_t n, const std::string& zone = "front");
engine::WeatherUsed weather_used(std::int64_t n);
engine::Correction correction(std::int64_t n, const std::string& zone = "front");
engine::Notice notice(std::int64_t n, const std::string& zone = "");
InputRow input(std::int64_t seq);
OpenCycle open_cycle(std::int64_t id, const std::string& zone = "front");

// The n-th step (from 1): one input, one of several records, every third a snapshot; the mark of
// cycle n + 1 is set and that of cycle n goes.
Step step(std::int64_t n);
// "" when the file holds the steps 1..n whole and nothing else, for the n that its inputs say;
// otherwise what is wrong. `n` comes back.
std::string whole_steps(Store& store, std::int64_t& n);

// The one value of a query on another connection, as text; "error: ..." when it fails.
std::string raw(const std::string& file, const std::string& sql);
void write_file(const std::string& path, const std::string& bytes);
std::string read_file(const std::string& path);

} // namespace firstmow::store::test
