#include "messenger/messenger.hpp"

#include "messenger/outbox.hpp"
#include "messenger/post.hpp"

#include <algorithm>
#include <atomic>
#include <condition_variable>
#include <deque>
#include <map>
#include <mutex>
#include <optional>
#include <random>
#include <set>
#include <thread>
#include <utility>

namespace firstmow::messenger {

namespace {

using Clock = std::chrono::steady_clock;
using std::chrono::milliseconds;

// A stop that takes longer than this is not waited for.
constexpr std::chrono::seconds kPatience{2};

} // namespace

// The mutex guards what is handed over; everything else is the thread's own, so that whoever gives
// a letter never waits for a disk or a network.
struct Messenger::Impl {
    Impl(std::string file_, std::vector<garden::Address> addresses_,
         std::function<void(const std::string&)> told_, Pace pace_)
        : next(std::move(addresses_)),
          file(std::move(file_)),
          told(std::move(told_)),
          pace(pace_) {}

    // Handed over.
    std::mutex mutex;
    std::condition_variable changed;
    std::deque<Letter> inbox;
    std::optional<std::vector<garden::Address>> next; // addresses to come into force
    bool stopping = false;
    bool ended = false;
    std::atomic<std::size_t> waiting = 0;
    Breaker breaker;

    void run();

    // The thread's.
    void take_over(std::deque<Letter> letters,
                   std::optional<std::vector<garden::Address>> addresses_);
    void enqueue(const std::string& url, const std::string& body);
    // The address whose turn it is; with none, `wake` is when to look again.
    std::optional<std::string> due(Clock::time_point& wake) const;
    void settle(const std::string& url, const Posted& posted);
    void keep();
    void say(const std::string& sentence) const {
        if (told) told(sentence);
    }

    const std::string file;
    const std::function<void(const std::string&)> told;
    const Pace pace;
    std::vector<garden::Address> addresses;
    Outbox outbox;
    std::map<std::string, Clock::time_point> not_before; // of an address that did not take one
    std::set<std::string> gone;
    std::minstd_rand random{std::random_device{}()};
};

void Messenger::Impl::take_over(std::deque<Letter> letters,
                                std::optional<std::vector<garden::Address>> addresses_) {
    if (letters.empty() && !addresses_) return;
    if (addresses_) {
        addresses = std::move(*addresses_);
        gone.clear();
        // What waits for an address that the garden file no longer names.
        std::erase_if(outbox, [&](const auto& entry) {
            return std::none_of(
                addresses.begin(), addresses.end(),
                [&](const garden::Address& address) { return address.url == entry.first; });
        });
    }
    for (const Letter& letter : letters)
        for (const garden::Address& address : addresses)
            if (address.wants(letter.topic)) enqueue(address.url, letter.body);
    keep();
}

void Messenger::Impl::enqueue(const std::string& url, const std::string& body) {
    if (gone.contains(url)) return;
    auto& letters = outbox[url];
    letters.push_back({body, 0});
    if (letters.size() <= pace.queue) return;
    letters.pop_front();
    say("Too many letters wait for " + garden::place_of(url) + "; the oldest was thrown away.");
}

std::optional<std::string> Messenger::Impl::due(Clock::time_point& wake) const {
    const auto now = Clock::now();
    wake = Clock::time_point::max();
    for (const auto& [url, letters] : outbox) {
        if (letters.empty()) continue;
        const auto it = not_before.find(url);
        const auto at = it == not_before.end() ? now : it->second;
        if (at <= now) return url;
        wake = std::min(wake, at);
    }
    return std::nullopt;
}

void Messenger::Impl::settle(const std::string& url, const Posted& posted) {
    auto& letters = outbox[url];
    const std::string place = garden::place_of(url);
    const int tries = ++letters.front().tries;
    if (posted.outcome == Outcome::delivered) {
        letters.pop_front();
        not_before.erase(url);
    } else if (posted.outcome == Outcome::gone) {
        say("No more letters go to " + place + ": " + posted.detail + ", which is for ever.");
        gone.insert(url);
        letters.clear();
    } else if (posted.outcome == Outcome::refused || tries >= pace.tries) {
        say("A letter to " + place + " was thrown away: " + posted.detail + ".");
        letters.pop_front();
    } else {
        if (tries == 1) say("A letter to " + place + " waits: " + posted.detail + ".");
        // Doubling, and by chance a little less: whatever went down together shall not come back
        // together.
        milliseconds wait = pace.first_wait;
        for (int i = 1; i < tries && wait < pace.longest_wait; ++i)
            wait *= 2;
        wait = std::min(wait, pace.longest_wait);
        wait -=
            milliseconds(std::uniform_int_distribution<std::int64_t>(0, wait.count() / 2)(random));
        not_before[url] = Clock::now() + std::max<milliseconds>(wait, posted.not_before);
    }
    if (letters.empty()) outbox.erase(url);
    keep();
}

void Messenger::Impl::keep() {
    std::size_t count = 0;
    for (const auto& [url, letters] : outbox)
        count += letters.size();
    waiting = count;
    if (!write_outbox(file, outbox)) say("The letters that wait cannot be written down.");
}

void Messenger::Impl::run() {
    outbox = read_outbox(file);
    std::unique_lock lock(mutex);
    while (!stopping) {
        auto letters = std::exchange(inbox, {});
        auto new_addresses = std::exchange(next, std::nullopt);
        lock.unlock();
        take_over(std::move(letters), std::move(new_addresses));
        Clock::time_point wake;
        const auto url = due(wake);
        if (url) {
            const Posted posted = post(*url, outbox[*url].front().body, pace.one_try, breaker);
            lock.lock();
            // A try that was broken off is none.
            if (stopping && posted.outcome == Outcome::later) break;
            lock.unlock();
            settle(*url, posted);
            lock.lock();
            continue;
        }
        lock.lock();
        const auto news = [this] { return stopping || next || !inbox.empty(); };
        if (wake == Clock::time_point::max())
            changed.wait(lock, news);
        else
            changed.wait_until(lock, wake, news);
    }
    auto letters = std::exchange(inbox, {});
    auto new_addresses = std::exchange(next, std::nullopt);
    lock.unlock();
    take_over(std::move(letters), std::move(new_addresses));
    lock.lock();
    ended = true;
    changed.notify_all();
}

Messenger::Messenger(std::string file, std::vector<garden::Address> addresses,
                     std::function<void(const std::string&)> told, Pace pace)
    : impl_(std::make_shared<Impl>(std::move(file), std::move(addresses), std::move(told), pace)) {
    std::thread([impl = impl_] { impl->run(); }).detach();
}

Messenger::~Messenger() {
    stop();
}

void Messenger::give(Letter letter) {
    const std::lock_guard lock(impl_->mutex);
    if (impl_->stopping) return;
    impl_->inbox.push_back(std::move(letter));
    if (impl_->inbox.size() > impl_->pace.queue) impl_->inbox.pop_front();
    impl_->changed.notify_all();
}

void Messenger::set_addresses(std::vector<garden::Address> addresses) {
    const std::lock_guard lock(impl_->mutex);
    impl_->next = std::move(addresses);
    impl_->changed.notify_all();
}

void Messenger::stop() {
    {
        const std::lock_guard lock(impl_->mutex);
        impl_->stopping = true;
        impl_->changed.notify_all();
    }
    impl_->breaker.trip();
    std::unique_lock lock(impl_->mutex);
    impl_->changed.wait_for(lock, kPatience, [this] { return impl_->ended; });
}

std::size_t Messenger::waiting() const {
    return impl_->waiting;
}

} // namespace firstmow::messenger
