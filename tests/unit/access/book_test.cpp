// The book of who may come in: what it lets in, for how long, and what it gives away.
#include "access/book.hpp"
#include "access/secrets.hpp"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>
#include <sys/stat.h>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::access;
using Guess = Book::Guess;

namespace {

const WallTime kNow = parse_iso8601("2026-08-30T18:20:00Z").value();
const MonoTime kMono{Millis(5'000'000)};

struct Folder {
    Folder() {
        std::string name =
            (std::filesystem::temp_directory_path() / "firstmow-access-XXXXXX").string();
        if (mkdtemp(name.data()) == nullptr) std::abort();
        path = name;
    }
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path, ignored);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;

    std::string book() const { return path + "/access"; }
    // All that stands in the book, names of files and their content.
    std::string all() const {
        std::string text;
        for (const auto& entry : std::filesystem::directory_iterator(book())) {
            std::ifstream file(entry.path());
            text += entry.path().filename().string() + '\n';
            text.append(std::istreambuf_iterator<char>(file), {});
        }
        return text;
    }
    std::string path;
};

} // namespace

TEST_CASE("codes: eight signs that no one mixes up, each time others") {
    std::set<std::string> seen;
    for (int i = 0; i < 200; ++i) {
        const std::string code = new_code().value();
        REQUIRE_EQ(code.size(), 9);
        CHECK_EQ(code[4], '-');
        CHECK_EQ(code.find_first_of("0OQD1ILJ2Z5S8BUVG6abcdefghijklmnopqrstuvwxyz"),
                 std::string::npos);
        const auto typed = as_code(code);
        REQUIRE(typed);
        CHECK_EQ(code.substr(0, 4) + code.substr(5), *typed);
        seen.insert(code);
    }
    CHECK_EQ(seen.size(), 200);
}

TEST_CASE("codes: what is typed is taken without regard to case and gaps") {
    CHECK_EQ(as_code("k7rm-4xpn"), "K7RM4XPN");
    CHECK_EQ(as_code(" K7 RM 4X PN "), "K7RM4XPN");
    for (const char* wrong : {"", "K7RM4XP", "K7RM4XPNN", "K7RM4XP0", "K7RM_4XPN", "........"})
        CHECK_FALSE(as_code(wrong));
}

TEST_CASE("codes: good once") {
    Folder folder;
    Book book(folder.book());
    CHECK(book.guess_code("K7RM-4XPN", kMono) == Guess::no_code);
    const std::string code = book.make_code(kMono).value();
    CHECK(book.guess_code(code, kMono) == Guess::right);
    CHECK(book.guess_code(code, kMono) == Guess::no_code);
}

TEST_CASE("codes: good for 15 minutes, by the clock that never jumps") {
    Folder folder;
    Book book(folder.book());
    const std::string code = book.make_code(kMono).value();
    CHECK(book.guess_code("AAAA-AAAA", kMono + std::chrono::minutes(15) - Millis(1)) ==
          Guess::wrong);
    CHECK(book.guess_code(code, kMono + std::chrono::minutes(15)) == Guess::no_code);
    CHECK(book.guess_code(code, kMono) == Guess::no_code);
}

TEST_CASE("codes: five wrong guesses end it, whoever looks") {
    Folder folder;
    const std::string code = Book(folder.book()).make_code(kMono).value();
    for (int i = 0; i < 4; ++i)
        CHECK(Book(folder.book()).guess_code("AAAA-AAAA", kMono) == Guess::wrong);
    SUBCASE("the last may be right") {
        CHECK(Book(folder.book()).guess_code(code, kMono) == Guess::right);
    }
    SUBCASE("or wrong") {
        CHECK(Book(folder.book()).guess_code("AAAA-AAAA", kMono) == Guess::ended);
        CHECK(Book(folder.book()).guess_code(code, kMono) == Guess::no_code);
    }
}

TEST_CASE("codes: a new one takes the place of the old; another start of the machine ends it") {
    Folder folder;
    Book book(folder.book());
    const std::string old = book.make_code(kMono).value();
    const std::string code = book.make_code(kMono).value();
    CHECK(book.guess_code(old, kMono) == Guess::wrong);
    std::ifstream in(folder.book() + "/code");
    std::string text{std::istreambuf_iterator<char>(in), {}};
    in.close();
    const auto boot_id = text.rfind('\n', text.size() - 2) + 1;
    text[boot_id] = text[boot_id] == 'f' ? 'e' : 'f';
    std::ofstream(folder.book() + "/code") << text;
    CHECK(book.guess_code(code, kMono) == Guess::no_code);
}

