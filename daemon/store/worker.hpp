// The journal on a thread of its own, so that a slow card never holds up the valves.
//
// Steps are written in the order in which they were posted. Telemetry (moisture, weather) waits
// for company, at most `telemetry_delay`; a step with anything else in it (an input, a cycle, a
// decision, a notice, a phase, a mark, a snapshot) is written at once, and what waits goes with
// it in the same transaction. That is what keeps an SD card at about a hundred syncs a day.
//
// What cannot be written is kept and tried again, ever less often; `on_trouble` hears of it. Only
// what can never be written (a number that is not finite, a second input of the same number) is
// dropped, and reported. When too much waits, telemetry is shed first (a replay of the inputs
// makes it again); when even that does not help, post_step refuses.
//
// post_step, query, flush and stop may be called from any thread; the callbacks come from the
// worker's thread and must not call flush or stop.
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

#include <cstddef>
#include <functional>
#include <memory>

namespace firstmow::store {

struct WorkerOptions {
    Millis telemetry_delay = std::chrono::minutes(15);
    Millis first_retry{1000}; // doubles at each failure
    Millis longest_retry = std::chrono::minutes(5);
    // Entries (inputs, records, marks) that may wait. 20 000 are about a month of four zones.
    std::size_t most_waiting = 20'000;
    std::size_t most_queries = 64;
    std::function<void(const Error&)> on_trouble; // a write failed, or something was dropped
    std::function<void()> on_recovered;           // and now writing works again
};

class StoreWorker {
public:
    StoreWorker(Store store, WorkerOptions options);
    ~StoreWorker(); // stop()s
    StoreWorker(const StoreWorker&) = delete;
    StoreWorker& operator=(const StoreWorker&) = delete;

    // Takes the step over. An Error means that it was not taken (too much waits, or stopped):
    // nothing should then be opened that the journal does not know of.
    Status post_step(Step step);

    // Runs `work` after all that was posted before has been written, telemetry included (unless
    // writing is failing just now: then on what is there). False: too many wait, or stopped.
    // `work` may write with the Store's own calls, but must leave no transaction open.
    bool query(std::function<void(Store&)> work);

    // Waits until all that was posted before is on the disk; tries even while waiting to retry.
    // The Error of that try, if it failed: the entries are still kept.
    Status flush();

    // The nightly care of the file, see Store::upkeep.
    void post_upkeep(WallTime now);

    // Writes what waits, empties the log into the file, closes it and ends the thread. An Error
    // says what could not be written. Safe to call twice.
    Status stop();

    std::size_t waiting() const; // entries posted and not yet on the disk
    bool in_trouble() const;     // the last write failed

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

} // namespace firstmow::store
