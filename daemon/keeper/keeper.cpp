#include "keeper/keeper.hpp"

#include <algorithm>
#include <cerrno>

namespace firstmow::keeper {

namespace {

// Errors after which the device has heard nothing of the order: what was closed still is. (After
// ETIMEDOUT it may have heard.)
bool never_heard(int error) {
    return error == ECONNREFUSED || error == EHOSTUNREACH || error == ENETUNREACH ||
           error == EHOSTDOWN || error == ENOENT || error == EACCES || error == EBUSY;
}

Reply reply_to(const Order& order) {
    Reply reply;
    reply.sequence = order.sequence;
    reply.ask = order.ask;
    reply.channel = order.channel;
    return reply;
}

Reply refuse(Reply reply, Why why) {
    reply.answer = Answer::refused;
    reply.why = why;
    return reply;
}

Reply fail(Reply reply, int error) {
    reply.answer = Answer::failed;
    reply.why = Why::hardware;
    reply.error = error;
    return reply;
}

} // namespace

std::size_t Keeper::count() const {
    return std::min(lines_.count(), kMostChannels);
}

std::uint64_t Keeper::open_mask() const {
    std::uint64_t mask = 0;
    for (std::size_t i = 0; i < count(); ++i)
        if (channels_[i].open) mask |= std::uint64_t{1} << i;
    return mask;
}

std::uint64_t Keeper::moving_mask() const {
    std::uint64_t mask = 0;
    for (std::size_t i = 0; i < count(); ++i)
        if (channels_[i].move != Move::none) mask |= std::uint64_t{1} << i;
    return mask;
}

std::size_t Keeper::open_count() const {
    std::size_t open = 0;
    for (std::size_t i = 0; i < count(); ++i)
        if (channels_[i].open) ++open;
    return open;
}

int Keeper::note(int error) {
    if (error == ENODEV) broken_ = true;
    return error;
}

int Keeper::shut(std::size_t channel, std::int64_t now_ms, Why why, int told_error) {
    Channel& c = channels_[channel];
    const int error = note(lines_.set(channel, false));
    c.open = error != 0;
    c.again_ms = now_ms + kAgain_ms;
    if (error == EINPROGRESS) {
        if (c.move != Move::closing) c.moved_ms = now_ms;
        c.move = Move::closing;
        c.why = why;
        c.error = told_error;
        return error;
    }
    c.move = Move::none;
    c.stuck = error != 0;
    return error;
}

Reply Keeper::finished(Reply reply, std::int64_t now_ms) const {
    reply.open = open_mask();
    reply.moving = moving_mask();
    reply.at_ms = now_ms;
    return reply;
}

Reply Keeper::close_all(std::int64_t now_ms) {
    Reply reply;
    for (std::size_t i = 0; i < count(); ++i) {
        const int error = shut(i, now_ms, Why::closed);
        if (error == 0 || error == EINPROGRESS || reply.answer == Answer::failed) continue;
        reply = fail(reply, error);
        reply.channel = static_cast<std::uint8_t>(i);
    }
    if (reply.answer == Answer::done && moving_mask() != 0) reply.answer = Answer::under_way;
    return finished(reply, now_ms);
}

Reply Keeper::begin(const Order& order, std::int64_t now_ms) {
    if (begun_) return refuse(reply_to(order), Why::begun_already);
    begun_ = true;
    most_open_ = std::min<std::size_t>(order.most_open, kMostOpen);
    read_back_ms_ = now_ms + kReadBack_ms;
    // Not known yet to be closed.
    for (std::size_t i = 0; i < count(); ++i)
        channels_[i].open = true;
    lines_.take();
    Reply reply = close_all(now_ms);
    reply.sequence = order.sequence;
    reply.ask = order.ask;
    return reply;
}

Why Keeper::objection(const Order& order, std::int64_t now_ms) const {
    if (order.lease_ms == 0) return Why::lease_too_short;
    if (order.lease_ms > kLongestLease_ms) return Why::lease_too_long;
    const Channel& c = channels_[order.channel];
    if (c.open && !c.stuck && c.move != Move::closing &&
        now_ms + order.lease_ms > c.opened_ms + kLongestOpen_ms)
        return Why::open_too_long;
    // One that would not close is open: it may not count as anything else.
    if (!c.open && open_count() >= most_open_) return Why::too_many_open;
    return Why::none;
}

Reply Keeper::open(const Order& order, std::int64_t now_ms) {
    Reply reply = reply_to(order);
    if (const Why why = objection(order, now_ms); why != Why::none) return refuse(reply, why);
    Channel& c = channels_[order.channel];
    if (c.open && !c.stuck && c.move != Move::closing) {
        c.until_ms = now_ms + order.lease_ms;
        if (c.move == Move::opening) reply.answer = Answer::under_way;
        return reply;
    }
    c.was_closed = !c.open;
    // The lease stands before the water runs.
    c.opened_ms = now_ms;
    c.until_ms = now_ms + order.lease_ms;
    c.open = true;
    c.stuck = false;
    c.move = Move::none;
    const int error = note(lines_.set(order.channel, true));
    if (error == EINPROGRESS) {
        c.move = Move::opening;
        c.moved_ms = now_ms;
        reply.answer = Answer::under_way;
        return reply;
    }
    if (error != 0) {
        // Whether it opened is not known.
        (void)shut(order.channel, now_ms, Why::hardware, error);
        return fail(reply, error);
    }
    return reply;
}

Reply Keeper::close(const Order& order, std::int64_t now_ms) {
    const int error = shut(order.channel, now_ms, Why::closed);
    Reply reply = reply_to(order);
    if (error == EINPROGRESS) reply.answer = Answer::under_way;
    return error == 0 || error == EINPROGRESS ? reply : fail(reply, error);
}

Reply Keeper::handle(const Order& order, std::int64_t now_ms) {
    Reply reply = reply_to(order);
    if (order.version != kVersion) return refuse(reply, Why::wrong_version);
    heard_ms_ = now_ms;
    if (order.ask == Ask::begin) return begin(order, now_ms);
    if (!begun_) return refuse(reply, Why::not_begun);
    const bool of_one = order.ask == Ask::open || order.ask == Ask::close;
    if (of_one && order.channel >= count()) return refuse(reply, Why::no_such_channel);
    switch (order.ask) {
    case Ask::open:
        reply = open(order, now_ms);
        break;
    case Ask::close:
        reply = close(order, now_ms);
        break;
    case Ask::leave:
        left_ = true;
        [[fallthrough]];
    case Ask::close_all:
        reply = close_all(now_ms);
        reply.sequence = order.sequence;
        reply.ask = order.ask;
        break;
    case Ask::beat:
        break;
    case Ask::nothing:
    case Ask::channel:
    case Ask::begin:
    default:
        reply = refuse(reply, Why::malformed);
        break;
    }
    return finished(reply, now_ms);
}

void Keeper::tell(std::size_t channel, Why why, int error, std::int64_t now_ms) {
    Reply reply;
    reply.channel = static_cast<std::uint8_t>(channel);
    reply.answer = error == 0 ? Answer::done : Answer::failed;
    reply.why = why;
    reply.error = error;
    listener_.tell(finished(reply, now_ms));
}

void Keeper::settle_one(std::size_t channel, int error, std::int64_t now_ms) {
    Channel& c = channels_[channel];
    const Move move = c.move;
    c.move = Move::none;
    if (move == Move::opening) {
        if (note(error) == 0) {
            tell(channel, Why::opened, 0, now_ms);
        } else if (c.was_closed && never_heard(error)) {
            c.open = false;
            tell(channel, Why::hardware, error, now_ms);
        } else if (shut(channel, now_ms, Why::hardware, error) != EINPROGRESS) {
            tell(channel, Why::hardware, error, now_ms);
        }
        return;
    }
    const bool was_stuck = c.stuck;
    c.open = note(error) != 0;
    c.stuck = c.open;
    c.again_ms = now_ms + kAgain_ms;
    if (c.open) {
        if (!was_stuck) tell(channel, c.why, error, now_ms);
        return;
    }
    tell(channel, was_stuck ? Why::closed_at_last : c.why, was_stuck ? 0 : c.error, now_ms);
}

void Keeper::settle(std::int64_t now_ms) {
    std::size_t channel = 0;
    int error = 0;
    // Each is named once; what is named meanwhile can wait for the next tick.
    for (std::size_t i = 0; i < kMostChannels && lines_.settled(channel, error); ++i)
        if (channel < count()) settle_one(channel, error, now_ms);
    give_up_waiting(now_ms);
}

void Keeper::give_up_waiting(std::int64_t now_ms) {
    for (std::size_t i = 0; i < count(); ++i) {
        Channel& c = channels_[i];
        if (c.move == Move::none || now_ms - c.moved_ms < kSlowest_ms) continue;
        c.moved_ms = now_ms;
        if (c.move == Move::opening) {
            (void)shut(i, now_ms, Why::hardware, ETIMEDOUT);
            continue;
        }
        // It goes on counting as under way; what it does at last is told as such.
        if (!c.stuck) tell(i, c.why, ETIMEDOUT, now_ms);
        c.stuck = true;
    }
}

void Keeper::end_leases(std::int64_t now_ms) {
    for (std::size_t i = 0; i < count(); ++i) {
        Channel& c = channels_[i];
        if (c.move == Move::closing) continue;
        if (c.stuck && now_ms >= c.again_ms) {
            if (shut(i, now_ms, Why::closed_at_last) == 0) tell(i, Why::closed_at_last, 0, now_ms);
        } else if (c.open && !c.stuck && now_ms >= c.until_ms) {
            const int error = shut(i, now_ms, Why::lease_ended);
            if (error != EINPROGRESS) tell(i, Why::lease_ended, error, now_ms);
        }
    }
}

void Keeper::end_silence(std::int64_t now_ms) {
    if (now_ms - heard_ms_ < kSilence_ms) return;
    for (std::size_t i = 0; i < count(); ++i) {
        const Channel& c = channels_[i];
        if (!c.open || c.stuck || c.move == Move::closing) continue;
        const int error = shut(i, now_ms, Why::silence);
        if (error != EINPROGRESS) tell(i, Why::silence, error, now_ms);
    }
}

void Keeper::read_back(std::int64_t now_ms) {
    if (now_ms < read_back_ms_) return;
    read_back_ms_ = now_ms + kReadBack_ms;
    for (std::size_t i = 0; i < count(); ++i) {
        if (channels_[i].stuck || channels_[i].move != Move::none) continue;
        bool is_open = false;
        const int error = note(lines_.read(i, is_open));
        if (error == ENOSYS || error == EAGAIN) continue;
        if (error == 0 && is_open == channels_[i].open) continue;
        const int closed = shut(i, now_ms, Why::disagreed, error);
        if (closed != EINPROGRESS) tell(i, Why::disagreed, closed, now_ms);
    }
}

void Keeper::tick(std::int64_t now_ms) {
    if (!begun_) return;
    settle(now_ms);
    end_leases(now_ms);
    end_silence(now_ms);
    read_back(now_ms);
}

std::int64_t Keeper::next_ms(std::int64_t now_ms) const {
    std::int64_t next = now_ms + kLongestSleep_ms;
    for (std::size_t i = 0; i < count(); ++i) {
        const Channel& c = channels_[i];
        if (c.open && c.move != Move::closing)
            next = std::min(next, c.stuck ? c.again_ms : c.until_ms);
    }
    return std::max(next, now_ms);
}

} // namespace firstmow::keeper
