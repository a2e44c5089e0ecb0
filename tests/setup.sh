# shellcheck shell=bash
# Sourced from the project's top folder by tests/run and notebooks/run: makes .venv with all that
# pyproject.toml names, and installs the package into it as a wheel. Does only what is missing.

as_root_install() { # best effort: every package has another way, or an error that names it
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
        {
            flock 9 # one at a time
            apt-get update -qq &&
                DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends "$@"
        } 9>build/logs/apt.lock >>build/logs/apt.log 2>&1 </dev/null || true
    fi
}

# The interpreter itself, also where .venv is active: .venv may be about to be made again.
find_python() {
    local each base='import sys; assert sys.version_info >= (3, 11); print(sys._base_executable)'
    for each in "${PYTHON:-python3}" python3.14 python3.13 python3.12 python3.11; do
        if "$each" -c "$base" 2>/dev/null; then
            return
        fi
    done
    echo "Python 3.11 or later is needed" >&2
    return 1
}

requirements() {
    "$1" - <<'END'
import tomllib

with open("pyproject.toml", "rb") as file:
    settings = tomllib.load(file)
project = settings["project"]
groups = project["optional-dependencies"].values()
for line in [*settings["build-system"]["requires"], *project["dependencies"], *sum(groups, [])]:
    print(line)
END
}

make_environment() {
    local python stamp
    python=$(find_python)
    stamp=$({ "$python" -V && requirements "$python"; } | sha256sum)
    if [ "$(cat .venv/stamp 2>/dev/null)" != "$stamp" ]; then
        if ! "$python" -c \
            'import ensurepip, sysconfig; open(sysconfig.get_path("include") + "/Python.h")' \
            2>/dev/null; then
            as_root_install python3-venv python3-dev
        fi
        rm -rf .venv
        "$python" -m venv .venv
        requirements "$python" >.venv/requirements.txt
        .venv/bin/pip install --quiet --disable-pip-version-check -r .venv/requirements.txt
        echo "$stamp" >.venv/stamp
    fi
    export PATH="$PWD/.venv/bin:$PATH"
}

wheel_options=()
install_wheel() {
    local stamp
    stamp=$(find CMakeLists.txt pyproject.toml README.md cpp python -type f \
        -not -path '*/__pycache__/*' -not -path '*/.*' -print0 | sort -z | xargs -0 sha256sum | sha256sum)
    if [ "$(cat .venv/installed 2>/dev/null)" = "$stamp" ]; then
        return
    fi
    rm -rf build/wheel
    .venv/bin/pip wheel --quiet --disable-pip-version-check --no-deps --no-build-isolation \
        --wheel-dir build/wheel "${wheel_options[@]}" .
    .venv/bin/pip install --quiet --disable-pip-version-check --no-deps --force-reinstall \
        build/wheel/evenfront-*.whl
    echo "$stamp" >.venv/installed
}

mkdir -p build/logs
