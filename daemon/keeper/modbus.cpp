#include "keeper/modbus.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <poll.h>
#include <termios.h>
#include <unistd.h>

namespace firstmow::keeper {

namespace {

constexpr std::uint8_t kReadCoils = 1;
constexpr std::uint8_t kWriteCoil = 5;
constexpr std::uint8_t kException = 0x80;
constexpr std::uint8_t kUnknownFunction = 1;
constexpr std::size_t kExceptionSize = 5;

speed_t speed_of(std::uint32_t baud) {
    switch (baud) {
    case 1200:
        return B1200;
    case 2400:
        return B2400;
    case 4800:
        return B4800;
    case 19200:
        return B19200;
    case 38400:
        return B38400;
    case 57600:
        return B57600;
    case 115200:
        return B115200;
    default:
        return B9600;
    }
}

// Of so many characters of up to 11 bits.
int line_ms(std::uint32_t baud, unsigned characters) {
    return static_cast<int>(characters * 11 * 1000 / std::max(baud, 1U)) + 1;
}

std::uint8_t high_byte(unsigned value) {
    return static_cast<std::uint8_t>(value >> 8 & 0xff);
}
std::uint8_t low_byte(unsigned value) {
    return static_cast<std::uint8_t>(value & 0xff);
}

} // namespace

std::uint16_t modbus_crc(const std::uint8_t* bytes, std::size_t count) {
    unsigned crc = 0xffff;
    for (std::size_t i = 0; i < count; ++i) {
        crc ^= bytes[i];
        for (int b = 0; b < 8; ++b)
            crc = (crc & 1) != 0 ? crc >> 1 ^ 0xa001 : crc >> 1;
    }
    return static_cast<std::uint16_t>(crc);
}

void ModbusBus::settle(Kernel& kernel, const Share& share) {
    kernel_ = &kernel;
    share_ = share;
}

void ModbusBus::release() {
    if (fd_ >= 0) kernel_->close_device(fd_);
    fd_ = -1;
}

int ModbusBus::answer_ms(std::uint32_t baud) {
    return 300 + line_ms(baud, 16);
}

int ModbusBus::set_up_line(const Setup& setup) {
    termios line{};
    if (::tcgetattr(fd_, &line) != 0) return errno;
    ::cfmakeraw(&line);
    line.c_cflag |= CLOCAL | CREAD;
    line.c_cflag &= ~static_cast<tcflag_t>(CRTSCTS | CSTOPB | PARENB | PARODD);
    if (setup.stop_bits == 2) line.c_cflag |= CSTOPB;
    if (setup.parity != Parity::none) line.c_cflag |= PARENB;
    if (setup.parity == Parity::odd) line.c_cflag |= PARODD;
    line.c_cc[VMIN] = 0;
    line.c_cc[VTIME] = 0;
    ::cfsetispeed(&line, speed_of(setup.baud));
    ::cfsetospeed(&line, speed_of(setup.baud));
    if (::tcsetattr(fd_, TCSANOW, &line) != 0) return errno;
    baud_ = setup.baud;
    return 0;
}

int ModbusBus::take() {
    if (fd_ >= 0) return 0;
    const Setup* setup = nullptr;
    for (std::size_t i = 0; i < kMostChannels; ++i)
        if (share_.has(i)) setup = &share_.of(i);
    if (setup == nullptr) return EINVAL;
    const int fd = kernel_->open_device(setup->place);
    if (fd < 0) return fd == -ENODEV ? ENXIO : -fd;
    fd_ = fd;
    int error = -kernel_->lock_device(fd_);
    if (error == 0) error = set_up_line(*setup);
    if (error != 0) release();
    return error;
}

int ModbusBus::note(int error) {
    // An adapter that was pulled out is opened anew.
    if (error == EIO || error == ENODEV || error == ENXIO) release();
    return error == ENODEV ? ENXIO : error;
}

int ModbusBus::write_all(const Frame& frame, std::int64_t until_ms) {
    std::size_t sent = 0;
    while (sent < frame.size) {
        const ssize_t put = ::write(fd_, frame.bytes.data() + sent, frame.size - sent);
        if (put > 0) sent += static_cast<std::size_t>(put);
        if (put < 0 && errno != EAGAIN && errno != EINTR) return errno;
        const std::int64_t left = until_ms - steady_ms();
        if (left <= 0) return ETIMEDOUT;
        pollfd ready{fd_, POLLOUT, 0};
        if (sent < frame.size) (void)::poll(&ready, 1, static_cast<int>(left));
    }
    return 0;
}

int ModbusBus::read_frame(std::size_t expected, Frame& frame, std::int64_t until_ms) {
    frame.size = 0;
    while (frame.size < expected) {
        const std::int64_t left = until_ms - steady_ms();
        if (left <= 0) return frame.size == 0 ? ETIMEDOUT : EBADMSG;
        pollfd ready{fd_, POLLIN, 0};
        const int polled = ::poll(&ready, 1, static_cast<int>(left));
        if (polled > 0 && (ready.revents & (POLLHUP | POLLERR | POLLNVAL)) != 0) return EIO;
        const ssize_t got = ::read(fd_, frame.bytes.data() + frame.size, expected - frame.size);
        if (got > 0) frame.size += static_cast<std::size_t>(got);
        if (got < 0 && errno != EAGAIN && errno != EINTR) return errno;
        if (frame.size >= 2 && (frame.bytes[1] & kException) != 0)
            expected = std::min(expected, kExceptionSize);
    }
    return 0;
}

int ModbusBus::exchange_once(const Frame& request, std::size_t expected, Frame& answer) {
    // Frames stand apart by 3.5 characters; what is left of an answer that came late is thrown
    // away.
    kernel_->pause_ms(line_ms(baud_, 4));
    ::tcflush(fd_, TCIFLUSH);
    const std::int64_t until_ms = steady_ms() + answer_ms(baud_);
    if (const int error = write_all(request, until_ms); error != 0) return error;
    if (const int error = read_frame(expected, answer, until_ms); error != 0) return error;
    const std::uint16_t crc = modbus_crc(answer.bytes.data(), answer.size - 2);
    if (answer.bytes[answer.size - 2] != low_byte(crc) ||
        answer.bytes[answer.size - 1] != high_byte(crc))
        return EBADMSG;
    if (answer.bytes[0] != request.bytes[0]) return EBADMSG;
    if (answer.bytes[1] == (request.bytes[1] | kException)) return EPROTO;
    return answer.bytes[1] == request.bytes[1] ? 0 : EBADMSG;
}

int ModbusBus::exchange(const std::array<std::uint8_t, 6>& request, std::size_t expected,
                        Frame& answer) {
    if (const int error = take(); error != 0) return error;
    Frame frame;
    std::copy(request.begin(), request.end(), frame.bytes.begin());
    const std::uint16_t crc = modbus_crc(request.data(), request.size());
    frame.bytes[6] = low_byte(crc);
    frame.bytes[7] = high_byte(crc);
    frame.size = 8;
    int error = 0;
    for (int i = 0; i < kTries; ++i) {
        error = exchange_once(frame, expected, answer);
        if (error != ETIMEDOUT && error != EBADMSG) break;
    }
    return note(error);
}

int ModbusBus::set(std::size_t channel, bool open) {
    const Setup& setup = share_.of(channel);
    const std::array<std::uint8_t, 6> request{setup.address,
                                              kWriteCoil,
                                              high_byte(setup.line),
                                              low_byte(setup.line),
                                              static_cast<std::uint8_t>(open ? 0xff : 0),
                                              0};
    Frame answer;
    if (const int error = exchange(request, 8, answer); error != 0) return error;
    // It answers with what it was told.
    if (!std::equal(request.begin(), request.end(), answer.bytes.begin())) return EBADMSG;
    bool is_open = false;
    const int looked = read(channel, is_open);
    if (looked == ENOSYS) return 0;
    if (looked != 0) return looked;
    return is_open == open ? 0 : EREMOTEIO;
}

int ModbusBus::read(std::size_t channel, bool& open) {
    if ((unreadable_ >> channel & 1) != 0) return ENOSYS;
    const Setup& setup = share_.of(channel);
    Frame answer;
    const int error = exchange(
        {setup.address, kReadCoils, high_byte(setup.line), low_byte(setup.line), 0, 1}, 6, answer);
    if (error == EPROTO && answer.bytes[2] == kUnknownFunction) {
        unreadable_ |= std::uint64_t{1} << channel;
        return ENOSYS;
    }
    if (error != 0) return error;
    if (answer.bytes[2] != 1) return EBADMSG;
    open = (answer.bytes[3] & 1) != 0;
    return 0;
}

} // namespace firstmow::keeper
