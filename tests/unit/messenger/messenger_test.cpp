// Letters against programs that are up, down, slow, failing, and gone.
#include "messenger/messenger.hpp"
#include "messenger/post.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>
#include <openssl/evp.h>
#include <openssl/x509.h>
#include <openssl/x509v3.h>

#include <atomic>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <mutex>
#include <thread>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::messenger;
using garden::Address;
using garden::Topic;
using nlohmann::json;
using std::chrono::milliseconds;

namespace {

const WallTime kNow = parse_iso8601("2026-08-30T18:20:00Z").value();

// Quick, so that no test waits long.
Pace quick() {
    Pace pace;
    pace.one_try = milliseconds(500);
    pace.first_wait = milliseconds(20);
    pace.longest_wait = milliseconds(50);
    pace.tries = 1000;
    return pace;
}

bool eventually(const std::function<bool()>& is_so) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(30);
    while (!is_so()) {
        if (std::chrono::steady_clock::now() > until) return false;
        std::this_thread::sleep_for(milliseconds(5));
    }
    return true;
}

// A program that listens, and answers as it is told to.
class Listener {
public:
    explicit Listener(int port = 0) {
        const auto take = [this](const httplib::Request& request, httplib::Response& response) {
            const std::lock_guard lock(mutex_);
            bodies_.push_back(request.body);
            types_.push_back(request.get_header_value("Content-Type"));
            response.status = statuses_.empty() ? status_ : statuses_.front();
            if (!statuses_.empty()) statuses_.erase(statuses_.begin());
            if (response.status == 302) response.set_header("Location", "/elsewhere");
        };
        server_.Post("/lawn", take);
        server_.Post("/elsewhere", take);
        port_ = port != 0 && server_.bind_to_port("127.0.0.1", port)
                    ? port
                    : server_.bind_to_any_port("127.0.0.1");
        thread_ = std::thread([this] { server_.listen_after_bind(); });
        server_.set_keep_alive_max_count(1);
        while (!server_.is_running())
            std::this_thread::sleep_for(milliseconds(1));
    }
    ~Listener() {
        server_.stop();
        thread_.join();
    }
    Listener(const Listener&) = delete;
    Listener& operator=(const Listener&) = delete;

    std::string url() const { return "http://127.0.0.1:" + std::to_string(port_) + "/lawn"; }
    int port() const { return port_; }
    // To the next requests, then 200 or the last.
    void answer(std::vector<int> statuses, int then = 200) {
        const std::lock_guard lock(mutex_);
        statuses_ = std::move(statuses);
        status_ = then;
    }
    std::vector<std::string> bodies() const {
        const std::lock_guard lock(mutex_);
        return bodies_;
    }
    std::vector<std::string> types() const {
        const std::lock_guard lock(mutex_);
        return types_;
    }

private:
    httplib::Server server_;
    mutable std::mutex mutex_;
    std::vector<std::string> bodies_;
    std::vector<std::string> types_;
    std::vector<int> statuses_;
    int status_ = 200;
    int port_ = 0;
    std::thread thread_;
};

// Accepts connections and says nothing, or one letter each tenth of a second.
class Mute {
public:
    explicit Mute(bool drips)
        : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)), drips_(drips) {
        sockaddr_in address{};
        address.sin_family = AF_INET;
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        socklen_t size = sizeof address;
        REQUIRE(::bind(socket_, reinterpret_cast<sockaddr*>(&address), size) == 0);
        REQUIRE(::listen(socket_, 16) == 0);
        REQUIRE(::getsockname(socket_, reinterpret_cast<sockaddr*>(&address), &size) == 0);
        port_ = ntohs(address.sin_port);
        thread_ = std::thread([this] { run(); });
    }
    ~Mute() {
        stop_ = true;
        ::shutdown(socket_, SHUT_RDWR);
        thread_.join();
        ::close(socket_);
    }
    Mute(const Mute&) = delete;
    Mute& operator=(const Mute&) = delete;
    std::string url() const { return "http://127.0.0.1:" + std::to_string(port_) + "/lawn"; }
    int visits() const { return visits_; }

private:
    void run() {
        while (!stop_) {
            const int peer = ::accept(socket_, nullptr, nullptr);
            if (peer < 0) continue;
            ++visits_;
            bool there = true;
            const std::string head = "HTTP/1.1 200 OK\r\nX-Slow: ";
            if (drips_) there = ::send(peer, head.data(), head.size(), MSG_NOSIGNAL) > 0;
            while (there && !stop_) {
                std::this_thread::sleep_for(milliseconds(50));
                char buffer[1024];
                if (drips_)
                    there = ::send(peer, "x", 1, MSG_NOSIGNAL) == 1;
                else
                    there = ::recv(peer, buffer, sizeof buffer, MSG_DONTWAIT) != 0;
            }
            ::close(peer);
        }
    }
    int socket_;
    bool drips_;
    int port_ = 0;
    std::atomic<bool> stop_ = false;
    std::atomic<int> visits_ = 0;
    std::thread thread_;
};

