// Weather from a CSV file that may grow while the daemon runs.
//
// Hours that have passed are taken as measured, hours that lie ahead as the forecast. Only what
// was added since the last look is read; a file that was replaced, cut or written anew in its place
// is read anew. A line that has no line break yet is left for the next look. A bad line is reported
// once and not used.
#pragma once

#include "weather/hour.hpp"
#include "weather/source.hpp"

#include <map>

namespace firstmow::weather_source {

class CsvSource : public Source {
public:
    // Hours before `not_before` are only used to complete later ones.
    CsvSource(std::string path, weather::Place place, WallTime not_before);
    News look(WallTime now) override;
    std::string report(WallTime now) const override;
    // Only what was added since the last look, as it stands there: for whoever completes hours by
    // himself. Not to be mixed with look().
    std::vector<weather::Reading> read_on(std::vector<engine::Remark>& remarks);

private:
    void read_new(News& news);
    void take_line(std::string_view line, News& news);
    void give_passed(News& news, WallTime now);
    void give_ahead(News& news, WallTime now);

    std::string path_;
    weather::Place place_;
    WallTime next_;                                 // the first hour not yet given
    std::vector<weather::Reading> fresh_;           // read since read_on() was called
    std::map<WallTime, weather::Reading> readings_; // the last three days and all ahead
    std::uint64_t file_id_ = 0;                     // inode, to notice a replaced file
    std::int64_t changed_ns_ = 0;                   // when it was changed last
    std::size_t offset_ = 0;                        // read up to here
    std::string tail_;                              // the last bytes before it
    std::string rest_;                              // of a line without its end
    int line_ = 0;
    bool with_soil_ = false;            // the file has a column of soil temperatures
    std::optional<WallTime> last_read_; // when something new was read last
    bool missing_said_ = false;
    int bad_lines_said_ = 0;
    bool reads_on_ = false;
    bool ahead_changed_ = false;
};

} // namespace firstmow::weather_source
