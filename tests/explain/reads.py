"""Recomputes a squad's day, a look-ahead and an athlete's history from what explains them."""

from datetime import date, timedelta
from fractions import Fraction

from compare import AU, PERCENT, RATIO, WHOLE, check, check_ends, check_text
from record import Record, span, total
from weeks import Ramp, own_highest, rules


def check_today(answer):
    """What is done of the day, and the ceiling of who is back from an absence."""
    today = date.fromisoformat(answer["date"])
    for sent in answer["athletes"]:
        record = Record(sent["explained"])
        day, load = record.days.get(today), record.loads.get(today)
        check_text("load of the day", sent["load_au"] is None, load is None)
        if load:
            check_ends("load of the day", sent["load_au"], load, AU)
            check("logged", sent["logged_sessions"], len(day["sessions"]), WHOLE)
            check("unlogged", sent["unlogged_sessions"], len(day["unlogged"]), WHOLE)
        if sent["limit"]:
            check_limit(sent["limit"], record, today)


def check_limit(sent, record, today):
    first = date.fromisoformat(sent["from"])
    _, _, ceilings = Ramp(record, today, last_away(record, first)).week(first)
    if sent["binding"] == "clinician":
        return
    check("ceiling low", sent["max_week_au"]["low"], ceilings[0], RATIO)
    check("ceiling high", sent["max_week_au"]["high"], ceilings[2], RATIO)
    check_ends("done of it", sent["done_au"], record.sum(first, (today - first).days + 1), AU)


def last_away(record, before):
    """The last span of seven days away or more that ended before a day."""
    spans = []
    for one in (one for one in sorted(record.days) if one < before and record.days[one]["in_absence"]):
        if spans and spans[-1][1] + timedelta(1) == one:
            spans[-1] = (spans[-1][0], one)
        else:
            spans.append((one, one))
    return [away for away in spans if (away[1] - away[0]).days >= 6][-1]


def check_look_ahead(answer):
    """The load that meets the limit, for rules whose limit rests on what is done; what is planned is not in an explanation."""
    monday = date.fromisocalendar(int(answer["week"][:4]), int(answer["week"][6:]), 1)
    for sent in answer["entries"]:
        record = Record(sent["explained"])
        rule = rules(record, monday + timedelta(6))[sent["rule"]]
        limit, prior = Fraction(rule["limit"]), record.sum(monday - timedelta(21), 21)
        if sent["rule"] == "week_end_ratio":
            ends = [limit * end / (3 if rule.get("ratio_kind") == "uncoupled" else 4 - limit) for end in prior]
        elif sent["rule"] == "own_highest_week":
            ends = [limit * own_highest(record, monday)[0]] * 3
        else:
            continue
        for end, value in zip(("low", "high"), (ends[0], ends[2])):
            check(f"limit ahead {end}", sent["limit_au"][end], value, RATIO)


def check_history(answer):
    record = Record(answer["explained"])
    first, last = (date.fromisoformat(answer["span"][end]) for end in ("from", "to"))
    dates = [one for one in span(first, (last - first).days + 1) if one in record.days]
    check_ends("span", answer["not_known"]["span_au"], total(record.loads[one] for one in dates), AU)
    check_text("weeks", len(answer["weeks"]), len({one.isocalendar()[:2] for one in dates}))
    for sent in answer["weeks"]:
        week = (int(sent["week"][:4]), int(sent["week"][6:]))
        check_history_week(sent, record, [one for one in dates if one.isocalendar()[:2] == week])
    if answer["absence"]:
        check_back(answer, record, last)


def check_history_week(sent, record, dates):
    days = [record.days[one] for one in dates]
    check("days", sent["days"], len(days), WHOLE)
    check_ends(f"{sent['week']} load", sent["load_au"], total(record.loads[one] for one in dates), AU)
    check("unlogged", sent["unlogged"], sum(len(day["unlogged"]) for day in days), WHOLE)
    check("days away", sent["days_absent"], sum(day["in_absence"] for day in days), WHOLE)
    for part in sent["by_kind"]:
        held = [one for day in days for one in day["sessions"] if one["kind"] == part["kind"]]
        unlogged = [one for day in days for one in day["unlogged"] if one["kind"] == part["kind"]]
        loads = [(one["load_au"]["low"] * one["counts_in_low"], one["load_au"]["point"], one["load_au"]["high"]) for one in held]
        loads += [(0, 0, one["at_most_au"]) for one in unlogged]
        check_ends(f"{sent['week']} {part['kind']}", part["load_au"], total(tuple(map(Fraction, one)) for one in loads), AU)
        check("sessions of a kind", part["sessions"], len(held), WHOLE)
        check("unlogged of a kind", part["unlogged"], len(unlogged), WHOLE)


def check_back(answer, record, last):
    """The load before the absence, and the weeks since with their ceilings."""
    away = tuple(date.fromisoformat(answer["absence"][end]) for end in ("from", "to"))
    before = answer["pre_absence"]["chronic_au_week"]
    if before is None:
        return
    ramp = Ramp(record, last, away)
    check("pre_absence", before, ramp.before, RATIO)
    check_text("pre_absence weeks", len(answer["pre_absence"]["weeks"]), len(ramp.before_weeks))
    for sent in answer["since_return"]:
        first = date.fromisoformat(sent["from"])
        number, steps, ceilings = ramp.week(first)
        check_text("since_return", (sent["week"], sent["step"]), (number, steps[1] + 1))
        check_ends("since_return load", sent["load_au"], record.sum(first), AU)
        check("share", sent["share_of_pre_absence_pct"], 100 * record.sum(first)[1] / ramp.before, PERCENT)
        if sent["binding"] == "policy":
            check_ends("since_return ceiling", sent["ceiling_au"], ceilings, RATIO)
