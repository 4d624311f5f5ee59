#include "commands.hpp"

#include "garden/boot.hpp"
#include "host/garden_file.hpp"

#include <cstdio>

namespace firstmow::companion {

int complain(const std::string& message, int code) {
    std::fprintf(stderr, "firstmow: %s\n", message.c_str());
    return code;
}

int check(const std::string& garden) {
    const auto loaded = host::load_garden(garden);
    if (const auto* errors = std::get_if<std::vector<std::string>>(&loaded)) {
        for (const std::string& error : *errors)
            std::fprintf(stderr, "%s\n", error.c_str());
        return kWrongInput;
    }
    const garden::Garden& g = std::get<host::GardenFile>(loaded).setup.garden;
    for (const garden::Caution& caution : g.cautions)
        std::fprintf(stderr, "%s:%d:%d: warning: %s\n", garden.c_str(), caution.line,
                     caution.column, caution.message.c_str());
    std::printf("%s: good; %zu zone%s\n", garden.c_str(), g.zones.size(),
                g.zones.size() == 1 ? "" : "s");
    // The file is good all the same: a resistor is not seen from here.
    for (const std::string& caution : garden::boot_cautions(g))
        std::printf("mind: %s\n", caution.c_str());
    return kDone;
}

} // namespace firstmow::companion
