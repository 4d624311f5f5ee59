// Inside of the room: the status as it is sent, made once for each view and shared by all who ask,
// so that many pages that poll cost no more than their bytes.
#pragma once

#include "http/backend.hpp"
#include "http/message.hpp"

#include <memory>
#include <string>

namespace firstmow::http {

class StatusText {
public:
    // Takes the newest view; false when there is none yet.
    bool look(const Backend& backend);

    const std::string& json() const { return *json_; }
    // A reply to a request for it; 304 when that names what it would get.
    Reply reply(const Request& request);

private:
    std::shared_ptr<const engine::GardenView> view_; // what it was made from
    std::shared_ptr<const std::string> json_;
    std::shared_ptr<const std::string> packed_; // when somebody has asked for it
    std::string etag_;
};

} // namespace firstmow::http
