#!/usr/bin/env bash
# Benchmarks over HTTP: the service against a plain server on the same rows and bytes, in one run, on SQLite and on
# PostgreSQL 15. Prints one table a database.
#
#   tests/bench/http.sh [--short] [sqlite|postgres]...
#
# --short leaves out the stream of 1,000,000 rows. Needs wrk (installed as root where missing), Python 3 and PostgreSQL 15.
# The rate limit is off (PLIMSOLL_RATE_LIMIT=off), the audit list is on, and both databases sync every commit to disk.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."

most_rows=1000000
if [ "${1:-}" = --short ]; then
    most_rows=100000
    shift
fi
databases=("$@")
[ ${#databases[@]} -gt 0 ] || databases=(sqlite postgres)

export CARGO_TARGET_DIR=${CARGO_TARGET_DIR:-$PWD/target}
export PYTHONDONTWRITEBYTECODE=1
folder=$(mktemp --directory /tmp/plimsoll-bench.XXXXXX)
export PLIMSOLL_TEST_PG_DIR=$folder/postgres
trap 'tests/postgres.sh stop; rm -rf "$folder"' EXIT

command -v wrk >/dev/null || apt-get install -y -qq wrk >/dev/null
cargo build --release --locked --quiet -p plimsoll-api --features bench --bin plimsoll --example plain

# The tests' server does not sync to disk; these two settings are taken up without a restart.
start_postgres() {
    local url
    chmod a+x "$folder"
    url=$(tests/postgres.sh start)
    for statement in "ALTER SYSTEM SET fsync = on" "ALTER SYSTEM SET full_page_writes = on" "SELECT pg_reload_conf()" \
        "CREATE DATABASE bench TEMPLATE template0"; do
        psql --quiet --no-psqlrc --tuples-only --output=/dev/null --command="$statement" "$url"
    done
    echo "${url%/postgres}/bench"
}

describe_machine() {
    local model memory
    model=$(sed -n 's/^model name\s*: //p' /proc/cpuinfo | head -n 1)
    memory=$(awk '/^MemTotal/ { printf "%.0f GB", $2 / 1e6 }' /proc/meminfo)
    echo "$(nproc) cores ($model), $memory, Linux $(uname -r); $(rustc --version | cut -d' ' -f1,2); load before: $(cut -d' ' -f1-3 /proc/loadavg)"
}

describe_machine
for database in "${databases[@]}"; do
    mkdir -p "$folder/$database-run"
    case $database in
        sqlite) url=sqlite://$folder/sqlite-run/bench.sqlite name=SQLite ;;
        postgres) url=$(start_postgres) name="PostgreSQL 15" ;;
        *) echo "unknown database $database" >&2 && exit 2 ;;
    esac
    echo
    python3 tests/bench/table.py "$name" "$CARGO_TARGET_DIR/release" "$folder/$database-run" "$url" "$most_rows"
done
