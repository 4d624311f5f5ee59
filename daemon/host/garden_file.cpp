#include "host/garden_file.hpp"

#include "garden/read.hpp"
#include "host/files.hpp"
#include "host/zoneinfo.hpp"

namespace firstmow::host {

GardenOrErrors load_garden(const std::string& path) {
    Result<std::string> text = read_file(path, kLargestGarden);
    // The place of a file that cannot be read is its beginning.
    if (!text)
        return std::vector<std::string>{path + ":1:1: cannot be read (" + text.error().message +
                                        ")"};
    return garden_from_text(path, std::move(*text));
}

GardenOrErrors garden_from_text(const std::string& path, std::string text) {
    garden::ReadOptions options;
    options.is_timezone = [](std::string_view name) { return load_timezone(name).ok(); };
    auto read = garden::read(text, options);
    if (auto* errors = std::get_if<std::vector<garden::FileError>>(&read)) {
        std::vector<std::string> lines;
        for (const garden::FileError& error : *errors)
            lines.push_back(garden::located(path, error));
        return lines;
    }
    auto& garden = std::get<garden::Garden>(read);
    Result<TimeZone> zone = load_timezone(garden.site.timezone);
    if (!zone) return std::vector<std::string>{path + ":1:1: " + zone.error().message};
    return GardenFile{path, std::move(text),
                      engine::make_setup(std::move(garden), std::move(*zone))};
}

} // namespace firstmow::host
