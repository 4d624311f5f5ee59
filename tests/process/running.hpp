// A daemon under test, and its API.
#pragma once

#include "child.hpp"
#include "files.hpp"
#include "trial.hpp"

#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

namespace firstmow::process {

struct Reply {
    int status = 0; // 0: no answer
    std::string body;
    std::string cookie{}; // "name=value" that it sets
};
using Headers = std::vector<std::pair<std::string, std::string>>;

// Looks again and again until it is so, at most `seconds`.
bool eventually(const std::function<bool()>& is_so, int seconds = 30);

// A garden file and a state folder in one fresh place, with a daemon that may run on them.
class House {
public:
    explicit House(const GardenSpec& spec);

    std::string garden() const { return place.file("garden.toml"); }
    std::string state() const { return place.file("state"); }
    std::string database() const { return state() + "/firstmow.sqlite"; }
    std::string valves() const { return content_of(place.file("valves.log")); }
    std::string log() const { return content_of(place.file("daemon.log")); }
    std::string key() const;
    std::vector<std::string> command(const std::string& listen = "127.0.0.1:0") const;

    // Starts the daemon and waits until it serves. False when it did not come up.
    bool start();
    Child& daemon() { return *child_; }
    int port() const { return port_; }
    // SIGTERM; the exit code.
    int end();
    // SIGKILL: a power cut.
    void crash();

    Reply get(const std::string& path, const std::string& accept = {}) const;
    Reply post(const std::string& path, const std::string& body) const;
    Reply post_with(const std::string& key, const std::string& path, const std::string& body) const;
    Reply remove(const std::string& path) const;
    // As no friend would ask.
    Reply get_with(const Headers& headers, const std::string& path) const;
    Reply send(const Headers& headers, const std::string& path, const std::string& body) const;
    // A member of a zone of /api/v1/status, as JSON text.
    std::string zone(const std::string& id, const std::string& member) const;

    TempDir place;

private:
    std::unique_ptr<Child> child_;
    int port_ = 0;
};

} // namespace firstmow::process
