#include "valves/running.hpp"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <system_error>

namespace firstmow::valves {

namespace {

namespace fs = std::filesystem;

bool is_daemon_of(const fs::path& process, const fs::path& garden) {
    std::string name;
    std::getline(std::ifstream(process / "comm"), name);
    if (name != "firstmowd") return false;
    std::ifstream file(process / "cmdline", std::ios::binary);
    const std::string line((std::istreambuf_iterator<char>(file)), {});
    std::error_code fault;
    const fs::path folder = fs::read_symlink(process / "cwd", fault);
    std::string before;
    for (std::size_t at = 0; at < line.size();) {
        const std::string word = line.c_str() + at;
        at += word.size() + 1;
        std::string path = before == "--garden" ? word : "";
        if (word.starts_with("--garden=")) path = word.substr(9);
        before = word;
        if (path.empty()) continue;
        const bool same = fs::equivalent(folder / path, garden, fault);
        if (!fault && same) return true;
    }
    return false;
}

} // namespace

int daemon_of(const std::string& garden_path) {
    std::error_code fault;
    for (fs::directory_iterator process("/proc", fault), end; !fault && process != end;
         process.increment(fault)) {
        const std::string pid = process->path().filename().string();
        if (pid.find_first_not_of("0123456789") != std::string::npos) continue;
        if (is_daemon_of(process->path(), garden_path)) return std::atoi(pid.c_str());
    }
    return 0;
}

} // namespace firstmow::valves
