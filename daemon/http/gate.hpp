// Who may do what: the Host header against DNS rebinding, the Origin header against forged
// requests, a key or a signed-in session for every write (and for reads, where the garden says so),
// and a brake on guessing.
//
// A browser signs in with a key or with a pairing code, and its session outlives the daemon: keys,
// codes and sessions stand in the book (access/book.hpp).
#pragma once

#include "access/book.hpp"
#include "access/secrets.hpp"
#include "base/time.hpp"
#include "http/brake.hpp"
#include "http/message.hpp"

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::http {

using access::sha256_hex;

struct AccessSettings {
    // SHA-256 of the key, 64 hexadecimal digits. Empty: no key is set and every write is refused.
    std::string key_sha256{};
    // The same of the key that a weather station gives: it may tell weather and nothing else.
    // Empty: no station is heard.
    std::string station_key_sha256{};
    // Names beside localhost, the machine's own and literal addresses under which the page may be
    // asked for, without port.
    std::vector<std::string> host_names{};
    // Folder of the book; empty: no browser can sign in, and no further key is known.
    std::string folder{};
    bool reads_closed = false;
    // Hears, in a sentence, of sign-ins and of guessing.
    std::function<void(const std::string&)> told{};
};

class Gate {
public:
    struct Now {
        MonoTime mono;
        WallTime wall;
    };

    explicit Gate(AccessSettings settings);
    // What a garden file may change while the daemon runs.
    void set(std::vector<std::string> host_names, bool reads_closed);

    // Each gives the refusal, or nothing when the request may pass.
    std::optional<Reply> check_host(const Request& request) const;
    std::optional<Reply> check_origin(const Request& request) const;
    std::optional<Reply> check_read(const Request& request, Now now);
    std::optional<Reply> check_write(const Request& request, Now now);

    // A station's word: its own key, wherever it carries it.
    std::optional<Reply> check_station(const Request& request, std::string_view key, MonoTime now);

    // The calendar's secret address: lets in whoever knows it, to the calendar only. Making one
    // takes the place of the one before.
    std::optional<Reply> check_feed(const Request& request, std::string_view address, Now now);
    std::optional<WallTime> feed_made() const;
    Result<std::string> make_feed(WallTime now);
    void end_feed();

    // What a request came in with, to ask later whether that is still good: keys are revoked and
    // browsers signed out while an event stream of theirs is open.
    struct Pass {
        bool first_key = false;
        std::string key_hash{};
        std::string session{};
    };
    Pass pass(const Request& request, Now now) const;
    // One that came in with nothing may stay as long as reads are open.
    bool still_good(const Pass& pass, Now now) const;

    // Takes a key or a code and gives a reply that sets the cookie, or the refusal.
    Reply sign_in(const Request& request, std::string_view secret, Now now);
    Reply sign_out(const Request& request);
    // Whether this browser is signed in; one that comes back stays so for longer.
    Reply session(const Request& request, Now now);

private:
    bool signed_in(const Request& request, Now now) const;
    std::optional<Reply> check_signed(const Request& request, Now now);
    bool is_first_key(std::string_view key) const;
    Reply guess_code(const Request& request, std::string_view code, Now now);
    Reply let_in(const std::string& key_hash, Now now);
    void note_wrong(const std::string& peer, MonoTime now);
    void tell(const std::string& sentence) const;

    std::string key_sha256_;
    std::string station_key_sha256_;
    std::vector<std::string> own_names_;
    std::vector<std::string> names_; // with those of the garden file
    std::optional<access::Book> book_;
    bool reads_closed_;
    std::function<void(const std::string&)> told_;
    Brake brake_;
};

} // namespace firstmow::http
