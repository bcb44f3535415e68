#!/usr/bin/env bash
# A throw-away PostgreSQL 15 for tests: it keeps nothing, trusts every local connection and does not sync to disk.
#
#   tests/postgres.sh start   start it (or find it running) and print its URL
#   tests/postgres.sh url     print the URL of the running server
#   tests/postgres.sh stop    stop it and remove its files
#
# For tests of what happens when it crashes:
#
#   tests/postgres.sh kill     end its first process at once; the others end when they notice
#   tests/postgres.sh restart  start it again on the same port
#
# The user in the URL is a superuser. Each checkout has its own server; PLIMSOLL_TEST_PG_DIR names another folder, and
# PLIMSOLL_TEST_PG_BIN another place of PostgreSQL's programs; PLIMSOLL_TEST_PG_WAL another folder for its write-ahead log.
set -euo pipefail

repository=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
folder=${PLIMSOLL_TEST_PG_DIR:-/tmp/plimsoll-test-postgres-$(cksum <<<"$repository" | cut -d' ' -f1)}
log_folder=${PLIMSOLL_TEST_PG_WAL:-}
programs=${PLIMSOLL_TEST_PG_BIN:-/usr/lib/postgresql/15/bin}
superuser=plimsoll_test

# A caller's own PostgreSQL settings must not reach this server.
for variable in "${!PG@}"; do unset "$variable"; done
export LC_ALL=C

fail() {
    echo "tests/postgres.sh: $*" >&2
    exit 1
}

# PostgreSQL refuses to run as root.
as_server_user() {
    if [ "$(id -u)" -eq 0 ]; then
        setpriv --reuid postgres --regid postgres --init-groups -- "$@"
    else
        "$@"
    fi
}

is_running() {
    [ -f "$folder/data/postmaster.pid" ] && as_server_user "$programs/pg_ctl" status -D "$folder/data" >/dev/null
}

# The fourth line of postmaster.pid is the port (PostgreSQL 15 documentation, "Database File Layout").
port() {
    sed -n 4p "$folder/data/postmaster.pid"
}

print_url() {
    echo "postgres://$superuser@127.0.0.1:$(port)/postgres"
}

initialise() {
    [ ! -f "$folder/data/PG_VERSION" ] || return 0
    mkdir -p "$folder" ${log_folder:+"$log_folder"}
    if [ "$(id -u)" -eq 0 ]; then
        getent passwd postgres >/dev/null || fail "there is no user postgres; apt-get install postgresql-15 makes it"
        chown postgres: "$folder"
        [ -z "$log_folder" ] || chown postgres: "$log_folder"
    fi
    as_server_user mkdir -p "$folder/socket"
    as_server_user "$programs/initdb" --pgdata="$folder/data" ${log_folder:+--waldir="$log_folder"} --username="$superuser" --auth=trust \
        --locale=C.UTF-8 --encoding=UTF8 --no-sync --no-instructions >/dev/null
    as_server_user tee -a "$folder/data/postgresql.conf" >/dev/null <<CONF
listen_addresses = '127.0.0.1'
unix_socket_directories = '$folder/socket'
max_connections = 200
fsync = off
full_page_writes = off
timezone = 'UTC'
CONF
}

start_on_port() {
    as_server_user "$programs/pg_ctl" start --wait --silent -D "$folder/data" -l "$folder/log" -o "-p $1" >/dev/null
}

# Another program may hold any port, so the test of a port is the start itself. The range lies below Linux's ephemeral ports.
start_on_a_free_port() {
    local port
    for _ in {1..10}; do
        port=$((20000 + RANDOM % 12000))
        ! start_on_port "$port" || return 0
        grep -q 'Address already in use' "$folder/log" || break
    done
    tail -n 20 "$folder/log" >&2
    fail "PostgreSQL did not start; its last lines are above"
}

start() {
    [ -x "$programs/postgres" ] || fail "no PostgreSQL 15 in $programs; apt-get install postgresql-15, or set PLIMSOLL_TEST_PG_BIN"
    if ! is_running; then
        initialise
        start_on_a_free_port
    fi
    print_url
}

# It cannot start before the last process of the old one has ended, which takes until that one's statement is over. One that
# ended by itself has taken its postmaster.pid with it; the options of its start stay.
restart() {
    local port
    port=$(sed -n 's/.*"-p" "\([0-9]*\)".*/\1/p' "$folder/data/postmaster.opts")
    for _ in {1..60}; do
        ! start_on_port "$port" 2>/dev/null || return 0
        sleep 0.2
    done
    tail -n 20 "$folder/log" >&2
    fail "PostgreSQL did not start again; its last lines are above"
}

# Removes what `start` made and nothing else, whatever folder was named.
stop() {
    if is_running; then
        as_server_user "$programs/pg_ctl" stop --wait --silent --mode=immediate -D "$folder/data"
    fi
    rm -rf "$folder/data" "$folder/socket" "$folder/log"
    [ ! -d "$folder" ] || rmdir --ignore-fail-on-non-empty "$folder"
}

case ${1:-} in
    start) start ;;
    url)
        is_running || fail "not running; start it with tests/postgres.sh start"
        print_url
        ;;
    stop) stop ;;
    kill) kill -KILL "$(head -n 1 "$folder/data/postmaster.pid")" ;;
    restart) restart ;;
    *)
        echo "usage: tests/postgres.sh start|url|stop|kill|restart" >&2
        exit 2
        ;;
esac
