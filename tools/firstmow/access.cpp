// Who may come in: a code for a browser, further keys, signed-in browsers. All of it is in the
// daemon's state folder, which the daemon looks at anew each time.
#include "commands.hpp"

#include "access/book.hpp"
#include "host/clocks.hpp"

#include <cstdio>
#include <optional>
#include <sys/stat.h>

namespace firstmow::companion {

namespace {

// The book of a folder that a daemon has used.
std::optional<access::Book> book_in(const std::string& state_dir) {
    struct stat info {};
    if (::stat((state_dir + "/token").c_str(), &info) == 0)
        return access::Book(state_dir + "/access");
    complain("--state-dir " + state_dir +
             ": there is no key in it; the folder that firstmowd was started with would be right, "
             "as a user who may look into it");
    return std::nullopt;
}

} // namespace

int pair(const std::string& state_dir) {
    auto book = book_in(state_dir);
    if (!book) return kWrongInput;
    const Result<std::string> code = book->make_code(host::mono_now());
    if (!code) return complain(code.error().message, kNotDone);
    std::printf("%s\n", code->c_str());
    std::fprintf(stderr,
                 "Type it on the page, at \"Sign in\", within %d minutes; it is good once.\n",
                 static_cast<int>(access::Book::kCodeLife.count()));
    return kDone;
}

int key_add(const std::string& state_dir, const std::string& name) {
    auto book = book_in(state_dir);
    if (!book) return kWrongInput;
    const Result<std::string> key = book->add_key(name, host::wall_now());
    if (!key) return complain(key.error().message, kNotDone);
    std::printf("%s\n", key->c_str());
    std::fprintf(stderr, "Keep it: only its hash is written down here.\n");
    return kDone;
}

int key_list(const std::string& state_dir) {
    const auto book = book_in(state_dir);
    if (!book) return kWrongInput;
    for (const access::Book::Key& key : book->keys())
        std::printf("%s  made %s\n", key.name.c_str(), to_iso8601(key.made).c_str());
    return kDone;
}

int key_revoke(const std::string& state_dir, const std::string& name) {
    auto book = book_in(state_dir);
    if (!book) return kWrongInput;
    if (book->revoke_key(name)) return kDone;
    return complain("there is no key '" + name + "'; firstmow key list names all there are",
                    kNotDone);
}

int browsers_list(const std::string& state_dir) {
    const auto book = book_in(state_dir);
    if (!book) return kWrongInput;
    for (const access::Book::Session& session : book->sessions(host::wall_now()))
        std::printf("since %s  until %s\n", to_iso8601(session.since).c_str(),
                    to_iso8601(session.end).c_str());
    return kDone;
}

int browsers_sign_out(const std::string& state_dir) {
    auto book = book_in(state_dir);
    if (!book) return kWrongInput;
    std::printf("%zu signed out\n", book->end_all_sessions());
    return kDone;
}

} // namespace firstmow::companion
