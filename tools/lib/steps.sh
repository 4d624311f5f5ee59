# How the scripts of this folder speak, and the steps that they share. Sourced, not run; the
# sourcing script sets `self` (its name for messages) and `root` (the checkout).

say() { printf '== %s\n' "$*"; }

# fail WHAT WHAT-TO-DO: one line, then out.
fail() {
    printf '%s: %s; %s\n' "$self" "$1" "$2" >&2
    exit 1
}

# fail_usage WHAT: a wrong command line.
fail_usage() {
    printf '%s: %s; try %s --help\n' "$self" "$1" "$self" >&2
    exit 2
}

# run_step NAME COMMAND...: runs with the output kept aside, a sign of life every ten seconds and
# the end of the output when it fails. Returns the command's status.
step_log=
trap 'rm -f "$step_log"' EXIT
run_step() {
    local name=$1 begin=$SECONDS status
    shift
    step_log=$(mktemp) || fail "no temporary file can be made" "is the disk full?"
    watch_step "$name" "$step_log" &
    # The command stays in the foreground, so that Ctrl-C ends it and this script.
    "$@" >"$step_log" 2>&1 </dev/null
    status=$?
    if [ "$status" != 0 ]; then
        printf '%s failed; the end of what it said:\n' "$name" >&2
        tail -n 40 "$step_log" >&2
    else
        printf '   %s: done in %d s\n' "$name" $((SECONDS - begin))
    fi
    rm -f "$step_log" # ends the watch
    return "$status"
}

# Prints the last line of a log now and then, until the log or this script is gone.
watch_step() {
    local name=$1 log=$2 second
    for ((second = 1; ; second++)); do
        sleep 1 >/dev/null 2>&1
        [ -e "$log" ] && kill -0 $$ 2>/dev/null || return
        [ $((second % 10)) != 0 ] ||
            printf '   %s, %d s: %.80s\n' "$name" "$second" "$(last_line "$log")"
    done
}

last_line() {
    tail -c 2000 "$1" 2>/dev/null | tr '\r' '\n' | grep -v '^[[:space:]]*$' | tail -n 1
}

# As many compilers as there are processors, each with 700 MB of memory: the biggest files of this
# project ask for as much.
jobs() {
    local processors memory_mb
    processors=$(nproc)
    memory_mb=$(awk '/^MemAvailable/ { print int($2 / 1024) }' /proc/meminfo)
    if [ "$memory_mb" -lt $((processors * 700)) ]; then
        processors=$((memory_mb / 700))
    fi
    [ "$processors" -ge 1 ] || processors=1
    echo "$processors"
}

# build_preset PRESET FOLDER [TARGET...]: configures, and builds the targets or everything.
build_preset() {
    local preset=$1 folder=$2 count
    shift 2
    count=$(jobs)
    say "Building ($preset preset) in $folder/, $count at a time"
    (cd "$root" && run_step configure cmake --preset "$preset") ||
        fail "the build could not be configured" \
            "look at the lines above; if $folder/ was made elsewhere, delete it and try again"
    run_step build cmake --build "$root/$folder" -j "$count" ${1:+--target "$@"} ||
        fail "the build failed" "look at the lines above"
}
