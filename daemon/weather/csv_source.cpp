#include "weather/csv_source.hpp"

#include "host/files.hpp"
#include "tables/json_text.hpp"
#include "weather/csv.hpp"
#include "weather/fill.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>

namespace firstmow::weather_source {

namespace {

constexpr std::chrono::hours kHour{1};
constexpr std::chrono::hours kKeep{72}; // behind the last hour given
constexpr std::chrono::hours kMostAhead{240};
constexpr double kForecastRainProbability = 0.7;
constexpr std::size_t kMostAtOnce = 4 * 1024 * 1024; // of a look; the rest at the next
constexpr int kMostBadLinesSaid = 20;
constexpr std::size_t kTail = 256; // of what was read: by it new content is known

// `count` bytes of a file that end at `end`; fewer when it has not so many.
std::string bytes_before(int fd, std::size_t end, std::size_t count) {
    std::string bytes(count, '\0');
    const ssize_t got = ::pread(fd, bytes.data(), count, static_cast<off_t>(end - count));
    bytes.resize(got > 0 ? static_cast<std::size_t>(got) : 0);
    return bytes;
}

engine::Remark warning(std::string code, std::string text) {
    return {engine::Severity::warning, std::move(code), std::move(text)};
}

// The file stands first among the sources of the garden.
weather::Hour named(weather::Hour hour) {
    const std::array<weather::Origin, 5> origins = {hour.temp_origin, hour.humidity_origin,
                                                    hour.wind_origin, hour.solar_origin,
                                                    hour.rain_origin};
    for (std::size_t i = 0; i < origins.size(); ++i)
        if (origins[i] == weather::Origin::measured || origins[i] == weather::Origin::forecast)
            hour.sources[i] = 1;
    return hour;
}

} // namespace

CsvSource::CsvSource(std::string path, weather::Place place, WallTime not_before)
    : path_(std::move(path)),
      place_(place),
      next_(std::chrono::floor<std::chrono::hours>(not_before)) {}

News CsvSource::look(WallTime now) {
    News news;
    const std::size_t before = offset_;
    read_new(news);
    if (offset_ != before) last_read_ = now;
    give_passed(news, now);
    give_ahead(news, now);
    return news;
}

std::vector<weather::Reading> CsvSource::read_on(std::vector<engine::Remark>& remarks) {
    reads_on_ = true;
    News news;
    read_new(news);
    for (engine::Remark& remark : news.remarks)
        remarks.push_back(std::move(remark));
    return std::exchange(fresh_, {});
}

std::string CsvSource::report(WallTime now) const {
    tables::JsonWriter w;
    w.open('{').time("time", now).time("known_until", next_);
    w.open('[', "sources").open('{').text("id", "csv").text("gives", "measurements");
    w.text("state", missing_said_ ? "failing" : last_read_ ? "ok" : "starting");
    w.text("detail", missing_said_ ? path_ + " cannot be read" : "");
    w.time("last_good", last_read_);
    w.integer("bad_lines", bad_lines_said_);
    w.integer("forecast_hours_ahead",
              std::distance(readings_.upper_bound(now - kHour), readings_.end()));
    w.close().close().open('[', "ahead").close().close();
    return w.take();
}

void CsvSource::read_new(News& news) {
    const int fd = ::open(path_.c_str(), O_RDONLY | O_CLOEXEC);
    struct stat info {};
    if (fd < 0 || ::fstat(fd, &info) != 0 || !S_ISREG(info.st_mode)) {
        if (fd >= 0) ::close(fd);
        if (!missing_said_)
            news.remarks.push_back(
                warning("weather_missing", "The weather file " + path_ +
                                               " cannot be read; the weather is guessed until it "
                                               "can."));
        missing_said_ = true;
        return;
    }
    missing_said_ = false;
    const auto size = static_cast<std::size_t>(info.st_size);
    const std::int64_t changed_ns =
        std::int64_t{info.st_mtim.tv_sec} * 1'000'000'000 + info.st_mtim.tv_nsec;
    const bool rewritten = size < offset_ || (size == offset_ && changed_ns != changed_ns_) ||
                           bytes_before(fd, offset_, tail_.size()) != tail_;
    changed_ns_ = changed_ns;
    if (info.st_ino != file_id_ || rewritten) {
        // Another file under the same name, or other content: read from its beginning.
        file_id_ = info.st_ino;
        offset_ = 0;
        tail_.clear();
        line_ = 0;
        rest_.clear();
        readings_.erase(readings_.lower_bound(next_), readings_.end());
    }
    std::string fresh(std::min(size - offset_, kMostAtOnce), '\0');
    const ssize_t got = ::pread(fd, fresh.data(), fresh.size(), static_cast<off_t>(offset_));
    if (got > 0) {
        offset_ += static_cast<std::size_t>(got);
        tail_ = bytes_before(fd, offset_, std::min(offset_, kTail));
    }
    ::close(fd);
    if (got <= 0) return;
    fresh.resize(static_cast<std::size_t>(got));
    rest_ += fresh;
    std::size_t begin = 0;
    for (std::size_t end = rest_.find('\n'); end != std::string::npos;
         end = rest_.find('\n', begin)) {
        take_line(std::string_view(rest_).substr(begin, end - begin), news);
        begin = end + 1;
    }
    rest_.erase(0, begin);
    if (rest_.size() > weather::kLongestCsvLine) rest_.clear(); // no line of ours
}

void CsvSource::take_line(std::string_view line, News& news) {
    ++line_;
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    if (line == weather::kCsvHeader || line == weather::kCsvHeaderWithSoil) {
        with_soil_ = line == weather::kCsvHeaderWithSoil;
        return;
    }
    if (line.empty()) return;
    const weather::CsvLine read = weather::read_csv_line(line, std::nullopt, with_soil_);
    for (weather::CsvFault fault : read.faults) {
        fault.line = line_;
        if (++bad_lines_said_ <= kMostBadLinesSaid)
            news.remarks.push_back(
                warning("weather_line", weather::located(path_, fault) + " (line not used)"));
    }
    if (!read.reading || !read.faults.empty()) return;
    if (read.reading->start < next_ - kKeep) return;
    if (reads_on_) {
        fresh_.push_back(*read.reading);
        return;
    }
    readings_[read.reading->start] = *read.reading;
    ahead_changed_ = true;
}

void CsvSource::give_passed(News& news, WallTime now) {
    while (next_ + kHour <= now) {
        const auto found = readings_.lower_bound(next_);
        if (found == readings_.end() || found->first + kHour > now) break;
        // Hours that the file lacks are left to the engine, which knows the forecast.
        next_ = found->first;
        std::vector<weather::Reading> recent;
        for (auto r = readings_.lower_bound(next_ - kKeep); r != std::next(found); ++r)
            recent.push_back(r->second);
        news.passed.push_back(named(weather::complete(place_, recent)));
        next_ += kHour;
        readings_.erase(readings_.begin(), readings_.lower_bound(next_ - kKeep));
    }
}

void CsvSource::give_ahead(News& news, WallTime now) {
    if (!news.passed.empty()) ahead_changed_ = true;
    if (!ahead_changed_) return;
    ahead_changed_ = false;
    WallTime hour = std::chrono::floor<std::chrono::hours>(now);
    const WallTime last = hour + kMostAhead;
    std::vector<weather::Reading> known;
    for (auto r = readings_.begin(); r != readings_.end() && r->first < hour; ++r)
        known.push_back(r->second);
    for (auto r = readings_.find(hour); r != readings_.end() && r->first == hour && hour < last;
         ++r, hour += kHour) {
        known.push_back(r->second);
        const std::size_t back = std::min<std::size_t>(known.size(), 72);
        weather::Hour ahead = weather::complete(place_, std::span(known).last(back));
        const auto as_forecast = [](weather::Origin& origin) {
            if (origin == weather::Origin::measured) origin = weather::Origin::forecast;
        };
        as_forecast(ahead.temp_origin);
        as_forecast(ahead.humidity_origin);
        as_forecast(ahead.wind_origin);
        as_forecast(ahead.solar_origin);
        as_forecast(ahead.rain_origin);
        // The file has no column for it; a forecast shower is likely, not certain.
        ahead.rain_probability = kForecastRainProbability;
        news.ahead.push_back(named(ahead));
    }
}

} // namespace firstmow::weather_source