struct Desk {
    Desk() {
        std::string name =
            (std::filesystem::temp_directory_path() / "firstmow-letters-XXXXXX").string();
        if (mkdtemp(name.data()) == nullptr) std::abort();
        folder = name;
    }
    ~Desk() {
        std::error_code ignored;
        std::filesystem::remove_all(folder, ignored);
    }
    Desk(const Desk&) = delete;
    Desk& operator=(const Desk&) = delete;
    std::string file() const { return folder + "/letters.json"; }

    std::unique_ptr<Messenger> messenger(std::vector<std::string> urls, Pace pace = quick()) {
        std::vector<Address> addresses;
        for (std::string& url : urls)
            addresses.push_back({std::move(url), {true, true, true, true}});
        return std::make_unique<Messenger>(
            file(), std::move(addresses),
            [told = told, mutex = mutex](const std::string& sentence) {
                const std::lock_guard lock(*mutex);
                told->push_back(sentence);
            },
            pace);
    }
    int heard(const std::string& words) const {
        const std::lock_guard lock(*mutex);
        int count = 0;
        for (const std::string& sentence : *told)
            count += sentence.find(words) != std::string::npos;
        return count;
    }

    std::string folder;
    std::shared_ptr<std::vector<std::string>> told = std::make_shared<std::vector<std::string>>();
    std::shared_ptr<std::mutex> mutex = std::make_shared<std::mutex>();
};

Letter letter(int number) {
    return {Topic::alarm, kNow, "{\"number\":" + std::to_string(number) + "}"};
}

} // namespace

TEST_CASE("letters: what they say") {
    const auto alarm = letter_about(
        engine::Notice{kNow, "front", engine::Severity::alarm, "valve_fault", "It is \"stuck\"."},
        "Trial <garden>");
    REQUIRE(alarm);
    CHECK(alarm->topic == Topic::alarm);
    const json body = json::parse(alarm->body);
    CHECK_EQ(body["topic"], "alarm");
    CHECK_EQ(body["garden"], "Trial <garden>");
    CHECK_EQ(body["time"], "2026-08-30T18:20:00Z");
    CHECK_EQ(body["zone"], "front");
    CHECK_EQ(body["text"], "It is \"stuck\".");
    CHECK_EQ(body["code"], "valve_fault");
    CHECK_EQ(body["id"], "2026-08-30T18:20:00Z/alarm/front/valve_fault");

    const auto dry = letter_about(
        engine::Notice{kNow, "front", engine::Severity::warning, "will_be_dry", "Soon."}, "G");
    REQUIRE(dry);
    CHECK(dry->topic == Topic::dry_risk);
    CHECK_FALSE(letter_about(
        engine::Notice{kNow, "front", engine::Severity::warning, "order_dropped", "x"}, "G"));
    CHECK_FALSE(letter_about(engine::Cycle{}, "G"));

    const auto phase = letter_about(
        engine::PhaseRecord{kNow, "front", turf::Phase::emergence, turf::Phase::seedling, "Up."},
        "G");
    REQUIRE(phase);
    CHECK_EQ(json::parse(phase->body)["to"], "seedling");

    review::DayReview review;
    review.text = "A dry day.";
    const Letter day = letter_about(
        review, Date{std::chrono::year(2026), std::chrono::August, std::chrono::day(29)}, kNow,
        "G");
    CHECK(day.topic == Topic::daily_review);
    CHECK_EQ(json::parse(day.body)["text"], "A dry day.");
    CHECK_EQ(json::parse(day.body)["date"], "2026-08-29");
    CHECK(json::parse(day.body)["zone"].is_null());
}

TEST_CASE("letters: arrive in order, as JSON, and leave nothing behind") {
    Desk desk;
    Listener listener;
    const auto messenger = desk.messenger({listener.url()});
    for (int i = 0; i < 5; ++i)
        messenger->give(letter(i));
    REQUIRE(eventually([&] { return listener.bodies().size() == 5; }));
    for (int i = 0; i < 5; ++i) {
        CHECK_EQ(listener.bodies()[static_cast<std::size_t>(i)], letter(i).body);
        CHECK_EQ(listener.types()[static_cast<std::size_t>(i)], "application/json");
    }
    CHECK(eventually([&] { return !std::filesystem::exists(desk.file()); }));
    CHECK(desk.told->empty());
}

