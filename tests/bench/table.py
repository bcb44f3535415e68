"""Measures the service over HTTP on one database and prints a table; see http.sh."""

import sys
from pathlib import Path

import measure
from club import Club
from service import Service

CLOSED_WEEK = "2026-W46"


def show(*cells):
    print("| " + " | ".join(str(cell) for cell in cells) + " |", flush=True)


def show_rates(name: str, found: dict, goal: str):
    ours, plain = found["ours"], found["plain"]
    ratio = ours.per_second / plain.per_second
    show(name, f"{ours.per_second:,.0f}/s, p99 {ours.p99:.1f} ms", f"{plain.per_second:,.0f}/s, p99 {plain.p99:.1f} ms", f"{ratio:.2f}", goal)


def reading(service: Service, plain: Service, year: Club):
    for length, goal in [(365, "at least 0.5"), (90, "at least 0.5; p99 at most 20 ms")]:
        found = measure.days(service, plain, year, length)
        show_rates(f"`GET …/load`, {length} days, {found['bytes'] / 1000:.0f} kB, 4 clients", found, goal)
    three_years = Club(service, 20, 3 * 365)
    three_years.record(three_years.reports(20_000), 20_000)
    found = measure.history(service, plain, three_years)
    show_rates(f"`GET …/history`, three years, {found['bytes'] / 1000:.0f} kB, 4 clients", found, "p99 at most 300 ms")


def writing(service: Service, plain: Service, large: Club, programs: Path, database_url: str):
    clubs = [Club(service, 300, 42) for _ in range(40)]
    for club in clubs:
        club.record(club.reports(11_000), 11_000)
    for name, asked in [("one club", [large]), ("40 clubs", clubs)]:
        show_rates(f"`POST …/sessions`, {name}, 8 clients", measure.singles(service, plain, asked), "at least 0.3")
    found = measure.bulk(service, programs, database_url)
    for kind in ["json", "ndjson"]:
        ratio = found[kind] / found["plain"]
        name = f"`POST …/sessions/bulk`, 10,000 rows, {kind.upper()}"
        show(name, f"{found[kind]:.3f} s", f"{found['plain']:.3f} s", f"{ratio:.1f}", "at most 5")


def main(name: str, programs: Path, folder: Path, database_url: str, most_rows: int):
    service = Service(programs, folder, database_url)
    plain = Service(programs, folder, database_url, plain=True)
    try:
        show(f"**{name}**", "service", "plain side", "ratio", "goal")
        show("---", "---", "---", "---", "---")
        year = Club(service, 300, 365)
        year.record(year.reports(98_550), 98_550)
        reading(service, plain, year)
        large = Club(service, 3_000, 365)
        sizes = [size for size in (1_000, 100_000, 1_000_000) if size <= most_rows]
        for found in measure.memory(service, large, sizes):
            rate = found["rows"] / found["seconds"]
            show(f"NDJSON stream of {found['rows']:,} rows", f"at most {found['mb']:.0f} MB, {rate:,.0f} rows/s", "", "", "the same, +-20 MB")
        writing(service, plain, large, programs, database_url)
        for club in (year, large):
            seconds = measure.close(service, club, CLOSED_WEEK)
            count = len(club.athletes)
            show(f"weekly close, {count:,} athletes", f"{seconds:.3f} s", "", f"{seconds / count * 1e6:.0f} us an athlete", "linear")
    finally:
        service.stop()
        plain.stop()


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]), sys.argv[4], int(sys.argv[5]))
