// The renovation plan, with answers that an owner tries: they stand in the query and nowhere else.
#include "base/text.hpp"
#include "http/problem.hpp"
#include "http/query.hpp"
#include "http/routes.hpp"

#include <array>
#include <utility>
#include <vector>

namespace firstmow::http {
namespace {

using renovation::Answers;

constexpr std::array<std::string_view, 11> kKnown{"zone",
                                                  "units",
                                                  "first_frost",
                                                  "method",
                                                  "start",
                                                  "grass_left_pct",
                                                  "traffic",
                                                  "instant",
                                                  "slope_pct",
                                                  "mix",
                                                  "water_price_per_m3"};
constexpr std::array<std::string_view, 3> kTraffic{"low", "medium", "high"};
constexpr std::array<std::string_view, 3> kMethods{"seed", "overseed", "sod"};
constexpr std::array<turf::Method, 3> kMethodOf{turf::Method::seed, turf::Method::overseed,
                                                turf::Method::sod};
constexpr std::array<std::string_view, 2> kUnits{"metric", "us"};
constexpr std::array<std::string_view, 2> kYesNo{"false", "true"};

// Takes the answers one by one; remembers the first that does not fit.
class Reader {
public:
    explicit Reader(const Query& query) : query_(query) {}

    const std::string* find(const char* name) const {
        const auto found = query_.find(name);
        return found == query_.end() || found->second.empty() ? nullptr : &found->second;
    }
    std::optional<double> number(const char* name, int most) {
        const std::string* text = find(name);
        if (text == nullptr) return std::nullopt;
        const auto number = parse_number(*text);
        if (number && *number >= 0 && *number <= most) return number;
        refuse(name, "must be a number from 0 to " + std::to_string(most));
        return std::nullopt;
    }
    std::optional<double> percent(const char* name) { return number(name, 100); }
    std::vector<renovation::TriedPart> mix(const char* name) {
        const std::string* text = find(name);
        if (text == nullptr) return {};
        auto mix = renovation::parse_mix(*text);
        if (mix) return std::move(*mix);
        refuse(name, mix.error().message);
        return {};
    }
    template <std::size_t N>
    std::optional<std::size_t> word(const char* name,
                                    const std::array<std::string_view, N>& words) {
        const std::string* text = find(name);
        if (text == nullptr) return std::nullopt;
        std::string list;
        for (std::size_t i = 0; i < N; ++i) {
            if (*text == words[i]) return i;
            list += (i == 0 ? "" : i + 1 == N ? " or " : ", ") + std::string(words[i]);
        }
        refuse(name, "must be " + list);
        return std::nullopt;
    }
    std::optional<Date> date(const char* name) {
        const std::string* text = find(name);
        if (text == nullptr) return std::nullopt;
        constexpr int kFirstYear = 2000;
        constexpr int kLastYear = 2100;
        const auto date = parse_date(*text);
        if (date && static_cast<int>(date->year()) >= kFirstYear &&
            static_cast<int>(date->year()) < kLastYear)
            return *date;
        refuse(name, "is not a date from 2000 to 2099; write it as 2026-08-22");
        return std::nullopt;
    }
    std::optional<std::chrono::month_day> month_day(const char* name) {
        const std::string* text = find(name);
        if (text == nullptr) return std::nullopt;
        const auto date = parse_date("2001-" + *text); // no leap year: a day of every year
        if (date && text->size() == 5) return std::chrono::month_day{date->month(), date->day()};
        refuse(name, "is not a day of every year; write month and day as 10-07");
        return std::nullopt;
    }
    const std::string& wrong() const { return wrong_; }

private:
    void refuse(const char* name, const std::string& what) {
        if (wrong_.empty()) wrong_ = "'" + std::string(name) + "' " + what;
    }
    const Query& query_;
    std::string wrong_;
};

std::variant<Answers, Reply> read_answers(const Request& request, const Backend& backend) {
    const auto query = parse_query(request.query, kKnown);
    if (!query) return problem(400, "bad-query", query.error().message);
    Reader reader(*query);
    Answers answers;
    if (const std::string* zone = reader.find("zone")) {
        if (!backend.zone(*zone))
            return problem(404, "unknown-zone",
                           "the garden has no zone '" + zone->substr(0, 64) +
                               "'; /api/v1/status lists its zones");
        answers.zone = *zone;
    }
    if (const auto units = reader.word("units", kUnits))
        answers.units = *units == 1 ? garden::Units::us : garden::Units::metric;
    answers.first_frost = reader.month_day("first_frost");
    answers.grass_left_pct = reader.percent("grass_left_pct");
    answers.slope_pct = reader.percent("slope_pct");
    if (const auto traffic = reader.word("traffic", kTraffic))
        answers.traffic = static_cast<garden::Traffic>(*traffic);
    if (const auto instant = reader.word("instant", kYesNo)) answers.instant = *instant == 1;
    if (const auto method = reader.word("method", kMethods)) answers.method = kMethodOf[*method];
    answers.start = reader.date("start");
    answers.mix = reader.mix("mix");
    answers.water_price_per_m3 = reader.number("water_price_per_m3", 1000);
    if (!reader.wrong().empty()) return problem(400, "bad-query", reader.wrong());
    return answers;
}

void give(Backend& backend, const Call& call, PlanForm form) {
    auto answers = read_answers(call.request, backend);
    if (auto* refusal = std::get_if<Reply>(&answers)) return call.respond(std::move(*refusal));
    const Status fits = backend.plan(
        std::get<Answers>(answers), form, [respond = call.respond, form](Result<std::string> plan) {
            if (!plan) return respond(problem(503, "plan-failed", plan.error().message));
            Reply reply;
            if (form == PlanForm::calendar) {
                reply.content_type = "text/calendar; charset=utf-8";
                reply.headers.emplace_back("Content-Disposition",
                                           "attachment; filename=\"plan.ics\"");
            } else {
                reply.content_type = "application/json";
            }
            reply.body = std::move(*plan);
            respond(std::move(reply));
        });
    if (!fits) call.respond(problem(400, "bad-query", fits.error().message));
}

} // namespace

void Routes::plan(App& app, Call call) {
    give(app.backend_, call, PlanForm::json);
}

void Routes::plan_calendar(App& app, Call call) {
    give(app.backend_, call, PlanForm::calendar);
}

} // namespace firstmow::http
