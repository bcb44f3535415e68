#!/usr/bin/env bash
# The weekly close of 4 and of 40 clubs, each with 300 athletes and a year of reports: time and memory, beside reading the same
# day totals and doing nothing with them.
#
#   tests/bench/close.sh [sqlite|postgres]...
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
source tests/bench/databases.sh
measure close_all.py "$*"
