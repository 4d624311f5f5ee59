// Words to the service manager (the sd_notify protocol), when one listens.
#pragma once

#include <string_view>

namespace firstmow::app {

// "READY=1", "WATCHDOG=1", "STOPPING=1", ... Nothing happens without NOTIFY_SOCKET.
void notify_service_manager(std::string_view state);

} // namespace firstmow::app
