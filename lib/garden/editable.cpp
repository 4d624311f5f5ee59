// What may be changed of a garden file while the daemon runs, and how a file says it.
#include "garden/document.hpp"
#include "garden/edit.hpp"
#include "garden/spans.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace firstmow::garden {

namespace {

using Form = Editable::Kind;

// In the order in which a garden file has them: a key that comes new stands behind the one before.
constexpr std::array kEditable{
    Editable{"supply.hours", Form::hours, false, true},
    Editable{"supply.days", Form::days, false, false},
    Editable{"name", Form::text},
    Editable{"area", Form::quantity, true, true},
    Editable{"soil", Form::word, true, true},
    Editable{"slope", Form::quantity},
    Editable{"precipitation_rate", Form::quantity},
    Editable{"catch_cans", Form::cans},
    Editable{"flow", Form::quantity},
    Editable{"heads", Form::word},
    Editable{"distribution_uniformity", Form::share},
    Editable{"sun", Form::word},
    Editable{"direct_sun", Form::quantity},
    Editable{"shortest_run", Form::quantity},
    Editable{"longest_run", Form::quantity},
    Editable{"establishment.cover", Form::word},
    Editable{"establishment.mix", Form::mix},
};

const Node* find(const Node& root, const Path& path) {
    const Node* at = &root;
    for (const Step& step : path) {
        if (step.index >= 0) {
            const auto index = static_cast<std::size_t>(step.index);
            at = index < at->items.size() ? &at->items[index] : nullptr;
        } else {
            const auto& entries = at->entries;
            const auto found = std::find_if(entries.begin(), entries.end(),
                                            [&](const Entry& e) { return e.key == step.key; });
            at = found == entries.end() ? nullptr : &found->value;
        }
        if (at == nullptr) return nullptr;
    }
    return at;
}

void take_value(const Node& node, Said& said) {
    if (node.kind == Kind::text) said.text = node.text;
    if (node.is_number()) said.number = node.number;
    for (const Node& item : node.items) {
        if (item.kind == Kind::text) said.texts.push_back(item.text);
        std::string species;
        double share = 0;
        for (const Entry& entry : item.entries) {
            if (entry.key == "species") species = entry.value.text;
            if (entry.key == "share") share = entry.value.number;
        }
        if (!species.empty()) said.shares.emplace_back(species, share);
    }
}

Said said_of(std::string_view text, const Node& root, const Spans& spans, const Editable& key,
             Path path) {
    for (std::size_t from = 0; from <= key.key.size();) {
        const std::size_t dot = std::min(key.key.find('.', from), key.key.size());
        path.push_back({std::string(key.key.substr(from, dot - from)), -1});
        from = dot + 1;
    }
    Said said;
    said.key = key.key;
    if (const Node* const node = find(root, path)) take_value(*node, said);
    const auto within = [&](const Path& other) {
        return other.size() > path.size() && std::equal(path.begin(), path.end(), other.begin());
    };
    for (const KeySpan& span : spans.keys) {
        if (span.path == path) {
            said.toml = text.substr(span.value_begin, span.value_end - span.value_begin);
            said.line = 1 + static_cast<int>(std::count(
                                text.begin(),
                                text.begin() + static_cast<std::ptrdiff_t>(span.key_begin), '\n'));
            if (span.comment)
                said.fixed = "It holds a comment among its values, which is changed by hand.";
            const bool braces = said.toml.starts_with('{');
            if (braces && key.kind != Form::cans)
                said.fixed =
                    "It is written as several figures in braces, which are changed by hand.";
            if (said.toml.starts_with('[') && key.kind == Form::quantity)
                said.fixed = "It is written as hours of the clock, which are changed by hand.";
            return said;
        }
    }
    for (const KeySpan& span : spans.keys)
        if (within(span.path)) said.fixed = "It is a table of its own, which is changed by hand.";
    for (const TableSpan& table : spans.tables)
        if (table.path == path || within(table.path))
            said.fixed = "It is a table of its own, which is changed by hand.";
    return said;
}

SaidZone zone_of(std::string_view text, const Node& root, const Spans& spans, const Node& node,
                 int index) {
    SaidZone zone;
    bool established = false;
    for (const Entry& entry : node.entries) {
        if (entry.key == "id") zone.id = entry.value.text;
        established = established || entry.key == "establishment";
    }
    for (const Editable& key : kEditable) {
        if (!key.of_zone) continue;
        zone.keys.push_back(said_of(text, root, spans, key, {{"zone", -1}, {"", index}}));
        if (!established && key.key.starts_with("establishment."))
            zone.keys.back().fixed = "Nothing is being established here.";
    }
    return zone;
}

} // namespace

std::span<const Editable> editable() {
    return kEditable;
}

const Editable* find_editable(bool of_zone, std::string_view key) {
    const auto* found = std::find_if(kEditable.begin(), kEditable.end(), [&](const Editable& e) {
        return e.of_zone == of_zone && e.key == key;
    });
    return found == kEditable.end() ? nullptr : &*found;
}

Result<SaidGarden> what_is_said(std::string_view toml_text) {
    const auto parsed = parse_document(toml_text);
    if (const auto* error = std::get_if<FileError>(&parsed))
        return Error{"line " + std::to_string(error->line) + ": " + error->message};
    const auto spans = find_spans(toml_text);
    if (!spans)
        return Error{"the file's keys hold quotes or escapes; it can only be changed by hand"};
    const Node& root = std::get<Node>(parsed);
    SaidGarden garden;
    for (const Editable& key : kEditable)
        if (!key.of_zone) garden.keys.push_back(said_of(toml_text, root, *spans, key, {}));
    for (const Entry& entry : root.entries) {
        if (entry.key != "zone" || entry.value.kind != Kind::list) continue;
        for (std::size_t i = 0; i < entry.value.items.size(); ++i)
            garden.zones.push_back(
                zone_of(toml_text, root, *spans, entry.value.items[i], static_cast<int>(i)));
    }
    return garden;
}

} // namespace firstmow::garden