TEST_CASE("sessions: outlive the one who began them, and end") {
    Folder folder;
    CHECK_FALSE(Book(folder.book()).ever_signed_in());
    const std::string id = Book(folder.book()).begin_session(kNow).value();
    const Book later(folder.book());
    CHECK(later.ever_signed_in());
    CHECK(later.session(id, kNow));
    CHECK(later.session(id, kNow + Book::kSessionLife - Seconds(1)));
    CHECK_FALSE(later.session(id, kNow + Book::kSessionLife));
    for (const std::string& wrong : {std::string(), id.substr(1), id + "0",
                                     std::string("../access/browser-") + sha256_hex(id)})
        CHECK_FALSE(later.session(wrong, kNow));
    Book(folder.book()).end_session(id);
    CHECK_FALSE(later.session(id, kNow));
    CHECK(later.ever_signed_in());
}

TEST_CASE("sessions: the one that ends first makes room") {
    Folder folder;
    Book book(folder.book());
    std::vector<std::string> ids;
    for (int i = 0; i < 70; ++i)
        ids.push_back(book.begin_session(kNow + Seconds(i)).value());
    const WallTime then = kNow + Seconds(70);
    CHECK_EQ(book.sessions(then).size(), Book::kSessionsMax);
    CHECK_FALSE(book.session(ids[5], then));
    CHECK(book.session(ids[6], then));
    CHECK_EQ(book.end_all_sessions(), Book::kSessionsMax);
    CHECK_FALSE(book.session(ids[69], then));
}

TEST_CASE("keys: named, listed, revoked") {
    Folder folder;
    Book book(folder.book());
    const std::string shed = book.add_key("shed", kNow).value();
    const std::string pole = book.add_key("pole", kNow + Seconds(1)).value();
    CHECK_NE(shed, pole);
    CHECK(book.key_hash(shed) == sha256_hex(shed));
    CHECK_FALSE(book.key_hash("shed"));
    CHECK_FALSE(book.add_key("shed", kNow).ok());
    for (const char* wrong :
         {"", "two words", "a/b", "line\nbreak", "12345678901234567890123456789012345678901"})
        CHECK_FALSE(book.add_key(wrong, kNow).ok());
    const auto all = book.keys();
    REQUIRE_EQ(all.size(), 2);
    CHECK_EQ(all[0].name, "pole");
    CHECK_EQ(all[1].made, kNow);
    const std::string id = book.begin_session(kNow, *book.key_hash(shed)).value();
    CHECK(book.session(id, kNow));
    CHECK(book.revoke_key("shed"));
    CHECK_FALSE(book.revoke_key("shed"));
    CHECK_FALSE(book.key_hash(shed));
    CHECK_FALSE(book.session(id, kNow));
    CHECK(book.key_hash(pole));
}

TEST_CASE("the book gives no secret away and is its owner's alone") {
    Folder folder;
    Book book(folder.book());
    const std::string key = book.add_key("shed", kNow).value();
    const std::string id = book.begin_session(kNow).value();
    const std::string code = book.make_code(kMono).value();
    const std::string all = folder.all();
    for (const std::string& secret : {key, id, code, *as_code(code)})
        CHECK_EQ(all.find(secret), std::string::npos);
    struct stat info {};
    REQUIRE_EQ(stat(folder.book().c_str(), &info), 0);
    CHECK_EQ(info.st_mode & 0777, 0700);
    for (const auto& entry : std::filesystem::directory_iterator(folder.book())) {
        REQUIRE_EQ(stat(entry.path().c_str(), &info), 0);
        CHECK_EQ(info.st_mode & 0777, 0600);
    }
}

TEST_CASE("the book: a torn file lets nobody in") {
    Folder folder;
    Book book(folder.book());
    const std::string key = book.add_key("shed", kNow).value();
    const std::string id = book.begin_session(kNow).value();
    const std::string code = book.make_code(kMono).value();
    for (const auto& entry : std::filesystem::directory_iterator(folder.book()))
        std::filesystem::resize_file(entry.path(), std::filesystem::file_size(entry.path()) / 2);
    CHECK_FALSE(book.key_hash(key));
    CHECK_FALSE(book.session(id, kNow));
    CHECK(book.guess_code(code, kMono) == Guess::no_code);
}

TEST_CASE("the book: where nothing can be written nothing is let in") {
    Book book("/proc/no-such-place/access");
    CHECK_FALSE(book.add_key("shed", kNow).ok());
    CHECK_FALSE(book.begin_session(kNow).ok());
    CHECK_FALSE(book.make_code(kMono).ok());
    CHECK(book.keys().empty());
}
