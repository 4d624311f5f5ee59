// A valve keeper that obeys and forgets: it never ends a lease by itself. Each order is a line in
// the file that the channel names.
#include "keeper/protocol.hpp"

#include <cstdio>
#include <cstdlib>
#include <string>
#include <sys/socket.h>
#include <vector>

using namespace firstmow::keeper;

int main(int argc, char** argv) {
    if (argc != 3) return 2;
    const int socket = std::atoi(argv[2]);
    std::vector<std::string> files;
    std::uint64_t open = 0;
    for (;;) {
        static Setup message;
        const ssize_t got = ::recv(socket, &message, sizeof message, 0);
        if (got <= 0) return 0;
        const Order& order = message.order;
        Reply reply;
        reply.sequence = order.sequence;
        reply.ask = order.ask;
        reply.channel = order.channel;
        const auto note = [&](const char* what) {
            std::FILE* const file = std::fopen(files.at(order.channel).c_str(), "a");
            if (file == nullptr) return;
            std::fprintf(file, "0 %d %s\n", order.channel + 1, what);
            std::fclose(file);
        };
        if (order.ask == Ask::channel) files.emplace_back(message.place);
        if (order.ask == Ask::open) {
            open |= std::uint64_t{1} << order.channel;
            note("open");
        }
        if (order.ask == Ask::close) {
            open &= ~(std::uint64_t{1} << order.channel);
            note("closed");
        }
        reply.open = open;
        (void)::send(socket, &reply, sizeof reply, MSG_NOSIGNAL);
        if (order.ask == Ask::leave) return 0;
    }
}
