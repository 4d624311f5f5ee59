// What the keeper is told.
#include "valves/board.hpp"
#include "valves/driver.hpp"
#include "valves/keeper_words.hpp"

#include <algorithm>
#include <limits>

namespace firstmow::valves {

namespace {

// How much later than the keeper the switchboard ends a lease.
constexpr Seconds kLeaseGrace{1};
// What a device that takes its time may take, with an order before it.
constexpr Millis kClosePatience{8000};
constexpr Millis kLeavePatience{11'000};

std::uint32_t lease_ms(Seconds lease) {
    const auto ms = std::chrono::duration_cast<Millis>(lease).count();
    return static_cast<std::uint32_t>(
        std::clamp<decltype(ms)>(ms, 0, std::numeric_limits<std::uint32_t>::max()));
}

} // namespace

std::optional<keeper::Reply> Board::ask(keeper::Order order) {
    if (!keeper) return std::nullopt;
    const std::optional<keeper::Reply> reply = keeper->ask(order);
    if (!reply) {
        lost("does not answer or has died");
        return std::nullopt;
    }
    // What was said before this answer is taken in before it.
    if (!hear()) return std::nullopt;
    moving = reply->moving;
    return reply;
}

void Board::open(const std::string& zone, Line& line, Seconds lease) {
    if (!keeper) {
        answer(zone, line.open, Error{"there is no valve keeper"});
        return;
    }
    keeper::Order order;
    order.ask = keeper::Ask::open;
    order.channel = line.channel;
    order.lease_ms = lease_ms(lease);
    const auto reply = ask(order);
    if (!reply) return;
    if (reply->answer == keeper::Answer::refused) {
        answer(zone, line.open, Error{"the valve keeper refuses: " + words_of_why(reply->why)});
        return;
    }
    if (reply->answer == keeper::Answer::failed) {
        line.lease->cancel();
        line.open = (reply->open & bit(line)) != 0;
        answer(zone, line.open, Error{fault_words(line, reply->error)});
        return;
    }
    start_lease(zone, line, lease);
    if (reply->answer == keeper::Answer::under_way) return;
    if (!std::exchange(line.open, true)) answer(zone, true, Done{});
}

void Board::start_lease(const std::string& zone, Line& line, Seconds lease) {
    line.lease->expires_after(lease + kLeaseGrace);
    line.lease->async_wait(
        [this, still = std::weak_ptr<bool>(alive), zone](const boost::system::error_code& fault) {
            if (fault || still.expired()) return;
            if (Line& late = lines.at(zone); late.open) shut(zone, late);
        });
}

void Board::shut(const std::string& zone, Line& line) {
    line.lease->cancel();
    if (!keeper) {
        const Status closed = close_without_daemon(line.valve, garden_path);
        if (closed) line.open = false;
        answer(zone, line.open, closed);
        return;
    }
    keeper::Order order;
    order.ask = keeper::Ask::close;
    order.channel = line.channel;
    const auto reply = ask(order);
    if (!reply || reply->answer == keeper::Answer::under_way) return;
    line.open = reply->answer != keeper::Answer::done;
    answer(zone, line.open,
           reply->answer == keeper::Answer::done
               ? Status(Done{})
               : Error{reply->answer == keeper::Answer::failed
                           ? fault_words(line, reply->error)
                           : "the valve keeper refuses: " + words_of_why(reply->why)});
}

Status Board::close_all() {
    for (auto& [zone, line] : lines)
        line.lease->cancel();
    keeper::Order order;
    order.ask = keeper::Ask::close_all;
    const std::optional<keeper::Reply> reply = ask(order);
    if (reply) {
        for (auto& [zone, line] : lines)
            if ((reply->moving & bit(line)) == 0) line.open = (reply->open & bit(line)) != 0;
        wait_for_the_slow(kClosePatience);
        if (const Status closed = all_closed(*reply); !closed) return closed;
    }
    if (keeper) { // perhaps a new one, whose first act this is
        for (const auto& [zone, line] : lines)
            if (line.open) return Error{line.called + ": the valve does not close"};
        return Done{};
    }
    for (auto& [zone, closed] : close_by_hand())
        if (!closed) return Error{lines.at(zone).called + ": " + closed.error().message};
    return Done{};
}

void Board::leave() {
    pulse.cancel();
    bool closed = false;
    if (keeper) {
        keeper::Order order;
        order.ask = keeper::Ask::leave;
        const auto reply = keeper->ask(order);
        closed = reply && reply->answer == keeper::Answer::done;
        const bool slow = reply && reply->answer == keeper::Answer::under_way;
        if (closed) keeper->wait_for_end(Millis{1000});
        if (slow) closed = keeper->wait_for_end(kLeavePatience);
    }
    release_ears();
    keeper.reset();
    if (!closed) (void)close_by_hand();
}

} // namespace firstmow::valves
