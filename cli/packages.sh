# Sourced by quickstart.sh and tests/run.sh: installs missing Debian packages.

install_packages() {
    local missing=() package
    for package in "$@"; do
        dpkg-query -W -f='${db:Status-Status}\n' "$package" 2>/dev/null | grep -qx installed ||
            missing+=("$package")
    done
    if [ ${#missing[@]} -eq 0 ]; then
        echo "lowhiss: all packages are installed"
        return
    fi
    echo "lowhiss: installing ${missing[*]}"
    local as_root=()
    if [ "$(id -u)" -ne 0 ]; then
        command -v sudo >/dev/null || {
            echo "lowhiss: run this as root or with sudo, or install: ${missing[*]}" >&2
            return 1
        }
        as_root=(sudo)
    fi
    "${as_root[@]}" apt-get update -qq
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
        apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
}

build_packages=(g++ cmake ninja-build libeigen3-dev libboost-dev libspdlog-dev libfmt-dev
    libcli11-dev nlohmann-json3-dev libtomlplusplus-dev libpugixml-dev libmd-dev
    libhwy-dev liblapacke-dev libcminpack-dev librandom123-dev libjs-dygraphs libsndfile1-dev
    libkissfft-dev)
