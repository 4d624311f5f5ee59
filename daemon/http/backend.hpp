// What the HTTP side asks of the daemon. The daemon implements it; HTTP itself knows no clock, no
// database and no engine.
//
// Every function is called on the loop's thread and must return at once. What takes time answers
// later through its callback, on the loop's thread, exactly once; a callback may be called before
// the function returns, and may outlive the connection that asked.
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"
#include "engine/foresight.hpp"
#include "engine/inputs.hpp"
#include "engine/records.hpp"
#include "engine/view.hpp"
#include "renovation/answers.hpp"
#include "review/day.hpp"

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::http {

// Which records: from <= time < to (a cycle's time is its start), of one zone or, when `zone` is
// empty, of all. The oldest `limit` of them, sorted by time, then by zone in the garden's order.
struct Span {
    std::string zone;
    WallTime from;
    WallTime to;
    std::size_t limit = 0;
};

// A local day: what was recorded, and what it comes to.
struct Day {
    review::DayRecords records;
    review::DayReview review;
};

// What the garden file says of a zone and the page needs to speak of minutes as litres.
struct ZoneFacts {
    double area_m2 = 0;
    std::optional<Date> start{}; // sown or laid
};

// The weather: what the sources brought and what was made of it.
struct Weather {
    std::string desk;                      // JSON of the sources and the forecast; empty: none
    std::vector<engine::WeatherUsed> used; // the last day
};

// What the garden file says of a sensor whose readings are pushed.
struct SensorFacts {
    double scale = 1; // value = number * scale + offset
    double offset = 0;
};

// The garden file as it lies there now.
struct GardenText {
    std::string text;
    bool in_force = true; // false: it has been changed and not been read again
    std::string why_not;  // why the daemon cannot write it, a sentence; empty: it can
};

// What would be if a text were the garden.
struct GardenTrial {
    std::vector<std::string> faults;   // "garden.toml:12:8: ...": it would be refused
    std::vector<std::string> cautions; // what is only a guess in it
    std::vector<std::string> effects;  // on the season, sentences
};

enum class GardenWritten { done, changed_meanwhile };

// Where it looks, for the picture.
struct SensorPlace {
    std::string zone;     // empty: the whole garden
    double depth_mm = 0;  // below the surface; 0: not in the soil, or the seed zone
    bool tension = false; // of a probe: its value is kPa, else percent of volume
};

// Is the control loop alive?
struct Health {
    bool ok = true;
    Seconds step_age{0}; // since the engine's last step
    std::string detail;  // one sentence when not ok
};

enum class PlanForm : std::uint8_t { json, calendar };

template <class T>
using Answer = std::function<void(Result<T>)>;

class Backend {
public:
    virtual ~Backend() = default;

    virtual WallTime now() const = 0;
    virtual MonoTime mono() const = 0;
    virtual Health health() const = 0;
    // The newest view; null until the engine has stepped once.
    virtual std::shared_ptr<const engine::GardenView> view() const = 0;
    // Nothing when the garden has no such zone.
    virtual std::optional<ZoneFacts> zone(std::string_view id) const = 0;
    // Nothing when the garden has no such sensor, or reads it itself.
    virtual std::optional<SensorFacts> pushed_sensor(std::string_view /*id*/) const {
        return std::nullopt;
    }
    // Nothing when the garden has no such sensor.
    virtual std::optional<SensorPlace> sensor_place(std::string_view /*id*/) const {
        return std::nullopt;
    }
    // The renovation calendar (RFC 5545), or why there is none.
    virtual Result<std::string> calendar() = 0;
    // The renovation plan with these answers in place of the garden file's, as JSON or as a
    // calendar. The Status says which answer does not fit (then nothing is answered); the answer is
    // an Error when too many ask at once.
    virtual Status plan(const renovation::Answers& answers, PlanForm form,
                        Answer<std::string> answer) = 0;

    // Hands the engine an order. `done` is called once the engine has taken it (view() then shows
    // it), or with an Error that says why it was refused; nothing is half done.
    virtual void submit(engine::Input input, std::function<void(Status)> done) = 0;

    // What the coming day would be if the engine were told this now; nothing is told. Answers with
    // an Error when too many ask at once.
    virtual void foresee(engine::Input input, Answer<engine::Foresight> answer) = 0;

    // The earth through the day behind and ahead; null until it has been looked at.
    virtual std::shared_ptr<const std::vector<engine::ZoneEarth>> earth() const { return nullptr; }

    virtual void cycles(const Span& span, Answer<std::vector<engine::Cycle>> answer) = 0;
    virtual void decisions(const Span& span, Answer<std::vector<engine::Decision>> answer) = 0;
    virtual void moisture(const Span& span, Answer<std::vector<engine::Moisture>> answer) = 0;
    virtual void phases(const Span& span, Answer<std::vector<engine::PhaseRecord>> answer) = 0;
    virtual void corrections(const Span& span, Answer<std::vector<engine::Correction>> answer) = 0;
    virtual void day(Date date, Answer<Day> answer) = 0;
    // A line per local day from `from` to `to`, both included; days without any record too.
    virtual void days(Date from, Date to, Answer<std::vector<review::DaySummary>> answer) = 0;
    // The local day of now, and the first day of the season: when the first zone was sown or laid,
    // today when none was.
    virtual Date today() const = 0;
    virtual Date season_start() const = 0;
    virtual void weather(Answer<Weather> answer) = 0;

    virtual Result<GardenText> garden_text() const = 0;
    virtual GardenTrial try_garden(const std::string& text) const = 0;
    // Writes the garden file, if it still holds `before`, and brings it into force; `said` is a
    // sentence for the record. An Error says what stood in the way, and the garden is as it was.
    virtual void change_garden(std::string before, std::string text, std::string said,
                               Answer<GardenWritten> answer) = 0;

    // What a station sent for the source of that id (empty: the first that is told so); an Error
    // says what is wrong with it, and nothing of it is used.
    virtual Status station(std::string_view source, std::string_view text, bool json) = 0;
};

} // namespace firstmow::http
