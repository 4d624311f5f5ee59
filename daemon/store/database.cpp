#include "store/database.hpp"

#include "base/check.hpp"

#include <cmath>
#include <cstdlib>
#include <sqlite3.h>
#include <utility>

namespace firstmow::store {

namespace {

Fault fault_of(int code) {
    switch (code & 0xff) {
    case SQLITE_OK:
        return Fault::none;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return Fault::busy;
    case SQLITE_FULL:
        return Fault::full;
    case SQLITE_IOERR:
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
        return Fault::io;
    case SQLITE_CONSTRAINT:
    case SQLITE_MISMATCH:
    case SQLITE_TOOBIG:
        return Fault::refused;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return Fault::damaged;
    default:
        return Fault::other;
    }
}

// What is wrong and what would be right, for a person; empty where SQLite's words must do.
std::string advice(Fault fault) {
    switch (fault) {
    case Fault::busy:
        return "is in use by another process; stop that one, or use another --state-dir";
    case Fault::full:
        return "could not be written: no room is left; free some space on the disk";
    case Fault::damaged:
        return "is not a sound database; move it aside and start again, or restore a copy";
    case Fault::none:
    case Fault::io:
    case Fault::refused:
    case Fault::other:
        return {};
    }
    return {};
}

// A path as SQLite's URI, so that parameters can follow.
std::string as_uri(const std::string& path) {
    static constexpr char kHex[] = "0123456789ABCDEF";
    // An empty authority, so that a path that starts with "//" is not read as one.
    std::string uri = path.starts_with('/') ? "file://" : "file:";
    for (const char c : path) {
        const auto byte = static_cast<unsigned char>(c);
        if (c == '%' || c == '?' || c == '#' || byte < 0x20) {
            uri += '%';
            uri += kHex[byte >> 4];
            uri += kHex[byte & 15];
        } else {
            uri += c;
        }
    }
    return uri;
}

} // namespace

Statement::~Statement() {
    if (statement_ == nullptr) return;
    sqlite3_reset(statement_);
    sqlite3_clear_bindings(statement_);
}

void Statement::bound(int code) {
    if (code != SQLITE_OK && bind_error_ == 0) bind_error_ = code;
}

Statement& Statement::put(std::int64_t value) {
    if (statement_ != nullptr) bound(sqlite3_bind_int64(statement_, next_++, value));
    return *this;
}

Statement& Statement::put(double value) {
    // SQLite makes NULL of a NaN without a word.
    if (!std::isfinite(value)) not_finite_ = true;
    if (statement_ != nullptr) bound(sqlite3_bind_double(statement_, next_++, value));
    return *this;
}

Statement& Statement::put(std::string_view value) {
    // A null pointer would be bound as NULL; an empty text is not that.
    const char* data = value.data() == nullptr ? "" : value.data();
    if (statement_ != nullptr)
        bound(sqlite3_bind_text64(statement_, next_++, data, value.size(), SQLITE_STATIC,
                                  SQLITE_UTF8));
    return *this;
}

Statement& Statement::put_null() {
    if (statement_ != nullptr) bound(sqlite3_bind_null(statement_, next_++));
    return *this;
}

Result<bool> Statement::step() {
    if (statement_ == nullptr) return database_.failure(sqlite3_errcode(database_.handle_));
    if (not_finite_)
        return database_.complaint(Fault::refused,
                                   "refused an entry: a number in it is not finite");
    if (bind_error_ != 0) return database_.failure(bind_error_);
    const int code = sqlite3_step(statement_);
    if (code == SQLITE_ROW) return true;
    if (code == SQLITE_DONE) return false;
    return database_.failure(code);
}

Status Statement::run() {
    while (true) {
        const Result<bool> more = step();
        if (!more.ok()) return more.error();
        if (!*more) return Done{};
    }
}

std::int64_t Statement::integer(int column) const {
    return sqlite3_column_int64(statement_, column);
}
double Statement::real(int column) const {
    return sqlite3_column_double(statement_, column);
}
std::string Statement::text(int column) const {
    const unsigned char* data = sqlite3_column_text(statement_, column);
    if (data == nullptr) return {};
    return {reinterpret_cast<const char*>(data),
            static_cast<std::size_t>(sqlite3_column_bytes(statement_, column))};
}
bool Statement::is_null(int column) const {
    return sqlite3_column_type(statement_, column) == SQLITE_NULL;
}

Result<Database> Database::open(const std::string& path, const Mode& mode, Fault& fault) {
    Database database;
    database.path_ = path;
    int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_URI | SQLITE_OPEN_EXRESCODE;
    flags |= mode.read_only ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
    const std::string uri = as_uri(path) + (mode.immutable ? "?immutable=1" : "");
    const int code = sqlite3_open_v2(uri.c_str(), &database.handle_, flags,
                                     mode.vfs.empty() ? nullptr : mode.vfs.c_str());
    if (code != SQLITE_OK) {
        const Error error = database.failure(code);
        fault = database.fault();
        return error;
    }
    sqlite3_busy_timeout(database.handle_, mode.busy_ms);
    return database;
}

Database::~Database() {
    close();
}

Database::Database(Database&& other) noexcept
    : path_(std::move(other.path_)),
      handle_(std::exchange(other.handle_, nullptr)),
      statements_(std::move(other.statements_)),
      fault_(other.fault_) {
    other.statements_.clear();
}

Database& Database::operator=(Database&& other) noexcept {
    if (this == &other) return *this;
    close();
    path_ = std::move(other.path_);
    handle_ = std::exchange(other.handle_, nullptr);
    statements_ = std::move(other.statements_);
    other.statements_.clear();
    fault_ = other.fault_;
    return *this;
}

void Database::close() {
    for (const auto& [sql, statement] : statements_)
        sqlite3_finalize(statement);
    statements_.clear();
    sqlite3_close_v2(handle_);
    handle_ = nullptr;
}

Statement Database::use(std::string_view sql) {
    CHECK(handle_ != nullptr);
    const auto found = statements_.find(sql);
    if (found != statements_.end()) return {*this, found->second};
    sqlite3_stmt* statement = nullptr;
    const int code = sqlite3_prepare_v3(handle_, sql.data(), static_cast<int>(sql.size()),
                                        SQLITE_PREPARE_PERSISTENT, &statement, nullptr);
    if (code != SQLITE_OK) return {*this, nullptr};
    statements_.emplace(sql, statement);
    return {*this, statement};
}

Status Database::exec(const std::string& sql) {
    CHECK(handle_ != nullptr);
    const int code = sqlite3_exec(handle_, sql.c_str(), nullptr, nullptr, nullptr);
    if (code != SQLITE_OK) return failure(code);
    return Done{};
}

Result<std::string> Database::ask(const std::string& sql) {
    CHECK(handle_ != nullptr);
    sqlite3_stmt* raw = nullptr;
    const int code = sqlite3_prepare_v2(handle_, sql.c_str(), -1, &raw, nullptr);
    if (code != SQLITE_OK) return failure(code);
    Result<std::string> answer = std::string();
    {
        Statement statement(*this, raw);
        const Result<bool> row = statement.step();
        if (!row.ok()) {
            answer = row.error();
        } else if (*row) {
            answer = statement.text(0);
        }
    }
    sqlite3_finalize(raw);
    return answer;
}

bool Database::in_transaction() const {
    return sqlite3_get_autocommit(handle_) == 0;
}
bool Database::is_read_only() const {
    return sqlite3_db_readonly(handle_, "main") == 1;
}
std::int64_t Database::rows_changed() const {
    return sqlite3_changes64(handle_);
}

void Database::checkpoint_on_close(bool yes) {
    sqlite3_db_config(handle_, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, yes ? 0 : 1, nullptr);
}

Error Database::failure(int code) {
    fault_ = fault_of(code);
    const std::string ours = advice(fault_);
    if (!ours.empty()) return Error{path_ + ": " + ours};
    const std::string theirs =
        handle_ != nullptr ? sqlite3_errmsg(handle_) : std::string(sqlite3_errstr(code));
    const std::string action = fault_ == Fault::refused ? "refused an entry: "
                               : fault_ == Fault::io    ? "could not be read or written: "
                                                        : "failed: ";
    return Error{path_ + ": " + action + theirs};
}

Error Database::complaint(Fault fault, const std::string& what) {
    fault_ = fault;
    return Error{path_ + ": " + what};
}

} // namespace firstmow::store
