#!/usr/bin/env bash
# The tests, on SQLite and on PostgreSQL + Redis + a real Celery worker. Installs and starts what it needs and may.
#   bash tests/run.sh            everything
#   bash tests/run.sh quick      style, types, layers and the SQLite run only
set -euo pipefail
cd "$(dirname "$0")/.."
unset DATABASE_URL REDIS_URL LULL_PRODUCTION LULL_DEBUG
venv=.venv-test
# Two processes, as two cores are what a small machine has; who is done takes over tests of the other.
parallel='-n 2 --dist worksteal'
work=$(mktemp -d)
started=()

say() { printf '\n== %s\n' "$*"; }

stop_what_we_started() {
    for stop in "${started[@]:-}"; do [ -n "$stop" ] && eval "$stop" >/dev/null 2>&1 || true; done
    rm -rf "$work"
}
trap stop_what_we_started EXIT

install_python() {
    [ -x $venv/bin/python ] || python3 -m venv $venv
    $venv/bin/pip install -q --disable-pip-version-check -r requirements.txt -r tests/requirements.txt
}

install_servers() {
    local missing=()
    command -v chromium >/dev/null || missing+=(chromium)
    ls /usr/lib/postgresql/*/bin/postgres >/dev/null 2>&1 || missing+=(postgresql)
    command -v redis-server >/dev/null || missing+=(redis-server)
    [ ${#missing[@]} -eq 0 ] && return
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
        say "Installing ${missing[*]}"
        (apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "${missing[@]}") >"$work/apt.log" 2>&1 ||
            { tail -5 "$work/apt.log"; echo "could not install: ${missing[*]}"; }
    else
        echo "missing and not ours to install (no root or no apt-get): ${missing[*]}"
    fi
}

as_postgres() { if [ "$(id -u)" = 0 ]; then su postgres -s /bin/bash -c "$1"; else bash -c "$1"; fi; }

start_postgres() {
    local bin port=54329 data="$work/postgres"
    if PGCONNECT_TIMEOUT=3 psql -h 127.0.0.1 -U postgres -w -qc 'select 1' postgres >/dev/null 2>&1; then
        database_url=postgres://postgres@127.0.0.1:5432/postgres
        return
    fi
    bin=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | tail -1) || return 0
    [ -n "$bin" ] || return 0
    chmod 755 "$work"
    mkdir "$data" && { [ "$(id -u)" != 0 ] || chown postgres "$data"; }
    as_postgres "$bin/initdb -D $data -A trust -U postgres >/dev/null &&
        $bin/pg_ctl -D $data -w -o '-p $port -k $data -c fsync=off' -l $data/log start >/dev/null"
    started+=("as_postgres '$bin/pg_ctl -D $data -m immediate stop'")
    database_url=postgres://postgres@127.0.0.1:$port/postgres
}

start_redis() {
    local port=63799
    if redis-cli ping 2>/dev/null | grep -q PONG; then
        redis_url=redis://127.0.0.1:6379/15
        return
    fi
    command -v redis-server >/dev/null || return 0
    redis-server --port $port --bind 127.0.0.1 --save '' --dir "$work" --daemonize yes >/dev/null
    started+=("redis-cli -p $port shutdown nosave")
    redis_url=redis://127.0.0.1:$port/15
}

checks() {
    say "Style, types, layers, migrations"
    $venv/bin/ruff check .
    $venv/bin/ruff format --check .
    $venv/bin/mypy planner workorders scheduling
    $venv/bin/lint-imports
    $venv/bin/python manage.py makemigrations --check --dry-run
}

# Every process of the tests copies a database that is migrated once, on the core that the checks leave free.
migrated_file="$work/migrated/lull.sqlite3" migrated_name="lull_migrated_$$"

migrate_databases() {
    LULL_VAR_DIR="$work/migrated" $venv/bin/python manage.py migrate -v 0
    [ -n "$database_url" ] || return 0
    psql -qd "$database_url" -c "create database $migrated_name"
    DATABASE_URL="${database_url%/*}/$migrated_name" LULL_VAR_DIR="$work/migrated" $venv/bin/python manage.py migrate -v 0
}

drop_migrated() { [ -z "$database_url" ] || psql -qd "$database_url" -c "drop database if exists $migrated_name"; }

check_and_migrate() {
    migrate_databases >"$work/migrate.log" 2>&1 &
    local migrating=$!
    started=("kill $migrating" "${started[@]}")
    checks
    wait $migrating || { cat "$work/migrate.log"; exit 1; }
}

test_on_sqlite() {
    say "Tests on SQLite and the filesystem queue"
    LULL_VAR_DIR="$work/var-sqlite" LULL_TEST_MIGRATED=$migrated_file \
        $venv/bin/python -m pytest -q -ra $parallel
}

test_on_servers() {
    say "Tests on PostgreSQL, Redis and a real Celery worker"
    if [ -z "${database_url:-}" ] || [ -z "${redis_url:-}" ]; then
        echo "SKIPPED: no PostgreSQL or no Redis could be had on this machine"
        [ -z "${LULL_TESTS_REFUSE_SKIP:-}" ]
        return
    fi
    DATABASE_URL=$database_url REDIS_URL=$redis_url LULL_VAR_DIR="$work/var-servers" LULL_TEST_MIGRATED=$migrated_name \
        $venv/bin/python -m pytest -q -ra $parallel --only-database
}

database_url= redis_url=
install_python
install_servers
if [ "${1:-}" = quick ]; then
    check_and_migrate
    LULL_TESTS_REFUSE_SKIP='' test_on_sqlite
    exit
fi
start_postgres
start_redis
started=("drop_migrated" "${started[@]}")  # before the server is stopped
check_and_migrate
test_on_sqlite
test_on_servers
