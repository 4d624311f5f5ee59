// Every route of the API and the page, from a request to its reply; no sockets.
//
// Order of the checks: Host, then the path, the method, for writes Origin, then the key, and
// for writes content type and body. Nothing is done before all have passed.
#pragma once

#include "http/backend.hpp"
#include "http/gate.hpp"
#include "http/message.hpp"
#include "http/snapshots.hpp"
#include "http/status_text.hpp"

#include <functional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace firstmow::http {

class App {
public:
    App(Backend& backend, AccessSettings access, std::function<ServerCounts()> counts);

    // Calls `respond` exactly once, at once or later; it may outlive the App. A Reply with
    // `event_stream` asks the server to keep the connection and send it events.
    void handle(const Request& request, Responder respond);

    // What a changed garden file says of access.
    void set_access(std::vector<std::string> host_names, bool reads_closed) {
        gate_.set(std::move(host_names), reads_closed);
    }

    // Called when somebody has been signed out.
    void on_sign_out(std::function<void()> hear) { signed_out_ = std::move(hear); }

    // What an event stream sends for the newest view; empty before the first.
    std::string status_event();
    // What it sends to show that the line still stands.
    std::string heartbeat_event() const;

    // "GET /api/v1/status", ...: every route, for the tests of the description.
    static std::vector<std::string> route_list();

private:
    friend struct Routes;

    Backend& backend_;
    StatusText status_;
    Gate gate_;
    std::function<ServerCounts()> counts_;
    std::function<void()> signed_out_;
};

// Headers that every reply carries.
void add_common_headers(Reply& reply, std::string_view path);

} // namespace firstmow::http
