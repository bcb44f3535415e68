#!/usr/bin/env python3
"""Reads the demo's weekly lists, athletes' histories, a week sheet and plan checks as PDF, on A4 and Letter: each text and number of the
JSON must stand in it, whatever the names, a history on one sheet, and each reading in the audit list.

    tests/pages/pdf.py [--keep DIR]     keeps the files there

The program is the one in $CARGO_TARGET_DIR/debug (else target/debug), built with `--features pdf`; Poppler's
pdftotext and pdfinfo read the files.
"""

import argparse
import re
import subprocess
import tempfile
import unicodedata
import urllib.error
from pathlib import Path

from demo import PLAN, Demo

WEEKS = ["2026-W45", "2026-W46", "2026-W47"]
SIZES = {"a4": "595.276 x 841.89 pts (A4)", "letter": "612 x 792 pts (letter)"}
# Told in the club's zone, or not needed by who reads.
TOLD_OTHERWISE = ("starts_at", "event_id", "athlete_id", "athletes")
# The weeks of a history stand in its plot.
NOT_ON_THE_SHEET = (".weeks.", ".flag_id", ".clearance_id", ".athlete_id", ".pre_absence.reason")
# Of what she is to do: ids, codes, dates and what the page says in other words; loads and lengths in other units are not printed.
NOT_ON_THE_WEEK_SHEET = (
    "_id", "_version", "load_au", "_kg", "_m", ".work_seconds", ".exercise", ".sides", ".not_signed_off", ".step_not_signed_off", ".day", ".date",
)  # fmt: skip
# In none of the fonts: an empty box on paper, and not in the text.
BALL = "🏐"
# What markup and writing from right to left could make something else of.
NAMES = ["#panic() $x^2$ *b* _i_ `c` \\u{41} @a <l> // [x]", "שרה לוי", "ليلى حسن", "Zoë Ødegård-Łucja", f"Mia 😀 {BALL}", "W" * 80]


def leaves(value, path: str = ""):
    """Every text and number under a path; yes and no are told in words."""
    if isinstance(value, dict):
        for name, below in value.items():
            yield from leaves(below, f"{path}.{name}")
    elif isinstance(value, list):
        for place, below in enumerate(value):
            yield from leaves(below, f"{path}.{place}" if isinstance(below, dict) else path)
    elif isinstance(value, (str, int, float)) and not isinstance(value, bool):
        yield path, value


def plain(text: str) -> str:
    """Without white space, and without marks that are not seen: lines end where there is no more room."""
    return "".join(sign for sign in text if not sign.isspace() and sign != BALL and unicodedata.category(sign) != "Cf")


def stands(text: str, said) -> bool:
    if isinstance(said, str):
        return plain(said) in plain(text) or plain(said.replace("_", " ")) in plain(text)
    number = re.escape(f"{said:.10g}")
    return re.search(rf"(?<![\d.-]){number}(?!\d|-|\.\d)", text) is not None


def run(*command) -> str:
    return subprocess.run(command, text=True, capture_output=True, check=True).stdout


def print_to(file: Path, demo: Demo, path: str, who: str, paper: str, body: dict | None = None) -> str:
    """Fetches a sheet and looks at what every sheet must have; gives what is told of the file. A question has the paper in its body."""
    body, path = ({**body, "paper": paper}, path) if body else (None, f"{path}&paper={paper}")
    with demo.send(path, who, body, Accept="application/pdf") as sent:
        assert sent.headers["Content-Type"] == "application/pdf", sent.headers
        assert sent.headers["Cache-Control"] == "no-store" and sent.headers["Vary"] == "Accept", sent.headers
        file.write_bytes(sent.read())
    told = run("pdfinfo", file)
    assert re.search(r"Tagged: +yes", told) and "JavaScript:      no" in told, told
    assert SIZES[paper] in told, told
    assert b"/Lang(en)" in file.read_bytes(), "no language"
    return told


