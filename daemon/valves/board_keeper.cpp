// That there is a keeper: it is started, watched over, replaced and, when none is to be had, done
// without.
#include "valves/board.hpp"
#include "valves/driver.hpp"
#include "valves/keeper_words.hpp"

namespace firstmow::valves {

namespace {

constexpr int kMostUnanswered = 3;
// The keeper waits a while for lines that a predecessor still holds.
constexpr Millis kBeginPatience{6000};

} // namespace

Status Board::begin() {
    if (!spare) {
        Result<SocketPair> made = SocketPair::make();
        if (!made) return made.error();
        spare = std::move(*made);
    }
    Result<std::unique_ptr<KeeperProcess>> started =
        KeeperProcess::start(std::move(*spare), program);
    spare.reset();
    if (!started) return started.error();
    std::unique_ptr<KeeperProcess> fresh = std::move(*started);
    for (const keeper::Setup& setup : setups) {
        const auto reply = fresh->ask(setup);
        if (!reply) return Error{"the valve keeper does not answer"};
        if (reply->answer != keeper::Answer::done)
            return Error{"the valve keeper refuses a channel: " + words_of_why(reply->why)};
    }
    keeper::Order order;
    order.ask = keeper::Ask::begin;
    order.most_open = static_cast<std::uint8_t>(most_open);
    const auto reply = fresh->ask(order, kBeginPatience);
    if (!reply) return Error{"the valve keeper does not answer"};
    keeper = std::move(fresh);
    unanswered = 0;
    if (Result<SocketPair> made = SocketPair::make()) spare = std::move(*made);
    for (auto& [zone, line] : lines) {
        line.lease->cancel();
        line.open = (reply->open & bit(line)) != 0;
    }
    moving = reply->moving;
    if (const Status closed = all_closed(*reply); !closed) {
        // A chip that is not there is only found by a keeper that begins anew.
        keeper.reset();
        return closed;
    }
    listen();
    return Done{};
}

Status Board::all_closed(const keeper::Reply& reply) {
    if (reply.answer == keeper::Answer::done || reply.answer == keeper::Answer::under_way)
        return Done{};
    if (reply.answer == keeper::Answer::refused)
        return Error{"the valve keeper refuses: " + words_of_why(reply.why)};
    const Line& line = line_of(reply.channel);
    return Error{line.called + ": " + fault_words(line, reply.error)};
}

void Board::release_ears() {
    if (ears) (void)ears->release();
    ears.reset();
}

// SAFE-21.
void Board::lost(const std::string& how) {
    release_ears();
    keeper.reset();
    const MonoTime now = host::mono_now();
    deaths.push_back(now);
    while (now - deaths.front() > std::chrono::minutes{1})
        deaths.pop_front();
    tries = 0;
    const Status begun = begin();
    if (keeper) {
        raise("The valve keeper " + how + "; a new one has closed every valve" +
              (moving == 0 ? "." : " that it has reached yet."));
        for (auto& [zone, line] : lines)
            // What is under way is told yet.
            if ((moving & bit(line)) == 0)
                answer(zone, line.open, Error{"the valve keeper " + how});
        return;
    }
    raise("The valve keeper " + how + " and none can be started (" + begun.error().message +
          "); the daemon closes the valves itself.");
    for (auto& [zone, closed] : close_by_hand())
        answer(zone, lines.at(zone).open,
               Error{"the valve keeper " + how + " and none can be started" +
                     (closed ? std::string() : "; " + closed.error().message)});
}

// SAFE-22.
std::map<std::string, Status> Board::close_by_hand() {
    std::vector<garden::Valve> valves;
    for (const auto& [zone, line] : lines)
        valves.push_back(line.valve);
    const std::vector<Status> answers = close_without_daemon(valves, garden_path);
    std::map<std::string, Status> by_zone;
    std::size_t i = 0;
    for (auto& [zone, line] : lines) {
        line.lease->cancel();
        if (answers[i]) line.open = false;
        by_zone.emplace(zone, answers[i++]);
    }
    return by_zone;
}

// SAFE-20.
void Board::beat_on() {
    pulse.expires_after(kBeatEvery);
    pulse.async_wait(
        [this, still = std::weak_ptr<bool>(alive)](const boost::system::error_code& fault) {
            if (fault || still.expired()) return;
            beat();
            beat_on();
        });
}

void Board::beat() {
    if (!keeper) {
        if (const Status begun = begin(); keeper) {
            raise("There is a valve keeper again.");
            return;
        }
        if (++tries >= Switchboard::kMostTries) throw KeeperLost("no valve keeper can be started");
        (void)close_by_hand();
        return;
    }
    if (deaths.size() > static_cast<std::size_t>(Switchboard::kMostDeathsPerMinute))
        throw KeeperLost("the valve keeper dies again and again");
    if (!spare)
        if (Result<SocketPair> made = SocketPair::make()) spare = std::move(*made);
    // What lies in the queue is read first: a daemon that was stopped itself has not read.
    if (!hear()) return;
    if (unanswered >= kMostUnanswered) {
        lost("does not answer any more");
        return;
    }
    ++unanswered;
    if (!keeper->beat()) lost("has died");
}

} // namespace firstmow::valves
