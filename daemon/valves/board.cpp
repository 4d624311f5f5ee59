#include "valves/board.hpp"

#include "valves/driver.hpp"

#include <boost/asio/post.hpp>
#include <spdlog/spdlog.h>

#include <algorithm>

namespace firstmow::valves {

Board::Board(boost::asio::io_context& loop, std::string garden, Switchboard::Report to,
             std::size_t most)
    : io(loop),
      garden_path(std::move(garden)),
      report(std::move(to)),
      most_open(std::min<std::size_t>(most, 255)),
      pulse(loop) {}

std::string Board::fault_words(const Line& line, int error) const {
    return words_of(line.valve, garden_path, error);
}

void Board::answer(const std::string& zone, bool open, const Status& done, std::int64_t at_ms) {
    engine::ValveReport r;
    r.zone = zone;
    r.open = open;
    if (at_ms > 0) r.since = MonoTime{Millis{at_ms}};
    if (!done) {
        r.fault = true;
        r.detail = done.error().message;
    }
    boost::asio::post(io, [this, still = std::weak_ptr<bool>(alive), r = std::move(r)] {
        if (!still.expired()) report(r);
    });
}

void Board::raise(const std::string& text) {
    spdlog::error("{}", text);
    if (!alarm) return;
    boost::asio::post(io, [this, still = std::weak_ptr<bool>(alive), text] {
        if (!still.expired() && alarm) alarm(text);
    });
}

} // namespace firstmow::valves
