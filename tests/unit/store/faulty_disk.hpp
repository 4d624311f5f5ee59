// A disk that fails on request: a layer (an SQLite "VFS") over the system's that counts what is
// written, fails chosen operations, and after a power cut takes back what was never synced.
//
// It has no shared memory, so only an exclusive store opens over it.
#pragma once

#include <cstdint>
#include <string>

namespace firstmow::store::test {

enum class Cut : std::uint8_t {
    killed,   // all that was written stays, as after kill -9
    torn,     // the same, but the failing write got half way
    unsynced, // what was not synced is gone, as after a power cut
};

struct FaultyDisk {
    // Registers itself as kName; one at a time. No operation fails until told.
    FaultyDisk();
    ~FaultyDisk();
    FaultyDisk(const FaultyDisk&) = delete;
    FaultyDisk& operator=(const FaultyDisk&) = delete;
    static constexpr const char* kName = "faulty-disk";

    // Operations that change something: write, truncate, sync, delete. The first is 1.
    std::int64_t operations = 0;
    std::int64_t fail_from = 0; // 0: never
    std::int64_t fail_count = 1;
    int fail_code = 0; // an SQLite code; 0: an I/O error
    bool torn = false;
    // A write that is cut short spoils nothing beside it. SQLite takes that for granted on a real
    // disk; without it, it pads every commit to a sector.
    bool powersafe = false;

    std::int64_t bytes_written = 0;
    std::int64_t syncs = 0;

    bool fails_now(); // counts one operation
    // Files become what they were at their last sync.
    void take_back_unsynced();
};

} // namespace firstmow::store::test
