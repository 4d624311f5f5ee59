// All sources of the garden behind one Source: feeds bring parcels, the desk makes hours of them.
#pragma once

#include "garden/garden.hpp"
#include "weather/desk.hpp"
#include "weather/feed.hpp"
#include "weather/source.hpp"
#include "weather/station.hpp"

#include <memory>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::weather_source {

class DeskSource : public Source {
public:
    // `garden_file` is the path of the garden file: paths in it are beside it. What cannot be begun
    // (a broker's address, a password file) is told as a remark at the first look; the rest works.
    DeskSource(const garden::Garden& garden, const std::string& garden_file, WallTime not_before);
    // With feeds of one's own, for tests: one for each of `sources`, in order.
    DeskSource(const weather::Place& place, std::vector<weather::DeskSource> sources,
               std::vector<std::unique_ptr<Feed>> feeds, WallTime not_before);
    ~DeskSource() override;

    News look(WallTime now) override;

    // What a station sent to the daemon's port. `id` names a source of kind push; empty: the first.
    Status push(std::string_view id, std::string_view text, bool json, WallTime now) override;
    // What the garden's own sensors measured, such as a rain gauge's hour.
    void take(const weather::Parcel& parcel, WallTime now) override { desk_.take(parcel, now); }

    // What it has, from where, how old, and what it thinks of it: JSON, see openapi.json.
    std::string report(WallTime now) const override;
    // Kept over a restart.
    std::string save() const override;
    void take_up(std::string_view saved) override;

private:
    struct Told {
        std::optional<WallTime> failing_since;
        bool said = false;
    };
    void tell_of(std::size_t feed, WallTime now, News& news);

    WallTime not_before_;
    weather::Desk desk_;
    std::vector<std::unique_ptr<Feed>> feeds_; // beside the desk's sources; null: could not begin
    std::vector<Told> told_;
    std::vector<engine::Remark> remarks_; // of the beginning
};

} // namespace firstmow::weather_source
