// The thin layer over SQLite: one connection with its prepared statements, and what went wrong in
// our own words. Only this room includes it; sqlite3.h stays in its .cpp files.
#pragma once

#include "base/result.hpp"

#include <cstdint>
#include <map>
#include <string>
#include <string_view>

struct sqlite3;
struct sqlite3_stmt;

namespace firstmow::store {

// Why the last call failed, coarse enough to act on.
enum class Fault : std::uint8_t {
    none,
    busy,    // another program holds the file
    full,    // no room left
    io,      // reading or writing failed, or may not be done
    refused, // this value can never be written: trying again does not help
    damaged, // not a database, or a broken one
    other,
};

class Database;

// A prepared statement in use: values are bound in order, then rows are stepped through. Borrowed
// from the cache of its database and given back, reset, at the end of its life. Bound text must
// live as long as the statement is used.
class Statement {
public:
    Statement(Database& database, sqlite3_stmt* statement)
        : database_(database), statement_(statement) {}
    ~Statement();
    Statement(const Statement&) = delete;
    Statement& operator=(const Statement&) = delete;

    Statement& put(std::int64_t value);
    Statement& put(int value) { return put(static_cast<std::int64_t>(value)); }
    Statement& put(double value); // finite, otherwise the step is an Error
    Statement& put(std::string_view value);
    Statement& put_null();

    Result<bool> step(); // true while there is a row
    Status run();        // to the end; rows are not looked at

    // Columns of the row, from 0.
    std::int64_t integer(int column) const;
    int small(int column) const { return static_cast<int>(integer(column)); }
    double real(int column) const;
    std::string text(int column) const;
    bool is_null(int column) const;

private:
    void bound(int code);

    Database& database_;
    sqlite3_stmt* statement_; // null: could not be prepared
    int next_ = 1;
    int bind_error_ = 0;
    bool not_finite_ = false;
};

class Database {
public:
    struct Mode {
        bool read_only = false;
        bool immutable = false; // with read_only: nobody writes it, take no locks
        int busy_ms = 2000;
        std::string vfs; // empty: the system's
    };
    static Result<Database> open(const std::string& path, const Mode& mode, Fault& fault);

    Database() = default;
    ~Database();
    Database(Database&& other) noexcept;
    Database& operator=(Database&& other) noexcept;

    // `sql` is a literal, or at least lives as long as the database.
    Statement use(std::string_view sql);
    // One or more statements without results.
    Status exec(const std::string& sql);
    // A single value, as text ("" for NULL or no row).
    Result<std::string> ask(const std::string& sql);

    bool in_transaction() const;
    bool is_read_only() const;
    std::int64_t rows_changed() const; // by the last statement
    // Whether closing copies the write-ahead log into the file (SQLite's default).
    void checkpoint_on_close(bool yes);

    const std::string& path() const { return path_; }
    Fault fault() const { return fault_; } // of the last failure
    void keep_fault(Fault fault) { fault_ = fault; }

    // An Error that names the file, from SQLite's last complaint; sets fault().
    Error failure(int code);
    // The same for what we find wrong ourselves; `what` follows the path.
    Error complaint(Fault fault, const std::string& what);

private:
    friend class Statement;
    void close();

    std::string path_;
    sqlite3* handle_ = nullptr;
    std::map<std::string_view, sqlite3_stmt*> statements_;
    Fault fault_ = Fault::none;
};

} // namespace firstmow::store
