#include "loop.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>

namespace firstmow::valves {

struct Bench::Loop {
    boost::asio::io_context io{1};
    boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work{
        io.get_executor()};
};

Bench::Bench() : loop_(std::make_unique<Loop>()) {
    std::string name = (std::filesystem::temp_directory_path() / "firstmow-valves-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) std::abort();
    folder = name;
}

Bench::~Bench() {
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
}

std::vector<std::string> Bench::changes(const std::string& file) const {
    std::ifstream in(folder + "/" + file);
    std::vector<std::string> found;
    for (std::string line; std::getline(in, line);)
        found.push_back(line.substr(line.find(' ') + 1));
    return found;
}

Result<std::unique_ptr<Switchboard>> Bench::board(const std::vector<std::string>& files) {
    std::vector<garden::Valve> valves;
    for (std::size_t i = 0; i < files.size(); ++i)
        valves.push_back(valve(static_cast<int>(i) + 1, files[i]));
    return board_of(valves);
}

Result<std::unique_ptr<Switchboard>> Bench::board_of(const std::vector<garden::Valve>& valves) {
    std::vector<garden::Output> outputs;
    for (const garden::Valve& valve : valves)
        outputs.push_back({std::string(1, static_cast<char>('a' + outputs.size())), valve});
    return Switchboard::start(
        loop_->io, outputs, garden(),
        [this](engine::ValveReport report) { reports.push_back(std::move(report)); }, 64,
        keeper_program);
}

bool Bench::hear(std::size_t count) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(10);
    while (reports.size() < count && std::chrono::steady_clock::now() < until)
        loop_->io.run_one_for(std::chrono::milliseconds(100));
    return reports.size() >= count;
}

void Bench::poll() {
    loop_->io.poll();
}

garden::Valve valve(int channel, const std::string& file) {
    garden::Valve made;
    made.driver = "simulated";
    made.channel = channel;
    if (!file.empty()) made.file = file;
    return made;
}

} // namespace firstmow::valves