TEST_CASE("letters: only of what was asked for") {
    Desk desk;
    Listener listener;
    Messenger messenger(desk.file(), {{listener.url(), {false, true, false, false}}}, {}, quick());
    messenger.give(letter(1));
    messenger.give({Topic::phase, kNow, "{}"});
    REQUIRE(eventually([&] { return listener.bodies().size() == 1; }));
    CHECK_EQ(listener.bodies()[0], "{}");
}

TEST_CASE("letters: a program that was down gets all of them once it is up") {
    Desk desk;
    int port = 0;
    {
        Listener gone;
        port = gone.port();
    }
    const auto messenger = desk.messenger({"http://127.0.0.1:" + std::to_string(port) + "/lawn"});
    messenger->give(letter(1));
    messenger->give(letter(2));
    REQUIRE(eventually([&] { return desk.heard("waits") == 1; }));
    Listener back(port);
    REQUIRE_EQ(back.port(), port);
    CHECK(eventually([&] { return back.bodies().size() == 2; }));
    CHECK_EQ(back.bodies()[0], letter(1).body);
}

TEST_CASE("letters: what the program fails at is tried again, what it refuses is not") {
    Desk desk;
    Listener listener;
    const auto messenger = desk.messenger({listener.url()});
    listener.answer({500, 503, 429, 408, 200});
    messenger->give(letter(1));
    REQUIRE(eventually([&] { return listener.bodies().size() == 5; }));
    for (const std::string& body : listener.bodies())
        CHECK_EQ(body, letter(1).body);
    for (const int status : {404, 400, 302}) {
        const std::size_t before = listener.bodies().size();
        listener.answer({status});
        messenger->give(letter(2));
        messenger->give(letter(3));
        REQUIRE(eventually([&] { return listener.bodies().size() == before + 2; }));
        CHECK_EQ(listener.bodies().back(), letter(3).body);
    }
    CHECK_EQ(desk.heard("thrown away"), 3);
    CHECK_EQ(desk.heard("/lawn"), 0); // a path may hold a secret
}

TEST_CASE("letters: an address that is gone is asked no more, until the garden is read again") {
    Desk desk;
    Listener listener;
    const auto messenger = desk.messenger({listener.url()});
    listener.answer({410});
    messenger->give(letter(1));
    messenger->give(letter(2));
    REQUIRE(eventually([&] { return desk.heard("No more letters go to") == 1; }));
    messenger->give(letter(3));
    CHECK(eventually([&] { return messenger->waiting() == 0; }));
    CHECK_EQ(listener.bodies().size(), 1);
    messenger->set_addresses({{listener.url(), {true, true, true, true}}});
    messenger->give(letter(4));
    CHECK(eventually([&] { return listener.bodies().back() == letter(4).body; }));
    for (const std::string& body : listener.bodies())
        CHECK_NE(body, letter(2).body);
}

TEST_CASE("letters: a program that hangs is left in time and holds up no other") {
    for (const bool drips : {false, true}) {
        CAPTURE(drips);
        Desk desk;
        Mute mute(drips);
        Listener listener;
        const auto messenger = desk.messenger({mute.url(), listener.url()});
        messenger->give(letter(1));
        CHECK(eventually([&] { return listener.bodies().size() == 1; }));
        CHECK(eventually([&] { return mute.visits() >= 2; }));
    }
}

TEST_CASE("letters: an end is not waited for, and what waits outlives it") {
    Desk desk;
    {
        Mute mute(false);
        Pace patient = quick();
        patient.one_try = std::chrono::seconds(60);
        const auto messenger = desk.messenger({mute.url()}, patient);
        messenger->give(letter(1));
        messenger->give(letter(2));
        REQUIRE(eventually([&] { return mute.visits() == 1; }));
        const auto before = std::chrono::steady_clock::now();
        messenger->stop();
        CHECK_LT(std::chrono::steady_clock::now() - before, std::chrono::seconds(30));
        messenger->give(letter(3)); // too late, and said to nobody
        // Another daemon, on the same folder, finds a program that has moved: nothing is sent.
        Listener elsewhere;
        const auto next = desk.messenger({elsewhere.url(), mute.url()});
        CHECK(eventually([&] { return next->waiting() == 2; }));
        CHECK(elsewhere.bodies().empty());
    }
    const json kept = json::parse(std::ifstream(desk.file()));
    CHECK_EQ(kept.begin()->size(), 2);
    CHECK((std::filesystem::status(desk.file()).permissions() &
           std::filesystem::perms::others_read) == std::filesystem::perms::none);
}

