#include "engine/shortfalls.hpp"

#include "base/text.hpp"
#include "watering/explain.hpp"
#include "watering/shortfall.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace firstmow::engine {

namespace {

// Less than this in all is within what the model errs by.
constexpr double kWorthSayingHours = 0.5;
// A help leaves at most this part of the dry hours.
constexpr double kHelpsBelow = 0.8;
// Sprinklers that spread evenly: what catch cans find in good ones.
constexpr double kEven = 0.8;

struct Change {
    const char* what;
    const char* words;
    garden::Garden garden;
};

// What could be changed about this garden, each by itself.
std::vector<Change> changes(const garden::Garden& garden) {
    std::vector<Change> all;
    const auto add = [&](const char* what, const char* words, const auto& change) {
        garden::Garden other = garden;
        if (change(other)) all.push_back({what, words, std::move(other)});
    };
    add("longer_hours", "water at any hour", [](garden::Garden& g) {
        const bool always = g.supply.hours.size() == 1 && g.supply.hours[0].from_s == 0 &&
                            g.supply.hours[0].to_s == 86400;
        const bool daily =
            std::all_of(g.supply.days.begin(), g.supply.days.end(), [](bool day) { return day; });
        g.supply.hours = {{0, 86400}};
        g.supply.days.fill(true);
        return !(always && daily);
    });
    add("straw", "straw on the bare beds", [](garden::Garden& g) {
        bool any = false;
        for (garden::Zone& zone : g.zones) {
            if (zone.establishment.method != turf::Method::seed ||
                zone.establishment.cover != turf::Cover::none)
                continue;
            zone.establishment.cover = turf::Cover::straw;
            any = true;
        }
        return any;
    });
    add("fewer_zones", "fewer zones at once on the tap", [](garden::Garden& g) {
        const double all_zones = std::accumulate(
            g.zones.begin(), g.zones.end(), 0.0,
            [](double sum, const garden::Zone& zone) { return sum + zone.flow_l_per_min(); });
        const bool more = all_zones > g.supply.flow_l_per_min;
        g.supply.flow_l_per_min = std::max(g.supply.flow_l_per_min, all_zones);
        return more;
    });
    add("even_nozzles", "nozzles that spread evenly", [](garden::Garden& g) {
        bool any = false;
        for (garden::Zone& zone : g.zones) {
            any = any || zone.distribution_uniformity < kEven;
            zone.distribution_uniformity = std::max(zone.distribution_uniformity, kEven);
        }
        return any;
    });
    return all;
}

std::string hours_words(double hours) {
    return hours < 0.1 ? "none" : fixed(hours, hours < 10 ? 1 : 0) + " h";
}

std::string sentence(const Setup& setup, const ShortfallView& s, const std::string& name,
                     watering::AtStake stake, const std::vector<std::string>& helps, WallTime now) {
    const auto clock = [&](WallTime t) { return watering::clock_words(t, setup.timezone, now); };
    std::string text = name + " would be too dry for " + hours_words(s.dry_hours) + " until " +
                       clock(s.until) + ", first from " + clock(s.spells.front().from) + " to " +
                       clock(s.spells.front().until) + ", down to " + fixed(s.lowest_kpa, 0) +
                       " kPa in the driest quarter: " + std::string(watering::words(stake)) + ".";
    if (helps.empty()) return text + " Nothing that the garden file knows of would help much.";
    text += " What would help: ";
    for (std::size_t i = 0; i < helps.size(); ++i)
        text += (i > 0 ? "; " : "") + helps[i];
    text += ".";
    if (s.ask_authority)
        text += " Ask the local authority whether a new lawn may be watered at midday.";
    return text;
}

} // namespace

std::vector<ShortfallView> shortfalls(const Setup& setup, const State& state, const Moment& now,
                                      Seconds ahead, const std::function<bool()>& go_on) {
    std::vector<ShortfallView> found;
    if (!state.begun) return found;
    const Foresight plain = foresee(setup, state, now, ahead);
    std::vector<std::size_t> zones;
    for (std::size_t i = 0; i < plain.zones.size(); ++i)
        if (plain.zones[i].dry_hours >= kWorthSayingHours) zones.push_back(i);
    if (zones.empty()) return found;

    struct Tried {
        const char* what;
        const char* words;
        Foresight seen;
    };
    std::vector<Tried> tried;
    for (Change& change : changes(setup.garden)) {
        if (go_on && !go_on()) break;
        const Setup other = make_setup(std::move(change.garden), setup.timezone);
        tried.push_back({change.what, change.words, foresee(other, state, now, ahead)});
    }
    const auto stake_of = [&](std::size_t i) {
        return watering::at_stake(state.zones[i].settled.progress);
    };
    std::stable_sort(zones.begin(), zones.end(), [&](std::size_t a, std::size_t b) {
        if (stake_of(a) != stake_of(b)) return stake_of(a) > stake_of(b);
        return plain.zones[a].dry_hours > plain.zones[b].dry_hours;
    });
    for (const std::size_t i : zones) {
        const ZoneForesight& seen = plain.zones[i];
        ShortfallView s;
        s.zone = seen.zone;
        s.at_stake = std::string(watering::key(stake_of(i)));
        s.until = plain.until;
        s.dry_hours = seen.dry_hours;
        s.lowest_kpa = seen.spells.front().lowest_kpa;
        for (const DryStretch& spell : seen.spells)
            s.lowest_kpa = std::min(s.lowest_kpa, spell.lowest_kpa);
        s.spells = seen.spells;
        s.ask_authority = watering::banned_at_midday(setup.garden.supply);
        std::vector<std::pair<double, const Tried*>> helps;
        for (const Tried& t : tried)
            if (t.seen.zones[i].dry_hours <= kHelpsBelow * seen.dry_hours)
                helps.emplace_back(t.seen.zones[i].dry_hours, &t);
        std::stable_sort(helps.begin(), helps.end(),
                         [](const auto& a, const auto& b) { return a.first < b.first; });
        std::vector<std::string> words;
        for (const auto& [left, t] : helps) {
            s.helps.push_back({t->what, left});
            words.push_back(std::string(t->words) + " (leaves " + hours_words(left) + ")");
        }
        s.text = sentence(setup, s, setup.garden.zones[i].name, stake_of(i), words, now.wall);
        found.push_back(std::move(s));
    }
    return found;
}

} // namespace firstmow::engine
