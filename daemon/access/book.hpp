// The book of who may come in: a folder of small files, each readable by its owner only, each
// named by the SHA-256 of the secret that it stands for. No secret can be read out of it.
//
//   key-HASH      a further key: its name, and when it was made
//   browser-HASH  a signed-in browser: since when, until when, and which key let it in
//   code          the pairing code that is good now: its hash, its end, wrong guesses so far
//   known         a browser has signed in once
//   feed          the calendar's secret address: its hash, and when it was made
//
// A file is there or it is not: daemon and companion work on the same folder at once, and what one
// takes away the other no longer finds. Nothing is kept in memory. Files are small and not flushed
// to the disk, so that nothing here waits for one: a power cut at worst asks to sign in again.
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::access {

class Book {
public:
    static constexpr std::size_t kSessionsMax = 64;
    static constexpr std::size_t kKeysMax = 64;
    static constexpr std::chrono::hours kSessionLife{30 * 24};
    static constexpr std::chrono::minutes kCodeLife{15};
    static constexpr int kWrongCodesMax = 5;
    static constexpr std::size_t kLongestName = 40;

    // `folder` is made when something is written down. Owned by whoever owns the folder above it:
    // the daemon can read what root writes with the companion.
    explicit Book(std::string folder);

    struct Key {
        std::string name;
        WallTime made;
    };
    // The new key, shown this once. A name is 1 to 40 letters, digits, '-', '_' or '.', used once.
    Result<std::string> add_key(std::string_view name, WallTime now);
    // The hash of a key that is in the book, to be remembered with what it lets in.
    std::optional<std::string> key_hash(std::string_view key) const;
    // Whether the key of that hash is still in the book.
    bool has_key(std::string_view hash) const;
    std::vector<Key> keys() const; // by name
    // False when there is no key of that name.
    bool revoke_key(std::string_view name);

    struct Session {
        WallTime since;
        WallTime end;
        std::string key; // hash of the key of the book that let it in; empty: the first key, a code
    };
    // The id that the browser keeps. The oldest session makes room when there are too many.
    Result<std::string> begin_session(WallTime now, const std::string& key_hash = {});
    // Nothing when it has ended, or the key that let it in is revoked.
    std::optional<Session> session(std::string_view id, WallTime now) const;
    // Goes on for a whole life from now.
    Status renew_session(std::string_view id, WallTime now);
    void end_session(std::string_view id);
    std::vector<Session> sessions(WallTime now) const; // by their beginning
    std::size_t end_all_sessions();
    // Whether any browser has ever signed in.
    bool ever_signed_in() const;

    // Takes the place of a code before it. Its life is counted on the clock that never jumps: a
    // board without a clock chip leaps by months soon after its start.
    Result<std::string> make_code(MonoTime now);
    enum class Guess { right, wrong, ended, no_code };
    // A right guess uses the code up; so do too many wrong ones (`ended`: this was the last).
    Guess guess_code(std::string_view typed, MonoTime now);

    // The calendar's secret address, shown this once; the one before is good no more.
    Result<std::string> make_feed(WallTime now);
    bool is_feed(std::string_view address) const;
    // Nothing when there is none.
    std::optional<WallTime> feed_made() const;
    void end_feed();

private:
    std::string path(std::string_view kind, std::string_view name) const;
    Status write(const std::string& path, const std::string& text) const;
    void make_room(WallTime now);

    std::string folder_;
};

} // namespace firstmow::access
