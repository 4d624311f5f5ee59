// A garden without an engine: an invented view that takes orders, for the tests of the HTTP side
// and for looking at the page.
#pragma once

#include "http/backend.hpp"

#include <functional>
#include <map>
#include <mutex>
#include <vector>

namespace firstmow::http {

// All on the loop's thread, but for the few things that say otherwise.
class FakeBackend : public Backend {
public:
    explicit FakeBackend(WallTime now);

    WallTime now() const override { return now_; }
    MonoTime mono() const override;
    Health health() const override { return health_; }
    std::shared_ptr<const engine::GardenView> view() const override { return view_; }
    std::optional<ZoneFacts> zone(std::string_view id) const override;
    Result<std::string> calendar() override {
        if (calendar_.empty()) return Error{"no zone is being established"};
        return calendar_;
    }
    Status plan(const renovation::Answers& answers, PlanForm form,
                Answer<std::string> answer) override {
        if (!refuse_answers_.empty()) return Error{refuse_answers_};
        answers_ = answers;
        if (plan_fails_)
            answer(Error{"too many ask for a plan; ask again in a moment"});
        else
            answer(form == PlanForm::json ? plan_ : calendar_);
        return Done{};
    }
    void submit(engine::Input input, std::function<void(Status)> done) override;
    void cycles(const Span& span, Answer<std::vector<engine::Cycle>> answer) override;
    void decisions(const Span& span, Answer<std::vector<engine::Decision>> answer) override;
    void moisture(const Span& span, Answer<std::vector<engine::Moisture>> answer) override;
    void corrections(const Span& span, Answer<std::vector<engine::Correction>> answer) override;
    void phases(const Span& span, Answer<std::vector<engine::PhaseRecord>> answer) override;
    void foresee(engine::Input input, Answer<engine::Foresight> answer) override;
    void day(Date date, Answer<Day> answer) override;
    void days(Date from, Date to, Answer<std::vector<review::DaySummary>> answer) override;
    Date today() const override;
    Date season_start() const override;
    void weather(Answer<Weather> answer) override { answer(weather_); }
    Status station(std::string_view source, std::string_view text, bool json) override {
        if (!station_refusal_.empty()) return Error{station_refusal_};
        station_words_.push_back(std::string(source) + (json ? " json " : " form ") +
                                 std::string(text));
        return Done{};
    }

    Result<GardenText> garden_text() const override;
    GardenTrial try_garden(const std::string& text) const override;
    void change_garden(std::string before, std::string text, std::string said,
                       Answer<GardenWritten> answer) override;

    // Any thread.
    void advance(Seconds time);
    std::vector<engine::Input> orders() const;

    void set_now(WallTime now);
    // A changed copy of the view takes its place.
    void change(const std::function<void(engine::GardenView&)>& how);
    // Carries out the orders on the view, as an engine would.
    void obey(const engine::Input& input);

    GardenText garden_;                    // the file
    std::vector<std::string> garden_said_; // of each change
    std::string calendar_;                 // empty: there is none
    std::string plan_ = "{}\n";
    renovation::Answers answers_; // the last that were tried
    std::string refuse_answers_;
    bool plan_fails_ = false;
    Health health_;
    Weather weather_;
    std::string station_refusal_;            // empty: every word is taken
    std::vector<std::string> station_words_; // "ID json|form TEXT"
    std::shared_ptr<const engine::GardenView> view_;
    std::vector<engine::Cycle> cycles_;
    std::vector<engine::Decision> decisions_;
    std::vector<engine::Moisture> moisture_;
    std::vector<engine::PhaseRecord> phases_;
    std::vector<engine::Correction> corrections_;
    std::string refuse_orders_; // a sentence: every order is refused with it
    bool throw_ = false;        // a day's review ends in an exception
    bool never_answer_ = false; // queries are forgotten
    std::function<void()> changed_;

private:
    WallTime now_;
    mutable std::mutex mutex_;
    MonoTime mono_{Millis(1'000'000)};
    std::vector<engine::Input> orders_;
};

// An invented garden of four zones with its last day, as the page would meet it.
void plant_garden(FakeBackend& backend);

} // namespace firstmow::http
