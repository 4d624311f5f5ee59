// A file of somebody else's, its owner's in this case, is given another content.
#include "host/files.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <memory>
#include <pwd.h>
#include <sys/stat.h>
#include <unistd.h>

namespace firstmow::host {

namespace {

struct Free {
    void operator()(char* text) const { std::free(text); }
};

// Where the file itself lies; `path` when that cannot be said.
std::string followed(const std::string& path) {
    const std::unique_ptr<char, Free> real(::realpath(path.c_str(), nullptr));
    return real ? real.get() : path;
}

std::string folder_of(const std::string& file) {
    const auto slash = file.rfind('/');
    return slash == std::string::npos ? "." : slash == 0 ? "/" : file.substr(0, slash);
}

// Whether a new file of ours can be of that owner and group.
bool can_be_given(const struct stat& info) {
    if (::geteuid() == 0) return true;
    if (info.st_uid != ::geteuid()) return false;
    if (info.st_gid == ::getegid()) return true;
    std::array<gid_t, 256> groups{};
    const int count = ::getgroups(static_cast<int>(groups.size()), groups.data());
    return count > 0 &&
           std::find(groups.begin(), groups.begin() + count, info.st_gid) != groups.begin() + count;
}

std::string own_name() {
    passwd entry{};
    passwd* found = nullptr;
    char buffer[1024];
    if (::getpwuid_r(::geteuid(), &entry, buffer, sizeof buffer, &found) == 0 && found != nullptr)
        return found->pw_name;
    return std::to_string(::geteuid());
}

Error failed(const std::string& path, int fault) {
    return Error{path + ": " + std::strerror(fault)};
}

// Written, flushed and closed, or gone.
Status write_whole(const std::string& path, const std::string& content, const struct stat& like) {
    const int file =
        ::open(path.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (file < 0) return failed(path, errno);
    int fault = 0;
    std::size_t written = 0;
    while (fault == 0 && written < content.size()) {
        const ssize_t put = ::write(file, content.data() + written, content.size() - written);
        if (put >= 0)
            written += static_cast<std::size_t>(put);
        else if (errno != EINTR)
            fault = errno;
    }
    struct stat is {};
    if (fault == 0 && ::fstat(file, &is) != 0) fault = errno;
    if (fault == 0 && (is.st_uid != like.st_uid || is.st_gid != like.st_gid) &&
        ::fchown(file, like.st_uid, like.st_gid) != 0)
        fault = errno;
    if (fault == 0 && ::fchmod(file, like.st_mode & 07777) != 0) fault = errno;
    if (fault == 0 && ::fsync(file) != 0) fault = errno;
    if (::close(file) != 0 && fault == 0) fault = errno;
    if (fault == 0) return Done{};
    ::unlink(path.c_str());
    return failed(path, fault);
}

void flush_folder(const std::string& folder) {
    const int handle = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (handle < 0) return;
    (void)::fsync(handle);
    ::close(handle);
}

} // namespace

std::string why_not_replaceable(const std::string& path) {
    const std::string file = followed(path);
    const std::string folder = folder_of(file);
    struct stat info {};
    if (::stat(file.c_str(), &info) != 0)
        return "The garden file cannot be looked at: " + std::string(std::strerror(errno)) + ".";
    const std::string mine = own_name();
    if (::faccessat(AT_FDCWD, folder.c_str(), W_OK | X_OK, AT_EACCESS) != 0) {
        if (errno == EROFS)
            return folder +
                   " is on a file system that is read-only for firstmow, so the file is to "
                   "be changed by hand.";
        return "firstmow runs as " + mine + ", who may not write in " + folder +
               ": change the file by hand, or let it with `sudo chown " + mine + ": " + folder +
               " " + file + "`.";
    }
    if (!can_be_given(info))
        return "The garden file belongs to somebody else than " + mine +
               ", as whom firstmow runs: change it by hand, or let it with `sudo chown " + mine +
               ": " + file + "`.";
    return {};
}

Result<Replaced> replace_file(const std::string& path, const std::string& before,
                              const std::string& content) {
    const std::string file = followed(path);
    struct stat info {};
    if (::stat(file.c_str(), &info) != 0) return failed(file, errno);
    if (!S_ISREG(info.st_mode)) return Error{file + ": is no file"};
    const auto now = read_file(file);
    if (!now) return now.error();
    if (*now != before) return Replaced::other_content;
    if (const Status kept = write_whole(file + ".before", before, info); !kept) return kept.error();
    const std::string fresh = file + ".new";
    if (const Status written = write_whole(fresh, content, info); !written) return written.error();
    if (::rename(fresh.c_str(), file.c_str()) != 0) {
        const int fault = errno;
        ::unlink(fresh.c_str());
        return failed(file, fault);
    }
    flush_folder(folder_of(file));
    return Replaced::done;
}

} // namespace firstmow::host
