#include "journal/body.hpp"

#include "engine/codec.hpp"
#include "garden/read.hpp"

#include <nlohmann/json.hpp>

namespace firstmow::journal {

namespace {

using Json = nlohmann::ordered_json;

// Text of a member, or nothing.
std::optional<std::string> text_of(const Json& object, const char* key) {
    if (!object.is_object()) return std::nullopt;
    const auto found = object.find(key);
    if (found == object.end() || !found->is_string()) return std::nullopt;
    return found->get<std::string>();
}

std::string dump(const Json& json) {
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<GardenText> garden_from(const Json& json) {
    const auto toml = text_of(json, "toml");
    const auto zone = text_of(json, "timezone");
    if (!toml || !zone) return Error{"the journal's copy of the garden file is damaged"};
    Result<TimeZone> decoded = engine::decode_timezone(*zone);
    if (!decoded) return decoded.error();
    return GardenText{*toml, std::move(*decoded)};
}

} // namespace

std::string encode_garden(const GardenText& garden) {
    return dump({{"toml", garden.toml}, {"timezone", engine::encode_timezone(garden.timezone)}});
}

Result<GardenText> decode_garden(std::string_view body) {
    return garden_from(Json::parse(body, nullptr, false));
}

std::string encode_snapshot(const GardenText& garden, const std::string& state) {
    return dump({{"toml", garden.toml},
                 {"timezone", engine::encode_timezone(garden.timezone)},
                 {"state", state}});
}

Result<SnapshotBody> decode_snapshot(std::string_view body) {
    const Json json = Json::parse(body, nullptr, false);
    const auto state = text_of(json, "state");
    Result<GardenText> garden = garden_from(json);
    if (!garden) return garden.error();
    if (!state) return Error{"the journal's snapshot is damaged"};
    return SnapshotBody{std::move(*garden), *state};
}

Result<engine::Setup> setup_of(const GardenText& garden) {
    auto read = garden::read(garden.toml);
    if (const auto* errors = std::get_if<std::vector<garden::FileError>>(&read))
        return Error{"the journal's copy of the garden file: " +
                     garden::located("garden", errors->front())};
    return engine::make_setup(std::move(std::get<garden::Garden>(read)), garden.timezone);
}

} // namespace firstmow::journal
