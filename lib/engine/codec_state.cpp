#include "engine/codec.hpp"
#include "engine/codec_guards.hpp"
#include "engine/codec_hours.hpp"
#include "engine/codec_record.hpp"

namespace firstmow::engine {

namespace {

// The form of the state's text; raised when a field changes its meaning.
constexpr int kForm = 1;

// --- soil ------------------------------------------------------------------------------------
template <std::size_t N>
Json values_json(const std::array<double, N>& values, int count) {
    Json list = Json::array();
    for (int i = 0; i < count; ++i)
        list.push_back(values[static_cast<std::size_t>(i)]);
    return list;
}

std::vector<double> read_numbers(Reader& r, const Json& object, const char* key) {
    std::vector<double> numbers;
    for (const Json& value : r.list(object, key)) {
        if (!value.is_number() || !std::isfinite(value.get<double>())) {
            r.fail(std::string("'") + key + "' holds something that is no number");
            return {};
        }
        numbers.push_back(value.get<double>());
    }
    return numbers;
}

template <std::size_t N>
std::array<double, N> read_values(Reader& r, const Json& object, const char* key, int count) {
    std::array<double, N> values{};
    const Json& list = r.list(object, key);
    if (list.size() != static_cast<std::size_t>(count)) {
        r.fail(std::string("'") + key + "' has not as many layers as the zone");
        return values;
    }
    for (std::size_t i = 0; i < list.size(); ++i) {
        if (!list[i].is_number() || !std::isfinite(list[i].get<double>())) {
            r.fail(std::string("'") + key + "' holds something that is no number");
            return values;
        }
        values[i] = list[i].get<double>();
    }
    return values;
}

Json flows_json(const soil::Flows& f) {
    return Json::array({f.supply_mm, f.dew_mm, f.evaporation_mm, f.transpiration_mm, f.runoff_mm,
                        f.drainage_mm, f.intake_mm});
}

soil::Flows read_flows(Reader& r, const Json& object, const char* key) {
    const auto v = read_values<7>(r, object, key, 7);
    return {v[0], v[1], v[2], v[3], v[4], v[5], v[6]};
}

// --- turf ------------------------------------------------------------------------------------
Json progress_json(const turf::Progress& p) {
    Json species = Json::array();
    for (const turf::SpeciesProgress& s : p.species)
        species.push_back({{"species", static_cast<int>(s.species)},
                           {"share", s.share},
                           {"tau", s.tau},
                           {"growth_cd", s.growth_cd},
                           {"root_depth_mm", s.root_depth_mm},
                           {"mow_cd", s.mow_cd},
                           {"first_green", optional_json(s.first_green)},
                           {"half_up", optional_json(s.half_up)},
                           {"all_up", optional_json(s.all_up)},
                           {"tau_per_day", s.tau_per_day},
                           {"tau_by_day", s.tau_by_day},
                           {"slowness", s.slowness},
                           {"belief", values_json(s.belief, turf::kSpeeds)},
                           {"alive_driest", values_json(s.alive_driest, turf::kLotClasses)},
                           {"alive_rest", values_json(s.alive_rest, turf::kLotClasses)}});
    return {{"method", static_cast<int>(p.method)},
            {"phase", static_cast<int>(p.phase)},
            {"phase_since", to_json_value(p.phase_since)},
            {"sown", optional_json(p.sown)},
            {"species", std::move(species)},
            {"seedlings_seen", optional_json(p.seedlings_seen)},
            {"half_up", optional_json(p.half_up)},
            {"all_up", optional_json(p.all_up)},
            {"first_mow", optional_json(p.first_mow)},
            {"first_mow_assumed", p.first_mow_assumed},
            {"rooted", optional_json(p.rooted)},
            {"rooted_assumed", p.rooted_assumed},
            {"growth_cd", p.growth_cd},
            {"cover_fraction", p.cover_fraction},
            {"root_depth_mm", p.root_depth_mm},
            {"standing_cover", p.standing_cover},
            {"standing_cd", p.standing_cd},
            {"last_mown", optional_json(p.last_mown)},
            {"soil_mean_c", p.soil_mean_c ? Json(*p.soil_mean_c) : Json(nullptr)},
            {"soil_swing_c", p.soil_swing_c},
            {"hardening", p.hardening}};
}

turf::SpeciesProgress read_species(Reader& r, const Json& j) {
    turf::SpeciesProgress s;
    s.species = r.choice(j, "species", turf::Species::buffalograss);
    s.share = r.number(j, "share");
    s.tau = r.number(j, "tau");
    s.growth_cd = r.number(j, "growth_cd");
    s.root_depth_mm = r.number(j, "root_depth_mm");
    s.mow_cd = r.number(j, "mow_cd");
    s.first_green = r.maybe_time(j, "first_green");
    s.half_up = r.maybe_time(j, "half_up");
    s.all_up = r.maybe_time(j, "all_up");
    s.tau_per_day = r.number(j, "tau_per_day");
    if (Reader::has(j, "tau_by_day")) s.tau_by_day = read_numbers(r, j, "tau_by_day");
    s.slowness = r.number(j, "slowness");
    if (!(s.slowness > 0)) r.fail("'slowness' is not above 0");
    s.belief = read_values<turf::kSpeeds>(r, j, "belief", turf::kSpeeds);
    s.alive_driest = read_values<turf::kLotClasses>(r, j, "alive_driest", turf::kLotClasses);
    s.alive_rest = read_values<turf::kLotClasses>(r, j, "alive_rest", turf::kLotClasses);
    return s;
}

// A text of before did not keep when half of the mix was up: about when the species were with which
// half of the shares is reached.
std::optional<WallTime> half_up_of(const turf::Progress& p) {
    std::vector<const turf::SpeciesProgress*> up;
    double shares = 0;
    for (const turf::SpeciesProgress& s : p.species) {
        shares += s.share;
        if (s.half_up) up.push_back(&s);
    }
    std::ranges::sort(up, {}, [](const turf::SpeciesProgress* s) { return *s->half_up; });
    double sum = 0;
    for (const turf::SpeciesProgress* s : up)
        if ((sum += s->share) >= shares / 2) return s->half_up;
    return std::nullopt;
}

turf::Progress read_progress(Reader& r, const Json& j) {
    turf::Progress p;
    p.method = r.choice(j, "method", turf::Method::none);
    p.phase = r.choice(j, "phase", turf::Phase::rooting);
    p.phase_since = r.time(j, "phase_since");
    p.sown = r.maybe_time(j, "sown");
    for (const Json& s : r.list(j, "species"))
        p.species.push_back(read_species(r, s));
    p.seedlings_seen = r.maybe_time(j, "seedlings_seen");
    p.half_up = Reader::has(j, "half_up") ? r.maybe_time(j, "half_up") : half_up_of(p);
    p.all_up = r.maybe_time(j, "all_up");
    p.first_mow = r.maybe_time(j, "first_mow");
    p.first_mow_assumed = r.boolean(j, "first_mow_assumed");
    p.rooted = r.maybe_time(j, "rooted");
    p.rooted_assumed = r.boolean(j, "rooted_assumed");
    p.growth_cd = r.number(j, "growth_cd");
    p.cover_fraction = r.number(j, "cover_fraction");
    p.root_depth_mm = r.number(j, "root_depth_mm");
    p.standing_cover = r.number(j, "standing_cover");
    p.standing_cd = r.number(j, "standing_cd");
    p.last_mown = r.maybe_time(j, "last_mown");
    if (!r.at(j, "soil_mean_c").is_null()) p.soil_mean_c = r.number(j, "soil_mean_c");
    p.soil_swing_c = r.number(j, "soil_swing_c");
    p.hardening = r.number(j, "hardening");
    return p;
}

// --- zones -----------------------------------------------------------------------------------
Json budget_json(const watering::ZoneState& z, int layers) {
    return {{"mean", values_json(z.mean.theta, layers)},
            {"mean_pond_mm", z.mean.pond_mm},
            {"low", values_json(z.low.theta, layers)},
            {"low_pond_mm", z.low.pond_mm},
            {"heat", values_json(z.heat.layer_c, layers + 1)},
            {"skin_c", z.heat.skin_c},
            {"soil_evaporation_mm_per_h", z.cooling.soil_mm_per_h},
            {"cover_evaporation_mm_per_h", z.cooling.cover_mm_per_h},
            {"warmer_c", z.warmer_c},
            {"progress", progress_json(z.progress)},
            {"mean_leaves_mm", z.mean_held.leaves_mm},
            {"mean_straw_mm", z.mean_held.straw_mm},
            {"low_leaves_mm", z.low_held.leaves_mm},
            {"low_straw_mm", z.low_held.straw_mm}};
}

watering::ZoneState read_budget(Reader& r, const Json& j, int layers) {
    watering::ZoneState z;
    z.mean.theta = read_values<soil::kMaxLayers>(r, j, "mean", layers);
    z.mean.pond_mm = r.number(j, "mean_pond_mm");
    z.low.theta = read_values<soil::kMaxLayers>(r, j, "low", layers);
    z.low.pond_mm = r.number(j, "low_pond_mm");
    z.heat.layer_c = read_values<soil::kMaxLayers + 1>(r, j, "heat", layers + 1);
    z.heat.skin_c = r.number(j, "skin_c");
    z.cooling = {r.number(j, "soil_evaporation_mm_per_h"),
                 r.number(j, "cover_evaporation_mm_per_h")};
    if (r.has(j, "warmer_c")) z.warmer_c = r.number(j, "warmer_c");
    z.progress = read_progress(r, r.at(j, "progress"));
    z.mean_held = {r.number(j, "mean_leaves_mm"), r.number(j, "mean_straw_mm")};
    z.low_held = {r.number(j, "low_leaves_mm"), r.number(j, "low_straw_mm")};
    return z;
}

Json open_json(const OpenCycle& c) {
    return {{"stage", static_cast<int>(c.stage)},
            {"id", c.id},
            {"planned_s", c.planned_s},
            {"reason", c.reason},
            {"wall_start", to_json_value(c.wall_start)},
            {"mono_start_ms", c.mono_start.time_since_epoch().count()},
            {"asked_ms", c.asked.time_since_epoch().count()},
            {"outcome", static_cast<int>(c.outcome)}};
}

std::optional<OpenCycle> read_open(Reader& r, const Json& j) {
    if (j.is_null()) return std::nullopt;
    OpenCycle c;
    c.stage = r.choice(j, "stage", OpenCycle::Stage::priming);
    c.id = r.integer(j, "id");
    c.planned_s = static_cast<int>(r.integer(j, "planned_s"));
    c.reason = r.text(j, "reason");
    c.wall_start = r.time(j, "wall_start");
    c.mono_start = MonoTime{Millis{r.integer(j, "mono_start_ms")}};
    c.asked = MonoTime{Millis{r.integer(j, "asked_ms")}};
    c.outcome = r.choice(j, "outcome", Outcome::failed);
    return c;
}

// --- what was learned ------------------------------------------------------------------------
Json past_json(const Past& p, int layers) {
    return {{"at", to_json_value(p.at)},
            {"zone", budget_json(p.zone, layers)},
            {"cloud_factor", p.cloud_factor},
            {"flows", flows_json(p.flows)}};
}

Past read_past(Reader& r, const Json& j, int layers) {
    return {r.time(j, "at"), read_budget(r, r.at(j, "zone"), layers), r.number(j, "cloud_factor"),
            read_flows(r, j, "flows")};
}

Json estimate_json(const watering::Estimate& e) {
    return {{"mean", values_json(e.mean, static_cast<int>(e.mean.size()))},
            {"covariance", values_json(e.covariance, static_cast<int>(e.covariance.size()))}};
}

watering::Estimate read_estimate(Reader& r, const Json& j) {
    constexpr int kOf = static_cast<int>(watering::kUnknowns);
    return {read_values<watering::kUnknowns>(r, j, "mean", kOf),
            read_values<watering::kUnknowns * watering::kUnknowns>(r, j, "covariance", kOf * kOf)};
}

Json heard_json(const Heard& heard) {
    Json list = Json::array();
    for (const auto& time : heard)
        list.push_back(optional_json(time));
    return list;
}

Heard read_heard(Reader& r, const Json& j, const char* key) {
    Heard heard;
    const Json& list = r.list(j, key);
    if (list.size() != heard.size()) {
        r.fail(std::string("'") + key + "' has not as many times as there are causes");
        return heard;
    }
    for (std::size_t i = 0; i < heard.size(); ++i) {
        if (list[i].is_null()) continue;
        if (!list[i].is_number_integer())
            r.fail(std::string("'") + key + "' holds no time");
        else
            heard[i] = wall_from_unix(list[i].get<std::int64_t>());
    }
    return heard;
}

Json factors_json(const watering::Factors& f) {
    return Json::array({f.evaporation, f.rate, f.uniformity, f.intake});
}

watering::Factors read_factors(Reader& r, const Json& j, const char* key) {
    const auto v = read_values<4>(r, j, key, 4);
    return {v[0], v[1], v[2], v[3]};
}

Json corrections_json(const std::vector<Undoable>& corrections) {
    Json list = Json::array();
    for (const Undoable& u : corrections)
        list.push_back({{"time", to_json_value(u.correction.time)},
                        {"zone", u.correction.zone},
                        {"cause", static_cast<int>(u.correction.cause)},
                        {"before", factors_json(u.correction.before)},
                        {"after", factors_json(u.correction.after)},
                        {"why", u.correction.why},
                        {"estimate", estimate_json(u.before)},
                        {"heard", heard_json(u.heard_before)}});
    return list;
}

std::vector<Undoable> read_corrections(Reader& r, const Json& j) {
    std::vector<Undoable> corrections;
    for (const Json& u : r.list(j, "corrections"))
        corrections.push_back(
            {{r.time(u, "time"), r.text(u, "zone"), r.choice(u, "cause", Cause::set_back),
              read_factors(r, u, "before"), read_factors(r, u, "after"), r.text(u, "why")},
             read_estimate(r, r.at(u, "estimate")),
             read_heard(r, u, "heard")});
    return corrections;
}

Json word_json(const std::optional<LastWord>& word, int layers) {
    if (!word) return nullptr;
    const LastWord& w = *word;
    return {{"what", static_cast<int>(w.what)},
            {"number", w.number},
            {"at", to_json_value(w.at)},
            {"run_s", w.run_s},
            {"seen", turf::key(w.seen)},
            {"hold_until", optional_json(w.hold_until)},
            {"mow_at", optional_json(w.mow_at)},
            {"mow_said", optional_json(w.mow_said)},
            {"lock_since", w.lock ? to_json_value(w.lock->since) : Json(nullptr)},
            {"lock_why", w.lock ? w.lock->why : ""},
            {"ordered_s", w.ordered_s},
            {"ordered_until", to_json_value(w.ordered_until)},
            {"not_before", to_json_value(w.not_before)},
            {"not_before_after", to_json_value(w.not_before_after)},
            {"owed_s", w.owed_s},
            {"reported_dry", w.reported_dry},
            {"advised", w.advised},
            {"past", w.past ? past_json(*w.past, layers) : Json(nullptr)},
            {"estimate", estimate_json(w.estimate)},
            {"estimate_after", estimate_json(w.estimate_after)},
            {"heard", heard_json(w.heard)}};
}

std::optional<LastWord> read_word(Reader& r, const Json& zone, int layers) {
    // Older text lacks it.
    if (!Reader::has(zone, "word") || r.at(zone, "word").is_null()) return std::nullopt;
    const Json& j = r.at(zone, "word");
    LastWord w;
    w.what = r.choice(j, "what", LastWord::What::mow);
    w.number = r.integer(j, "number");
    w.at = r.time(j, "at");
    w.run_s = static_cast<int>(r.integer(j, "run_s"));
    const auto seen = turf::observation_by_key(r.text(j, "seen"));
    if (!seen) r.fail("'seen' names no observation");
    w.seen = seen.value_or(turf::ObservationKind{});
    w.hold_until = r.maybe_time(j, "hold_until");
    if (Reader::has(j, "mow_at")) w.mow_at = r.maybe_time(j, "mow_at");
    if (Reader::has(j, "mow_said")) w.mow_said = r.maybe_time(j, "mow_said");
    if (const auto since = r.maybe_time(j, "lock_since"))
        w.lock = Latch{*since, r.text(j, "lock_why")};
    w.ordered_s = static_cast<int>(r.integer(j, "ordered_s"));
    w.ordered_until = r.time(j, "ordered_until");
    w.not_before = r.time(j, "not_before");
    w.not_before_after = r.time(j, "not_before_after");
    w.owed_s = static_cast<int>(r.integer(j, "owed_s"));
    w.reported_dry = r.boolean(j, "reported_dry");
    w.advised = static_cast<unsigned>(r.integer(j, "advised"));
    if (!r.at(j, "past").is_null()) w.past = read_past(r, r.at(j, "past"), layers);
    w.estimate = read_estimate(r, r.at(j, "estimate"));
    w.estimate_after = read_estimate(r, r.at(j, "estimate_after"));
    w.heard = read_heard(r, j, "heard");
    return w;
}

Json zone_json(const std::string& id, const ZoneRuntime& z, int layers) {
    Json applied = Json::array();
    for (const Applied& a : z.applied)
        applied.push_back({{"from", to_json_value(a.from)}, {"to", optional_json(a.to)}});
    return {{"id", id},
            {"settled", budget_json(z.settled, layers)},
            {"estimate", estimate_json(z.estimate)},
            {"heard", heard_json(z.heard)},
            {"corrections", corrections_json(z.corrections)},
            {"past", past_json(z.past, layers)},
            {"newer", past_json(z.newer, layers)},
            {"applied_later_mm", z.applied_later_mm},
            {"since_line", flows_json(z.since_line)},
            {"applied", std::move(applied)},
            {"open", z.open ? open_json(*z.open) : Json(nullptr)},
            {"ordered_s", z.ordered_s},
            {"ordered_until", to_json_value(z.ordered_until)},
            {"hold_until", optional_json(z.hold_until)},
            {"mow_at", optional_json(z.mow_at)},
            {"last_wetted", optional_json(z.last_wetted)},
            {"dried_mm", z.dried_mm},
            {"soaked", z.soaked},
            {"reported_dry", z.reported_dry},
            {"owed_s", z.owed_s},
            {"not_before", to_json_value(z.not_before)},
            {"advised", z.advised},
            {"faults", z.faults},
            {"warned_dry", optional_json(z.warned_dry)},
            {"warned_until", to_json_value(z.warned_until)},
            {"warned_dry_s", z.warned_dry_s},
            {"warned_stake", z.warned_stake},
            {"next_start", optional_json(z.next_start)},
            {"next_run_s", z.next_run_s},
            {"next_reason", z.next_reason},
            {"explanation", z.explanation},
            {"verdict", static_cast<int>(z.verdict)},
            {"day", z.day.ok() ? to_unix(WallTime{std::chrono::sys_days{z.day}}) : 0},
            {"day_mm", z.day_mm},
            {"day_l", z.day_l},
            {"guard", guard_json(z.guard)},
            {"word", word_json(z.word, layers)}};
}

ZoneRuntime read_zone(Reader& r, const Json& j, int layers) {
    ZoneRuntime z;
    z.settled = read_budget(r, r.at(j, "settled"), layers);
    z.estimate = read_estimate(r, r.at(j, "estimate"));
    z.heard = read_heard(r, j, "heard");
    z.corrections = read_corrections(r, j);
    z.past = read_past(r, r.at(j, "past"), layers);
    z.newer = read_past(r, r.at(j, "newer"), layers);
    z.applied_later_mm = r.number(j, "applied_later_mm");
    z.since_line = read_flows(r, j, "since_line");
    for (const Json& a : r.list(j, "applied"))
        z.applied.push_back({r.time(a, "from"), r.maybe_time(a, "to")});
    z.open = read_open(r, r.at(j, "open"));
    z.ordered_s = static_cast<int>(r.integer(j, "ordered_s"));
    z.ordered_until = r.time(j, "ordered_until");
    z.hold_until = r.maybe_time(j, "hold_until");
    if (Reader::has(j, "mow_at")) z.mow_at = r.maybe_time(j, "mow_at");
    z.last_wetted = r.maybe_time(j, "last_wetted");
    z.dried_mm = r.number(j, "dried_mm");
    z.soaked = r.boolean(j, "soaked");
    z.reported_dry = r.boolean(j, "reported_dry");
    z.owed_s = static_cast<int>(r.integer(j, "owed_s"));
    z.not_before = r.time(j, "not_before");
    z.advised = static_cast<unsigned>(r.integer(j, "advised"));
    z.faults = static_cast<int>(r.integer(j, "faults"));
    z.warned_dry = r.maybe_time(j, "warned_dry");
    // Older snapshots lack what the notice spoke of: it is then told once more at the most.
    if (j.is_object() && j.contains("warned_until")) {
        z.warned_until = r.time(j, "warned_until");
        z.warned_dry_s = static_cast<int>(r.integer(j, "warned_dry_s"));
        z.warned_stake = static_cast<int>(r.integer(j, "warned_stake"));
    }
    z.next_start = r.maybe_time(j, "next_start");
    z.next_run_s = static_cast<int>(r.integer(j, "next_run_s"));
    z.next_reason = r.text(j, "next_reason");
    z.explanation = r.text(j, "explanation");
    z.verdict = r.choice(j, "verdict", Verdict::withhold);
    const std::int64_t day = r.integer(j, "day");
    if (day != 0) z.day = Date{std::chrono::floor<std::chrono::days>(wall_from_unix(day))};
    z.day_mm = r.number(j, "day_mm");
    z.day_l = r.number(j, "day_l");
    z.guard = read_guard(r, j);
    z.word = read_word(r, j, layers);
    return z;
}

Json notices_json(const std::vector<Notice>& notices) {
    Json list = Json::array();
    for (const Notice& n : notices)
        list.push_back({{"time", to_json_value(n.time)},
                        {"zone", n.zone},
                        {"severity", static_cast<int>(n.severity)},
                        {"code", n.code},
                        {"text", n.text}});
    return list;
}

} // namespace

std::string encode_state(const Setup& setup, const State& state) {
    Json zones = Json::array();
    for (std::size_t i = 0; i < state.zones.size(); ++i)
        zones.push_back(zone_json(setup.garden.zones[i].id, state.zones[i],
                                  setup.specs[i].column.layers.count));
    const Json j = {{"form", kForm},
                    {"begun", state.begun},
                    {"settled_until", to_json_value(state.settled_until)},
                    {"cloud_factor", state.cloud_factor},
                    {"recent", hours_json(state.recent)},
                    {"forecast", hours_json(state.forecast)},
                    {"forecast_record", forecast_record_json(state.forecast_record)},
                    {"next_cycle_id", state.next_cycle_id},
                    {"next_word", state.next_word},
                    {"next_plan", to_json_value(state.next_plan)},
                    {"zones", std::move(zones)},
                    {"notices", notices_json(state.notices)},
                    {"guards", guards_json(state.guards)}};
    return j.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<State> decode_state(const Setup& setup, std::string_view text) {
    const Json j = Json::parse(text, nullptr, false);
    Reader r;
    if (r.integer(j, "form") != kForm && r.ok())
        return Error{"the saved state is of another form than this firstmow writes"};
    State state;
    state.begun = r.boolean(j, "begun");
    state.settled_until = r.time(j, "settled_until");
    state.cloud_factor = r.number(j, "cloud_factor");
    state.recent = read_hours(r, j, "recent");
    state.forecast = read_hours(r, j, "forecast");
    state.forecast_record = read_forecast_record(r, j);
    state.next_cycle_id = r.integer(j, "next_cycle_id");
    if (Reader::has(j, "next_word")) state.next_word = r.integer(j, "next_word");
    state.next_plan = r.time(j, "next_plan");
    const Json& zones = r.list(j, "zones");
    if (zones.size() != setup.garden.zones.size())
        return Error{"the saved state has other zones than the garden file"};
    for (std::size_t i = 0; i < zones.size(); ++i) {
        if (r.text(zones[i], "id") != setup.garden.zones[i].id)
            r.fail("zone " + std::to_string(i + 1) + " is another than in the garden file");
        state.zones.push_back(read_zone(r, zones[i], setup.specs[i].column.layers.count));
    }
    for (const Json& n : r.list(j, "notices"))
        state.notices.push_back({r.time(n, "time"), r.text(n, "zone"),
                                 r.choice(n, "severity", Severity::alarm), r.text(n, "code"),
                                 r.text(n, "text")});
    state.guards = read_guards(r, j, initial_state(setup).guards);
    if (!r.ok()) return Error{"the saved state cannot be read: " + r.fault()};
    return state;
}

std::string encode_timezone(const TimeZone& zone) {
    Json eras = Json::array();
    for (const TimeZone::Era& era : zone.eras())
        eras.push_back({{"from", to_json_value(era.from)},
                        {"utc_offset_s", era.utc_offset.count()},
                        {"abbreviation", era.abbreviation}});
    return Json{{"name", zone.name()}, {"eras", std::move(eras)}}.dump();
}

Result<TimeZone> decode_timezone(std::string_view text) {
    const Json j = Json::parse(text, nullptr, false);
    Reader r;
    std::vector<TimeZone::Era> eras;
    for (const Json& era : r.list(j, "eras")) {
        const TimeZone::Era read{r.time(era, "from"), Seconds{r.integer(era, "utc_offset_s")},
                                 r.text(era, "abbreviation")};
        if (!eras.empty() && read.from <= eras.back().from) r.fail("'eras' are not in order");
        eras.push_back(read);
    }
    if (eras.empty()) r.fail("'eras' is empty");
    const std::string name = r.text(j, "name");
    if (!r.ok()) return Error{"the saved time zone cannot be read: " + r.fault()};
    return TimeZone(name, std::move(eras));
}

} // namespace firstmow::engine
