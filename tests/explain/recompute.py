"""Recomputes explained figures, read one answer a line, from each session's ratings and minutes: every digit must come out again,
every figure that is null must be one that does not exist, and its reason must be the one that applies.

It shares no code with the service. What it takes as given stands in record.py and weeks.py.
"""

import json
import sys
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from compare import AU, PERCENT, RATIO, WHOLE, check, check_ends, check_figure, check_reason, check_text, compared
from entries import Entry
from figures import change, monotony, ratio, strain, sums
from reads import check_history, check_look_ahead, check_today
from record import Record, span
from weeks import check_change, check_own_highest, check_returning, check_usual_week

STATES = ("reported", "rest_declared", "assumed_rest", "absence", "partly_reported", "unlogged")


def check_common(sent, record, last, change_field):
    """What a day and a week have both."""
    for kind in ("coupled", "uncoupled"):
        check_figure(f"{last} {kind}", sent[f"ratio_{kind}"], ratio(record, last, kind == "coupled"), RATIO)
    for divisor in ("sample", "population"):
        figure = monotony(record, last, divisor == "sample")
        check_ends(f"{last} monotony", sent["monotony"][divisor], figure, RATIO)
        check_ends(f"{last} strain", sent["strain_au"][divisor], strain(record, last, divisor == "sample"), PERCENT)
        check_reason(f"{last} monotony", sent["monotony"]["reason"], figure[3])
    check_change(sent[change_field], *change(record, last))


def check_states(sent, record, first, days):
    held = [day["state"] for day in record.held(first, days)]
    ours = {state: held.count(state) for state in STATES} | {"before_membership": days - len(held)}
    check_text(f"states from {first}", sent, ours)


def check_day(sent, record, last, mean):
    check_common(sent, record, last, "change_from_previous_7d")
    acute, prior = sums(record, last)
    check_figure(f"{last} acute", sent["acute_7d_au"], acute, AU)
    check_figure(f"{last} prior", sent["prior_21d_au"], prior, AU)
    check_ends(f"{last} load", sent["load_bounds_au"], record.loads[last], AU)
    check(f"{last} load", sent["load_au"], record.loads[last][1], AU)
    whole = prior[1] is not None
    check_text(f"{last} chronic week", sent["chronic_week_au"] is None, not whole)
    if whole:
        check(f"{last} coupled week", sent["chronic_week_au"]["coupled"], (acute[1] + prior[1]) / 4, RATIO)
        check(f"{last} uncoupled week", sent["chronic_week_au"]["uncoupled"], prior[1] / 3, RATIO)
    some = whole and mean[1] > 0
    ours = (mean[0], mean[1], mean[0] / mean[1] if some else None) if whole else (None,) * 3
    for name, value in zip(("acute_au_day", "chronic_au_day", "ratio"), ours):
        check(f"{last} {name}", sent["ewma"][name], value, RATIO)
    check_reason(f"{last} ewma", sent["ewma"]["reason"], None if some else "no_load" if whole else "fewer_than_28_days")
    check_states(sent["days_28"], record, last - timedelta(27), 28)


def check_week(sent, record):
    monday, sunday = date.fromisoformat(sent["from"]), date.fromisoformat(sent["to"])
    check_common(sent, record, sunday, "change_from_previous_week")
    load, days = record.sum(monday), record.held(monday)
    check_ends(f"{sunday} load", sent["load_au"], load, AU)
    sessions = [one for day in days for one in day["sessions"]]
    minutes = sum(one["minutes"] for one in sessions) + sum(one["minutes"] for day in days for one in day["shared"])
    check(f"{sunday} minutes", sent["minutes"], minutes, WHOLE)
    check(f"{sunday} hours", sent["hours"], Fraction(minutes, 60), RATIO)
    check(f"{sunday} unlogged", sent["unlogged"], sum(len(day["unlogged"]) for day in days), WHOLE)
    check_text(f"{sunday} policy version", sent["policy_version"], record.policy_version(sunday))
    organised = record.policy(sunday)["organised_settings"]
    counted = None if organised is None else [one for one in sessions if one["setting"] in organised]
    hours = None if counted is None else Fraction(sum(one["minutes"] for one in counted), 60)
    check(f"{sunday} organised hours", sent["organised_hours"], hours, RATIO)
    free = None if organised is None else sum(not any(one["setting"] in organised for one in day["sessions"]) for day in days)
    check(f"{sunday} free days", sent["free_days"], free, WHOLE)
    for part in sent["by_setting"]:
        own = sum(Fraction(one["load_au"]["point"]) for one in sessions if one["setting"] == part["setting"])
        check(f"{sunday} {part['setting']}", part["au"], own, AU)
        if part["share_pct"] is not None:  # not told where an organisation shares nothing, which no explanation says
            check(f"{sunday} share", part["share_pct"], 100 * own / load[1], PERCENT)
    check_own_highest(sent["own_highest"], sent["change_from_own_highest"], record, monday, load)
    check_usual_week(sent["usual_week"], record, monday, load[1])
    if sent["since_return"]:
        check_returning(sent["since_return"], record, sunday)
    check_states(sent["days"], record, monday, 7)


def check_days(answer, record):
    """Every day since the first of the membership has exponential means; some are asked for."""
    days, mean = {date.fromisoformat(day["date"]): day for day in answer["days"]}, None
    for last in span(record.since, record.history(max(record.loads))):
        load = Decimal(float(record.loads[last][1]))
        mean = [old + Decimal(2) / (n + 1) * (load - old) for old, n in zip(mean or [load] * 2, (7, 28))]
        if last in days:
            check_day(days[last], record, last, mean)


def check_list(answer):
    for sent in answer["entries"]:
        Entry(sent, Record(sent["explained"]), date.fromisoformat(answer["date"]) - timedelta(6)).check()


def check_weeks(answer):
    record = Record(answer["explained"])
    for week in answer["weeks"]:
        check_week(week, record)


def check_answer(answer):
    if "span" in answer:
        check_history(answer)
    elif "athletes" in answer:
        check_today(answer)
    elif "entries" in answer and "date" not in answer:
        check_look_ahead(answer)
    elif "entries" in answer:
        check_list(answer)
    elif "weeks" in answer:
        check_weeks(answer)
    else:
        check_days(answer, Record(answer["explained"]))


for line in sys.stdin:
    check_answer(json.loads(line, parse_float=Fraction))
print(f"recomputed {compared['number']} figures, {compared['null']} nulls, {compared['reason']} reasons")
