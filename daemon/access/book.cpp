#include "access/book.hpp"

#include "access/files.hpp"
#include "access/secrets.hpp"

#include <algorithm>
#include <charconv>
#include <utility>

namespace firstmow::access {
namespace {

constexpr std::string_view kKey = "key-";
constexpr std::string_view kBrowser = "browser-";
constexpr std::string_view kCode = "code";
constexpr std::string_view kKnown = "known";
constexpr std::string_view kFeed = "feed";
constexpr std::size_t kHashLength = 64;

// A file's lines; nothing when it is not there or does not hold `count` whole lines.
std::optional<std::vector<std::string>> lines_of(const std::string& path, std::size_t count) {
    const auto text = read_small(path);
    if (!text) return std::nullopt;
    std::vector<std::string> lines;
    std::string_view rest = *text;
    for (auto end = rest.find('\n'); end != std::string_view::npos; end = rest.find('\n')) {
        lines.emplace_back(rest.substr(0, end));
        rest.remove_prefix(end + 1);
    }
    if (lines.size() != count || !rest.empty()) return std::nullopt;
    return lines;
}

template <class Number>
std::optional<Number> number(const std::string& text) {
    Number value{};
    const char* const end = text.data() + text.size();
    const auto [stopped, fault] = std::from_chars(text.data(), end, value);
    if (fault != std::errc{} || stopped != end) return std::nullopt;
    return value;
}

// Starts of the machine are told apart by this; the clock that never jumps begins anew at each.
std::string boot() {
    return read_small("/proc/sys/kernel/random/boot_id").value_or("unknown\n");
}

bool is_name(std::string_view name) {
    return !name.empty() && name.size() <= Book::kLongestName &&
           std::all_of(name.begin(), name.end(), [](char c) {
               return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
                      c == '-' || c == '_' || c == '.';
           });
}

std::optional<Book::Key> read_key(const std::string& path) {
    const auto lines = lines_of(path, 2);
    if (!lines) return std::nullopt;
    const auto made = parse_iso8601((*lines)[1]);
    if (!made) return std::nullopt;
    return Book::Key{(*lines)[0], *made};
}

std::optional<Book::Session> read_session(const std::string& path) {
    const auto lines = lines_of(path, 3);
    if (!lines) return std::nullopt;
    const auto since = parse_iso8601((*lines)[0]);
    const auto end = parse_iso8601((*lines)[1]);
    if (!since || !end) return std::nullopt;
    return Book::Session{*since, *end, (*lines)[2]};
}

std::string text_of(const Book::Session& session) {
    return to_iso8601(session.since) + '\n' + to_iso8601(session.end) + '\n' + session.key + '\n';
}

} // namespace

Book::Book(std::string folder) : folder_(std::move(folder)) {}

std::string Book::path(std::string_view kind, std::string_view name) const {
    return folder_ + '/' + std::string(kind) + std::string(name);
}

Status Book::write(const std::string& path, const std::string& text) const {
    if (const Status made = make_private_folder(folder_); !made) return made;
    return write_private(path, text);
}

// --- keys ---------------------------------------------------------------------------------------
Result<std::string> Book::add_key(std::string_view name, WallTime now) {
    if (!is_name(name))
        return Error{"a key's name is 1 to " + std::to_string(kLongestName) +
                     " letters, digits, '-', '_' or '.'"};
    const std::vector<Key> all = keys();
    if (std::any_of(all.begin(), all.end(), [&](const Key& key) { return key.name == name; }))
        return Error{"there is a key '" + std::string(name) +
                     "' already; revoke it first, or choose another name"};
    if (all.size() >= kKeysMax)
        return Error{"there are " + std::to_string(kKeysMax) + " keys already; revoke one first"};
    Result<std::string> key = new_key();
    if (!key) return key;
    const Status written =
        write(path(kKey, sha256_hex(*key)), std::string(name) + '\n' + to_iso8601(now) + '\n');
    if (!written) return written.error();
    return key;
}

std::optional<std::string> Book::key_hash(std::string_view key) const {
    std::string hash = sha256_hex(key);
    if (!has_key(hash)) return std::nullopt;
    return hash;
}

bool Book::has_key(std::string_view hash) const {
    return read_key(path(kKey, hash)).has_value();
}

std::vector<Book::Key> Book::keys() const {
    std::vector<Key> all;
    for (const std::string& name : names_in(folder_, kKey))
        if (auto key = read_key(path("", name))) all.push_back(std::move(*key));
    std::sort(all.begin(), all.end(), [](const Key& a, const Key& b) { return a.name < b.name; });
    return all;
}

bool Book::revoke_key(std::string_view name) {
    bool found = false;
    for (const std::string& file : names_in(folder_, kKey))
        if (const auto key = read_key(path("", file)); key && key->name == name)
            found = remove_file(path("", file)) || found;
    return found;
}

// --- sessions -----------------------------------------------------------------------------------
Result<std::string> Book::begin_session(WallTime now, const std::string& key_hash) {
    Result<std::string> id = new_key();
    if (!id) return id;
    make_room(now);
    const Session session{now, now + kSessionLife, key_hash};
    if (const Status written = write(path(kBrowser, sha256_hex(*id)), text_of(session)); !written)
        return written.error();
    if (const Status written = write(path(kKnown, ""), to_iso8601(now) + '\n'); !written)
        return written.error();
    return id;
}

// Takes away what has ended, and the session that ends first when there are too many.
void Book::make_room(WallTime now) {
    std::vector<std::pair<WallTime, std::string>> good;
    for (const std::string& name : names_in(folder_, kBrowser)) {
        const auto session = read_session(path("", name));
        if (session && session->end > now)
            good.emplace_back(session->end, name);
        else
            (void)remove_file(path("", name));
    }
    std::sort(good.begin(), good.end());
    for (std::size_t i = 0; good.size() - i >= kSessionsMax; ++i)
        (void)remove_file(path("", good[i].second));
}

std::optional<Book::Session> Book::session(std::string_view id, WallTime now) const {
    if (id.empty()) return std::nullopt;
    auto session = read_session(path(kBrowser, sha256_hex(id)));
    if (!session || session->end <= now) return std::nullopt;
    if (!session->key.empty() && !has_key(session->key)) return std::nullopt;
    return session;
}

Status Book::renew_session(std::string_view id, WallTime now) {
    auto known = session(id, now);
    if (!known) return Error{"there is no such session"};
    known->end = now + kSessionLife;
    return write(path(kBrowser, sha256_hex(id)), text_of(*known));
}

void Book::end_session(std::string_view id) {
    if (!id.empty()) (void)remove_file(path(kBrowser, sha256_hex(id)));
}

std::vector<Book::Session> Book::sessions(WallTime now) const {
    std::vector<Session> all;
    for (const std::string& name : names_in(folder_, kBrowser)) {
        auto session = read_session(path("", name));
        if (session && session->end > now && (session->key.empty() || has_key(session->key)))
            all.push_back(std::move(*session));
    }
    std::sort(all.begin(), all.end(),
              [](const Session& a, const Session& b) { return a.since < b.since; });
    return all;
}

std::size_t Book::end_all_sessions() {
    std::size_t ended = 0;
    for (const std::string& name : names_in(folder_, kBrowser))
        if (remove_file(path("", name))) ++ended;
    return ended;
}

bool Book::ever_signed_in() const {
    return read_small(path(kKnown, "")).has_value();
}

// --- the code -----------------------------------------------------------------------------------
Result<std::string> Book::make_code(MonoTime now) {
    Result<std::string> code = new_code();
    if (!code) return code;
    const auto end = std::chrono::duration_cast<Millis>((now + kCodeLife).time_since_epoch());
    const Status written =
        write(path(kCode, ""), sha256_hex(as_code(*code).value_or("")) + '\n' +
                                   std::to_string(end.count()) + "\n0\n" + boot());
    if (!written) return written.error();
    return code;
}

Book::Guess Book::guess_code(std::string_view typed, MonoTime now) {
    const std::string file = path(kCode, "");
    auto lines = lines_of(file, 4);
    if (!lines) return Guess::no_code;
    const auto end_ms = number<std::int64_t>((*lines)[1]);
    const auto wrong = number<int>((*lines)[2]);
    const bool good = (*lines)[0].size() == kHashLength && end_ms && wrong &&
                      (*lines)[3] + '\n' == boot() && now < MonoTime{Millis(*end_ms)} &&
                      *wrong < kWrongCodesMax;
    if (!good) {
        (void)remove_file(file);
        return Guess::no_code;
    }
    const auto code = as_code(typed);
    if (code && same(sha256_hex(*code), (*lines)[0]))
        // Used up before it lets anybody in; who cannot take it away cannot use it.
        return remove_file(file) ? Guess::right : Guess::no_code;
    if (*wrong + 1 >= kWrongCodesMax) {
        (void)remove_file(file);
        return Guess::ended;
    }
    const std::string counted = (*lines)[0] + '\n' + (*lines)[1] + '\n' +
                                std::to_string(*wrong + 1) + '\n' + (*lines)[3] + '\n';
    // A guess that cannot be counted must not be free.
    if (!write_private(file, counted)) (void)remove_file(file);
    return Guess::wrong;
}

// --- the calendar's address ---------------------------------------------------------------------
Result<std::string> Book::make_feed(WallTime now) {
    Result<std::string> address = new_key();
    if (!address) return address;
    const Status written =
        write(path(kFeed, ""), sha256_hex(*address) + '\n' + to_iso8601(now) + '\n');
    if (!written) return written.error();
    return address;
}

bool Book::is_feed(std::string_view address) const {
    const auto lines = lines_of(path(kFeed, ""), 2);
    return lines && (*lines)[0].size() == kHashLength && same(sha256_hex(address), (*lines)[0]);
}

std::optional<WallTime> Book::feed_made() const {
    const auto lines = lines_of(path(kFeed, ""), 2);
    if (!lines) return std::nullopt;
    const auto made = parse_iso8601((*lines)[1]);
    return made ? std::optional<WallTime>(*made) : std::nullopt;
}

void Book::end_feed() {
    (void)remove_file(path(kFeed, ""));
}

} // namespace firstmow::access
