#include "running.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#include <chrono>
#include <csignal>
#include <thread>

namespace firstmow::process {

namespace {

std::unique_ptr<httplib::Client> client(int port) {
    auto made = std::make_unique<httplib::Client>("127.0.0.1", port);
    made->set_connection_timeout(10);
    made->set_read_timeout(20);
    return made;
}

Reply reply_of(const httplib::Result& result) {
    if (!result) return {};
    const std::string cookie = result->get_header_value("Set-Cookie");
    return {result->status, result->body, cookie.substr(0, cookie.find(';'))};
}

httplib::Headers headers_of(const Headers& headers) {
    return {headers.begin(), headers.end()};
}

} // namespace

bool eventually(const std::function<bool()>& is_so, int seconds) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(seconds);
    while (!is_so()) {
        if (std::chrono::steady_clock::now() > until) return false;
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    return true;
}

House::House(const GardenSpec& spec) {
    write(garden(), garden_text(spec));
}

std::string House::key() const {
    const auto found = lines(content_of(state() + "/token"));
    return found.empty() ? "" : found.front();
}

std::vector<std::string> House::command(const std::string& listen) const {
    return {kDaemon, "--garden", garden(), "--state-dir", state(), "--listen", listen};
}

bool House::start() {
    const std::string file = place.file("daemon.log");
    const std::size_t before = log().size();
    child_ = std::make_unique<Child>(Start{command(), "", "", file, false});
    const std::string sign = "serving http://127.0.0.1:";
    return eventually([&] {
               const std::string words = log().substr(before);
               const auto at = words.find(sign);
               const auto end = at == std::string::npos ? at : words.find('/', at + sign.size());
               if (end == std::string::npos) return !child_->running();
               port_ = std::stoi(words.substr(at + sign.size()));
               return true;
           }) &&
           child_->running();
}

int House::end() {
    child_->signal(SIGTERM);
    return child_->wait();
}

void House::crash() {
    child_->signal(SIGKILL);
    (void)child_->wait();
}

Reply House::get(const std::string& path, const std::string& accept) const {
    httplib::Headers headers;
    if (!accept.empty()) headers.emplace("Accept", accept);
    return reply_of(client(port_)->Get(path, headers));
}

Reply House::post(const std::string& path, const std::string& body) const {
    return post_with(key(), path, body);
}

Reply House::post_with(const std::string& key, const std::string& path,
                       const std::string& body) const {
    httplib::Headers headers;
    if (!key.empty()) headers.emplace("Authorization", "Bearer " + key);
    return reply_of(client(port_)->Post(path, headers, body, "application/json"));
}

Reply House::get_with(const Headers& headers, const std::string& path) const {
    return reply_of(client(port_)->Get(path, headers_of(headers)));
}

Reply House::send(const Headers& headers, const std::string& path, const std::string& body) const {
    return reply_of(client(port_)->Post(path, headers_of(headers), body, "application/json"));
}

Reply House::remove(const std::string& path) const {
    return reply_of(client(port_)->Delete(path, {{"Authorization", "Bearer " + key()}}));
}

std::string House::zone(const std::string& id, const std::string& member) const {
    const auto status = nlohmann::json::parse(get("/api/v1/status").body, nullptr, false);
    if (!status.is_object() || !status.contains("zones")) return "no status";
    for (const auto& zone : status["zones"])
        if (zone.value("id", "") == id && zone.contains(member))
            return zone[member].is_string() ? zone[member].get<std::string>() : zone[member].dump();
    return "no such member";
}

} // namespace firstmow::process