TEST_CASE("letters: those that wait are taken up again") {
    Desk desk;
    int port = 0;
    {
        Listener gone;
        port = gone.port();
    }
    const std::string url = "http://127.0.0.1:" + std::to_string(port) + "/lawn";
    {
        const auto messenger = desk.messenger({url});
        messenger->give(letter(1));
        REQUIRE(eventually([&] { return desk.heard("waits") == 1; }));
    }
    Listener back(port);
    REQUIRE_EQ(back.port(), port);
    const auto messenger = desk.messenger({url});
    CHECK(eventually([&] { return back.bodies().size() == 1; }));
    CHECK_EQ(back.bodies()[0], letter(1).body);
}

TEST_CASE("letters: a queue is bounded, the newest are kept; a letter is not tried for ever") {
    Desk desk;
    Listener listener;
    listener.answer({}, 500);
    Pace pace = quick();
    pace.queue = 3;
    const auto messenger = desk.messenger({listener.url()}, pace);
    for (int i = 0; i < 10; ++i) {
        messenger->give(letter(i));
        REQUIRE(eventually([&] {
            return messenger->waiting() == static_cast<std::size_t>(std::min(i + 1, 3)) &&
                   desk.heard("Too many") == std::max(0, i - 2);
        }));
    }
    messenger->stop();
    pace.tries = 2;
    const auto last = desk.messenger({listener.url()}, pace);
    CHECK(eventually([&] { return last->waiting() == 0 && desk.heard("thrown away: ") == 3; }));
    CHECK_EQ(listener.bodies().back(), letter(9).body);
}

TEST_CASE("letters: a file that is no such file is passed over") {
    Desk desk;
    std::ofstream(desk.file()) << "[{\"http://x\": 7}]";
    Listener listener;
    const auto messenger = desk.messenger({listener.url()});
    messenger->give(letter(1));
    CHECK(eventually([&] { return listener.bodies().size() == 1; }));
}

TEST_CASE("letters: a certificate that nobody vouches for is not spoken to") {
    const std::unique_ptr<EVP_PKEY, decltype(&EVP_PKEY_free)> key(EVP_EC_gen("P-256"),
                                                                  EVP_PKEY_free);
    const std::unique_ptr<X509, decltype(&X509_free)> certificate(X509_new(), X509_free);
    REQUIRE(key);
    ASN1_INTEGER_set(X509_get_serialNumber(certificate.get()), 1);
    X509_gmtime_adj(X509_getm_notBefore(certificate.get()), -3600);
    X509_gmtime_adj(X509_getm_notAfter(certificate.get()), 3600);
    X509_set_pubkey(certificate.get(), key.get());
    X509_NAME* const name = X509_get_subject_name(certificate.get());
    X509_NAME_add_entry_by_txt(name, "CN", MBSTRING_ASC,
                               reinterpret_cast<const unsigned char*>("localhost"), -1, -1, 0);
    X509_set_issuer_name(certificate.get(), name);
    REQUIRE_GT(X509_sign(certificate.get(), key.get(), EVP_sha256()), 0);

    httplib::SSLServer server(certificate.get(), key.get());
    std::atomic<int> visits = 0;
    server.Post("/lawn", [&](const httplib::Request&, httplib::Response&) { ++visits; });
    const int port = server.bind_to_any_port("127.0.0.1");
    std::thread thread([&] { server.listen_after_bind(); });
    while (!server.is_running())
        std::this_thread::sleep_for(milliseconds(1));
    Breaker breaker;
    const Posted posted = post("https://localhost:" + std::to_string(port) + "/lawn", "{}",
                               std::chrono::seconds(10), breaker);
    CHECK(posted.outcome == Outcome::later);
    CHECK_EQ(visits, 0);
    // The same program, asked by who does not look, answers: it was the certificate.
    httplib::Client careless("https://localhost:" + std::to_string(port));
    careless.enable_server_certificate_verification(false);
    const auto reply = careless.Post("/lawn", "{}", "application/json");
    CHECK((reply && reply->status == 200));
    server.stop();
    thread.join();
}

TEST_CASE("letters: how long to wait is taken from the program, up to an hour") {
    httplib::Server server;
    std::string wait = "120";
    server.Post("/lawn", [&](const httplib::Request&, httplib::Response& response) {
        response.status = 503;
        response.set_header("Retry-After", wait);
    });
    const int port = server.bind_to_any_port("127.0.0.1");
    std::thread thread([&] { server.listen_after_bind(); });
    while (!server.is_running())
        std::this_thread::sleep_for(milliseconds(1));
    const std::string url = "http://127.0.0.1:" + std::to_string(port) + "/lawn";
    for (const auto& [said, meant] :
         std::vector<std::pair<std::string, int>>{{"120", 120}, {"999999", 3600}, {"soon", 0}}) {
        wait = said;
        Breaker breaker;
        CHECK_EQ(post(url, "{}", std::chrono::seconds(10), breaker).not_before.count(), meant);
    }
    server.stop();
    thread.join();
}
