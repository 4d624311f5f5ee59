// The rest of a bed's day, searched for the run now with which it comes cheapest. Inside of the
// room.
//
// Dynamic programming forwards in time, over the moments at which the bed is dry and the tap open:
// there one of six lengths is given (shares of the run that fills the wetted depth and a
// millimetre), and the bed lives on to its next such moment, or to the tap's next opening, where
// the day ends. If it becomes dry while the tap is closed, it is watered as the tap closes. A day
// costs its water, its starts and its hours of dry soil in the sun, and what the bed lacks more at
// its end, mm on what is judged.
//
// Of ways that are due again in the same half hour the thriftiest goes on: the one that has spent
// least beyond what a wet bed must lose until then. One that another passes by, due later at less,
// is given up. So a search usually looks at twenty to eighty runs, and at six times the half hours
// of the day at most.
//
// Runs of one day can change places at next to no cost, and a planner that begins with a short one
// does so again when it plans next, and never comes to the long ones. So of first runs whose days
// cost the same within half a start the longest is taken; and where two ways meet, one with a
// longer first run need not be the cheaper, by as much.
#pragma once

#include "watering/sizer.hpp"

#include <vector>

namespace firstmow::watering {

class DaySearch {
public:
    // All but `before` outlive it. The day begins with a run at `before.at`, and is counted to the
    // tap's next opening, a day at most. Without `rain` none is counted on.
    DaySearch(const PlanContext& context, const ZoneTask& task, const DryTest& test,
              const std::vector<Span>& open, const Sizer& sizer, const Outlook& before, bool rain);

    struct Found {
        int first_s = 0;
        double cost_mm = 0;
    };
    // Over first runs of all lengths, none longer than `most_s`.
    Found first_up_to(int most_s);
    // With that one.
    Found with_first(int first_s);

private:
    struct Way {
        Outlook bed;
        double cost_mm = 0;
        double beyond_mm = 0; // spent beyond what a wet bed loses
        int first_s = 0;
        std::optional<Outlook> closing; // as the tap closed, until it is watered then
    };
    struct Due {
        std::int64_t slot; // half hours from the beginning
        Way way;
    };

    Found search();
    std::vector<int> lengths_s(const Outlook& bed) const;
    void give(Way& way, int run_s) const;
    // Gives the way a run and lets it live on; `due_` or `ends_` then know it.
    void follow(Way way, int run_s);
    void live_on(Way way);
    void water_at_closing(Way& way);
    void note_due(Way way);
    void note_end(const Way& way);
    bool too_dear(const Way& way) const;
    bool passed_by(const Way& way) const;
    // What a wet bed under the same cover loses from the beginning to `t`: it compares moments that
    // are near each other.
    double asked_mm(WallTime t) const;

    const PlanContext& context_;
    const ZoneTask& task_;
    const DryTest& test_;
    const std::vector<Span>& open_;
    const Sizer& sizer_;
    Outlook before_;
    WallTime end_;
    double lacked_mm_ = 0; // at the beginning
    struct Asked {
        Span span;
        double mm_per_h = 0;
    };
    std::vector<Asked> asked_; // hour by hour
    // What a bed may lack at the end of a day and still last the night, found once.
    std::optional<double> may_lack_mm_;
    std::vector<Due> due_;
    std::int64_t looked_at_ = -1; // slot
    std::vector<Found> ends_;     // the cheapest of each first run
};

} // namespace firstmow::watering