def all_stand(found: list, file: Path, *order: str) -> int:
    text = run("pdftotext", *order, file, "-")
    for name, said in found:
        assert stands(text, said), f"{file.name}: {name}: {said!r} is not in\n{text}"
    return len(found)


def compare(demo: Demo, path: str, paper: str, file: Path) -> int:
    """Says how many texts and numbers of a list stand in its PDF."""
    answer = demo.call(path, "COACH")
    told = print_to(file, demo, f"{path}?as_of={answer['as_of']}", "COACH", paper)
    assert re.search(rf"Title: +Weekly list: .*, {answer['week']}\n", told), told
    found = [(path, said) for path, said in leaves(answer) if not path.endswith(TOLD_OTHERWISE)]
    return all_stand(found, file, "-layout")


def compare_history(demo: Demo, path: str, paper: str, file: Path) -> int:
    """Says how many texts and numbers of a history stand in its PDF, which is one sheet."""
    answer = demo.call(path, "TRAINER")
    told = print_to(file, demo, f"{path}&as_of={answer['as_of']}", "TRAINER", paper)
    assert f"Title:           History: {answer['display_name']}\n" in told, told
    assert re.search(r"Pages: +1\n", told), told
    found = [(path, said) for path, said in leaves(answer) if not any(part in f"{path}." for part in NOT_ON_THE_SHEET)]
    return all_stand(found, file)


def compare_plan(demo: Demo, body: dict, paper: str, file: Path) -> int:
    """Says how many texts and numbers of a plan check stand in its PDF."""
    answer = demo.call("plan-checks", "STRENGTH_COACH", body)
    told = print_to(file, demo, "plan-checks", "STRENGTH_COACH", paper, {**body, "as_of": answer["items"][0]["as_of"]})
    first = answer["items"][0]
    assert f"Title:           Plan check, {first['first_week']} to {first['last_week']}\n" in told, told
    found = [(path, said) for path, said in leaves(answer) if on_plan_sheet(path)]
    return all_stand(found, file)


def on_plan_sheet(path: str) -> bool:
    """Of a week the table tells the load, what is limited and what is prescribed; the sentences tell days, sensitivity and excesses."""
    parts = [part for part in path.split(".") if part and not part.isdigit()][1:]
    if parts[0] != "weeks":
        return parts[0] in ("display_name", "logged_until", "sentences", "age_note", "note", "ratio_note", "caution", "total_au", "limit")
    told = (
        ["week"], ["monday"], ["load_au"], ["limit_au", "point"], ["ratio_coupled", "point"], ["change_from_previous_week", "pct", "point"],
        ["organised_hours"], ["free_days"], ["games"], ["landings", "events"], ["warm_up", "planned", "sessions"],
        ["warm_up", "planned", "minutes"], ["warm_up", "planned", "categories"], ["rules_broken", "rule"], ["not_computable", "rule"],
    )  # fmt: skip
    return parts[1:] in told


def plans(demo: Demo) -> list[tuple[str, dict]]:
    """Plans after a typed history, and for each athlete of a squad after her own."""
    squad = demo.call("squads", "COACH")["items"][0]["squad_id"]
    typed = {"week_loads_au": [800, 900, 1000, 950], "birth_date": "2010-05-01"}
    return [("plan-typed", {"plan": PLAN, "history": typed}), ("plan-squad", {"plan": PLAN, "squad_id": squad})]


def compare_week_sheet(demo: Demo, path: str, paper: str, file: Path) -> int:
    """Says how many texts and numbers of what an athlete is to do stand in its PDF, and counts the boxes."""
    answer = demo.call(path, "ATHLETE_TOKEN")
    told = print_to(file, demo, path, "ATHLETE_TOKEN", paper)
    assert re.search(r"Title: +Week sheet: .*, 2026-11-23 to 2026-11-29\n", told), told
    text = run("pdftotext", "-layout", file, "-")
    sets = sum(item["item"]["sets"] for session in answer["sessions"] for item in session["items"])
    # One for each set, and one for each session.
    assert text.count("☐") == sets + len(answer["sessions"]), text
    assert "How hard was the whole session, 0 to 10?" in text and "In an emergency" in plain_lines(text), text
    found = [(path, said) for path, said in leaves(answer) if not path.endswith(NOT_ON_THE_WEEK_SHEET)]
    return all_stand(found, file)


