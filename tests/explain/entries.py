"""Recomputes an entry of a weekly list from the days and the policy that explain it."""

from datetime import timedelta
from fractions import Fraction

from compare import AU, RATIO, WHOLE, check, check_ends, check_text
from figures import monotony, ratio, ratio_of, reversed_ends
from weeks import check_own_highest, check_returning, check_usual_week, rules

USUAL_LEAST, USUAL_MOST = 8, 30  # ratings


class Entry:
    def __init__(self, sent, record, monday):
        self.sent, self.record, self.monday, self.sunday = sent, record, monday, monday + timedelta(6)
        self.week, self.prior = record.sum(monday), record.sum(monday - timedelta(21), 21)
        self.rules = rules(record, self.sunday)

    def check(self):
        sent, week = self.sent, self.week
        check_ends("week_load_au", sent["week_load_au"], week, AU)
        sessions = [one for day in self.record.held(self.monday) for one in day["sessions"]]
        for part in sent["made_up_of"]:
            load = sum(Fraction(one["rpe"] * one["minutes"]) for one in sessions if one["setting"] == part["setting"])
            check("made_up_of", part["au"], load, AU)
        if week[0] == week[2]:
            check_usual_week(sent["usual_week"], self.record, self.monday, week[1])
        else:
            check_text("usual_week of an open week", sent["usual_week"], None)
        self.check_usual()
        code = sent["rule"] and sent["rule"]["code"]
        if code:
            check("limit", sent["rule"]["limit"], Fraction(self.rules[code]["limit"]), RATIO)
            check("policy_version", sent["rule"]["policy_version"], self.record.policy_version(self.sunday), WHOLE)
        check_text("monotony", sent["monotony"] is None, code != "week_monotony")
        if code == "week_monotony":
            check_ends("monotony", sent["monotony"], monotony(self.record, self.sunday, sample=True), RATIO)
        check_text("ratio", sent["ratio"] is None, code != "week_end_ratio")
        judge = {"week_end_ratio": self.ratio, "own_highest_week": self.own_highest, "return_ceiling": self.ceiling}.get(code)
        judged = judge and judge()
        check_text("limit_au", sent["limit_au"] is None and sent["over_by_au"] is None, judged is None)
        if judged:
            self.check_limit(*judged)

    def check_limit(self, judged, limit, first):
        sent, (low, point, high) = self.sent, limit
        check_ends("limit_au", sent["limit_au"], limit, RATIO)
        check_ends("over_by_au", sent["over_by_au"], (judged[0] - high, judged[1] - point, judged[2] - low), RATIO)
        open_days = [one for day in self.record.held(first) for one in day["unlogged"]]
        most = sum(Fraction(one["at_most_au"]) for one in open_days)
        of_days = {one["event_id"] for one in open_days}
        settles = high - judged[0]
        rules_out = low - max(judged[2] - most, judged[1])
        possible = judged[0] <= high and judged[2] > low
        for one in sent["missing"]:
            told = possible and one["event_id"] in of_days
            check("settles_above_au", one["settles_above_au"], settles if told and settles < most else None, RATIO)
            check("rules_out_below_au", one["rules_out_below_au"], rules_out if told and rules_out >= 0 else None, RATIO)

    def ratio(self):
        sent, limit = self.sent["ratio"], Fraction(self.sent["rule"]["limit"])
        coupled = sent["kind"] == "coupled"
        *ends, _ = figure = ratio(self.record, self.sunday, coupled)
        check_ends("ratio", sent, figure, RATIO)
        if ends[1] is None:
            return None
        return self.week, tuple(limit * end / (4 - limit if coupled else 3) for end in self.prior), self.monday

    def own_highest(self):
        sent, limit = self.sent, Fraction(self.sent["rule"]["limit"])
        check_own_highest(sent["own_highest"], sent["change_from_own_highest"], self.record, self.monday, self.week)
        highest = sent["own_highest"] and Fraction(sent["own_highest"]["load_au"])
        return (self.week, (limit * highest,) * 3, self.monday) if highest else None

    def ceiling(self):
        if not self.sent["returning"]:
            return None
        block, ceilings = check_returning(self.sent["returning"], self.record, self.sunday)
        first = self.monday.fromisoformat(self.sent["returning"]["from"])
        return block, ceilings, first

    def check_usual(self):
        """The bounds with each unlogged session at her own usual ratings of its kind."""
        sent = self.sent["usual"]
        this = self.usual_loads(self.monday, 7)
        before = self.usual_loads(self.monday - timedelta(21), 21)
        any_open = any(day["unlogged"] for day in self.record.held(self.monday - timedelta(21), 28))
        check_text("usual", sent is None, not any_open or this is None)
        if not sent:
            return
        week = narrowed(self.week, this)
        for end, value in zip(("low", "high"), (week[0], week[2])):
            check(f"usual week_load_au {end}", sent["week_load_au"][end], value, AU)
        coupled = (sent["ratio"] or self.sent["ratio"] or {"kind": "coupled"})["kind"] == "coupled"
        exists = ratio(self.record, self.sunday, coupled)[1] is not None and before is not None
        check_text("usual ratio", sent["ratio"] is None, not exists)
        if sent["ratio"]:
            low, _, high = (ratio_of(coupled, a, p) for a, p in zip(week, reversed_ends(narrowed(self.prior, before))))
            check("usual ratio low", sent["ratio"]["low"], low, RATIO)
            check("usual ratio high", sent["ratio"]["high"], high, RATIO)

    def usual_loads(self, first, days):
        """What the unlogged sessions of some days usually come to, low and high, and at most; None where one has too few ratings."""
        low = high = most = Fraction(0)
        for one in (one for day in self.record.held(first, days) for one in day["unlogged"]):
            ratings = self.record.ratings(one["kind"], self.monday - timedelta(7 * 27), self.sunday)[-USUAL_MOST:]
            if len(ratings) < USUAL_LEAST:
                return None
            # In half AU, widened to whole ones.
            low += Fraction(percentile(ratings, 1) * one["minutes"] // 1, 2)
            high += Fraction(-(-percentile(ratings, 9) * one["minutes"] // 1), 2)
            most += one["at_most_au"]
        return low, high, most


def narrowed(hard, usual):
    low, high, most = usual
    return (hard[0] + low, hard[0] + low, max(hard[2] - most, hard[1]) + high)


def percentile(ratings, tenths):
    """By linear interpolation between the ratings in order."""
    ordered, place = sorted(ratings), Fraction(tenths * (len(ratings) - 1), 10)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)
