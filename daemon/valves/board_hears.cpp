// What the keeper says, and what follows from it.
#include "valves/board.hpp"
#include "valves/keeper_words.hpp"

#include <poll.h>

namespace firstmow::valves {

void Board::listen() {
    ears = std::make_unique<boost::asio::posix::stream_descriptor>(io, keeper->socket());
    wait_for_words();
}

void Board::wait_for_words() {
    ears->async_wait(boost::asio::posix::stream_descriptor::wait_read,
                     [this, still = std::weak_ptr<bool>(alive),
                      of = ears.get()](const boost::system::error_code& fault) {
                         if (fault || still.expired() || of != ears.get()) return;
                         if (hear() && ears) wait_for_words();
                     });
}

bool Board::hear() {
    while (keeper) {
        keeper::Reply reply;
        const KeeperProcess::Heard heard = keeper->hear(reply);
        if (heard == KeeperProcess::Heard::nothing) return true;
        if (heard == KeeperProcess::Heard::gone) {
            lost("has died");
            return false;
        }
        take_in(reply);
    }
    return false;
}

void Board::take_in(const keeper::Reply& reply) {
    moving = reply.moving;
    if (reply.ask == keeper::Ask::beat) {
        unanswered = 0;
        reconcile(reply);
        return;
    }
    if (reply.ask != keeper::Ask::nothing || reply.channel >= zone_of.size()) return;
    const std::string& zone = zone_of[reply.channel];
    Line& line = lines.at(zone);
    const bool was_open = line.open;
    line.open = (reply.open & bit(line)) != 0;
    if (!line.open) line.lease->cancel();
    const bool done = reply.answer == keeper::Answer::done;
    using keeper::Why;
    const bool as_ordered = reply.why == Why::lease_ended || reply.why == Why::closed_at_last ||
                            reply.why == Why::opened || reply.why == Why::closed;
    if (as_ordered && done) {
        answer(zone, line.open, Done{}, reply.at_ms);
        return;
    }
    if (as_ordered || reply.why == Why::hardware) {
        answer(zone, line.open, Error{fault_words(line, reply.error)}, reply.at_ms);
        return;
    }
    std::string why = words_of_why(reply.why);
    if (!done) why += ", " + fault_words(line, reply.error);
    // Of an open one the engine raises the alarm itself.
    if (reply.why == keeper::Why::disagreed && !was_open) raise("In " + line.called + " " + why);
    answer(zone, line.open, Error{why}, reply.at_ms);
}

void Board::reconcile(const keeper::Reply& reply) {
    for (auto& [zone, line] : lines) {
        const bool is_open = (reply.open & bit(line)) != 0;
        // What becomes of an order that is under way is told yet.
        if (is_open == line.open || (reply.moving & bit(line)) != 0) continue;
        line.open = is_open;
        if (!is_open) line.lease->cancel();
        answer(zone, is_open,
               Error{is_open ? "the valve does not close" : "the valve keeper closed it"});
    }
}

void Board::wait_for_the_slow(Millis limit) {
    const MonoTime until = host::mono_now() + limit;
    MonoTime next_beat = host::mono_now() + kBeatEvery;
    while (keeper && moving != 0 && host::mono_now() < until) {
        pollfd ready{keeper->socket(), POLLIN, 0};
        (void)::poll(&ready, 1, 100);
        if (!hear()) return;
        if (host::mono_now() < next_beat) continue;
        next_beat = host::mono_now() + kBeatEvery;
        (void)keeper->beat();
    }
}

} // namespace firstmow::valves
