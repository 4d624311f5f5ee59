#include "commands.hpp"

#include "valves/driver.hpp"

#include "host/garden_file.hpp"

#include <cstdio>
#include <vector>

namespace firstmow::companion {

int off(const std::string& garden) {
    const auto loaded = host::load_garden(garden);
    if (const auto* errors = std::get_if<std::vector<std::string>>(&loaded)) {
        for (const std::string& error : *errors)
            std::fprintf(stderr, "%s\n", error.c_str());
        return kWrongInput;
    }
    const host::GardenFile& file = std::get<host::GardenFile>(loaded);
    const std::vector<garden::Output> outputs = garden::outputs(file.setup.garden);
    std::vector<garden::Valve> all;
    for (const garden::Output& output : outputs)
        all.push_back(output.valve);
    const std::vector<Status> closed = valves::close_without_daemon(all, file.path);
    int code = kDone;
    for (std::size_t i = 0; i < outputs.size(); ++i) {
        if (closed[i]) {
            std::printf("%s: closed\n", outputs[i].name.c_str());
        } else {
            std::fprintf(stderr, "firstmow: %s: %s\n", outputs[i].name.c_str(),
                         closed[i].error().message.c_str());
            code = kNotDone;
        }
    }
    return code;
}

} // namespace firstmow::companion
