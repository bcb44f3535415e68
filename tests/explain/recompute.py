"""Recomputes explained figures, read one answer a line, from each session's rating and minutes: every digit must come out again.
Session load: Foster 2001; monotony, training strain: Foster 1998; exponential means: Williams 2017."""
import json, sys
from datetime import date, timedelta
from decimal import Decimal, getcontext
from fractions import Fraction
from entries import Entry
getcontext().prec, compared = 60, []

def check(what, sent, exact, places):
    if isinstance(exact, tuple):
        return [check(f"{what} {end}", sent[end], value, places) for end, value in zip(("low", "point", "high"), exact)]
    if sent is not None:  # a figure that does not exist has its reason beside it
        ours = round(Decimal(exact.numerator) / exact.denominator if isinstance(exact, Fraction) else exact, places)
        assert Fraction(ours) == sent, f"{what}: sent {float(sent)}, recomputed {ours}"
        compared.append(what)

def load_of(day):  # low, point and high
    parts = [(s["load_au"]["low"] * s["counts_in_low"], s["rpe"] * s["minutes"], s["load_au"]["high"]) for s in day["sessions"]]
    parts += [(0, 0, 0)] + [(0, 0, 10 * one["minutes"]) for one in day["unlogged"]]
    load = tuple(Fraction(sum(end)) for end in zip(*parts))
    check(day["date"], day["load_au"], load, 1)
    return load

def check_figures(sent, loads, last, change):
    per, ends = lambda x, y: x / y if y else None, lambda days: [sum(end) for end in zip(*(loads.get(last - timedelta(n), [Fraction(0)] * 3) for n in days))]
    (a, a_point, a_high), (b, b_point, b_high), (p, p_point, p_high) = ends(range(7)), ends(range(7, 14)), ends(range(7, 28))
    check(f"{last} coupled", sent["ratio_coupled"], (per(4 * a, a + p_high), per(4 * a_point, a_point + p_point), per(4 * a_high, a_high + p)), 4)
    check(f"{last} uncoupled", sent["ratio_uncoupled"], (per(3 * a, p_high), per(3 * a_point, p_point), per(3 * a_high, p)), 4)
    squares = sum((ends([n])[1] - a_point / 7) ** 2 for n in range(7))
    for divisor, n in (("sample", 6), ("population", 7)):
        square = per((a_point / 7) ** 2 * n, squares) or Fraction(0)
        root = (Decimal(square.numerator) / square.denominator).sqrt()
        check(f"{last} monotony", sent["monotony"][divisor]["point"], root, 4)
        check(f"{last} strain", sent["strain_au"][divisor]["point"], root * a_point.numerator / a_point.denominator, 2)
    check(f"{last} change", sent[change]["au"], a_point - b_point, 1)
    check(f"{last} change", sent[change]["pct"], tuple(y and 100 * (x / y - 1) for x, y in ((a, b_high), (a_point, b_point), (a_high, b))), 2)
    for name, exact in (("load_au", (a, a_point, a_high)),) if "week" in sent else (("acute_7d_au", (a, a_point, a_high)), ("prior_21d_au", (p, p_point, p_high))):
        check(f"{last} {name}", sent[name], exact, 1)

for answer in (json.loads(line, parse_float=Fraction) for line in sys.stdin):
    for entry in answer.get("entries", ()):
        loads = {date.fromisoformat(day["date"]): load_of(day) for day in entry["explained"]["days"]}
        Entry(entry, loads, date.fromisoformat(answer["date"]) - timedelta(6)).check(check)
    if "entries" in answer:
        continue
    loads, mean = {date.fromisoformat(day["date"]): load_of(day) for day in answer["explained"]["days"]}, None
    weeks, days = answer.get("weeks", ()), {date.fromisoformat(day["date"]): day for day in answer.get("days", ())}
    [check_figures(week, loads, date.fromisoformat(week["to"]), "change_from_previous_week") for week in weeks]
    for last, load in ((last, Decimal(float(load[1]))) for last, load in loads.items() if "days" in answer):
        mean = [old + Decimal(2) / (n + 1) * (load - old) for old, n in zip(mean or [load] * 2, (7, 28))]
        if last in days:
            check_figures(days[last], loads, last, "change_from_previous_7d")
            for name, exact in zip(("acute_au_day", "chronic_au_day", "ratio"), (*mean, mean[0] / mean[1] if mean[1] else None)):
                check(f"{last} {name}", days[last]["ewma"][name], exact, 4)
print(f"recomputed {len(compared)} figures")
