// Asks a public weather service now and then, on a thread of its own.
//
// Politely: not before the last answer has expired, conditionally (If-Modified-Since,
// If-None-Match), by name and contact, with jitter; after a failure later and later, and never
// before a Retry-After.
#pragma once

#include "weather/feed.hpp"
#include "weather/service.hpp"
#include "weather/web.hpp"

#include <memory>

namespace firstmow::weather_source {

// How long it waits; the tests make it short.
struct Pace {
    Millis first_wait{5'000}; // up to so long before the first question
    Millis every{3'600'000};
    Millis first_retry{60'000}; // doubles at each failure
    Millis longest_retry{3'600'000};
    Millis refused_retry{3'600'000}; // at least, after a 401, 403 or 422: asking again hardly helps
    Millis longest_wait{6 * 3'600'000};
    Millis deadline{30'000}; // of one question
    double jitter = 0.15;
};
// The waits for the n-th failure in a row (from 1) and after an answer, without jitter.
Millis wait_after_failure(const Pace& pace, int failures, bool refused,
                          std::optional<Seconds> retry_after);
Millis wait_after_answer(const Pace& pace, std::optional<Seconds> fresh_for);

class ServiceFeed : public Feed {
public:
    struct Setup {
        std::string base;       // "https://HOST", without a '/' at the end
        std::string user_agent; // see service.hpp
        std::string ca_file;    // empty: none
        Pace pace{};
    };
    ServiceFeed(std::unique_ptr<Service> service, Setup setup);
    ~ServiceFeed() override; // ends the thread, within a moment
    std::vector<weather::Parcel> collect(WallTime now) override;
    FeedStatus status(WallTime now) const override;

private:
    class Asker;
    std::unique_ptr<Asker> asker_;
};

} // namespace firstmow::weather_source
