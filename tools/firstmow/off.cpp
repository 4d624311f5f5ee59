#include "commands.hpp"

#include "valves/driver.hpp"

#include "host/garden_file.hpp"

#include <cstdio>

namespace firstmow::companion {

int off(const std::string& garden) {
    const auto loaded = host::load_garden(garden);
    if (const auto* errors = std::get_if<std::vector<std::string>>(&loaded)) {
        for (const std::string& error : *errors)
            std::fprintf(stderr, "%s\n", error.c_str());
        return kWrongInput;
    }
    const host::GardenFile& file = std::get<host::GardenFile>(loaded);
    int code = kDone;
    for (const garden::Zone& zone : file.setup.garden.zones) {
        const Status closed = valves::close_without_daemon(zone.valve, file.path);
        if (closed) {
            std::printf("%s: closed\n", zone.id.c_str());
        } else {
            std::fprintf(stderr, "firstmow: %s: %s\n", zone.id.c_str(),
                         closed.error().message.c_str());
            code = kNotDone;
        }
    }
    return code;
}

} // namespace firstmow::companion
