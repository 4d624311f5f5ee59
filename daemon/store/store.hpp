// The journal on disk: everything the engine was told, everything it decided, and the snapshots
// that bound a replay. One SQLite file, one connection, used by one thread at a time.
//
// Promises
// - A write that returned without an Error is on the disk (WAL, synchronous FULL); one that
//   returned an Error has left nothing behind and may be tried again with the same content.
// - Writing an entry a second time changes nothing, so a replay or a retry does no harm. Telemetry
//   (moisture, weather) is keyed by its time: there the last word holds.
// - The file is held exclusively: no other process can open it meanwhile. (Debian's SQLite can
//   lose data when two connections checkpoint at once.)
// - A file that is refused (newer, foreign, damaged, in use, read-only) is not changed.
//
// Times are UTC seconds, depths mm, volumes litres, run times seconds.
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"
#include "engine/inputs.hpp"
#include "engine/records.hpp"
#include "store/database.hpp"

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace firstmow::store {

// Something the engine was told, as it is kept. `seq` is 1, 2, ... without gaps over the life of
// the file.
struct InputRow {
    std::int64_t seq = 0;
    engine::Moment at;
    std::string kind;
    std::string body; // JSON
    bool operator==(const InputRow& other) const {
        return seq == other.seq && at.wall == other.at.wall && at.mono == other.at.mono &&
               kind == other.kind && body == other.body;
    }
};

// The engine's state after the input `seq` (0: before any).
struct Snapshot {
    std::int64_t seq = 0;
    WallTime wall;
    std::string body;
    bool operator==(const Snapshot&) const = default;
};

// A valve that is open now. After a power cut these rows say what was running.
struct OpenCycle {
    std::string zone;
    std::int64_t id = 0;
    WallTime start;
    int planned_s = 0;
    std::string reason;
    bool operator==(const OpenCycle&) const = default;
};

// What one step of the engine leaves behind; written whole or not at all. A Cycle among the
// records takes the mark of its opening away by itself.
struct Step {
    std::vector<InputRow> inputs;
    std::vector<engine::Record> records;
    std::vector<OpenCycle> opened;
    std::vector<std::string> closed; // zones whose mark goes without a Cycle (never really opened)
    std::optional<Snapshot> snapshot;
};

// Where the journal ends.
struct Tail {
    std::int64_t last_seq = 0;         // of the inputs; 0: none
    std::int64_t last_cycle_id = 0;    // ended or open; 0: none
    std::optional<WallTime> last_wall; // the latest wall time of any entry
};

// Which entries; the answer is in the order of time. `from` <= time < `to`.
struct Filter {
    enum class Keep : std::uint8_t { newest, oldest };

    std::string zone; // empty: every zone
    std::optional<WallTime> from;
    std::optional<WallTime> to;
    int limit = 10'000;       // at most so many entries,
    Keep keep = Keep::newest; // the newest or the oldest of those that match
};

struct OpenOptions {
    int busy_ms = 2000;      // how long to wait for another process to let go of the file
    bool durable = true;     // false: no syncs, for files that can be made again (simulations)
    bool read_only = false;  // for tools: nothing is changed, no migration
    bool quick_check = true; // look through the file before using it
    int page_bytes = 1024;   // of a new file; 4096 would write twice as much a day
    std::string vfs;         // SQLite's door to the disk; a seam for tests. Empty: the system's
};

// A span of time in a few numbers.
struct SpanTotals {
    int hours = 0; // of weather; 0: the next four mean nothing
    double high_c = 0;
    double low_c = 0;
    double et_short_mm = 0; // hours of dew count as none
    double rain_mm = 0;
    int runs = 0;
    double volume_l = 0;
    // Lines of moisture below their threshold, of each zone that has any.
    struct Dry {
        std::string zone;
        int lines = 0;
    };
    std::vector<Dry> dry;
};

class Store {
public:
    // Opens or creates (not the folder). `fault`, when given, says why it was refused: after
    // Fault::damaged the caller may set_aside() the file and start a new one.
    static Result<Store> open(const std::string& path, const OpenOptions& options = {},
                              Fault* fault = nullptr);
    ~Store();
    Store(Store&&) noexcept;
    Store& operator=(Store&&) noexcept;

    const std::string& path() const;
    // Why the last failed call failed. Fault::refused: the same content will fail again.
    Fault fault() const;

    // --- Writing. Each call is a transaction, unless begin() has opened a larger one.
    Status append(std::span<const engine::Record> records);
    Status append_input(std::int64_t seq, const engine::Moment& at, std::string_view kind,
                        std::string_view json);
    Status put_snapshot(std::int64_t seq, WallTime wall, std::string_view body);
    Status mark_open(const OpenCycle& cycle);
    Status clear_open(std::string_view zone);
    Status put_meta(std::string_view key, std::string_view value);
    // All of them in one transaction, in order.
    Status write(std::span<const Step> steps);
    Status write(const Step& step) { return write(std::span<const Step>(&step, 1)); }

    // After a failed write within begin()..commit() every further one fails, and so does commit():
    // nothing of the transaction is kept.
    Status begin();
    Status commit();
    void rollback();

    // --- Reading.
    Result<std::optional<std::string>> meta(std::string_view key);
    Result<std::optional<Snapshot>> latest_snapshot();
    // In order, at most `limit`; call again with the last seq until none comes.
    Result<std::vector<InputRow>> inputs_after(std::int64_t seq, int limit = 500);
    Result<std::vector<OpenCycle>> open_cycles();
    Result<Tail> tail();
    Result<std::vector<engine::Cycle>> cycles(const Filter& filter = {}); // by start
    Result<std::vector<engine::Decision>> decisions(const Filter& filter = {});
    Result<std::vector<engine::Moisture>> moisture(const Filter& filter = {});
    Result<std::vector<engine::PhaseRecord>> phases(const Filter& filter = {});
    Result<std::vector<engine::WeatherUsed>> weather(const Filter& filter = {}); // zone: not used
    // The forecast as it was at a moment: its hours from then on, in order.
    Result<std::vector<engine::ForecastSaid>> forecast_at(WallTime at);
    Result<std::vector<engine::Correction>> corrections(const Filter& filter = {});
    Result<std::vector<engine::Notice>> notices(const Filter& filter = {}); // "": all and garden

    // Sums over from < time <= to of moisture, from <= start < to of cycles and weather.
    Result<SpanTotals> totals(WallTime from, WallTime to);
    // Of one zone, only the lines after its first water in that span.
    Result<int> dry_lines_after_water(std::string_view zone, WallTime from, WallTime to);

    // --- Care.
    // Brings the write-ahead log into the file and empties it.
    Status checkpoint();
    // Once a night: what keeps the file small and quick. Drops forecasts of hours long past and all
    // but the newest snapshots; everything else is kept (see the .cpp for how much that is).
    Status upkeep(WallTime now);

private:
    struct Impl;
    explicit Store(std::unique_ptr<Impl> impl);
    template <class Work>
    Status atomically(Work work);

    std::unique_ptr<Impl> impl_;
};

// Whether a record can be written at all: every number in it is finite.
Status writable(const engine::Record& record);

// Renames a damaged file and its log to "<path>.damaged-<time>", so that a new one can be begun.
// The new name.
Result<std::string> set_aside(const std::string& path, WallTime now);

} // namespace firstmow::store
