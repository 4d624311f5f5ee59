// Lines and a kernel that are played: what was set is looked at, failures are ordered.
#pragma once

#include "keeper/keeper.hpp"
#include "keeper/kernel.hpp"

#include <array>
#include <string>
#include <vector>

namespace firstmow::keeper {

class FakeLines : public Lines {
public:
    explicit FakeLines(std::size_t count) : count_(count) {}
    std::size_t count() const override { return count_; }
    void take() override { did.push_back("take"); }
    int set(std::size_t channel, bool open) override;
    int read(std::size_t channel, bool& open) override;
    bool settled(std::size_t& channel, int& error) override;
    bool all_closed() const;

    std::vector<std::string> did; // "take", "0 open", "1 closed", ...
    std::array<bool, kMostChannels> level{};
    std::array<int, kMostChannels> close_error{};
    std::array<int, kMostChannels> open_error{};
    int read_error = 0;
    // Slow channels answer EINPROGRESS, and settle when finish() says so.
    std::array<bool, kMostChannels> slow{};
    void finish(std::size_t channel, int error = 0);

private:
    std::size_t count_;
    std::array<bool, kMostChannels> wanted_{};
    std::vector<std::pair<std::size_t, int>> finished_;
};

class Told : public Keeper::Listener {
public:
    void tell(const Reply& reply) override { replies.push_back(reply); }
    std::vector<Reply> replies;
};

struct FakeChip {
    std::string name;
    std::string label;
    unsigned lines = 8;
    int open_error = 0;
};

// Chips /dev/gpiochip0, 1, ... with lines that hold what is set, and keep it when let go.
class FakeKernel : public Kernel {
public:
    int open_device(const char* path) override;
    int control(int fd, unsigned long request, void* argument) override;
    int lock_device(int fd) override;
    void close_device(int fd) override;
    void pause_ms(int ms) override;

    struct Request {
        std::string consumer;
        std::vector<unsigned> offsets;
        std::vector<std::uint64_t> flags; // a line each
        std::vector<bool> active;         // first values
        std::size_t chip = 0;
    };

    std::vector<FakeChip> chips;
    std::vector<Request> requests;              // granted, in order
    std::array<std::array<bool, 64>, 4> high{}; // by chip and offset: what a meter would show
    std::vector<int> open_fds;
    int waited_ms = 0;
    int busy_until_ms = 0; // lines are held by somebody else so long
    bool gone = false;     // every call fails as of a chip that was pulled out
    int stuck_line = -1;   // this offset does not follow what is set

private:
    int get_lines(std::size_t chip, void* argument);
    int values(const Request& request, void* argument, bool set);
    int next_fd_ = 100;
    std::vector<std::pair<int, std::size_t>> chip_fds_;
    std::vector<std::pair<int, std::size_t>> line_fds_;
};

} // namespace firstmow::keeper
