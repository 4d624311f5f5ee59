// Many clients in one thread, each on a connection that it keeps: asks, takes the answer, asks
// again.
#pragma once

#include <atomic>
#include <cstddef>
#include <string>
#include <vector>

namespace firstmow::bench {

// What was asked for, and how fast it was answered.
struct Rate {
    double per_s = 0;
    double answers = 0;
    std::size_t bytes = 0; // of one answer, head and body
    int status = 0;        // of the last
    long failed = 0;       // connections that had to be made anew
};

// Connections that ask for `request` again and again until `seconds` have passed or `ends` is set.
// `pause_s` is how long each waits between an answer and its next question.
Rate ask_on(int port, const std::string& request, int connections, double seconds,
            double pause_s = 0, const std::atomic<bool>* ends = nullptr);

// One client that gives orders, on a connection that it keeps.
class Thumb {
public:
    Thumb(int port, const std::string& key);
    ~Thumb();
    Thumb(const Thumb&) = delete;
    Thumb& operator=(const Thumb&) = delete;
    // The status of the answer; 0: none came.
    int order(const std::string& path, const std::string& body);

private:
    std::string head_;
    int socket_ = -1;
};

std::string get(const std::string& path, const std::string& headers = {});

} // namespace firstmow::bench
