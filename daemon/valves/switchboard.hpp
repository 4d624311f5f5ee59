// The switchboard: the one place in the daemon that touches valves.
//
// SAFE-01 Its first act is to close every valve.
// SAFE-02 Every opening has a lease on the monotonic clock; at its end the valve is closed here,
// whether or not
//         the engine still speaks.
// SAFE-03 close_all() closes every valve, also when one of them fails.
// Answers go out through `report`, on the loop, never from inside of open() or close().
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"
#include "engine/inputs.hpp"
#include "garden/garden.hpp"

#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace boost::asio {
class io_context;
}

namespace firstmow::valves {

class Switchboard {
public:
    using Report = std::function<void(engine::ValveReport)>;

    // Makes the drivers and closes everything. An Error names the zone whose valve could not be
    // reached: nothing should be opened then.
    static Result<std::unique_ptr<Switchboard>> start(boost::asio::io_context& io,
                                                      const std::vector<garden::Zone>& zones,
                                                      const std::string& garden_path,
                                                      Report report);
    ~Switchboard(); // closes everything

    // Opens for at most `lease`; when it is open already, the lease begins anew.
    void open(const std::string& zone, Seconds lease);
    void close(const std::string& zone);
    // Every valve, now. The first thing that went wrong, if any.
    Status close_all();

private:
    struct Impl;
    explicit Switchboard(std::unique_ptr<Impl> impl);
    std::unique_ptr<Impl> impl_;
};

} // namespace firstmow::valves
