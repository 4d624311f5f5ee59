#include "valves/keeper_words.hpp"

namespace firstmow::valves {

std::string words_of_why(keeper::Why why) {
    using keeper::Why;
    switch (why) {
    case Why::none:
        return "for no reason";
    case Why::malformed:
        return "the order makes no sense to it";
    case Why::wrong_version:
        return "it is of another version than the daemon; restart the daemon";
    case Why::not_begun:
        return "it has not begun";
    case Why::begun_already:
        return "it has begun already";
    case Why::no_such_channel:
        return "it has no such channel";
    case Why::lease_too_short:
        return "an opening must be allowed to last a while";
    case Why::lease_too_long:
        return "an opening may last 4 h 10 min at most";
    case Why::open_too_long:
        return "it has been open too long to be left open";
    case Why::too_many_open:
        return "too many valves are open";
    case Why::hardware:
        return "the hardware does not obey";
    case Why::lease_ended:
        return "its time was over";
    case Why::silence:
        return "the valve keeper closed it, as it had heard nothing of the daemon";
    case Why::disagreed:
        return "the line did not read back as it was set, and was told to close";
    case Why::closed_at_last:
        return "it closed at last";
    case Why::opened:
        return "it opened";
    case Why::closed:
        return "it closed";
    }
    return "for no known reason";
}

} // namespace firstmow::valves
