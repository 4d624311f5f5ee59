#include "host/files.hpp"

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace firstmow::host {

namespace {

Error failed(const std::string& path, int fault) {
    return Error{path + ": " + std::strerror(fault)};
}

class Descriptor {
public:
    explicit Descriptor(int fd) : fd_(fd) {}
    ~Descriptor() {
        if (fd_ >= 0) ::close(fd_);
    }
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
    int get() const { return fd_; }

private:
    int fd_;
};

} // namespace

Result<std::string> read_file(const std::string& path, std::size_t largest) {
    const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
    if (file.get() < 0) return failed(path, errno);
    std::string content;
    char buffer[65536];
    for (;;) {
        const ssize_t got = ::read(file.get(), buffer, sizeof buffer);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) return failed(path, errno);
        if (got == 0) return content;
        content.append(buffer, static_cast<std::size_t>(got));
        if (content.size() > largest)
            return Error{path + ": is larger than " + std::to_string(largest / (1024 * 1024)) +
                         " MiB; that is no file of ours"};
    }
}

Status write_file(const std::string& path, const std::string& content, unsigned mode) {
    const std::string beside_it = path + ".new";
    const Descriptor file(
        ::open(beside_it.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, mode));
    if (file.get() < 0) return failed(beside_it, errno);
    std::size_t written = 0;
    while (written < content.size()) {
        const ssize_t put = ::write(file.get(), content.data() + written, content.size() - written);
        if (put < 0 && errno == EINTR) continue;
        if (put < 0) return failed(beside_it, errno);
        written += static_cast<std::size_t>(put);
    }
    if (::fsync(file.get()) != 0) return failed(beside_it, errno);
    if (::rename(beside_it.c_str(), path.c_str()) != 0) return failed(path, errno);
    return Done{};
}

Status make_directory(const std::string& path) {
    if (::mkdir(path.c_str(), 0750) == 0) return Done{};
    const int fault = errno;
    struct stat info {};
    if (fault == EEXIST && ::stat(path.c_str(), &info) == 0 && S_ISDIR(info.st_mode)) return Done{};
    return failed(path, fault);
}

std::string beside(const std::string& file, const std::string& name) {
    if (!name.empty() && name.front() == '/') return name;
    const auto slash = file.rfind('/');
    return slash == std::string::npos ? name : file.substr(0, slash + 1) + name;
}

} // namespace firstmow::host
