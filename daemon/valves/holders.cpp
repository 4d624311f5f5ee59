#include "valves/holders.hpp"

#include <filesystem>
#include <fstream>
#include <system_error>
#include <vector>

namespace firstmow::valves {

namespace {

namespace fs = std::filesystem;

bool holds_lines(const fs::path& process) {
    std::error_code fault;
    for (fs::directory_iterator fd(process / "fd", fault), end; !fault && fd != end;
         fd.increment(fault)) {
        std::error_code unread;
        const std::string target = fs::read_symlink(fd->path(), unread).string();
        if (!unread && target.find("gpio-line") != std::string::npos) return true;
    }
    return false;
}

} // namespace

std::string holders_of_gpio_lines() {
    std::string found;
    std::string keeper;
    std::error_code fault;
    for (fs::directory_iterator process("/proc", fault), end; !fault && process != end;
         process.increment(fault)) {
        const std::string pid = process->path().filename().string();
        if (pid.find_first_not_of("0123456789") != std::string::npos) continue;
        if (!holds_lines(process->path())) continue;
        std::string name;
        std::getline(std::ifstream(process->path() / "comm"), name);
        found += (found.empty() ? "process " : ", ") + pid + " (" + name + ")";
        if (name.starts_with("firstmow-keep")) keeper = pid;
    }
    if (found.empty()) return "another program";
    if (!keeper.empty())
        found += "; `firstmow stop` asks the daemon to close them, `kill " + keeper +
                 "` makes its keeper do so";
    return found;
}

} // namespace firstmow::valves
