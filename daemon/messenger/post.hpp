// One letter handed over: a POST that ends in bounded time, whatever the other end does.
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <mutex>
#include <string>

namespace httplib {
class Client;
}

namespace firstmow::messenger {

enum class Outcome {
    delivered, // 2xx
    later,     // not reached, too slow, 408, 429, 5xx
    refused,   // any other answer: the same letter would be refused again
    gone,      // 410: the address wants no more letters
};

struct Posted {
    Outcome outcome = Outcome::later;
    std::chrono::seconds not_before{0}; // Retry-After, at most an hour
    std::string detail;                 // for a person, when not delivered
};

// Whoever waits for a POST can have it end early.
class Breaker {
public:
    // Ends the POST under way, and every later one at once.
    void trip();

private:
    friend Posted post(const std::string&, const std::string&, std::chrono::milliseconds, Breaker&);
    std::mutex mutex_;
    httplib::Client* client_ = nullptr;
    bool tripped_ = false;
};

// `url` as the garden file has it. A certificate that cannot be verified counts as not reached;
// redirects are not followed.
Posted post(const std::string& url, const std::string& body, std::chrono::milliseconds at_most,
            Breaker& breaker);

} // namespace firstmow::messenger
