// Days as people read them in a sentence. Files and the API write 2026-09-15.
#pragma once

#include "base/time.hpp"

#include <string>

namespace firstmow {

// "Tue"; 0 = Monday .. 6 = Sunday.
std::string weekday_words(int weekday);
// "15 Sep": a day of any year.
std::string day_month_words(Date date);
// "Tue 15 Sep": a day that is near.
std::string day_words(Date date);
// "15 Sep 2026": one that may lie in another year, or is no more than usual.
std::string date_words(Date date);

} // namespace firstmow
