// Programs started from tests: each is ended by its own process id, whatever happens, and dies
// with the test program. Nothing waits longer than its bound.
#pragma once

#include <string>
#include <sys/types.h>
#include <vector>

namespace firstmow::process {

// How a program ended. `code` is its exit code; 128 + the signal that ended it; -1 when it had to
// be ended because it took too long.
struct Ended {
    int code = -1;
    std::string out;
    std::string err;
};

struct Start {
    std::vector<std::string> arguments; // of the program, its path first
    std::string folder;                 // to start in; empty: this one
    std::string out_file;               // where its words go
    std::string err_file;
    bool as_nobody = false; // as another user; needs root
};

// A program that runs beside the test.
class Child {
public:
    explicit Child(const Start& start);
    ~Child(); // SIGKILL, if it still runs
    Child(const Child&) = delete;
    Child& operator=(const Child&) = delete;

    void signal(int number) const;
    pid_t pid() const { return pid_; }
    bool running();
    // The exit code as in Ended.
    int wait(int seconds = 30);

private:
    pid_t pid_ = -1;
    int code_ = -1;
    bool ended_ = false;
};

// Runs to its end.
Ended run(const std::vector<std::string>& arguments, const std::string& folder = {},
          bool as_nobody = false, int seconds = 120);

bool is_root();

} // namespace firstmow::process
