// The garden file, read and changed by who is signed in: what may be changed while the daemon runs
// (garden/edit.hpp), shown as lines first, written when the file is still what was looked at.
//
// Nothing of the file but the values of those keys goes out, except to a preview, whose answer
// holds the whole new text to be saved by hand.
#include "base/text.hpp"
#include "garden/edit.hpp"
#include "http/body.hpp"
#include "http/gate.hpp"
#include "http/problem.hpp"
#include "tables/json_text.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace firstmow::http {
namespace {

using Json = nlohmann::json;
using Form = garden::Editable::Kind;

constexpr const char* kExample =
    R"({"changes": [{"zone": "front", "key": "area", "value": "95 m2"}]})";
constexpr std::size_t kMostInList = 32;

// A tag of a text: when it differs, so does the text.
std::string tag_of(const std::string& text) {
    return '"' + sha256_hex(text).substr(0, 32) + '"';
}

std::optional<std::string> strings_toml(const Json& value) {
    if (!value.is_array() || value.empty() || value.size() > kMostInList) return std::nullopt;
    std::string toml;
    for (const Json& one : value) {
        if (!one.is_string()) return std::nullopt;
        toml += (toml.empty() ? "[" : ", ") + garden::toml_string(one.get<std::string>());
    }
    return toml + "]";
}

std::optional<std::string> number_toml(const Json& value) {
    if (!value.is_number()) return std::nullopt;
    const double number = value.get<double>();
    if (!std::isfinite(number) || std::abs(number) > 1e6) return std::nullopt;
    std::string text = fixed(number, 4);
    while (text.back() == '0')
        text.pop_back();
    if (text.back() == '.') text += '0';
    return text;
}

std::optional<std::string> mix_toml(const Json& value) {
    if (!value.is_array() || value.empty() || value.size() > kMostInList) return std::nullopt;
    std::string toml = "[ ";
    for (const Json& part : value) {
        if (!part.is_object() || part.size() != 2 || !part.contains("species") ||
            !part["species"].is_string() || !part.contains("share"))
            return std::nullopt;
        const auto share = number_toml(part["share"]);
        if (!share) return std::nullopt;
        toml += (toml.size() > 2 ? ", " : "") + std::string("{ species = ") +
                garden::toml_string(part["species"].get<std::string>()) + ", share = " + *share +
                " }";
    }
    return toml + " ]";
}

// The value as TOML, or what would be right.
std::variant<std::string, Error> value_toml(const garden::Editable& key, const Json& value) {
    std::optional<std::string> toml;
    std::string right;
    switch (key.kind) {
    case Form::text:
    case Form::word:
    case Form::quantity:
        if (value.is_string()) toml = garden::toml_string(value.get<std::string>());
        right = "a text";
        break;
    case Form::share:
        toml = number_toml(value);
        right = "a number";
        break;
    case Form::hours:
    case Form::days:
        toml = strings_toml(value);
        right = "a list of texts";
        break;
    case Form::mix:
        toml = mix_toml(value);
        right = R"(a list such as [{"species": "tall_fescue", "share": 1}])";
        break;
    case Form::cans:
        if (value.is_object()) {
            auto notes = read_can_notes(value);
            if (auto* wrong = std::get_if<std::string>(&notes)) return Error{*wrong};
            const auto& good = std::get<garden::CanNotes>(notes);
            if (const auto told = garden::report(good); !told) return told.error();
            toml = garden::toml(good);
        }
        right = "the notes of a catch-can test";
        break;
    }
    if (!toml) return Error{"the value of " + std::string(key.key) + " must be " + right};
    return *toml;
}

using Changes = std::vector<garden::Change>;

std::string cut_short(const std::string& text, std::size_t longest) {
    if (text.size() <= longest) return text;
    std::size_t end = longest;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U)
        --end; // not within a character
    return text.substr(0, end) + "...";
}

