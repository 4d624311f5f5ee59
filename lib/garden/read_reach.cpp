#include "garden/reach.hpp"

#include "garden/sections.hpp"
#include "garden/wording.hpp"

#include <algorithm>

namespace firstmow::garden {

namespace {

constexpr Field kAccessFields[] = {
    {"reads", false, R"(reads = "signed_in")"},
    {"names", false, R"(names = ["garden.home.arpa"])"},
};
constexpr std::string_view kReads[] = {"open", "signed_in"};
constexpr std::size_t kMostNames = 16;
constexpr std::size_t kLongestHostName = 253; // RFC 1035, 2.3.4

// Letters, digits and '-' between dots (RFC 1123, 2.1).
bool is_host_name(std::string_view name) {
    if (name.empty() || name.size() > kLongestHostName || name.front() == '.' ||
        name.back() == '.' || name.find("..") != std::string_view::npos)
        return false;
    return std::all_of(name.begin(), name.end(), [](char c) {
        return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
               c == '-' || c == '.';
    });
}

std::string lower(std::string text) {
    for (char& c : text)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + ('a' - 'A'));
    return text;
}

} // namespace

void read_access(const Node& table, Reach& reach, Errors& errors) {
    const Fields fields(table, "[access]", kAccessFields, errors);
    if (const auto reads = fields.word("reads", kReads)) reach.reads_closed = *reads == 1;
    if (fields.find("names") == nullptr) return;
    const Node* const names = fields.list("names");
    if (names == nullptr) return;
    if (names->items.size() > kMostNames) {
        errors.add(names->items[kMostNames].spot, "names has more than " +
                                                      std::to_string(kMostNames) +
                                                      " entries; up to that many would be right");
        return;
    }
    for (const Node& item : names->items) {
        if (item.kind != Kind::text)
            fields.refuse_type(item, "names", "a host name");
        else if (!is_host_name(item.text))
            errors.add(item.spot, "names has " + in_quotes(item.text) +
                                      ", which is no host name; one without port, such as "
                                      "\"garden.home.arpa\", would be right");
        else
            reach.host_names.push_back(lower(item.text));
    }
}

Reach read_reach(std::string_view toml_text) {
    Reach reach;
    const auto document = parse_document(toml_text);
    const auto* const root = std::get_if<Node>(&document);
    if (root == nullptr) return reach;
    Errors errors; // told by read() already
    for (const Entry& entry : root->entries)
        if (entry.key == "access" && entry.value.kind == Kind::table)
            read_access(entry.value, reach, errors);
        else if (entry.key == "tell")
            read_tell(entry.value, reach, errors);
    return reach;
}

} // namespace firstmow::garden
