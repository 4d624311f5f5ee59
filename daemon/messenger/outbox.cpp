#include "messenger/outbox.hpp"

#include "host/files.hpp"

#include <nlohmann/json.hpp>

#include <unistd.h>

namespace firstmow::messenger {
namespace {

using Json = nlohmann::json;

constexpr std::size_t kLargest = 4 * 1024 * 1024;

} // namespace

Outbox read_outbox(const std::string& file) {
    Outbox outbox;
    const auto text = host::read_file(file, kLargest);
    if (!text) return outbox;
    const Json all = Json::parse(*text, nullptr, false);
    if (!all.is_object()) return outbox;
    for (const auto& [url, letters] : all.items()) {
        if (!letters.is_array()) continue;
        for (const Json& letter : letters)
            if (letter.is_object() && letter.contains("body") && letter["body"].is_string() &&
                letter.contains("tries") && letter["tries"].is_number_integer())
                outbox[url].push_back(
                    {letter["body"].get<std::string>(), letter["tries"].get<int>()});
    }
    return outbox;
}

bool write_outbox(const std::string& file, const Outbox& outbox) {
    Json all = Json::object();
    for (const auto& [url, letters] : outbox)
        for (const Waiting& letter : letters)
            all[url].push_back({{"body", letter.body}, {"tries", letter.tries}});
    if (all.empty()) return ::unlink(file.c_str()) == 0 || ::access(file.c_str(), F_OK) != 0;
    return host::write_file(file, all.dump(-1, ' ', false, Json::error_handler_t::replace) + '\n',
                            0600)
        .ok();
}

} // namespace firstmow::messenger
