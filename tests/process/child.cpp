#include "child.hpp"

#include "files.hpp"

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <fcntl.h>
#include <grp.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

namespace firstmow::process {

namespace {

constexpr uid_t kNobody = 65534;

void redirect(const std::string& file, int to) {
    const int fd =
        ::open(file.empty() ? "/dev/null" : file.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0666);
    if (fd < 0 || ::dup2(fd, to) < 0) ::_exit(120);
    ::close(fd);
}

[[noreturn]] void become(const Start& start) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    redirect(start.out_file, STDOUT_FILENO);
    redirect(start.err_file, STDERR_FILENO);
    if (!start.folder.empty() && ::chdir(start.folder.c_str()) != 0) ::_exit(121);
    if (start.as_nobody &&
        (::setgroups(0, nullptr) != 0 || ::setgid(kNobody) != 0 || ::setuid(kNobody) != 0))
        ::_exit(122);
    std::vector<char*> words;
    for (const std::string& word : start.arguments)
        words.push_back(const_cast<char*>(word.c_str()));
    words.push_back(nullptr);
    ::execv(words.front(), words.data());
    ::_exit(123);
}

int code_of(int status) {
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

} // namespace

bool is_root() {
    return ::geteuid() == 0;
}

Child::Child(const Start& start) : pid_(::fork()) {
    if (pid_ == 0) become(start);
    if (pid_ < 0) std::abort();
}

Child::~Child() {
    if (!running()) return;
    signal(SIGKILL);
    (void)wait();
}

void Child::signal(int number) const {
    if (!ended_) ::kill(pid_, number);
}

bool Child::running() {
    if (ended_) return false;
    int status = 0;
    if (::waitpid(pid_, &status, WNOHANG) != pid_) return true;
    ended_ = true;
    code_ = code_of(status);
    return false;
}

int Child::wait(int seconds) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(seconds);
    while (running()) {
        if (std::chrono::steady_clock::now() > until) return -1;
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    return code_;
}

Ended run(const std::vector<std::string>& arguments, const std::string& folder, bool as_nobody,
          int seconds) {
    const TempDir words;
    Ended ended;
    {
        Child child({arguments, folder, words.file("out"), words.file("err"), as_nobody});
        ended.code = child.wait(seconds);
    }
    ended.out = content_of(words.file("out"));
    ended.err = content_of(words.file("err"));
    return ended;
}

} // namespace firstmow::process
