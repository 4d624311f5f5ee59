#include "keeper/crew.hpp"

#include <cerrno>
#include <chrono>
#include <csignal>
#include <ctime>
#include <pthread.h>
#include <sys/eventfd.h>
#include <unistd.h>

namespace firstmow::keeper {

namespace {

// Small, for they are locked into memory; no driver keeps more than a few kilobytes on it.
constexpr std::size_t kStack = 256 * 1024;

bool has(std::uint64_t channels, std::size_t channel) {
    return (channels >> channel & 1) != 0;
}

} // namespace

std::int64_t steady_ms() {
    timespec t{};
    ::clock_gettime(CLOCK_BOOTTIME, &t);
    return static_cast<std::int64_t>(t.tv_sec) * 1000 + t.tv_nsec / 1'000'000;
}

Crew::~Crew() {
    if (wake_fd_ >= 0) ::close(wake_fd_);
}

int Crew::begin(Bus& bus, std::uint64_t channels) {
    if (count_ == kMostBuses) return ENOBUFS;
    if (wake_fd_ < 0) wake_fd_ = ::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    if (wake_fd_ < 0) return errno;
    Hand& hand = hands_[count_];
    hand.crew = this;
    hand.bus = &bus;
    hand.channels = channels;
    // Signals are for the first thread.
    sigset_t all;
    sigset_t before;
    ::sigfillset(&all);
    ::pthread_sigmask(SIG_SETMASK, &all, &before);
    pthread_attr_t attributes;
    ::pthread_attr_init(&attributes);
    ::pthread_attr_setstacksize(&attributes, kStack);
    ::pthread_attr_setdetachstate(&attributes, PTHREAD_CREATE_DETACHED);
    const std::lock_guard lock(mutex_);
    pthread_t thread{};
    const int error = ::pthread_create(&thread, &attributes, &Crew::work, &hand);
    ::pthread_attr_destroy(&attributes);
    ::pthread_sigmask(SIG_SETMASK, &before, nullptr);
    if (error != 0) return error;
    ++count_;
    ++working_;
    return 0;
}

bool Crew::stop(int patience_ms) {
    std::unique_lock lock(mutex_);
    ends_ = true;
    word_.notify_all();
    return ended_.wait_for(lock, std::chrono::milliseconds(patience_ms),
                           [this] { return working_ == 0; });
}

void Crew::order(std::size_t channel, bool open) {
    const std::lock_guard lock(mutex_);
    Place& place = desk_[channel];
    place.open = open;
    ++place.ordered;
    word_.notify_all();
}

bool Crew::settled(std::size_t& channel, int& error) {
    std::uint64_t ignored = 0;
    if (wake_fd_ < 0) return false;
    if (::read(wake_fd_, &ignored, sizeof ignored) < 0 && errno != EAGAIN) return false;
    const std::lock_guard lock(mutex_);
    for (std::size_t i = 0; i < desk_.size(); ++i) {
        Place& place = desk_[i];
        if (place.done != place.ordered || place.told == place.done) continue;
        place.told = place.done;
        channel = i;
        error = place.error;
        return true;
    }
    return false;
}

int Crew::seen(std::size_t channel, bool& open) {
    const std::lock_guard lock(mutex_);
    Place& place = desk_[channel];
    if (place.done != place.ordered || !place.is_seen) return EAGAIN;
    open = place.seen_open;
    return place.seen_error;
}

void* Crew::work(void* hand) {
    auto& mine = *static_cast<Hand*>(hand);
    mine.crew->work_for(mine);
    return nullptr;
}

bool Crew::carry_out_one(Hand& hand, std::unique_lock<std::mutex>& lock) {
    std::size_t next = kMostChannels;
    for (std::size_t i = 0; i < kMostChannels; ++i) {
        const Place& place = desk_[i];
        if (!has(hand.channels, i) || place.done == place.ordered) continue;
        if (next == kMostChannels || (!place.open && desk_[next].open)) next = i;
    }
    if (next == kMostChannels) return false;
    Place& place = desk_[next];
    const std::uint32_t number = place.ordered;
    const bool open = place.open;
    lock.unlock();
    const int error = hand.bus->set(next, open);
    lock.lock();
    place.done = number;
    place.error = error;
    place.is_seen = false;
    place.look_ms = steady_ms() + hand.bus->look_every_ms();
    const std::uint64_t one = 1;
    if (::write(wake_fd_, &one, sizeof one) < 0) return true; // full: it is readable
    return true;
}

bool Crew::look_at_one(Hand& hand, std::unique_lock<std::mutex>& lock) {
    const std::int64_t now_ms = steady_ms();
    for (std::size_t i = 0; i < kMostChannels; ++i) {
        Place& place = desk_[i];
        // What never was done, or failed, is not looked at: it is told again anyway.
        if (!has(hand.channels, i) || place.done == 0 || place.error != 0) continue;
        if (now_ms < place.look_ms) continue;
        const std::uint32_t number = place.ordered;
        bool open = false;
        lock.unlock();
        const int error = hand.bus->read(i, open);
        lock.lock();
        place.look_ms = steady_ms() + hand.bus->look_every_ms();
        if (place.ordered != number) return true;
        // What cannot be read is held against an open valve only: a relay that is not in reach
        // while its valve is closed, as it was seen, is no danger until it shall open.
        const bool counts = error == 0 || (error != ENOSYS && place.open);
        place.is_seen = counts;
        place.seen_open = open;
        place.seen_error = error;
        return true;
    }
    return false;
}

void Crew::work_for(Hand& hand) {
    constexpr std::chrono::milliseconds kNap{200};
    std::unique_lock lock(mutex_);
    for (;;) {
        if (carry_out_one(hand, lock)) continue;
        if (ends_) break;
        if (look_at_one(hand, lock)) continue;
        word_.wait_for(lock, kNap);
    }
    // Nothing of the crew is touched after this lock is let go.
    --working_;
    ended_.notify_all();
}

} // namespace firstmow::keeper
