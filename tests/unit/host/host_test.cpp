#include "base/time.hpp"
#include "host/clocks.hpp"
#include "host/files.hpp"
#include "host/garden_file.hpp"
#include "host/zoneinfo.hpp"

#undef CHECK
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <grp.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

namespace firstmow::host {

namespace {

class TempDir {
public:
    TempDir() {
        std::string name =
            (std::filesystem::temp_directory_path() / "firstmow-host-XXXXXX").string();
        if (mkdtemp(name.data()) == nullptr) std::abort();
        path = name;
    }
    ~TempDir() {
        std::error_code ignored;
        std::filesystem::remove_all(path, ignored);
    }
    TempDir(const TempDir&) = delete;
    TempDir& operator=(const TempDir&) = delete;
    std::string file(const std::string& name) const { return path + "/" + name; }
    std::string path;
};

WallTime at(const char* text) {
    return parse_iso8601(text).value();
}

} // namespace

TEST_CASE("files are written whole and read back") {
    const TempDir dir;
    const std::string path = dir.file("a");
    std::string bytes;
    for (int i = 0; i < 200'000; ++i)
        bytes += static_cast<char>(i * 31 % 256);
    REQUIRE(write_file(path, bytes, 0600).ok());
    const auto back = read_file(path);
    REQUIRE(back.ok());
    CHECK(*back == bytes);
    struct stat info {};
    REQUIRE(::stat(path.c_str(), &info) == 0);
    CHECK((info.st_mode & 0777) == 0600);
    REQUIRE(write_file(path, "").ok());
    CHECK(read_file(path)->empty());
    CHECK_FALSE(std::filesystem::exists(path + ".new"));
}

TEST_CASE("files that cannot be read or written are named") {
    const TempDir dir;
    const auto none = read_file(dir.file("none"));
    REQUIRE_FALSE(none.ok());
    CHECK(none.error().message == dir.file("none") + ": No such file or directory");
    CHECK(read_file(dir.path).error().message == dir.path + ": Is a directory");
    REQUIRE(write_file(dir.file("large"), std::string(3'000'000, 'x')).ok());
    const auto large = read_file(dir.file("large"), 2 * 1024 * 1024);
    REQUIRE_FALSE(large.ok());
    CHECK(large.error().message.find("larger than 2 MiB") != std::string::npos);
    const Status lost = write_file(dir.file("none/a"), "x");
    REQUIRE_FALSE(lost.ok());
    CHECK(lost.error().message.find(dir.file("none/a")) == 0);
    // What cannot replace the old leaves it as it is.
    REQUIRE(make_directory(dir.file("taken")).ok());
    CHECK_FALSE(write_file(dir.file("taken"), "x").ok());
}

TEST_CASE("folders are made once, and never over a file") {
    const TempDir dir;
    CHECK(make_directory(dir.file("state")).ok());
    CHECK(make_directory(dir.file("state")).ok());
    REQUIRE(write_file(dir.file("file"), "x").ok());
    CHECK_FALSE(make_directory(dir.file("file")).ok());
    CHECK_FALSE(make_directory(dir.file("none/state")).ok());
}

TEST_CASE("names are seen from the garden file's folder") {
    CHECK(beside("garden.toml", "w.csv") == "w.csv");
    CHECK(beside("/etc/firstmow/garden.toml", "w.csv") == "/etc/firstmow/w.csv");
    CHECK(beside("/etc/firstmow/garden.toml", "/var/w.csv") == "/var/w.csv");
    CHECK(beside("/garden.toml", "w.csv") == "/w.csv");
}

// America/Chicago in 2026: daylight time from 8 March 02:00 CST (08:00 UTC) to 1 November 02:00 CDT
// (07:00 UTC). Source: IANA time zone database 2024a, file northamerica, rule US since 2007
// (second Sunday of March, first Sunday of November).
TEST_CASE("the offsets of Chicago in 2026") {
    const auto zone = load_timezone("America/Chicago");
    REQUIRE(zone.ok());
    CHECK(zone->name() == "America/Chicago");
    std::vector<TimeZone::Era> year;
    for (const TimeZone::Era& era : zone->eras())
        if (era.from >= at("2026-01-01T00:00:00Z") && era.from < at("2027-01-01T00:00:00Z"))
            year.push_back(era);
    REQUIRE(year.size() == 2);
    CHECK(year[0] == TimeZone::Era{at("2026-03-08T08:00:00Z"), Seconds{-5 * 3600}, "CDT"});
    CHECK(year[1] == TimeZone::Era{at("2026-11-01T07:00:00Z"), Seconds{-6 * 3600}, "CST"});
    CHECK(zone->clock_text(at("2026-03-08T07:59:59Z")) == "01:59");
    CHECK(zone->clock_text(at("2026-03-08T08:00:00Z")) == "03:00");
    CHECK(zone->clock_text(at("2026-11-01T06:59:59Z")) == "01:59");
    CHECK(zone->clock_text(at("2026-11-01T07:00:00Z")) == "01:00");
    CHECK(std::is_sorted(zone->eras().begin(), zone->eras().end(),
                         [](const auto& a, const auto& b) { return a.from < b.from; }));
}

TEST_CASE("zones without summer time, and names that are none") {
    const auto utc = load_timezone("Etc/UTC");
    REQUIRE(utc.ok());
    CHECK(utc->clock_text(at("2026-07-01T12:34:00Z")) == "12:34");
    for (const char* wrong : {"", "America/Springfield", "../../etc/passwd", "america/chicago"}) {
        CAPTURE(wrong);
        CHECK_FALSE(load_timezone(wrong).ok());
    }
    CHECK(load_timezone("America/Springfield").error().message.find("tzdata") != std::string::npos);
}

TEST_CASE("a garden file is read with its time zone, or told with its places") {
    const TempDir dir;
    const std::string good = std::string(FIRSTMOW_SOURCE_DIR) + "/config/garden.toml";
    const auto loaded = load_garden(good);
    const auto* garden = std::get_if<GardenFile>(&loaded);
    REQUIRE(garden != nullptr);
    CHECK(garden->path == good);
    CHECK(garden->text == *read_file(good));
    CHECK(garden->setup.timezone.name() == garden->setup.garden.site.timezone);
    CHECK(garden->setup.specs.size() == garden->setup.garden.zones.size());

    std::string text = garden->text;
    const std::string name = "\"" + garden->setup.timezone.name() + "\"";
    text.replace(text.find(name), name.size(), "\"America/Springfield\"");
    const auto moved = garden_from_text("g.toml", text);
    const auto* errors = std::get_if<std::vector<std::string>>(&moved);
    REQUIRE(errors != nullptr);
    REQUIRE(errors->size() == 1);
    CHECK(errors->front().find("g.toml:") == 0);
    CHECK(errors->front().find("America/Springfield") != std::string::npos);

    const auto none = load_garden(dir.file("none.toml"));
    REQUIRE(std::holds_alternative<std::vector<std::string>>(none));
    CHECK(std::get<std::vector<std::string>>(none).front().find(dir.file("none.toml") + ":1:1: ") ==
          0);
}

TEST_CASE("the clocks go on") {
    const engine::Moment before = moment_now();
    const engine::Moment after = moment_now();
    CHECK(after.mono >= before.mono);
    CHECK(before.mono.time_since_epoch() > Millis{0});
    CHECK(before.wall > at("2024-01-01T00:00:00Z"));
}

TEST_CASE("a file is given another content, whole, and keeps mode and what was there") {
    const TempDir dir;
    const std::string path = dir.file("garden.toml");
    REQUIRE(write_file(path, "old", 0640).ok());
    REQUIRE(::chmod(path.c_str(), 0640) == 0);
    CHECK(why_not_replaceable(path).empty());
    const auto done = replace_file(path, "old", "new");
    REQUIRE(done.ok());
    CHECK(*done == Replaced::done);
    CHECK(*read_file(path) == "new");
    CHECK(*read_file(path + ".before") == "old");
    for (const std::string& one : {path, path + ".before"}) {
        struct stat info {};
        REQUIRE(::stat(one.c_str(), &info) == 0);
        CHECK((info.st_mode & 07777) == 0640);
    }
    CHECK_FALSE(std::filesystem::exists(path + ".new"));
    // Somebody else was quicker.
    const auto late = replace_file(path, "old", "newer");
    REQUIRE(late.ok());
    CHECK(*late == Replaced::other_content);
    CHECK(*read_file(path) == "new");
    CHECK(*read_file(path + ".before") == "old");
}

TEST_CASE("a link is followed, not replaced; what is no file is left alone") {
    const TempDir dir;
    REQUIRE(write_file(dir.file("real.toml"), "old").ok());
    std::filesystem::create_symlink("real.toml", dir.file("garden.toml"));
    const auto done = replace_file(dir.file("garden.toml"), "old", "new");
    REQUIRE(done.ok());
    CHECK(std::filesystem::is_symlink(dir.file("garden.toml")));
    CHECK(*read_file(dir.file("real.toml")) == "new");
    CHECK_FALSE(replace_file(dir.path, "", "x").ok());
    CHECK_FALSE(replace_file(dir.file("none.toml"), "", "x").ok());
    CHECK_FALSE(why_not_replaceable(dir.file("none.toml")).empty());
    // A trap laid beside it is not stepped into.
    REQUIRE(write_file(dir.file("other"), "mine").ok());
    std::filesystem::create_symlink("other", dir.file("real.toml.new"));
    CHECK_FALSE(replace_file(dir.file("real.toml"), "new", "newer").ok());
    CHECK(*read_file(dir.file("other")) == "mine");
    CHECK(*read_file(dir.file("real.toml")) == "new");
}

TEST_CASE("where a file cannot be replaced a sentence says why and what would help") {
    if (::geteuid() != 0) return; // needs to become somebody else
    const TempDir dir;
    const std::string path = dir.file("garden.toml");
    REQUIRE(write_file(path, "old", 0644).ok());
    REQUIRE(::chmod(dir.path.c_str(), 0755) == 0);
    const pid_t child = ::fork();
    if (child == 0) {
        if (::setgroups(0, nullptr) != 0 || ::setgid(65534) != 0 || ::setuid(65534) != 0) _exit(9);
        const std::string why = why_not_replaceable(path);
        const bool told = why.find("may not write in " + dir.path) != std::string::npos &&
                          why.find("sudo chown ") != std::string::npos;
        const bool refused = !replace_file(path, "old", "new").ok();
        _exit(told && refused ? 0 : 1);
    }
    int status = 0;
    REQUIRE(::waitpid(child, &status, 0) == child);
    CHECK(WEXITSTATUS(status) == 0);
    CHECK(*read_file(path) == "old");
    // The folder is his, the file is not: its owner could not be kept.
    REQUIRE(::chmod(dir.path.c_str(), 0777) == 0);
    const pid_t second = ::fork();
    if (second == 0) {
        if (::setgroups(0, nullptr) != 0 || ::setgid(65534) != 0 || ::setuid(65534) != 0) _exit(9);
        const bool told =
            why_not_replaceable(path).find("belongs to somebody else") != std::string::npos;
        const bool refused = !replace_file(path, "old", "new").ok();
        _exit(told && refused ? 0 : 1);
    }
    REQUIRE(::waitpid(second, &status, 0) == second);
    CHECK(WEXITSTATUS(status) == 0);
    CHECK(*read_file(path) == "old");
}

} // namespace firstmow::host
