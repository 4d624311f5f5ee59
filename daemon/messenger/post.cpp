#include "messenger/post.hpp"

#include <httplib.h>

#include <algorithm>
#include <charconv>
#include <condition_variable>
#include <thread>

namespace firstmow::messenger {
namespace {

using std::chrono::milliseconds;

constexpr std::chrono::seconds kLongestWait{3600};
constexpr std::size_t kAnswerMax = 64 * 1024; // of it nothing is read but the status

// Ends a POST when its time is over: the library bounds each read, but not their number.
class Deadline {
public:
    Deadline(httplib::Client& client, milliseconds at_most)
        : thread_([this, &client, at_most] {
              std::unique_lock lock(mutex_);
              if (!over_.wait_for(lock, at_most, [this] { return done_; })) client.stop();
          }) {}
    ~Deadline() {
        {
            const std::lock_guard lock(mutex_);
            done_ = true;
        }
        over_.notify_all();
        thread_.join();
    }
    Deadline(const Deadline&) = delete;
    Deadline& operator=(const Deadline&) = delete;

private:
    std::mutex mutex_;
    std::condition_variable over_;
    bool done_ = false;
    std::thread thread_;
};

std::chrono::seconds retry_after(const std::string& value) {
    int seconds = 0;
    const char* const end = value.data() + value.size();
    const auto [stopped, fault] = std::from_chars(value.data(), end, seconds);
    if (fault != std::errc{} || stopped != end || seconds < 0) return std::chrono::seconds(0);
    return std::min(std::chrono::seconds(seconds), kLongestWait);
}

Posted judge(int status, const std::string& wait) {
    const std::string detail = "it answered " + std::to_string(status);
    if (status >= 200 && status < 300) return {Outcome::delivered, {}, {}};
    if (status == 410) return {Outcome::gone, {}, detail};
    if (status == 408 || status == 429 || status >= 500)
        return {Outcome::later, retry_after(wait), detail};
    return {Outcome::refused, {}, detail};
}

} // namespace

void Breaker::trip() {
    const std::lock_guard lock(mutex_);
    tripped_ = true;
    if (client_ != nullptr) client_->stop();
}

Posted post(const std::string& url, const std::string& body, milliseconds at_most,
            Breaker& breaker) {
    const auto path_at = url.find('/', url.find("://") + 3);
    const std::string origin = url.substr(0, path_at);
    const std::string path = path_at == std::string::npos ? "/" : url.substr(path_at);
    httplib::Client client(origin);
    if (!client.is_valid()) return {Outcome::later, {}, "it cannot be spoken to"};
    const auto seconds = static_cast<time_t>(at_most.count() / 1000);
    const auto rest_us = static_cast<time_t>(at_most.count() % 1000 * 1000);
    client.set_connection_timeout(seconds, rest_us);
    client.set_read_timeout(seconds, rest_us);
    client.set_write_timeout(seconds, rest_us);
    client.set_follow_location(false);
    client.enable_server_certificate_verification(true);

    httplib::Request request;
    request.method = "POST";
    request.path = path;
    request.headers = {{"Content-Type", "application/json"}, {"User-Agent", "firstmow"}};
    request.body = body;
    std::size_t read = 0;
    request.content_receiver = [&](const char*, std::size_t size, std::uint64_t, std::uint64_t) {
        read += size;
        return read <= kAnswerMax;
    };
    int status = 0;
    std::string wait;
    request.response_handler = [&](const httplib::Response& response) {
        status = response.status;
        wait = response.get_header_value("Retry-After");
        return true;
    };
    {
        const std::lock_guard lock(breaker.mutex_);
        if (breaker.tripped_) return {Outcome::later, {}, "the daemon ends"};
        breaker.client_ = &client;
    }
    std::string fault;
    {
        const Deadline deadline(client, at_most);
        const httplib::Result result = client.send(request);
        if (result) {
            status = result->status;
            wait = result->get_header_value("Retry-After");
        } else {
            fault = httplib::to_string(result.error());
        }
    }
    {
        const std::lock_guard lock(breaker.mutex_);
        breaker.client_ = nullptr;
    }
    // What it answered counts, even if it goes on talking.
    if (status != 0) return judge(status, wait);
    return {Outcome::later, {}, "it could not be reached in time (" + fault + ")"};
}

} // namespace firstmow::messenger
