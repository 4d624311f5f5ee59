// The switchboard: the daemon's side of the valve keeper, which alone touches valves. Zones in,
// reports out. Master valve and pump are outputs like a zone's valve.
//
// SAFE-01 Its first act is to have every valve closed.
// SAFE-02 Every opening has a lease, which the keeper counts (SAFE-11); the switchboard counts it
//         too and asks for the valve to be closed if the keeper should not.
// SAFE-03 close_all() closes every valve, also when one of them fails.
// SAFE-20 It sends a sign of life every second from the loop that the daemon's control runs on; a
//         loop that hangs sends none, and the keeper closes (SAFE-12).
// SAFE-21 A keeper that has died or does not answer for three seconds is ended and a new one
//         started, whose first act is to close every valve. Every zone reports a fault. That is
//         safer than to end the daemon: it closes in milliseconds, and without a service manager.
// SAFE-22 When none can be started, the valves are closed by the daemon's own hand, and started
//         it is again each second; after kMostTries, KeeperLost leaves the loop: the daemon ends
//         with an error, and the service manager's stop hook closes once more.
// An order to a device that takes its time is answered when the keeper says what became of it.
// Answers go out through `report`, on the loop, never from inside of open() or close().
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"
#include "engine/inputs.hpp"
#include "garden/garden.hpp"

#include <functional>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

namespace boost::asio {
class io_context;
}

namespace firstmow::valves {

// Thrown out of the loop's run(): there is no valve keeper and none to be had.
class KeeperLost : public std::runtime_error {
public:
    using std::runtime_error::runtime_error;
};

class Switchboard {
public:
    using Report = std::function<void(engine::ValveReport)>;

    static constexpr int kMostTries = 5;
    static constexpr int kMostDeathsPerMinute = 30;
    static constexpr Millis kStartPatience{8000};

    // Starts the keeper, which closes everything. An Error names the output that could not be
    // reached: nothing should be opened then. A device that takes its time is waited for for
    // kStartPatience; one that cannot be reached by then is reported as a fault instead, so that a
    // relay without power keeps no other zone dry. `most_open` valves may be open at once; the
    // keeper has a limit of its own as well (SAFE-15).
    static Result<std::unique_ptr<Switchboard>> start(boost::asio::io_context& io,
                                                      const std::vector<garden::Output>& outputs,
                                                      const std::string& garden_path, Report report,
                                                      std::size_t most_open = 64,
                                                      const std::string& keeper_program = {});
    ~Switchboard(); // closes everything

    // Opens for at most `lease`; when it is open already, the lease begins anew.
    void open(const std::string& name, Seconds lease);
    void close(const std::string& name);
    // Every valve, now. The first thing that went wrong, if any. Waits for devices that take their
    // time, eight seconds at most.
    Status close_all();

    // One sentence for people whenever something is wrong with the keeper itself.
    void on_alarm(std::function<void(std::string)> hear);

private:
    struct Impl;
    explicit Switchboard(std::unique_ptr<Impl> impl);
    std::unique_ptr<Impl> impl_;
};

} // namespace firstmow::valves
