#include "keeper/keeper.hpp"

#include <algorithm>
#include <cerrno>

namespace firstmow::keeper {

namespace {

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

int Keeper::shut(std::size_t channel, std::int64_t now_ms) {
    Channel& c = channels_[channel];
    const int error = note(lines_.set(channel, false));
    c.open = error != 0;
    c.stuck = error != 0;
    c.again_ms = now_ms + kAgain_ms;
    return error;
}

Reply Keeper::close_all(std::int64_t now_ms) {
    Reply reply;
    for (std::size_t i = 0; i < count(); ++i) {
        const int error = shut(i, now_ms);
        if (error == 0 || reply.answer == Answer::failed) continue;
        reply = fail(reply, error);
        reply.channel = static_cast<std::uint8_t>(i);
    }
    reply.open = open_mask();
    return reply;
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
    if (c.open && !c.stuck && now_ms + order.lease_ms > c.opened_ms + kLongestOpen_ms)
        return Why::open_too_long;
    // One that would not close is open: it may not count as anything else.
    if (!c.open && open_count() >= most_open_) return Why::too_many_open;
    return Why::none;
}

Reply Keeper::open(const Order& order, std::int64_t now_ms) {
    Reply reply = reply_to(order);
    if (const Why why = objection(order, now_ms); why != Why::none) return refuse(reply, why);
    Channel& c = channels_[order.channel];
    if (c.open && !c.stuck) {
        c.until_ms = now_ms + order.lease_ms;
        return reply;
    }
    // The lease stands before the water runs.
    c.opened_ms = now_ms;
    c.until_ms = now_ms + order.lease_ms;
    c.open = true;
    c.stuck = false;
    if (const int error = note(lines_.set(order.channel, true)); error != 0) {
        // Whether it opened is not known.
        (void)shut(order.channel, now_ms);
        return fail(reply, error);
    }
    return reply;
}

Reply Keeper::close(const Order& order, std::int64_t now_ms) {
    const int error = shut(order.channel, now_ms);
    return error == 0 ? reply_to(order) : fail(reply_to(order), error);
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
    reply.open = open_mask();
    return reply;
}

void Keeper::tell(std::size_t channel, Why why, int error) {
    Reply reply;
    reply.channel = static_cast<std::uint8_t>(channel);
    reply.answer = error == 0 ? Answer::done : Answer::failed;
    reply.why = why;
    reply.error = error;
    reply.open = open_mask();
    listener_.tell(reply);
}

void Keeper::end_leases(std::int64_t now_ms) {
    for (std::size_t i = 0; i < count(); ++i) {
        Channel& c = channels_[i];
        if (c.stuck && now_ms >= c.again_ms) {
            if (shut(i, now_ms) == 0) tell(i, Why::closed_at_last, 0);
        } else if (c.open && !c.stuck && now_ms >= c.until_ms) {
            const int error = shut(i, now_ms);
            tell(i, Why::lease_ended, error);
        }
    }
}

void Keeper::end_silence(std::int64_t now_ms) {
    if (now_ms - heard_ms_ < kSilence_ms) return;
    for (std::size_t i = 0; i < count(); ++i) {
        if (!channels_[i].open || channels_[i].stuck) continue;
        const int error = shut(i, now_ms);
        tell(i, Why::silence, error);
    }
}

void Keeper::read_back(std::int64_t now_ms) {
    if (now_ms < read_back_ms_) return;
    read_back_ms_ = now_ms + kReadBack_ms;
    for (std::size_t i = 0; i < count(); ++i) {
        if (channels_[i].stuck) continue;
        bool is_open = false;
        const int error = note(lines_.read(i, is_open));
        if (error == ENOSYS || (error == 0 && is_open == channels_[i].open)) continue;
        const int closed = shut(i, now_ms);
        tell(i, Why::disagreed, closed);
    }
}

void Keeper::tick(std::int64_t now_ms) {
    if (!begun_) return;
    end_leases(now_ms);
    end_silence(now_ms);
    read_back(now_ms);
}

std::int64_t Keeper::next_ms(std::int64_t now_ms) const {
    std::int64_t next = now_ms + kLongestSleep_ms;
    for (std::size_t i = 0; i < count(); ++i)
        if (channels_[i].open)
            next =
                std::min(next, channels_[i].stuck ? channels_[i].again_ms : channels_[i].until_ms);
    return std::max(next, now_ms);
}

} // namespace firstmow::keeper
