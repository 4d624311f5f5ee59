#include "valves/driver.hpp"

#include "host/files.hpp"
#include "keeper/bank.hpp"
#include "valves/holders.hpp"

#include <cerrno>
#include <cstring>
#include <memory>

namespace firstmow::valves {

namespace {

std::string gpio_words(const garden::Valve& valve, int error) {
    const std::string where = "line " + std::to_string(valve.line) + " of GPIO chip " + valve.chip;
    switch (error) {
    case ENXIO:
        return where + ": no chip of this label, name or path is here";
    case ENOTUNIQ:
        return where + ": two chips have this label; the path of one would be right";
    case ERANGE:
        return where + ": a line of this chip is beyond its last one";
    case EBUSY:
        return where + ": the chip's lines are held by " + holders_of_gpio_lines();
    case EACCES:
    case EPERM:
        return where + ": " + std::strerror(error) + "; a user in group gpio would be right";
    case ENODEV:
        return where + ": the chip has gone away";
    case EREMOTEIO:
        return where + " does not read back as it was set";
    default:
        return where + ": " + std::strerror(error);
    }
}

} // namespace

Result<keeper::Setup> setup_of(const garden::Valve& valve, const std::string& garden_path) {
    keeper::Setup setup;
    setup.order.ask = keeper::Ask::channel;
    setup.number = valve.channel;
    std::string place;
    if (valve.driver == "simulated") {
        setup.driver = keeper::Driver::simulated;
        if (valve.file) place = host::beside(garden_path, *valve.file);
    } else if (valve.driver == "gpio") {
        setup.driver = keeper::Driver::gpio;
        setup.line = static_cast<std::uint32_t>(valve.line);
        setup.active_low = valve.active_low ? 1 : 0;
        setup.bias = static_cast<keeper::Bias>(valve.bias);
        place = valve.chip;
    } else {
        return Error{"there is no valve driver '" + valve.driver +
                     "'; \"gpio\" or \"simulated\" would be right"};
    }
    if (place.size() >= keeper::kLongestPlace)
        return Error{place + ": the name is too long; up to " +
                     std::to_string(keeper::kLongestPlace - 1) + " bytes would be right"};
    std::memcpy(setup.place, place.data(), place.size());
    return setup;
}

std::string words_of(const garden::Valve& valve, const std::string& garden_path, int error) {
    if (valve.driver == "gpio") return gpio_words(valve, error);
    return (valve.file ? host::beside(garden_path, *valve.file) + ": " : "") + std::strerror(error);
}

std::vector<Status> close_without_daemon(const std::vector<garden::Valve>& valves,
                                         const std::string& garden_path) {
    const auto bank = std::make_unique<keeper::Bank>(keeper::real_kernel());
    std::vector<Status> answers(valves.size(), Status(Done{}));
    std::vector<std::size_t> taken; // the valve of each channel
    for (std::size_t i = 0; i < valves.size(); ++i) {
        const Result<keeper::Setup> setup = setup_of(valves[i], garden_path);
        if (!setup)
            answers[i] = setup.error();
        else if (bank->add(*setup))
            taken.push_back(i);
        else
            answers[i] = Error{"there are too many valves"};
    }
    bank->take();
    for (std::size_t channel = 0; channel < taken.size(); ++channel)
        if (const int error = bank->set(channel, false); error != 0)
            answers[taken[channel]] = Error{words_of(valves[taken[channel]], garden_path, error)};
    return answers;
}

Status close_without_daemon(const garden::Valve& valve, const std::string& garden_path) {
    return close_without_daemon(std::vector{valve}, garden_path).front();
}

} // namespace firstmow::valves
