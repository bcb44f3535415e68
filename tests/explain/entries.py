"""Recomputes an entry of a weekly list from the days and the policy that explain it.

Left out: the usual range (`usual`), which rests on ratings by kind of session, and the bounds of monotony and of ceilings.
"""
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import islice
from statistics import median

SHARES = [Fraction(tenths, 10) for tenths in (5, 7, 8, 9)]  # of the mean week before an absence; the last is the club's


def decimal(value):
    return Decimal(value.numerator) / value.denominator


def root(value):
    return decimal(value).sqrt()


class Entry:
    def __init__(self, sent, loads, monday):
        explained = sent["explained"]
        self.sent, self.loads, self.monday = sent, loads, monday
        self.days = {date.fromisoformat(day["date"]): day for day in explained["days"]}
        self.since = date.fromisoformat(explained["member_since"])
        in_force = explained["policies"][-1]
        self.policy, self.policy_version = in_force["policy"], in_force["policy_version"]
        self.rules = {rule["code"]: rule for rule in self.policy["rules"]}

    def total(self, first, days=7):  # low, point and high
        dates = (first + timedelta(n) for n in range(days))
        return tuple(sum(end) for end in zip(*(self.loads.get(one, (Fraction(0),) * 3) for one in dates)))

    def of_week(self, first):  # the days of membership among seven
        dates = (first + timedelta(n) for n in range(7))
        return [self.days[one] for one in dates if one in self.days]

    def earlier(self, monday, reach, most, fits):  # the latest first
        mondays = (monday - timedelta(7 * n) for n in range(1, reach + 1))
        whole = (one for one in mondays if one >= self.since)
        return list(islice((one for one in whole if all(map(fits, self.of_week(one)))), most))

    def known(self, day):
        rest = self.policy["nothing_said"] == "assumed_rest" and day["state"] == "assumed_rest"
        return not day["in_absence"] and (rest or day["state"] in ("reported", "rest_declared"))

    def check(self, check):
        sent, week = self.sent, self.total(self.monday)
        check("week_load_au", sent["week_load_au"], week, 1)
        for part in sent["made_up_of"]:
            sessions = [one for day in self.of_week(self.monday) for one in day["sessions"]]
            load = sum(Fraction(one["rpe"] * one["minutes"]) for one in sessions if one["setting"] == part["setting"])
            check("made_up_of", part["au"], load, 1)
        if sent["usual_week"]:
            self.check_usual_week(check, sent["usual_week"], week[1])
        code = sent["rule"] and sent["rule"]["code"]
        if code:
            check("limit", sent["rule"]["limit"], Fraction(self.rules[code]["limit"]), 4)
            check("policy_version", sent["rule"]["policy_version"], Fraction(self.policy_version), 0)
        if code == "week_monotony":
            squares = sum((self.loads[self.monday + timedelta(n)][1] - week[1] / 7) ** 2 for n in range(7))
            check("monotony", sent["monotony"]["point"], squares and root((week[1] / 7) ** 2 * 6 / squares), 4)
        judge = {"week_end_ratio": self.ratio, "own_highest_week": self.own_highest, "return_ceiling": self.ceiling}
        if sent["limit_au"]:
            self.check_limit(check, *judge[code](check, Fraction(sent["rule"]["limit"]), week))

    def check_limit(self, check, judged, limit):
        sent, (low, point, high) = self.sent, limit
        check("limit_au", sent["limit_au"], limit, 4)
        check("over_by_au", sent["over_by_au"], (judged[0] - high, judged[1] - point, judged[2] - low), 4)
        first = date.fromisoformat(sent["returning"]["from"]) if sent["returning"] else self.monday
        most = sum(Fraction(one["at_most_au"]) for day in self.of_week(first) for one in day["unlogged"])
        for one in sent["missing"]:
            check("settles_above_au", one["settles_above_au"], high - judged[0], 4)
            check("rules_out_below_au", one["rules_out_below_au"], low - max(judged[2] - most, judged[1]), 4)

    def ratio(self, check, limit, week):
        prior, sent = self.total(self.monday - timedelta(21), 21), self.sent["ratio"]
        coupled = sent["kind"] == "coupled"
        of = lambda a, p: 4 * a / (a + p) if coupled else 3 * a / p
        check("ratio", sent, (of(week[0], prior[2]), of(week[1], prior[1]), of(week[2], prior[0])), 4)
        return week, tuple(limit * end / (4 - limit if coupled else 3) for end in prior)

    def own_highest(self, check, limit, week):
        sent, compared = self.sent["own_highest"], self.rules["own_highest_week"].get("window", 8)
        weeks = self.earlier(self.monday, 26, compared, lambda day: not day["in_absence"])
        highest = max(self.total(one)[2] for one in weeks)
        check("own_highest", sent["load_au"], highest, 1)
        check("weeks_used", sent["weeks_used"], Fraction(len(weeks)), 0)
        return week, (limit * highest,) * 3

    def ceiling(self, check, limit, _):
        sent, away = self.sent["returning"], date.fromisoformat(self.sent["returning"]["absence"]["from"])
        weeks = self.earlier(away - timedelta(away.weekday()), 13, 4, self.known)
        before = Fraction(sum(self.total(one)[1] for one in weeks), len(weeks))
        share = min([limit, *SHARES[sent["step"] - 1 : sent["step"]]])
        block = self.total(date.fromisoformat(sent["from"]))
        four_weeks = self.total(date.fromisoformat(sent["from"]) - timedelta(21), 28)[1] / 4
        ceiling = share * before
        if sent["binding"] == "clinician":  # A limit that was set, and is not computed.
            ceiling = min(ceiling, Fraction(str(sent["ceiling_au"]["point"])))
        check("pre_absence_week_au", sent["pre_absence_week_au"], before, 4)
        check("weeks_used", sent["weeks_used"], Fraction(len(weeks)), 0)
        check("returning load_au", sent["load_au"], block, 1)
        check("ceiling_au", sent["ceiling_au"]["point"], ceiling, 4)
        check("share_of_pre_absence_pct", sent["share_of_pre_absence_pct"], 100 * block[1] / before, 2)
        check("four_week_mean_pct", sent["four_week_mean_pct"], 100 * four_weeks / before, 2)
        return block, (Fraction(sent["ceiling_au"]["low"]), ceiling, Fraction(sent["ceiling_au"]["high"]))

    def check_usual_week(self, check, sent, load):
        weeks = [self.total(one)[1] for one in self.earlier(self.monday, 26, 8, self.known)]
        mean, middle = Fraction(sum(weeks), len(weeks)), median(weeks)
        deviation, spread = root(sum((one - mean) ** 2 for one in weeks) / (len(weeks) - 1)), median(abs(one - middle) for one in weeks)
        check("weeks_used", sent["weeks_used"], Fraction(len(weeks)), 0)
        check("mean_au", sent["mean_au"], mean, 4)
        check("standard_deviation_au", sent["standard_deviation_au"], deviation, 4)
        check("z", sent["z"], deviation and decimal(load - mean) / deviation, 4)
        check("median_au", sent["median_au"], middle, 4)
        check("median_deviation_au", sent["median_deviation_au"], spread, 4)
        check("robust_z", sent["robust_z"], spread and (load - middle) / (Fraction("1.4826") * spread), 4)
