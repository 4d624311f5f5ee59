# Serving the demo: the daemon on the simulated season's journal, until Ctrl-C. Sourced by
# tools/demo; uses its `root`, `folder` and `port`.

port_in_use() { (: <>"/dev/tcp/127.0.0.1/$1") 2>/dev/null; }

# Sets `port` to a free one, looking at the next few when the wanted one is taken.
choose_port() {
    local wanted=${port:-8080}
    for ((port = wanted; port < wanted + 10 && port <= 65535; port++)); do
        port_in_use "$port" && continue
        [ "$port" = "$wanted" ] || say "Port $wanted is in use; taking $port."
        return
    done
    fail "ports $wanted to $((port - 1)) are all in use" "name a free one with --port N"
}

# Whether the daemon answers that it is well.
healthy() {
    local status=
    {
        printf 'GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n' >&9
        read -r -t 5 _ status _ <&9
    } 2>/dev/null 9<>"/dev/tcp/127.0.0.1/$port"
    [ "$status" = 200 ]
}

wait_until_healthy() {
    local i
    for ((i = 0; i < 150; i++)); do
        kill -0 "$daemon" 2>/dev/null || {
            wait "$daemon"
            fail "the daemon ended at once with status $?" "look at the lines above"
        }
        healthy && return
        sleep 0.2
    done
    stop_daemon
    fail "the daemon does not answer on port $port" "look at the lines above"
}

# Ends the daemon by its own process id and waits for it: it closes the valves before it goes.
stop_daemon() {
    kill -TERM "$daemon" 2>/dev/null
    wait "$daemon"
}

serve_demo() {
    local state=$folder/state stopped=0
    rm -f "$state"/firstmow.sqlite*
    cp "$folder/season/season.sqlite" "$state/firstmow.sqlite" ||
        fail "the season's journal cannot be copied to $state" "is the disk full?"
    choose_port
    say "Starting the daemon"
    trap 'stopped=1' INT TERM HUP
    "$root/build/firstmowd" --garden "$folder/garden.toml" --state-dir "$state" \
        --listen "127.0.0.1:$port" &
    daemon=$!
    wait_until_healthy
    say "The garden goes on live: http://127.0.0.1:$port/#key=$(cat "$state/token")"
    say "Ctrl-C ends it."
    while [ "$stopped" = 0 ] && kill -0 "$daemon" 2>/dev/null; do
        wait "$daemon"
    done
    if [ "$stopped" = 0 ]; then
        wait "$daemon"
        fail "the daemon ended by itself with status $?" "look at the lines above"
    fi
    stop_daemon || fail "the daemon ended with status $?" "look at the lines above"
    say "The daemon has ended and its valves are closed. All is in $folder"
}
