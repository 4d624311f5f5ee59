// What the HTTP side asks, answered from the control loop's view and the journal.
#pragma once

#include "app/control.hpp"
#include "app/plan_desk.hpp"
#include "http/backend.hpp"
#include "weather/source.hpp"

namespace firstmow::app {

class Backend : public http::Backend {
public:
    Backend(boost::asio::io_context& io, Control& control, store::StoreWorker& journal)
        : io_(io), control_(control), journal_(journal), plans_(io) {}

    WallTime now() const override;
    MonoTime mono() const override;
    http::Health health() const override;
    std::shared_ptr<const engine::GardenView> view() const override { return control_.view(); }
    std::optional<http::ZoneFacts> zone(std::string_view id) const override;
    std::optional<http::SensorFacts> pushed_sensor(std::string_view id) const override;
    std::optional<http::SensorPlace> sensor_place(std::string_view id) const override;
    Result<std::string> calendar() override;
    Status plan(const renovation::Answers& answers, http::PlanForm form,
                http::Answer<std::string> answer) override;
    void submit(engine::Input input, std::function<void(Status)> done) override;

    std::shared_ptr<const std::vector<engine::ZoneEarth>> earth() const override {
        return control_.earth();
    }
    void foresee(engine::Input input, http::Answer<engine::Foresight> answer) override;

    void cycles(const http::Span& span, http::Answer<std::vector<engine::Cycle>> answer) override;
    void decisions(const http::Span& span,
                   http::Answer<std::vector<engine::Decision>> answer) override;
    void moisture(const http::Span& span,
                  http::Answer<std::vector<engine::Moisture>> answer) override;
    void phases(const http::Span& span,
                http::Answer<std::vector<engine::PhaseRecord>> answer) override;
    void corrections(const http::Span& span,
                     http::Answer<std::vector<engine::Correction>> answer) override;
    void day(Date date, http::Answer<http::Day> answer) override;
    void days(Date from, Date to, http::Answer<std::vector<review::DaySummary>> answer) override;
    Date today() const override;
    Date season_start() const override;
    void weather(http::Answer<http::Weather> answer) override;
    Status station(std::string_view source, std::string_view text, bool json) override;

    Result<http::GardenText> garden_text() const override;
    http::GardenTrial try_garden(const std::string& text) const override;
    void change_garden(std::string before, std::string text, std::string said,
                       http::Answer<http::GardenWritten> answer) override;

    // Reads the garden file again and brings it into force.
    void on_reload(std::function<Status()> reload) { reload_ = std::move(reload); }
    // Where weather comes from now; null: from nowhere. It outlives its use here.
    void use_weather(weather_source::Source* weather) { weather_ = weather; }

private:
    // Runs `read` on the journal's thread and gives the result to `answer` on the loop.
    template <class T>
    void ask(std::function<Result<T>(store::Store&)> read, http::Answer<T> answer);

    boost::asio::io_context& io_;
    Control& control_;
    store::StoreWorker& journal_;
    weather_source::Source* weather_ = nullptr;
    std::function<Status()> reload_;
    bool writing_ = false; // the garden file
    // The calendar of this text of the garden file and these dates of its zones: made when one
    // changes, for it takes a moment.
    std::string calendar_of_;
    std::string calendar_;
    PlanDesk plans_;
};

} // namespace firstmow::app
