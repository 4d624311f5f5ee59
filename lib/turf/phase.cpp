#include "turf/phase.hpp"

#include "base/check.hpp"

namespace firstmow::turf {

std::string_view key(Phase phase) {
    switch (phase) {
    case Phase::pre_germination:
        return "pre_germination";
    case Phase::emergence:
        return "emergence";
    case Phase::seedling:
        return "seedling";
    case Phase::post_first_mow:
        return "post_first_mow";
    case Phase::mature:
        return "mature";
    case Phase::rooting:
        return "rooting";
    }
    check_failed("a known phase", __FILE__, __LINE__);
}

std::string_view name(Phase phase) {
    switch (phase) {
    case Phase::pre_germination:
        return "before germination";
    case Phase::emergence:
        return "coming up";
    case Phase::seedling:
        return "seedlings";
    case Phase::post_first_mow:
        return "after the first mow";
    case Phase::mature:
        return "grown in";
    case Phase::rooting:
        return "sod rooting";
    }
    check_failed("a known phase", __FILE__, __LINE__);
}

} // namespace firstmow::turf
