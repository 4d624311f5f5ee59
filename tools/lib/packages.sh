# The Debian packages that firstmow is built with; the names hold on Debian 12 and 13.
# Sourced by tools/test and tools/demo.

# The compiler and what drives it.
tool_packages=(g++ cmake ninja-build pkgconf)
# What the programs link or read: time zones and certificates are read when they run.
library_packages=(
    libboost-dev libcpp-httplib-dev libsqlite3-dev libspdlog-dev nlohmann-json3-dev
    libtomlplusplus-dev libcli11-dev libhowardhinnant-date-dev libssl-dev libmosquitto-dev
    zlib1g-dev tzdata ca-certificates
)
# mosquitto: a broker that a test starts for itself.
test_packages=(doctest-dev libmodbus-dev mosquitto)
# For tests/browser and tests/formats: a browser, and what drives it unless it is here already; a
# reader of metrics.
browser_packages=(chromium python3-prometheus-client)
command -v npm >/dev/null || browser_packages+=(nodejs npm)
# For tools/test --fuzz.
fuzz_packages=(clang)
# For tests/vm/run.
vm_packages=(qemu-system-x86 busybox-static cpio kmod make gcc xz-utils linux-headers-amd64)

# Prints those of the given packages that are not installed.
missing_packages() {
    local package
    for package in "$@"; do
        [ "$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null)" = installed ] ||
            printf '%s\n' "$package"
    done
}

# Installs those of the given packages that are missing; says which, and leaves apt-get alone
# when none is.
install_missing() {
    local missing as_root=()
    if ! command -v dpkg-query >/dev/null; then
        say "No Debian package list here; trusting that the build finds what it needs."
        return
    fi
    mapfile -t missing < <(missing_packages "$@")
    if [ ${#missing[@]} = 0 ]; then
        say "Packages: all $# are installed."
        return
    fi
    say "Packages missing, installing with apt-get: ${missing[*]}"
    if [ "$(id -u)" != 0 ]; then
        command -v sudo >/dev/null ||
            fail "packages are missing and there is no sudo" \
                "as root run: apt-get install ${missing[*]}"
        as_root=(sudo)
        sudo -v || fail "sudo refused" "as root run: apt-get install ${missing[*]}"
    fi
    as_root+=(env DEBIAN_FRONTEND=noninteractive apt-get -q -y)
    run_step "package lists" "${as_root[@]}" update ||
        fail "apt-get update failed" "look at the lines above; is there a network?"
    run_step "${#missing[@]} packages" "${as_root[@]}" install --no-install-recommends \
        "${missing[@]}" ||
        fail "apt-get could not install: ${missing[*]}" "look at the lines above"
}
