#!/usr/bin/env bash
# An afternoon of club IT: a roster of 300 athletes, a schedule of 26 weeks for 40 squads, 100,000 changes. Each beside the plain parse
# of the same bytes, or the plain read of the same rows.
#
#   tests/bench/schedule.sh [sqlite|postgres]...
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
source tests/bench/databases.sh
measure schedule.py "$*"
