#include "serial_wire.hpp"

#include <array>
#include <chrono>
#include <cstdlib>
#include <fcntl.h>
#include <modbus.h>
#include <poll.h>
#include <termios.h>
#include <unistd.h>

namespace firstmow::keeper {

namespace {

int open_end(std::string& port) {
    const int fd = ::posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (fd < 0 || ::grantpt(fd) != 0 || ::unlockpt(fd) != 0) std::abort();
    port = ::ptsname(fd);
    // Raw from the beginning, and held open so that no end is ever hung up.
    const int port_fd = ::open(port.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC);
    termios line{};
    ::tcgetattr(port_fd, &line);
    ::cfmakeraw(&line);
    ::tcsetattr(port_fd, TCSANOW, &line);
    return fd;
}

void write_all(int fd, const char* bytes, std::size_t count) {
    while (count > 0) {
        const ssize_t put = ::write(fd, bytes, count);
        if (put <= 0) return;
        bytes += put;
        count -= static_cast<std::size_t>(put);
    }
}

} // namespace

SerialWire::SerialWire()
    : near_(open_end(near_port_)), far_(open_end(far_port_)), thread_([this] { carry(); }) {}

SerialWire::~SerialWire() {
    ends_ = true;
    thread_.join();
    ::close(near_);
    ::close(far_);
}

void SerialWire::carry() {
    std::array<char, 256> bytes{};
    while (!ends_) {
        pollfd ready[2] = {{near_, POLLIN, 0}, {far_, POLLIN, 0}};
        if (::poll(ready, 2, 10) <= 0) continue;
        for (const bool from_far : {false, true}) {
            if ((ready[from_far ? 1 : 0].revents & POLLIN) == 0) continue;
            const ssize_t got = ::read(from_far ? far_ : near_, bytes.data(), bytes.size());
            if (got <= 0) continue;
            const auto count = static_cast<std::size_t>(got);
            const Harm how = harm;
            if (how == Harm::cut) continue;
            if (from_far && (how == Harm::spoils || how == Harm::spoils_once)) {
                bytes[count / 2] = static_cast<char>(bytes[count / 2] ^ 4);
                if (how == Harm::spoils_once) harm = Harm::none;
            }
            if (!from_far || how != Harm::drips) {
                write_all(from_far ? near_ : far_, bytes.data(), count);
                continue;
            }
            for (std::size_t i = 0; i < count; ++i) {
                write_all(near_, &bytes[i], 1);
                std::this_thread::sleep_for(std::chrono::milliseconds(3));
            }
        }
    }
}

struct ModbusSlave::Library {
    modbus_t* context;
    modbus_mapping_t* mapping;
};

ModbusSlave::ModbusSlave(const std::string& port, int unit)
    : library_(new Library{modbus_new_rtu(port.c_str(), 9600, 'N', 8, 1),
                           modbus_mapping_new(8, 0, 0, 0)}) {
    if (modbus_set_slave(library_->context, unit) != 0 || modbus_connect(library_->context) != 0)
        std::abort();
    modbus_set_indication_timeout(library_->context, 0, 50'000);
    thread_ = std::thread([this] { serve(); });
}

ModbusSlave::~ModbusSlave() {
    ends_ = true;
    thread_.join();
    modbus_mapping_free(library_->mapping);
    modbus_close(library_->context);
    modbus_free(library_->context);
    delete library_;
}

bool ModbusSlave::coil(int number) const {
    const std::lock_guard lock(mutex_);
    return library_->mapping->tab_bits[number] != 0;
}

void ModbusSlave::set_coil(int number, bool on) {
    const std::lock_guard lock(mutex_);
    library_->mapping->tab_bits[number] = on ? 1 : 0;
}

void ModbusSlave::serve() {
    std::array<std::uint8_t, MODBUS_RTU_MAX_ADU_LENGTH> query{};
    while (!ends_) {
        const int size = modbus_receive(library_->context, query.data());
        if (size <= 0) continue;
        const std::lock_guard lock(mutex_);
        modbus_reply(library_->context, query.data(), size, library_->mapping);
    }
}

} // namespace firstmow::keeper