// "area of front from "90 m2" to "95 m2"": for the record.
std::string words_of(const garden::Change& change, const garden::SaidGarden& before) {
    constexpr std::size_t kLongest = 60;
    std::string old;
    const auto look = [&](const std::vector<garden::Said>& keys) {
        for (const garden::Said& key : keys)
            if (key.key == change.key) old = key.toml;
    };
    if (change.zone.empty()) look(before.keys);
    for (const garden::SaidZone& zone : before.zones)
        if (zone.id == change.zone) look(zone.keys);
    std::replace(old.begin(), old.end(), '\n', ' ');
    std::replace(old.begin(), old.end(), '\r', ' ');
    std::string words = change.key + (change.zone.empty() ? "" : " of " + change.zone);
    if (!old.empty()) words += " from " + cut_short(old, kLongest);
    return words + (change.value ? " to " + cut_short(*change.value, kLongest) : " to nothing");
}

std::variant<Changes, Reply> read_changes(const Request& request) {
    auto read = read_object(request, kExample);
    if (auto* refusal = std::get_if<Reply>(&read)) return std::move(*refusal);
    const Json& body = std::get<Json>(read);
    const auto wrong = [](const std::string& what) {
        return wrong_value(what + "; send for example " + kExample);
    };
    if (!body.is_object() || body.size() != 1 || !body.contains("changes") ||
        !body["changes"].is_array() || body["changes"].empty())
        return wrong("the body has no list \"changes\" alone");
    Changes changes;
    for (const Json& one : body["changes"]) {
        if (!one.is_object() || one.size() != 3 || !one.contains("key") ||
            !one["key"].is_string() || !one.contains("value") || !one.contains("zone") ||
            !(one["zone"].is_string() || one["zone"].is_null()))
            return wrong("a change has \"zone\" (null: the whole garden), \"key\" and \"value\" "
                         "(null: the key goes)");
        const std::string zone = one["zone"].is_null() ? "" : one["zone"].get<std::string>();
        const std::string name = one["key"].get<std::string>();
        const garden::Editable* const key = garden::find_editable(!zone.empty(), name);
        if (key == nullptr)
            return wrong("the key \"" + name.substr(0, 40) +
                         "\" cannot be changed here; GET /api/v1/garden lists those that can");
        garden::Change change{zone, name, std::nullopt};
        if (one["value"].is_null()) {
            if (key->required) return wrong_value(name + " cannot be left out");
        } else {
            auto toml = value_toml(*key, one["value"]);
            if (auto* error = std::get_if<Error>(&toml)) return wrong_value(error->message);
            change.value = std::get<std::string>(std::move(toml));
        }
        changes.push_back(std::move(change));
    }
    return changes;
}

Reply unreadable(const Error& error) {
    return problem(409, "garden-unreadable",
                   "the garden file cannot be read now: " + error.message);
}

std::string joined(const std::vector<std::string>& lines) {
    std::string text;
    for (const std::string& line : lines)
        text += (text.empty() ? "" : "; ") + line;
    return text;
}

void write_strings(tables::JsonWriter& w, std::string_view name,
                   const std::vector<std::string>& texts) {
    w.open('[', name);
    for (const std::string& text : texts)
        w.raw_item(tables::json_text(text));
    w.close();
}

void write_value(tables::JsonWriter& w, const garden::Said& key) {
    if (key.text) {
        w.text("value", *key.text);
    } else if (key.number) {
        w.number("value", *key.number, 4);
    } else if (!key.texts.empty()) {
        write_strings(w, "value", key.texts);
    } else if (!key.shares.empty()) {
        w.open('[', "value");
        for (const auto& [species, share] : key.shares)
            w.open('{').text("species", species).number("share", share, 4).close();
        w.close();
    } else {
        w.null("value");
    }
}

void write_keys(tables::JsonWriter& w, std::string_view name,
                const std::vector<garden::Said>& keys) {
    w.open('{', name);
    for (const garden::Said& key : keys) {
        w.open('{', key.key);
        if (key.toml.empty())
            w.null("toml");
        else
            w.text("toml", key.toml);
        write_value(w, key);
        if (key.line > 0)
            w.integer("line", key.line);
        else
            w.null("line");
        w.text("fixed", key.fixed).close();
    }
    w.close();
}

Reply json_reply(std::string body, const std::string& tag) {
    Reply reply;
    reply.content_type = "application/json";
    reply.headers.emplace_back("ETag", tag);
    reply.body = std::move(body) + '\n';
    return reply;
}

// What is to be written: the text of now, and with the changes.
struct Draft {
    GardenText before;
    std::string after;
    GardenTrial trial;
    std::string said;
};

