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
source tests/bench/databases.sh

most_rows=1000000
if [ "${1:-}" = --short ]; then
    most_rows=100000
    shift
fi
command -v wrk >/dev/null || apt-get install -y -qq wrk >/dev/null
measure table.py "$*" "$most_rows"
