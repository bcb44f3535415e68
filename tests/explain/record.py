"""An explanation: its days with their sessions, counted anew, and the policy of each date.

Session load: Foster 2001. Taken as given is what was entered: ratings, minutes, absences, which sessions overlap in time
(`counts_in_low`), and which reports are of one session.
"""

from collections import defaultdict
from datetime import date, timedelta
from fractions import Fraction

from compare import AU, check, check_ends, check_text

NO_POLICY = {"chronic_floor_au": 250, "nothing_said": "assumed_rest", "rules": [], "organised_settings": None}
STANDING = ["coach", "guardian", "athlete"]
NOTHING = (Fraction(0),) * 3


def span(first, days):
    return [first + timedelta(n) for n in range(days)]


def total(parts):
    return tuple(sum(end, Fraction(0)) for end in zip(NOTHING, *parts))


class Record:
    def __init__(self, explained):
        self.since = date.fromisoformat(explained["member_since"])
        self.days = {date.fromisoformat(day["date"]): day for day in explained["days"]}
        self.in_force = [(date.fromisoformat(one["from"]), date.fromisoformat(one["to"]), one) for one in explained["policies"]]
        self._check_sessions()
        self.loads = {one: self._load_of(day) for one, day in self.days.items()}

    def policy(self, on):
        """The policy in force on a date; what holds without one where there is none."""
        found = next(one for first, last, one in self.in_force if first <= on <= last)
        return (found["policy"] or NO_POLICY) if found["policy_version"] is not None else NO_POLICY

    def policy_version(self, on):
        return next(one["policy_version"] for first, last, one in self.in_force if first <= on <= last)

    def history(self, on):
        """Days of membership up to a date, it included."""
        return (on - self.since).days + 1

    def sum(self, first, days=7):
        """Low, point and high of some days; days before the membership hold nothing."""
        return total(self.loads[one] for one in span(first, days) if one in self.loads)

    def held(self, first, days=7):
        """The days of membership among some."""
        return [self.days[one] for one in span(first, days) if one in self.days]

    def earlier(self, monday, reach, most, fits):
        """The mondays of earlier weeks that fit, the latest first; none begins before the membership."""
        mondays = [monday - timedelta(7 * n) for n in range(1, reach + 1)]
        whole = [one for one in mondays if one >= self.since]
        return [one for one in whole if all(map(fits, self.held(one)))][:most]

    def known(self, on):
        """Whether a day is known, by the policy of a date, and no day away."""
        assumed = self.policy(on)["nothing_said"] == "assumed_rest"
        states = ["reported", "rest_declared"] + ["assumed_rest"] * assumed
        return lambda day: not day["in_absence"] and day["state"] in states

    def ratings(self, kind, first, last):
        """Her own ratings of a kind of session in half steps, by start as the explanation has them."""
        own = []
        for one in sorted(day for day in self.days if first <= day <= last):
            for session in self.days[one]["sessions"]:
                given = [report["rpe"] for report in session["reports"] if report["given_by"] == "athlete"]
                if given and session["kind"] == kind and session["session_id"] not in self._second_parts.get(one, ()):
                    own.append(2 * Fraction(given[-1]))
        return own

    def _check_sessions(self):
        """What counts of each session, and the range its sources dispute; a session may be split at midnight."""
        parts = defaultdict(list)
        self._second_parts = defaultdict(set)
        for one in sorted(self.days):
            for session in self.days[one]["sessions"]:
                if parts[session["session_id"]]:
                    self._second_parts[one].add(session["session_id"])
                parts[session["session_id"]].append(session)
        for of_session in parts.values():
            self._check_session(of_session[0], of_session)

    def _check_session(self, session, parts):
        what, reports = f"session {session['session_id']}", session["reports"]
        leading = max(enumerate(reports), key=lambda one: (STANDING.index(one[1]["given_by"]), one[0]))[1]
        check(f"{what} rpe", session["rpe"], Fraction(leading["rpe"]), AU)
        check_text(f"{what} counts", [one["rpe_counts"] for one in reports], [one is leading for one in reports])
        minutes = sum(part["minutes"] for part in parts)
        sources = {"report": leading["minutes"], "schedule": session["planned_minutes"], "attendance": session["attended_minutes"]}
        # A session of the day before the first may reach into it with its second part alone.
        if len(parts) > 1 or session not in self.days[min(self.days)]["sessions"]:
            check_text(f"{what} minutes", minutes, sources[session["minutes_from"]])
            of_sources = [report["minutes"] for report in reports] + [one for one in list(sources.values())[1:] if one is not None]
            apart, most = max(of_sources) - min(of_sources), max(of_sources)
            point = Fraction(session["rpe"] * minutes)
            products = [Fraction(report["rpe"] * one) for report in reports for one in of_sources]
            disputed = apart > 10 and 10 * apart > most
            load = (min(products + [point]), point, max(products + [point])) if disputed else (point,) * 3
            sent = {end: sum(Fraction(part["load_au"][end]) for part in parts) for end in ("low", "point", "high")}
            check_ends(f"{what} load_au", sent, load, AU)

    def _load_of(self, day):
        parts = [(one["load_au"]["low"] * one["counts_in_low"], one["load_au"]["point"], one["load_au"]["high"]) for one in day["sessions"]]
        for one in day["unlogged"]:
            check("at_most_au", one["at_most_au"], Fraction(10 * one["minutes"]), AU)
            parts.append((0, 0, one["at_most_au"]))
        # Of what is shared and of what she reports of a second club herself the larger belongs to the lower bound.
        own = sum(one["load_au"]["low"] * one["counts_in_low"] for one in day["sessions"] if one["setting"] == "second_club")
        shared = sum(one["load_au"] for one in day["shared"])
        parts.append((max(shared - own, 0), shared, shared))
        load = total(tuple(map(Fraction, part)) for part in parts)
        check_ends(f"{day['date']} load_au", day["load_au"], load, AU)
        return load
