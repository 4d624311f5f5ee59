// Two serial ports (pseudo-terminals) joined by a wire that can be harmed, and on the far one a
// Modbus slave of libmodbus, which shares no code with the driver.
#pragma once

#include <atomic>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

namespace firstmow::keeper {

class SerialWire {
public:
    enum class Harm {
        none,
        cut,         // nothing arrives
        spoils_once, // one bit of the next answer is turned, then none
        spoils,      // ... of every answer
        drips,       // answers come byte by byte
    };
    SerialWire();
    ~SerialWire();
    SerialWire(const SerialWire&) = delete;
    SerialWire& operator=(const SerialWire&) = delete;

    const std::string& near_port() const { return near_port_; }
    const std::string& far_port() const { return far_port_; }
    std::atomic<Harm> harm{Harm::none};

private:
    void carry();
    std::string near_port_; // before the ends, which name them
    std::string far_port_;
    int near_ = -1;
    int far_ = -1;
    std::atomic<bool> ends_{false};
    std::thread thread_;
};

class ModbusSlave {
public:
    // Has coils 0 to 7.
    ModbusSlave(const std::string& port, int unit);
    ~ModbusSlave();
    ModbusSlave(const ModbusSlave&) = delete;
    ModbusSlave& operator=(const ModbusSlave&) = delete;

    bool coil(int number) const;
    void set_coil(int number, bool on); // as by another hand

private:
    void serve();
    struct Library;
    Library* library_;
    mutable std::mutex mutex_;
    std::atomic<bool> ends_{false};
    std::thread thread_;
};

} // namespace firstmow::keeper
