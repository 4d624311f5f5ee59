#include "valves/switchboard.hpp"

#include "valves/board.hpp"
#include "valves/driver.hpp"

namespace firstmow::valves {

namespace {

// For people.
std::string called(const std::string& output) {
    if (output == garden::kMasterValve) return "the master valve";
    if (output == garden::kPump) return "the pump's relay";
    return "zone " + output;
}

} // namespace

struct Switchboard::Impl : Board {
    using Board::Board;
};

Switchboard::Switchboard(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}

Switchboard::~Switchboard() {
    impl_->alive.reset();
    impl_->leave();
}

Result<std::unique_ptr<Switchboard>> Switchboard::start(boost::asio::io_context& io,
                                                        const std::vector<garden::Output>& outputs,
                                                        const std::string& garden_path,
                                                        Report report, std::size_t most_open,
                                                        const std::string& keeper_program) {
    auto impl = std::make_unique<Impl>(io, garden_path, std::move(report), most_open);
    impl->program = keeper_program;
    for (const garden::Output& output : outputs) {
        if (const auto setup = setup_of(output.valve, garden_path); !setup)
            return Error{called(output.name) + ": " + setup.error().message};
        impl->lines[output.name] = Line{called(output.name), output.valve, 0,
                                        std::make_unique<boost::asio::steady_timer>(io), true};
    }
    for (auto& [zone, line] : impl->lines) {
        line.channel = static_cast<std::uint8_t>(impl->zone_of.size());
        keeper::Setup setup = *setup_of(line.valve, garden_path);
        setup.order.channel = line.channel;
        impl->setups.push_back(setup);
        impl->zone_of.push_back(zone);
    }
    std::unique_ptr<Switchboard> board(new Switchboard(std::move(impl)));
    if (const Status closed = board->impl_->begin(); !closed) return closed.error();
    board->impl_->wait_for_the_slow(kStartPatience);
    board->impl_->beat_on();
    return board;
}

void Switchboard::open(const std::string& name, Seconds lease) {
    const auto found = impl_->lines.find(name);
    if (found != impl_->lines.end()) impl_->open(name, found->second, lease);
}

void Switchboard::close(const std::string& name) {
    const auto found = impl_->lines.find(name);
    if (found != impl_->lines.end()) impl_->shut(name, found->second);
}

Status Switchboard::close_all() {
    return impl_->close_all();
}

void Switchboard::on_alarm(std::function<void(std::string)> hear) {
    impl_->alarm = std::move(hear);
}

} // namespace firstmow::valves