std::variant<Draft, Reply> draft(const Backend& backend, const Request& request) {
    auto read = read_changes(request);
    if (auto* refusal = std::get_if<Reply>(&read)) return std::move(*refusal);
    auto& changes = std::get<Changes>(read);
    auto text = backend.garden_text();
    if (!text) return unreadable(text.error());
    const std::string_view match = request.header("if-match");
    if (!match.empty() && match != tag_of(text->text)) {
        Reply reply = problem(412, "changed-meanwhile",
                              "the garden file has changed since it was looked at; look at it "
                              "again, then change it");
        reply.headers.emplace_back("ETag", tag_of(text->text));
        return reply;
    }
    const auto said = garden::what_is_said(text->text);
    if (!said) return unreadable(said.error());
    std::vector<std::string> words;
    for (const garden::Change& change : changes)
        words.push_back(words_of(change, *said));
    auto after = garden::edit(text->text, changes);
    if (!after) return problem(422, "cannot-edit", after.error().message);
    GardenTrial trial = backend.try_garden(*after);
    if (!trial.faults.empty()) return problem(422, "no-garden", joined(trial.faults));
    constexpr std::size_t kLongestSaid = 600;
    return Draft{std::move(*text), std::move(*after), std::move(trial),
                 cut_short(joined(words), kLongestSaid)};
}

} // namespace

void Routes::garden(App& app, Call call) {
    const auto text = app.backend_.garden_text();
    if (!text) return call.respond(unreadable(text.error()));
    const auto said = garden::what_is_said(text->text);
    if (!said) return call.respond(unreadable(said.error()));
    tables::JsonWriter w;
    w.open('{').text("etag", tag_of(text->text)).boolean("in_force", text->in_force);
    w.boolean("writable", text->why_not.empty()).text("why_not", text->why_not);
    write_keys(w, "garden", said->keys);
    w.open('[', "zones");
    for (const garden::SaidZone& zone : said->zones) {
        w.open('{').text("id", zone.id);
        write_keys(w, "keys", zone.keys);
        w.close();
    }
    w.close();
    w.close();
    call.respond(json_reply(w.take(), tag_of(text->text)));
}

void Routes::preview_garden(App& app, Call call) {
    auto made = draft(app.backend_, call.request);
    if (auto* refusal = std::get_if<Reply>(&made)) return call.respond(std::move(*refusal));
    const Draft& d = std::get<Draft>(made);
    const std::string tag = tag_of(d.before.text);
    tables::JsonWriter w;
    w.open('{').text("etag", tag).boolean("in_force", d.before.in_force);
    w.text("why_not", d.before.why_not);
    w.open('[', "lines");
    for (const garden::LineChange& line : garden::line_changes(d.before.text, d.after)) {
        w.open('{').integer("line", line.line).boolean("comes", line.comes);
        w.text("text", line.text).close();
    }
    w.close();
    write_strings(w, "effects", d.trial.effects);
    write_strings(w, "cautions", d.trial.cautions);
    w.text("text", d.after).close();
    call.respond(json_reply(w.take(), tag));
}

void Routes::change_garden(App& app, Call call) {
    if (call.request.header("if-match").empty())
        return call.respond(problem(428, "no-if-match",
                                    "say in If-Match which garden file you looked at: the ETag of "
                                    "GET /api/v1/garden"));
    auto made = draft(app.backend_, call.request);
    if (auto* refusal = std::get_if<Reply>(&made)) return call.respond(std::move(*refusal));
    Draft& d = std::get<Draft>(made);
    if (!d.before.why_not.empty())
        return call.respond(problem(409, "not-writable", d.before.why_not));
    const std::string tag = tag_of(d.after);
    app.backend_.change_garden(
        std::move(d.before.text), std::move(d.after),
        "A person changed the garden file on the page: " + d.said + ".",
        [respond = call.respond, tag](Result<GardenWritten> written) {
            if (!written) return respond(problem(409, "not-written", written.error().message));
            if (*written == GardenWritten::changed_meanwhile)
                return respond(problem(412, "changed-meanwhile",
                                       "the garden file has changed since it was looked at; look "
                                       "at it again, then change it"));
            respond(json_reply(
                R"({"accepted":"garden","zone":null,"etag":)" + tables::json_text(tag) + "}", tag));
        });
}

} // namespace firstmow::http
