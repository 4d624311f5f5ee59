// When to tell of the day before: once a local day, from seven in the morning on. What was told
// last stands in a file, so that a restart neither repeats nor skips it.
#pragma once

#include "base/timezone.hpp"

#include <functional>
#include <optional>
#include <string>

namespace firstmow::app {

class Morning {
public:
    // `file` is read now; `save` writes it, off the loop.
    Morning(const std::string& file, std::function<void(std::string)> save);

    // The day that is to be told of now. A daemon that never ran before has nothing to tell of the
    // day before; one that was off for days tells of yesterday only.
    std::optional<Date> due(WallTime now, const TimeZone& local);
    // It has been told of, or there was nothing to tell.
    void done(Date date);

private:
    std::function<void(std::string)> save_;
    std::optional<Date> last_;
};

} // namespace firstmow::app
