#include "access/files.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <dirent.h>
#include <fcntl.h>
#include <memory>
#include <sys/stat.h>
#include <unistd.h>

namespace firstmow::access {
namespace {

constexpr std::size_t kLargest = 1024;

Error failed(const std::string& path, int fault) {
    return Error{path + ": " + std::strerror(fault)};
}

std::string folder_of(const std::string& path) {
    const auto slash = path.rfind('/');
    if (slash == std::string::npos) return ".";
    return slash == 0 ? "/" : path.substr(0, slash);
}

// What root makes in another user's folder shall be that user's.
bool give_to_owner(const std::string& path, const std::string& folder) {
    if (::geteuid() != 0) return true;
    struct stat info {};
    return ::stat(folder.c_str(), &info) == 0 &&
           ::lchown(path.c_str(), info.st_uid, info.st_gid) == 0;
}

} // namespace

std::optional<std::string> read_small(const std::string& path) {
    const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    if (file < 0) return std::nullopt;
    char buffer[kLargest + 1];
    std::size_t size = 0;
    while (size < sizeof buffer) {
        const ssize_t got = ::read(file, buffer + size, sizeof buffer - size);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) size = sizeof buffer;
        if (got <= 0) break;
        size += static_cast<std::size_t>(got);
    }
    ::close(file);
    if (size > kLargest) return std::nullopt;
    return std::string(buffer, size);
}

Status write_private(const std::string& path, const std::string& text) {
    const std::string beside_it = path + ".new" + std::to_string(::getpid());
    const int file =
        ::open(beside_it.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (file < 0) return failed(beside_it, errno);
    const ssize_t put = ::write(file, text.data(), text.size());
    const int fault = put < 0 ? errno : ENOSPC;
    ::close(file);
    if (put != static_cast<ssize_t>(text.size()) || !give_to_owner(beside_it, folder_of(path))) {
        (void)::unlink(beside_it.c_str());
        return failed(beside_it, fault);
    }
    if (::rename(beside_it.c_str(), path.c_str()) != 0) return failed(path, errno);
    return Done{};
}

Status make_private_folder(const std::string& path) {
    if (::mkdir(path.c_str(), 0700) == 0) {
        if (give_to_owner(path, folder_of(path))) return Done{};
        return failed(path, errno);
    }
    const int fault = errno;
    struct stat info {};
    if (fault == EEXIST && ::stat(path.c_str(), &info) == 0 && S_ISDIR(info.st_mode)) return Done{};
    return failed(path, fault);
}

bool remove_file(const std::string& path) {
    return ::unlink(path.c_str()) == 0;
}

std::vector<std::string> names_in(const std::string& folder, std::string_view beginning) {
    std::vector<std::string> names;
    const std::unique_ptr<DIR, int (*)(DIR*)> listing(::opendir(folder.c_str()), ::closedir);
    if (!listing) return names;
    while (const dirent* entry = ::readdir(listing.get())) {
        const std::string_view name = entry->d_name;
        if (name.starts_with(beginning) && name.find('.') == std::string_view::npos)
            names.emplace_back(name);
    }
    std::sort(names.begin(), names.end());
    return names;
}

} // namespace firstmow::access
