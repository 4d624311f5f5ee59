#include "garden/reach.hpp"
#include "garden/sections.hpp"
#include "garden/wording.hpp"

#include <algorithm>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"url", true, R"(url = "https://example.org/lawn")"},
    {"about", false, R"(about = ["alarm", "dry_risk"])"},
};
constexpr std::string_view kWords[kTopics] = {"alarm", "phase", "dry_risk", "daily_review"};
constexpr std::size_t kMostAddresses = 8;
constexpr std::size_t kLongestUrl = 500;

// With a host, and no blanks, marks or names of users: it goes into a request as it stands.
bool is_url(std::string_view url) {
    std::string_view rest = url;
    if (rest.starts_with("http://"))
        rest.remove_prefix(7);
    else if (rest.starts_with("https://"))
        rest.remove_prefix(8);
    else
        return false;
    const std::string_view host = rest.substr(0, rest.find_first_of("/?"));
    return !host.empty() && host.front() != ':' &&
           (host.size() == rest.size() || rest[host.size()] == '/') &&
           host.find('@') == std::string_view::npos &&
           std::all_of(rest.begin(), rest.end(), [](char c) {
               return c > ' ' && c < '\x7f' && c != '"' && c != '\\' && c != '#' && c != '<' &&
                      c != '>';
           });
}

std::optional<std::size_t> topic(std::string_view word) {
    const auto* const found = std::find(std::begin(kWords), std::end(kWords), word);
    if (found == std::end(kWords)) return std::nullopt;
    return static_cast<std::size_t>(found - std::begin(kWords));
}

void read_one(const Node& table, Reach& reach, Errors& errors) {
    const Fields fields(table, "[[tell]]", kFields, errors);
    Address address;
    const auto url = fields.text("url", kLongestUrl);
    if (url && !is_url(*url))
        fields.refuse("url", "is " + in_quotes(*url) +
                                 ", which is no address to send to; one with http:// or https:// "
                                 "such as \"https://example.org/lawn\" would be right");
    const bool twice = std::any_of(reach.addresses.begin(), reach.addresses.end(),
                                   [&](const Address& other) { return url && other.url == *url; });
    if (twice) fields.refuse("url", "is that of another [[tell]] too; one for each would be right");
    address.url = url.value_or("");
    if (fields.find("about") == nullptr) {
        address.topics.fill(true);
    } else if (const Node* const about = fields.list("about")) {
        for (const Node& item : about->items) {
            if (item.kind != Kind::text)
                fields.refuse_type(item, "about", "a word in quotes");
            else if (const auto index = topic(item.text))
                address.topics[*index] = true;
            else
                errors.add(item.spot,
                           "about has " + in_quotes(item.text) +
                               "; alarm, phase, dry_risk or daily_review would be right");
        }
    }
    reach.addresses.push_back(std::move(address));
}

} // namespace

std::string_view key(Topic topic) {
    return kWords[static_cast<std::size_t>(topic)];
}

std::string place_of(std::string_view url) {
    const auto host_at = url.find("://");
    return std::string(
        url.substr(0, host_at == std::string_view::npos ? 0 : url.find('/', host_at + 3)));
}

void read_tell(const Node& value, Reach& reach, Errors& errors) {
    if (value.kind != Kind::list) {
        errors.add(value.spot, "tell is a single table; [[tell]] in double brackets, once for each "
                               "program, would be right");
        return;
    }
    if (value.items.size() > kMostAddresses) {
        errors.add(value.items[kMostAddresses].spot,
                   "the garden tells more than " + std::to_string(kMostAddresses) +
                       " programs; up to that many would be right");
        return;
    }
    for (const Node& item : value.items) {
        if (item.kind == Kind::table)
            read_one(item, reach, errors);
        else
            errors.add(item.spot, "tell has an entry that is no table; [[tell]] in double brackets "
                                  "would be right");
    }
}

} // namespace firstmow::garden