def plain_lines(text: str) -> str:
    return " ".join(text.split())


def rename(demo: Demo, path: str, names: list[str]) -> None:
    """Takes as many of the names as a list has athletes, and gives them these."""
    for athlete in sorted({entry["athlete_id"] for entry in demo.call(path, "COACH")["entries"]}):
        if names:
            headers = {"If_Match": demo.send(f"athletes/{athlete}", "COACH").headers["ETag"]}
            patch = {"Content_Type": "application/merge-patch+json", **headers}
            demo.call(f"athletes/{athlete}", "ADMIN", {"display_name": names.pop()}, method="PATCH", **patch)


def readings(demo: Demo) -> int:
    return len(demo.call("audit?limit=500", "PRIVACY_LEAD")["items"])


def refused(demo: Demo, path: str) -> int:
    try:
        demo.send(path, "COACH", Accept="application/pdf")
    except urllib.error.HTTPError as error:
        return error.code
    raise AssertionError(f"{path} is answered")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--keep", type=Path)
    keep = parser.parse_args().keep
    with tempfile.TemporaryDirectory(prefix="plimsoll-pdf-") as name:
        files = keep or Path(name)
        files.mkdir(parents=True, exist_ok=True)
        demo = Demo(Path(name) / "demo")
        try:
            squads = demo.call("squads", "COACH")["items"]
            lists = [(squad["name"], f"squads/{squad['squad_id']}/weeks/{week}") for squad in squads for week in WEEKS]
            count = sum(
                compare(demo, path, paper, files / f"{squad}-{path[-8:]}-{paper}.pdf") for squad, path in lists for paper in SIZES
            )
            path = lists[-1][1]
            listed = len(demo.call(path, "COACH")["entries"])
            before = readings(demo)
            demo.send(path, "COACH", Accept="application/pdf")
            assert readings(demo) == before + listed > before, "each listed athlete is entered in the audit list"
            names = list(NAMES)
            for squad, path in lists[2::3]:
                rename(demo, path, names)
                compare(demo, path, "a4", files / f"{squad}-renamed.pdf")
            assert not names, f"the lists are too short for {names}"
            histories = [(history["name"], history["path"]) for history in demo.histories()]
            told = sum(
                compare_history(demo, path, paper, files / f"{name}-{paper}.pdf") for name, path in histories for paper in SIZES
            )
            checks = plans(demo)
            checked = sum(compare_plan(demo, body, paper, files / f"{name}-{paper}.pdf") for name, body in checks for paper in SIZES)
            path = f"{demo.week_sheet()}?from=2026-11-23"
            sheets = sum(compare_week_sheet(demo, path, paper, files / f"week-sheet-{paper}.pdf") for paper in SIZES)
            assert refused(demo, f"{lists[0][1]}?paper=a5") == 400
            assert refused(demo, f"{lists[0][1]}?explain=true") == 406
        finally:
            demo.stop()
    print(f"{checked} texts and numbers of {len(checks)} plan checks stand in their PDF, on {' and '.join(SIZES)}")
    print(f"{sheets} texts and numbers of a week sheet stand in its PDF, on {' and '.join(SIZES)}")
    print(f"{told} texts and numbers of {len(histories)} histories stand on their one sheet, on {' and '.join(SIZES)}")
    print(f"{count} texts and numbers of {len(lists)} lists stand in their PDF, on {' and '.join(SIZES)}; {len(NAMES)} odd names too")


if __name__ == "__main__":
    main()
