#include "commands.hpp"

#include "host/files.hpp"
#include "host/garden_file.hpp"
#include "tables/plan_json.hpp"

#include <cstdio>

namespace firstmow::companion {

int plan(const PlanOptions& options) {
    const auto loaded = host::load_garden(options.garden);
    if (const auto* errors = std::get_if<std::vector<std::string>>(&loaded)) {
        for (const std::string& error : *errors)
            std::fprintf(stderr, "%s\n", error.c_str());
        return kWrongInput;
    }
    const engine::Setup& setup = std::get<host::GardenFile>(loaded).setup;
    std::vector<renovation::DailyAir> record;
    if (const auto& file = setup.garden.renovation.daily_record) {
        const std::string path = host::beside(options.garden, *file);
        const auto text = host::read_file(path);
        if (!text) return complain(text.error().message);
        auto days = renovation::read_record(*text);
        if (!days) return complain(path + ": " + days.error().message);
        record = std::move(*days);
    }
    const renovation::Plan plan = renovation::plan(setup.garden, setup.timezone, record);
    if (!options.out.empty()) {
        const Status written = host::write_file(options.out, renovation::ical(plan));
        if (!written) return complain(written.error().message, kNotDone);
    }
    const std::string text = options.json ? tables::plan_json(plan) : renovation::report(plan);
    std::fwrite(text.data(), 1, text.size(), stdout);
    if (std::fflush(stdout) != 0) return complain("standard output cannot be written", kNotDone);
    return kDone;
}

} // namespace firstmow::companion
