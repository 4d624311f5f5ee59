// The table of routes. A handler gets the request, the one variable segment of its path, and the
// responder to call once.
#pragma once

#include "http/app.hpp"

#include <cstdint>
#include <span>
#include <string_view>

namespace firstmow::http {

struct Call {
    const Request& request;
    std::string_view segment; // what stands for {id} or {date}
    Responder respond;
};

// Who may: everybody; who may read (everybody, unless the garden closes its reads); who has a key.
enum class Door : std::uint8_t { read, write, open };

struct Route {
    Method method;
    std::string_view pattern; // "/api/v1/zones/{id}/water"
    void (*handler)(App& app, Call call);
    Door door = Door::read;
    bool form = false; // may have a body of form fields instead of JSON
};

// Whether `path` has the pattern's segments; a segment in braces takes any and is returned.
bool matches(std::string_view pattern, std::string_view path, std::string_view& segment);

std::span<const Route> routes();

// The handlers, by what they serve. Static so that the table is a constant; in one struct so that
// App names one friend.
struct Routes {
    // reads.cpp
    static void healthz(App& app, Call call);
    static void metrics(App& app, Call call);
    // feed.cpp
    static void calendar(App& app, Call call);
    static void feed(App& app, Call call);
    static void feed_address(App& app, Call call);
    static void make_feed(App& app, Call call);
    static void end_feed(App& app, Call call);
    // reads.cpp again
    static void status(App& app, Call call);
    static void course(App& app, Call call);
    static void growth(App& app, Call call);
    static void cycles(App& app, Call call);
    static void decisions(App& app, Call call);
    static void moisture(App& app, Call call);
    static void corrections(App& app, Call call);
    static void day(App& app, Call call);
    static void days(App& app, Call call);
    static void foresight(App& app, Call call);
    static void earth(App& app, Call call);
    static void stream(App& app, Call call);
    static void session(App& app, Call call);
    static void weather(App& app, Call call);
    // plan.cpp
    static void plan(App& app, Call call);
    static void plan_calendar(App& app, Call call);
    // orders.cpp
    static void sign_in(App& app, Call call);
    static void sign_out(App& app, Call call);
    static void water(App& app, Call call);
    static void stop(App& app, Call call);
    static void hold(App& app, Call call);
    static void release(App& app, Call call);
    static void plan_mow(App& app, Call call);
    static void drop_mow(App& app, Call call);
    static void stop_all(App& app, Call call);
    static void emergency_stop(App& app, Call call);
    static void emergency_release(App& app, Call call);
    static void reading(App& app, Call call);
    static void station(App& app, Call call);
    // observations.cpp
    static void observe(App& app, Call call);
    static void take_back(App& app, Call call);
    static void set_back(App& app, Call call);
    static void undo(App& app, Call call);
    // setting_up.cpp
    static void reckon_cans(App& app, Call call);
    static void try_valve(App& app, Call call);
    static void tried_valve(App& app, Call call);
    // garden_file.cpp
    static void garden(App& app, Call call);
    static void preview_garden(App& app, Call call);
    static void change_garden(App& app, Call call);

private:
    static void order(App& app, const Call& call, engine::Input input, std::string accepted);
    template <class Row>
    static void rows(App& app, Call& call, std::chrono::hours span_default,
                     void (Backend::*ask)(const Span&, Answer<std::vector<Row>>),
                     std::string (*csv)(std::span<const Row>),
                     std::string (*json)(std::span<const Row>), WallTime (*time)(const Row&));
};

} // namespace firstmow::http
