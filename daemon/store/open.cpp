// Opening a journal: everything that can be wrong with the place and the file is found before
// anything is changed.
#include "store/impl.hpp"
#include "store/migrations.hpp"

#include <algorithm>
#include <charconv>
#include <fcntl.h>
#include <filesystem>
#include <system_error>
#include <unistd.h>

namespace firstmow::store {

namespace {

namespace fs = std::filesystem;

// By the effective user, as opening will be.
bool may(const std::string& path, int mode) {
    return faccessat(AT_FDCWD, path.c_str(), mode, AT_EACCESS) == 0;
}

Status look_at_place(const std::string& path, bool read_only) {
    std::error_code ignored;
    const fs::path file(path);
    const std::string folder = file.has_parent_path() ? file.parent_path().string() : ".";
    if (fs::is_directory(file, ignored))
        return Error{path + ": is a folder; a file name for the journal would be right"};
    if (!fs::is_directory(folder, ignored))
        return Error{folder + ": no such folder; make it, or use another --state-dir"};
    if (read_only) {
        if (!fs::exists(file, ignored)) return Error{path + ": no such file"};
        if (!may(path, R_OK)) return Error{path + ": may not be read by this user"};
        return Done{};
    }
    if (!may(folder, W_OK | X_OK))
        return Error{folder + ": may not be written by this user, or is on a read-only disk; "
                              "give it the right owner, or use another --state-dir"};
    if (fs::exists(file, ignored) && !may(path, R_OK | W_OK))
        return Error{path + ": may not be written by this user, or is read-only; "
                            "give it the right owner, or use another --state-dir"};
    return Done{};
}

int to_int(const std::string& text) {
    int value = 0;
    std::from_chars(text.data(), text.data() + text.size(), value);
    return value;
}

// The version of the file; 0 for an empty one. Refuses what is not ours or newer than we are.
Result<int> look_at_file(Database& database) {
    const Result<std::string> version = database.ask("PRAGMA user_version");
    if (!version.ok()) return version.error();
    const Result<std::string> id = database.ask("PRAGMA application_id");
    if (!id.ok()) return id.error();
    const Result<std::string> tables = database.ask("SELECT count(*) FROM sqlite_schema");
    if (!tables.ok()) return tables.error();
    const std::string& path = database.path();
    if (to_int(*id) != kApplicationId && (*version != "0" || *tables != "0"))
        return Error{path + ": is a database of another program; "
                            "move it away, or use another --state-dir"};
    if (to_int(*version) > newest_version())
        return Error{path + ": was written by a newer firstmow (schema " + *version +
                     ", this one knows " + std::to_string(newest_version()) +
                     "); use that version or another --state-dir"};
    return to_int(*version);
}

Status look_through(Database& database) {
    const Result<std::string> verdict = database.ask("PRAGMA quick_check(1)");
    if (!verdict.ok()) return verdict.error();
    if (*verdict == "ok") return Done{};
    std::string where = *verdict; // of several lines
    std::replace(where.begin(), where.end(), '\n', ' ');
    return database.complaint(Fault::damaged, "is damaged (" + where +
                                                  "); move it aside and start again, or "
                                                  "restore a copy");
}

Status settle(Database& database, const OpenOptions& options, int version) {
    if (version == 0) {
        Status paged = database.exec("PRAGMA page_size = " + std::to_string(options.page_bytes));
        if (!paged.ok()) return paged;
    }
    Status set =
        database.exec(std::string("PRAGMA synchronous = ") + (options.durable ? "FULL" : "OFF") +
                      "; PRAGMA foreign_keys = ON; PRAGMA wal_autocheckpoint = 2000;"
                      "PRAGMA journal_size_limit = 4194304; PRAGMA cache_size = -512;"
                      "PRAGMA temp_store = MEMORY; PRAGMA trusted_schema = OFF;");
    if (!set.ok()) return set;
    const Result<std::string> mode = database.ask("PRAGMA journal_mode = WAL");
    if (!mode.ok()) return mode.error();
    if (*mode != "wal")
        return Error{database.path() + ": this disk cannot hold a write-ahead log (journal mode " +
                     *mode + "); use a --state-dir on a local disk"};
    return migrate(database, version);
}

Status open_for_writing(Database& database, const OpenOptions& options) {
    // Until the file is accepted, closing must not copy its log into it.
    database.checkpoint_on_close(false);
    // Set before the first access: the file is locked from then on, and the index of the log
    // stays in memory.
    Status alone = database.exec("PRAGMA locking_mode = EXCLUSIVE");
    if (!alone.ok()) return alone;
    const Result<int> version = look_at_file(database);
    if (!version.ok()) return version.error();
    if (database.is_read_only())
        return Error{database.path() + ": can only be read; the journal must be writable: "
                                       "mend its rights, or use another --state-dir"};
    if (*version > 0 && options.quick_check) {
        Status sound = look_through(database);
        if (!sound.ok()) return sound;
    }
    Status settled = settle(database, options, *version);
    if (!settled.ok()) return settled;
    database.checkpoint_on_close(true);
    return Done{};
}

Status open_for_reading(Database& database, const OpenOptions& options) {
    database.checkpoint_on_close(false);
    const Result<int> version = look_at_file(database);
    if (!version.ok()) return version.error();
    if (*version != newest_version())
        return Error{database.path() + ": has the older schema " + std::to_string(*version) +
                     "; let firstmowd open it once"};
    return options.quick_check ? look_through(database) : Status(Done{});
}

} // namespace

Result<Store> Store::open(const std::string& path, const OpenOptions& options, Fault* fault) {
    Fault ignored = Fault::none;
    Fault& why = fault != nullptr ? *fault : ignored;
    why = Fault::io;
    Status place = look_at_place(path, options.read_only);
    if (!place.ok()) return place.error();

    Database::Mode mode;
    mode.read_only = options.read_only;
    mode.busy_ms = options.busy_ms;
    mode.vfs = options.vfs;
    // A writer keeps its log beside the file for as long as it runs. Without one nobody writes,
    // and the file can be read where not even a lock could be put.
    std::error_code none;
    mode.immutable = options.read_only && !fs::exists(path + "-wal", none);
    Result<Database> database = Database::open(path, mode, why);
    if (!database.ok()) return database.error();

    Status opened = options.read_only ? open_for_reading(*database, options)
                                      : open_for_writing(*database, options);
    if (!opened.ok()) {
        why = database->fault() != Fault::none ? database->fault() : Fault::other;
        return opened.error();
    }
    why = Fault::none;
    auto impl = std::make_unique<Impl>();
    impl->database = std::move(*database);
    return Store(std::move(impl));
}

Result<std::string> set_aside(const std::string& path, WallTime now) {
    std::string stamp = to_iso8601(now);
    std::erase(stamp, ':');
    const std::string target = path + ".damaged-" + stamp;
    std::error_code failed;
    // The log first: a log without its file is harmless, the other way round it would be
    // applied to the new file.
    for (const char* tail : {"-wal", "-shm", ""}) {
        if (!fs::exists(path + tail)) continue;
        fs::rename(path + tail, target + tail, failed);
        if (failed) return Error{path + ": could not be moved aside: " + failed.message()};
    }
    return target;
}

} // namespace firstmow::store
