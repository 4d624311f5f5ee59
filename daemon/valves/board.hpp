// Inside of the room: what the switchboard knows of its outputs and of the keeper, and what it
// does. The parts: board.cpp what is told to the engine and to people; board_keeper.cpp that there
// is a keeper (SAFE-20 to 22); board_hears.cpp what the keeper says; board_orders.cpp what it is
// told.
#pragma once

#include "host/clocks.hpp"
#include "valves/keeper_process.hpp"
#include "valves/switchboard.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/steady_timer.hpp>

#include <cstdint>
#include <deque>
#include <map>
#include <optional>

namespace firstmow::valves {

constexpr Seconds kBeatEvery{1};

// One output: a zone's valve, the master valve or the pump's relay.
struct Line {
    std::string called; // for people
    garden::Valve valve;
    std::uint8_t channel = 0;
    std::unique_ptr<boost::asio::steady_timer> lease;
    bool open = false; // or not known to be closed
};
inline std::uint64_t bit(const Line& line) {
    return std::uint64_t{1} << line.channel;
}

struct Board {
    Board(boost::asio::io_context& loop, std::string garden, Switchboard::Report to,
          std::size_t most);

    // --- what is told (board.cpp)
    Line& line_of(std::size_t channel) { return lines.at(zone_of.at(channel)); }
    std::string fault_words(const Line& line, int error) const;
    void answer(const std::string& zone, bool open, const Status& done, std::int64_t at_ms = 0);
    void raise(const std::string& text);

    // --- that there is a keeper (board_keeper.cpp)
    // Starts one, which closes every valve. There is none after an Error, also when it was that one
    // valve did not close.
    Status begin();
    Status all_closed(const keeper::Reply& reply);
    void lost(const std::string& how);
    std::map<std::string, Status> close_by_hand();
    void beat_on();
    void beat();
    // The descriptor belongs to the keeper's process object, which closes it.
    void release_ears();

    // --- what it says (board_hears.cpp)
    void listen();
    void wait_for_words();
    // Takes in what the keeper has said. False: it was gone.
    bool hear();
    void take_in(const keeper::Reply& reply);
    // What the keeper knows goes before what is believed here.
    void reconcile(const keeper::Reply& reply);
    // Until nothing is under way any more, or `limit` is over. Beats go on meanwhile.
    void wait_for_the_slow(Millis limit);

    // --- what it is told (board_orders.cpp)
    // An order of one channel, and its answer; none when the keeper was lost over it: then every
    // zone has been reported.
    std::optional<keeper::Reply> ask(keeper::Order order);
    void open(const std::string& zone, Line& line, Seconds lease);
    void start_lease(const std::string& zone, Line& line, Seconds lease);
    void shut(const std::string& zone, Line& line);
    Status close_all();
    // The end: the keeper closes everything and leaves.
    void leave();

    boost::asio::io_context& io;
    std::string garden_path;
    Switchboard::Report report;
    std::function<void(std::string)> alarm;
    std::size_t most_open;
    std::string program; // the keeper's; empty: the one beside ours
    std::map<std::string, Line> lines;
    std::vector<std::string> zone_of; // by channel
    std::vector<keeper::Setup> setups;
    std::unique_ptr<KeeperProcess> keeper;
    std::optional<SocketPair> spare;
    std::unique_ptr<boost::asio::posix::stream_descriptor> ears;
    boost::asio::steady_timer pulse;
    int unanswered = 0;
    int tries = 0;
    std::deque<MonoTime> deaths;
    std::uint64_t moving = 0; // by channel: an order is under way, as the keeper last said
    // What is still on its way must not outlive the switchboard.
    std::shared_ptr<bool> alive = std::make_shared<bool>(true);
};

} // namespace firstmow::valves
