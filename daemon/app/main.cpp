// firstmowd, the daemon.
#include "app/app.hpp"

#include <CLI/CLI.hpp>
#include <spdlog/sinks/stdout_color_sinks.h>
#include <spdlog/spdlog.h>

#include <charconv>
#include <cstdio>
#include <cstdlib>

namespace {

using namespace firstmow;

// "ADDR:PORT", "[::1]:PORT". False when it is neither.
bool parse_listen(const std::string& text, app::Options& options) {
    const auto colon = text.rfind(':');
    if (colon == std::string::npos || colon == 0) return false;
    std::string address = text.substr(0, colon);
    if (address.front() == '[' && address.back() == ']')
        address = address.substr(1, address.size() - 2);
    const char* const end = text.data() + text.size();
    const auto [stopped, fault] = std::from_chars(text.data() + colon + 1, end, options.port);
    if (fault != std::errc{} || stopped != end || address.empty()) return false;
    options.address = address;
    return true;
}

void set_up_log() {
    auto logger = spdlog::stderr_color_st("firstmowd");
    // Under a service manager the time stands beside each line already.
    logger->set_pattern(std::getenv("JOURNAL_STREAM") != nullptr ? "%l: %v"
                                                                 : "%Y-%m-%d %H:%M:%S %l: %v");
    spdlog::set_default_logger(std::move(logger));
}

} // namespace

int main(int argc, char** argv) {
    CLI::App cli{"Keeps a newly seeded lawn damp, from seed to first mow and beyond.", "firstmowd"};
    app::Options options;
    std::string listen = "127.0.0.1:8080";
    bool check_only = false;
    cli.add_option("--garden", options.garden, "Garden file (TOML)")->required();
    auto* state = cli.add_option("--state-dir", options.state_dir, "Folder for journal and key");
    cli.add_option("--listen", listen, "ADDR:PORT of the page and the API")->capture_default_str();
    cli.add_flag("--check", check_only, "Check the garden file and exit");
    try {
        cli.parse(argc, argv);
    } catch (const CLI::CallForHelp& help) {
        return cli.exit(help);
    } catch (const CLI::ParseError& fault) {
        std::fprintf(stderr, "firstmowd: %s (firstmowd --help says what there is)\n", fault.what());
        return 2;
    }
    if (!parse_listen(listen, options)) {
        std::fprintf(stderr,
                     "firstmowd: --listen '%s' is not ADDR:PORT; 127.0.0.1:8080 would be right\n",
                     listen.c_str());
        return 2;
    }
    auto loaded = host::load_garden(options.garden);
    if (const auto* errors = std::get_if<std::vector<std::string>>(&loaded)) {
        for (const std::string& error : *errors)
            std::fprintf(stderr, "%s\n", error.c_str());
        return 2;
    }
    if (check_only) return 0;
    if (state->count() == 0) {
        std::fprintf(stderr,
                     "firstmowd: --state-dir is required: the folder for journal and key\n");
        return 2;
    }
    set_up_log();
    return app::run(options, std::get<host::GardenFile>(std::move(loaded)));
}
