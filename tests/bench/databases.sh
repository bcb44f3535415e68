# Sourced by the benchmarks over HTTP: builds the release programs, describes the machine, and runs one measurement on each
# database asked for. Needs Python 3 and PostgreSQL 15.

export CARGO_TARGET_DIR=${CARGO_TARGET_DIR:-$PWD/target}
export PYTHONDONTWRITEBYTECODE=1
folder=$(mktemp --directory /tmp/plimsoll-bench.XXXXXX)
export PLIMSOLL_TEST_PG_DIR=$folder/postgres
trap 'tests/postgres.sh stop; rm -rf "$folder"' EXIT

# The tests' server does not sync to disk; these two settings are taken up without a restart.
start_postgres() {
    local url
    chmod a+x "$folder"
    url=$(tests/postgres.sh start)
    for statement in "ALTER SYSTEM SET fsync = on" "ALTER SYSTEM SET full_page_writes = on" "SELECT pg_reload_conf()" \
        "$(cat tests/postgres_role.sql)" "GRANT SET ON PARAMETER session_replication_role TO plimsoll_app" \
        "CREATE DATABASE bench OWNER plimsoll_app TEMPLATE template0"; do
        psql --quiet --no-psqlrc --tuples-only --output=/dev/null --command="$statement" "$url"
    done
    echo "postgres://plimsoll_app:plimsoll_app@${url#*@}" | sed 's|/postgres$|/bench|'
}

describe_machine() {
    local model memory
    model=$(sed -n 's/^model name\s*: //p' /proc/cpuinfo | head -n 1)
    memory=$(awk '/^MemTotal/ { printf "%.0f GB", $2 / 1e6 }' /proc/meminfo)
    echo "$(nproc) cores ($model), $memory, Linux $(uname -r); $(rustc --version | cut -d' ' -f1,2); load before: $(cut -d' ' -f1-3 /proc/loadavg)"
}

# measure SCRIPT "DATABASE..." [ARGUMENT]...: runs the script on each database, on both where none is named.
measure() {
    local script=$1 databases=${2:-sqlite postgres} database url name
    shift 2
    cargo build --release --locked --quiet -p plimsoll-api --features bench --bin plimsoll --example plain
    describe_machine
    for database in $databases; do
        mkdir -p "$folder/$database-run"
        case $database in
            sqlite) url=sqlite://$folder/sqlite-run/bench.sqlite name=SQLite ;;
            postgres) url=$(start_postgres) name="PostgreSQL 15" ;;
            *) echo "unknown database $database" >&2 && exit 2 ;;
        esac
        echo
        python3 "tests/bench/$script" "$name" "$CARGO_TARGET_DIR/release" "$folder/$database-run" "$url" "$@"
    done
}
