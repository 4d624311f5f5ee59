// The sensors of a garden: lines, files, and what is pushed, as readings for the engine.
//
// Lives on the loop. A reading goes out when the value has changed (a flow meter's at most every
// five seconds), else every ten seconds while water runs or a meter turns, and every ten minutes to
// say that the sensor is alive. Whether a reading can be is the engine's to judge. Counts begin at
// zero with each start: the engine takes a smaller count for a new beginning.
#pragma once

#include "engine/inputs.hpp"
#include "garden/garden.hpp"
#include "sensors/line.hpp"

#include <functional>
#include <memory>
#include <string>

namespace boost::asio {
class io_context;
}

namespace firstmow::sensors {

class Sensors {
public:
    using Push = std::function<void(engine::Input)>;
    using OpenLine = std::function<Result<std::unique_ptr<Line>>(const garden::Sensor&)>;

    // `push` is called on the loop, never from inside of the constructor.
    Sensors(boost::asio::io_context& io, const garden::Garden& garden,
            const std::string& garden_path, Push push, OpenLine open = open_line);
    ~Sensors();
    Sensors(const Sensors&) = delete;
    Sensors& operator=(const Sensors&) = delete;

    // Whether water runs: then meters speak more often.
    void water_runs(bool runs);

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

// The first number of a text, such as a file of the kernel or of another program holds.
std::optional<double> first_number(std::string_view text);

} // namespace firstmow::sensors
