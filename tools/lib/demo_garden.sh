# The demo's garden, weather and season. Sourced by tools/demo; uses its `root` and `folder`.

demo_mark="# Made by tools/demo"

# Sets `folder` to an existing folder that is ours to write into.
make_demo_folder() {
    local base
    if [ -z "$folder" ]; then
        base=${XDG_STATE_HOME:-${HOME:-/tmp}/.local/state}/firstmow-demo
        mkdir -p "$base" && folder=$(mktemp -d "$base/$(date +%Y-%m-%d).XXXX") ||
            fail "no folder can be made in $base" "name one with --state-dir DIR"
        # mktemp makes it for its owner only; the page's key below is kept so by the daemon itself.
        chmod 755 "$folder"
    elif [ -e "$folder/garden.toml" ] &&
        ! head -n 1 "$folder/garden.toml" | grep -qF "$demo_mark"; then
        fail "$folder holds a garden that is not the demo's" "name another --state-dir"
    fi
    mkdir -p "$folder/state" && [ -w "$folder/state" ] ||
        fail "$folder cannot be written" "name another --state-dir"
    folder=$(cd "$folder" && pwd)
    # Held by this script and, through it, by the daemon, for as long as either lives.
    exec 8>"$folder/lock"
    flock -n 8 || fail "another demo is running in $folder" "end it, or name another --state-dir"
    say "The demo lives in $folder"
}

# garden_value KEY: the value of a key of [site] in the demo garden's original.
garden_value() {
    awk -F' *= *' -v key="$1" '$1 == key { gsub(/"/, "", $2); print $2; exit }' \
        "$root/config/demo-garden.toml"
}

# local_day DAYS: the date so many days from today (negative: ago), in the garden's time zone.
local_day() { TZ=$(garden_value timezone) date -d "12:00 today $1 days" +%F; }

# The garden of config/, with sowing counted back from today and on that half of the earth where
# it is the warm half of the year.
write_demo_garden() {
    local month_day latitude frost why days
    month_day=$((10#$(date -u +%m%d)))
    latitude=$(garden_value latitude)
    frost=$(garden_value first_frost)
    why="the warm half of the year is in the north now"
    if [ "$month_day" -gt 1026 ] || [ "$month_day" -lt 427 ]; then
        latitude=-$latitude
        frost=$(date -d "2026-$frost 12:00 UTC 182 days" +%m-%d)
        why="the warm half of the year is in the south now"
    fi
    # Dates by their distance, looked up beforehand: awk cannot reckon with days.
    days=$(sed -n 's/^# demo: \([0-9][0-9]*\) days ago$/\1/p' "$root/config/demo-garden.toml" |
        while read -r ago; do printf '%s=%s ' "$ago" "$(local_day "-$ago")"; done)
    awk -v mark="$demo_mark from config/demo-garden.toml on $(local_day 0)." \
        -v latitude="$latitude" -v frost="$frost" -v why="$why" -v days="$days" '
        BEGIN {
            count = split(days, pairs, " ")
            for (i = 1; i <= count; i++) {
                split(pairs[i], pair, "=")
                day[pair[1]] = pair[2]
            }
            print mark
        }
        /^latitude *=/ { print "# " why; print "latitude = " latitude; next }
        /^first_frost *=/ { print "first_frost = \"" frost "\""; next }
        /^# demo: [0-9]+ days ago$/ { ago = $3 }
        /^start *=/ && ago != "" { print "start = " day[ago]; ago = ""; next }
        { print }' "$root/config/demo-garden.toml" >"$folder/garden.toml" ||
        fail "$folder/garden.toml cannot be written" "is the disk full?"
    demo_latitude=$latitude
    say "The garden lies at latitude $latitude: $why"
    "$root/build/firstmow" check --garden "$folder/garden.toml" ||
        fail "the demo garden has mistakes" "mend config/demo-garden.toml"
}

# Forty days back and ten ahead. The hours ahead of now are what the daemon takes as its forecast;
# past-weather.csv ends with the last whole hour, so that the season does.
invent_demo_weather() {
    local zone first now
    zone=$(garden_value timezone)
    first=$(TZ=$zone date -d "$(local_day -40) 00:00" +%s)
    first=$((first - first % 3600))
    now=$(date -u +%Y-%m-%dT%H:00:00Z)
    say "Inventing weather: heat in the last days, a thunderstorm on $(local_day -16), dewy nights"
    "$root/build/invent_weather" --latitude "$demo_latitude" \
        --longitude "$(garden_value longitude)" --elevation "$(garden_value elevation | tr -dc '0-9.')" \
        --from "$(date -u -d "@$first" +%Y-%m-%dT%H:00:00Z)" --hours $((50 * 24)) --seed 1 \
        --hot-spell "$(local_day -4)..$(local_day -1)" --storm "$(local_day -16)" \
        --dewy "$(local_day -11)..$(local_day -8)" >"$folder/weather.csv" ||
        fail "the weather could not be invented" "look at the line above"
    awk -F, -v now="$now" 'NR == 1 || $1 < now' "$folder/weather.csv" \
        >"$folder/past-weather.csv" || fail "$folder cannot be written" "is the disk full?"
}

# local_time DAYS CLOCK: that moment in UTC.
local_time() {
    date -u -d "@$(TZ=$(garden_value timezone) date -d "$(local_day "$1") $2" +%s)" +%FT%TZ
}

# What people reported and did meanwhile.
write_demo_events() {
    {
        echo "time,zone,kind,value"
        echo "$(local_time -23 08:10),front,seedlings_seen,"
        echo "$(local_time -17 18:40),side,seedlings_seen,"
        echo "$(local_time -6 17:20),strip,rooted,"
        echo "$(local_time -3 15:30),bed,water,6"
    } >"$folder/events.csv" || fail "$folder cannot be written" "is the disk full?"
}

# The daemon's own engine under a virtual clock, from the earliest sowing up to now.
simulate_demo_season() {
    local longest_ago last
    longest_ago=$(sed -n 's/^# demo: \([0-9][0-9]*\) days ago$/\1/p' \
        "$root/config/demo-garden.toml" | sort -n | tail -n 1)
    # The local day of the last whole hour.
    last=$(TZ=$(garden_value timezone) date -d "@$(($(date +%s) - 3600))" +%F)
    say "Simulating the $longest_ago days up to now"
    mkdir -p "$folder/season"
    "$root/build/firstmow" simulate --garden "$folder/garden.toml" \
        --weather "$folder/past-weather.csv" --events "$folder/events.csv" \
        --from "$(local_day "-$longest_ago")" --to "$last" --out "$folder/season" ||
        fail "the season could not be simulated" "look at the lines above"
}
