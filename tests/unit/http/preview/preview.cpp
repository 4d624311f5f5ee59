// Serves the page with the invented garden of the tests, to look at it: http_preview PORT.
// The key is "lawn". Not a test.
#include "../fake_backend.hpp"
#include "http/server.hpp"

#include <utility>

#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>

#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>

using namespace firstmow;

int main(int argc, char** argv) {
    const int port = argc > 1 ? std::atoi(argv[1]) : 8080;
    boost::asio::io_context io(1);
    // Its clock runs, from a fixed early afternoon on.
    http::FakeBackend backend(parse_iso8601("2026-08-30T18:20:00Z").value());
    http::plant_garden(backend);
    if (argc > 2 && std::string_view(argv[2]) == "us")
        backend.change([](engine::GardenView& view) { view.units = "us"; });
    std::string folder = "/tmp/firstmow-preview-XXXXXX";
    if (mkdtemp(folder.data()) == nullptr) return 2;
    http::HttpServer server(io, backend,
                            {.key_sha256 = http::sha256_hex("lawn"), .folder = folder});
    backend.changed_ = [&] { server.publish(); };
    const auto bound = server.listen("127.0.0.1", static_cast<std::uint16_t>(port));
    if (!bound) {
        std::fprintf(stderr, "%s\n", bound.error().message.c_str());
        return 2;
    }
    std::printf("http://127.0.0.1:%d/#key=lawn\n", *bound);
    std::fflush(stdout);
    boost::asio::steady_timer timer(io);
    std::function<void(boost::system::error_code)> tick = [&](boost::system::error_code error) {
        if (error) return;
        backend.set_now(backend.now() + Seconds(10));
        timer.expires_after(Seconds(10));
        timer.async_wait(tick);
    };
    timer.expires_after(Seconds(10));
    timer.async_wait(tick);
    io.run();
}
