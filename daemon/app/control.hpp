// The control loop: gathers what came in, lets the engine step, writes it down, carries it out,
// sleeps until the next wake. Nothing acts from inside of a callback: callbacks only push inputs.
//
// Lives on the io_context's one thread. Order within a turn: journal first, then valves, so that
// no valve is opened that the journal does not know of; closing never waits for the journal.
#pragma once

#include "app/foreseer.hpp"
#include "engine/engine.hpp"
#include "host/garden_file.hpp"
#include "journal/replay.hpp"
#include "store/worker.hpp"
#include "valves/switchboard.hpp"

#include <functional>
#include <memory>
#include <vector>

namespace boost::asio {
class io_context;
}

namespace firstmow::app {

class Control {
public:
    // `restored` is what the journal left, if it left anything; its garden may differ from the
    // file's, then the season is carried over to the file's.
    Control(boost::asio::io_context& io, host::GardenFile garden,
            std::optional<journal::Restored> restored, store::StoreWorker& journal);
    ~Control();
    Control(const Control&) = delete;
    Control& operator=(const Control&) = delete;

    // Opens the switchboard, which closes every valve.
    Status take_valves();
    // Hears of every new view.
    void on_view(std::function<void()> hear) { hear_ = std::move(hear); }

    // Hears of every record that the engine makes, before it is written down.
    void on_record(std::function<void(const engine::Record&)> hear) {
        hear_record_ = std::move(hear);
    }

    // What would come of these inputs, were they told now; false when too many ask.
    bool foresee(std::vector<engine::Input> inputs, Foreseer::Answer answer);
    // Hands the engine something; `done` is called when it has been taken.
    void push(engine::Input input, std::function<void()> done = {});
    // Why the engine would refuse this order now.
    std::optional<std::string> refusal(const engine::Input& input) const;
    // Whether any valve is open or on its way.
    bool water_runs() const;
    // What another garden file would do to the season, in sentences.
    std::vector<std::string> effects(const engine::Setup& after) const {
        return engine::effects(garden_.setup, state_, after);
    }
    // Another garden file comes into force; every valve is closed for it.
    Status change_garden(host::GardenFile garden);
    // Closes every valve, writes down what ran, and steps no more.
    void stop();
    // Closes every valve and steps no more: for a start that failed. What the journal says of the
    // last run stays for the next start.
    void abandon();

    std::shared_ptr<const engine::GardenView> view() const { return view_; }
    // The earth through the day behind and ahead, as it was last looked at; null before that.
    std::shared_ptr<const std::vector<engine::ZoneEarth>> earth() const { return earth_; }
    const engine::Setup& setup() const { return garden_.setup; }
    const host::GardenFile& garden_file() const { return garden_; }
    // Where the budget ends: the first hour of weather that is wanted.
    WallTime wants_weather_from() const;
    Seconds since_last_turn() const;

private:
    struct Timer;

    void schedule_turn();
    void turn();
    // Whether the wall clock can be trusted; goes on asking until it can.
    bool know_clock(const engine::Moment& now);
    // Tells the engine when it has changed whether the clock is set, first of all.
    void judge_clock(std::vector<engine::Input>& inputs);
    bool write_down(store::Step step);
    void carry_out(const engine::StepResult& result, bool may_open);
    void show(const engine::Moment& now);
    // Has the coming day looked at from here, beside the loop; the view shows it when it is seen.
    void look_ahead(const engine::Moment& now);
    void arm(const engine::Moment& wake);
    void tell(const engine::Record& record) const;
    // The cycles that are open now, as ended: their valves have been closed.
    std::vector<engine::Input> closed_reports(const engine::Setup& setup) const;
    // Steps, with these inputs first, until no cycle is open under this garden; nothing is opened
    // any more. The orders of people that would have begun now.
    std::vector<engine::Input> leave(const engine::Setup& setup, const engine::Moment& now,
                                     std::vector<engine::Input> inputs);

    boost::asio::io_context& io_;
    host::GardenFile garden_;
    engine::State state_;
    store::StoreWorker& journal_;
    journal::Recorder recorder_;
    std::unique_ptr<valves::Switchboard> valves_;
    std::unique_ptr<Timer> timer_;
    std::function<void()> hear_;
    std::function<void(const engine::Record&)> hear_record_;
    std::shared_ptr<const engine::GardenView> view_;
    std::optional<engine::Foresight> foresight_; // of this garden
    std::shared_ptr<const std::vector<engine::ZoneEarth>> earth_;
    std::vector<turf::Prospect> prospects_; // as they were reckoned last; empty: to be reckoned
    WallTime prospects_of_;                 // when that was
    int garden_number_ = 0;                 // counts changes of the garden
    std::vector<engine::Input> inbox_;
    std::vector<std::function<void()>> waiting_;
    engine::Moment wake_; // when the engine wants to step next; at first: now
    MonoTime last_turn_;
    Date snapshot_day_{};
    bool turn_scheduled_ = false;
    bool stopped_ = false;
    std::optional<WallTime> last_known_; // the latest time in the journal at the start
    bool clock_known_ = false;
    bool clock_said_ = false;
    bool clock_set_ = false;
    Foreseer foreseer_; // last: nothing of this is gone while it still looks
};

} // namespace firstmow::app
