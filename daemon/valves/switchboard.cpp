#include "valves/switchboard.hpp"

#include "host/clocks.hpp"
#include "valves/driver.hpp"
#include "valves/keeper_process.hpp"
#include "valves/keeper_words.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <spdlog/spdlog.h>

#include <algorithm>
#include <deque>
#include <limits>
#include <map>
#include <poll.h>

namespace firstmow::valves {

namespace {

constexpr Seconds kBeatEvery{1};
constexpr int kMostUnanswered = 3;
// How much later than the keeper the switchboard ends a lease.
constexpr Seconds kLeaseGrace{1};
// The keeper waits a while for lines that a predecessor still holds.
constexpr Millis kBeginPatience{6000};
// What a device that takes its time may take, with an order before it.
constexpr Millis kClosePatience{8000};
constexpr Millis kLeavePatience{11'000};

struct Line {
    std::string called;
    garden::Valve valve;
    std::uint8_t channel = 0;
    std::unique_ptr<boost::asio::steady_timer> lease;
    bool open = false; // or not known to be closed
};

// For people.
std::string called(const std::string& output) {
    if (output == garden::kMasterValve) return "the master valve";
    if (output == garden::kPump) return "the pump's relay";
    return "zone " + output;
}

std::uint64_t bit(const Line& line) {
    return std::uint64_t{1} << line.channel;
}

std::uint32_t lease_ms(Seconds lease) {
    const auto ms = std::chrono::duration_cast<Millis>(lease).count();
    return static_cast<std::uint32_t>(
        std::clamp<decltype(ms)>(ms, 0, std::numeric_limits<std::uint32_t>::max()));
}

} // namespace

struct Switchboard::Impl {
    boost::asio::io_context& io;
    std::string garden_path;
    Report report;
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

    Impl(boost::asio::io_context& loop, std::string garden, Report to, std::size_t most)
        : io(loop),
          garden_path(std::move(garden)),
          report(std::move(to)),
          most_open(std::min<std::size_t>(most, 255)),
          pulse(loop) {}

    Line& line_of(std::size_t channel) { return lines.at(zone_of.at(channel)); }

    std::string fault_words(const Line& line, int error) const {
        return words_of(line.valve, garden_path, error);
    }

    void answer(const std::string& zone, bool open, const Status& done, std::int64_t at_ms = 0) {
        engine::ValveReport r;
        r.zone = zone;
        r.open = open;
        if (at_ms > 0) r.since = MonoTime{Millis{at_ms}};
        if (!done) {
            r.fault = true;
            r.detail = done.error().message;
        }
        boost::asio::post(io, [this, still = std::weak_ptr<bool>(alive), r = std::move(r)] {
            if (!still.expired()) report(r);
        });
    }

    void raise(const std::string& text) {
        spdlog::error("{}", text);
        if (!alarm) return;
        boost::asio::post(io, [this, still = std::weak_ptr<bool>(alive), text] {
            if (!still.expired() && alarm) alarm(text);
        });
    }

    // Starts a keeper, which closes every valve. There is none after an Error, also when it was
    // that one valve did not close.
    Status begin() {
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

    Status all_closed(const keeper::Reply& reply) {
        if (reply.answer == keeper::Answer::done || reply.answer == keeper::Answer::under_way)
            return Done{};
        if (reply.answer == keeper::Answer::refused)
            return Error{"the valve keeper refuses: " + words_of_why(reply.why)};
        const Line& line = line_of(reply.channel);
        return Error{line.called + ": " + fault_words(line, reply.error)};
    }

    // Until nothing is under way any more, or `limit` is over. Beats go on meanwhile.
    void wait_for_the_slow(Millis limit) {
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

    void listen() {
        ears = std::make_unique<boost::asio::posix::stream_descriptor>(io, keeper->socket());
        wait_for_words();
    }

    void wait_for_words() {
        ears->async_wait(boost::asio::posix::stream_descriptor::wait_read,
                         [this, still = std::weak_ptr<bool>(alive),
                          of = ears.get()](const boost::system::error_code& fault) {
                             if (fault || still.expired() || of != ears.get()) return;
                             if (hear() && ears) wait_for_words();
                         });
    }

    // Takes in what the keeper has said. False: it was gone.
    bool hear() {
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

    void take_in(const keeper::Reply& reply) {
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
        if (reply.why == keeper::Why::disagreed && !was_open)
            raise("In " + line.called + " " + why);
        answer(zone, line.open, Error{why}, reply.at_ms);
    }

    // What the keeper knows goes before what is believed here.
    void reconcile(const keeper::Reply& reply) {
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

    // SAFE-21.
    void lost(const std::string& how) {
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

    // The descriptor belongs to the keeper's process object, which closes it.
    void release_ears() {
        if (ears) (void)ears->release();
        ears.reset();
    }

    // SAFE-22.
    std::map<std::string, Status> close_by_hand() {
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

    void beat_on() {
        pulse.expires_after(kBeatEvery);
        pulse.async_wait(
            [this, still = std::weak_ptr<bool>(alive)](const boost::system::error_code& fault) {
                if (fault || still.expired()) return;
                beat();
                beat_on();
            });
    }

    void beat() {
        if (!keeper) {
            if (const Status begun = begin(); keeper) {
                raise("There is a valve keeper again.");
                return;
            }
            if (++tries >= kMostTries) throw KeeperLost("no valve keeper can be started");
            (void)close_by_hand();
            return;
        }
        if (deaths.size() > static_cast<std::size_t>(kMostDeathsPerMinute))
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

    // An order of one channel, and its answer; none when the keeper was lost over it: then every
    // zone has been reported.
    std::optional<keeper::Reply> ask(keeper::Order order) {
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

    void open(const std::string& zone, Line& line, Seconds lease) {
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

    void start_lease(const std::string& zone, Line& line, Seconds lease) {
        line.lease->expires_after(lease + kLeaseGrace);
        line.lease->async_wait([this, still = std::weak_ptr<bool>(alive),
                                zone](const boost::system::error_code& fault) {
            if (fault || still.expired()) return;
            if (Line& late = lines.at(zone); late.open) shut(zone, late);
        });
    }

    void shut(const std::string& zone, Line& line) {
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

    Status close_all() {
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

    // The end: the keeper closes everything and leaves.
    void leave() {
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
