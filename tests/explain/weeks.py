"""Comparisons of a week with an athlete's own past: highest week, usual week, and ceilings after an absence."""

from datetime import date, timedelta
from fractions import Fraction
from statistics import median

from compare import AU, PERCENT, RATIO, WHOLE, check, check_ends, check_reason, check_text, decimal, root
from figures import change_between

STEPS = [Fraction(tenths, 10) for tenths in (5, 7, 8, 9, 10)]  # of the mean week before an absence; the last is the club's


def rules(record, on):
    return {rule["code"]: rule for rule in record.policy(on)["rules"]}


def iso(monday):
    year, week, _ = monday.isocalendar()
    return f"{year}-W{week:02}"


def check_change(sent, au, pct):
    check("change au", sent["au"], au, AU)
    check_ends("change pct", sent["pct"], pct, PERCENT)
    check_reason("change", sent["reason"], pct[3])


def own_highest(record, monday):
    """The load and the monday of the highest earlier week, and how many were compared; None of fewer than four."""
    rule = rules(record, monday + timedelta(6)).get("own_highest_week", {})
    weeks = record.earlier(monday, 26, rule.get("window") or 8, lambda day: not day["in_absence"])
    if len(weeks) < 4:
        return None
    return (*max((record.sum(one)[2], one) for one in weeks), len(weeks))


def check_own_highest(sent, change, record, monday, load):
    """A highest week as sent, with the change from it."""
    ours = own_highest(record, monday)
    check_text("own_highest", sent is None and change is None, ours is None)
    if ours:
        highest, week, used = ours
        check("own_highest", sent["load_au"], highest, AU)
        check_text("own_highest week", (sent["week"], sent["weeks_used"]), (iso(week), used))
        check_change(change, load[1] - highest, change_between(load, (highest,) * 3))


def check_usual_week(sent, record, monday, load):
    weeks = [record.sum(one)[1] for one in record.earlier(monday, 26, 8, record.known(monday + timedelta(6)))]
    check_text("usual_week", sent is None, len(weeks) < 6)
    if not sent:
        return
    mean, middle = Fraction(sum(weeks), len(weeks)), median(weeks)
    spread = median(abs(one - middle) for one in weeks)
    deviation = root(sum((one - mean) ** 2 for one in weeks) / (len(weeks) - 1))
    check("weeks_used", sent["weeks_used"], len(weeks), WHOLE)
    check("mean_au", sent["mean_au"], mean, RATIO)
    check("standard_deviation_au", sent["standard_deviation_au"], deviation, RATIO)
    check("z", sent["z"], decimal(load - mean) / deviation if deviation else None, RATIO)
    check("median_au", sent["median_au"], middle, RATIO)
    check("median_deviation_au", sent["median_deviation_au"], spread, RATIO)
    check("robust_z", sent["robust_z"], (load - middle) / (Fraction("1.4826") * spread) if spread else None, RATIO)


class Ramp:
    """The weeks after an absence: blocks of seven days with their steps and ceilings, until the ramp is done.

    A clinician's limit and a written clearance that is waited for are entered, not computed: neither is in an explanation.
    """

    def __init__(self, record, on, absence):
        self.record, self.last_share = record, Fraction(rules(record, on).get("return_ceiling", {}).get("limit") or 1)
        self.first, self.last = absence
        before = self.first - timedelta(self.first.weekday())
        self.before_weeks = [record.sum(one)[1] for one in record.earlier(before, 13, 4, record.known(on))]
        self.before = Fraction(sum(self.before_weeks), len(self.before_weeks))
        self.first_step = 0 if (self.last - self.first).days + 1 >= 14 else 1

    def ceiling(self, step):
        return self.before * (min(STEPS[step], self.last_share) if step < len(STEPS) - 1 else self.last_share)

    def week(self, first):
        """Number, steps and ceilings (low, point, high) of the block that begins on a day."""
        steps, block, number = (self.first_step,) * 3, self.last + timedelta(1), 1
        while block < first:
            load = self.record.sum(block)
            # What may have been done most gives the lowest step.
            done = zip(steps, (load[2], load[1], load[0]))
            steps = tuple(step + (one <= self.ceiling(step)) for step, one in done)
            block, number = block + timedelta(7), number + 1
        return number, steps, tuple(map(self.ceiling, steps))


def check_returning(sent, record, on):
    """A week after an absence as sent; gives its load and its ceilings."""
    first = date.fromisoformat(sent["from"])
    away = tuple(date.fromisoformat(sent["absence"][end]) for end in ("from", "to"))
    ramp = Ramp(record, on, away)
    number, steps, ceilings = ramp.week(first)
    if sent["binding"] == "clinician":
        ceilings = tuple(min(one, Fraction(str(sent["ceiling_au"]["point"]))) for one in ceilings)
    block, four_weeks = record.sum(first), record.sum(first - timedelta(21), 28)[1] / 4
    check_text("returning", (sent["week"], sent["step"], sent["weeks_used"]), (number, steps[1] + 1, len(ramp.before_weeks)))
    check_text("absence days", sent["absence"]["days"], (away[1] - away[0]).days + 1)
    check_ends("returning load_au", sent["load_au"], block, AU)
    check_ends("ceiling_au", sent["ceiling_au"], ceilings, RATIO)
    check("pre_absence_week_au", sent["pre_absence_week_au"], ramp.before, RATIO)
    check("share_of_pre_absence_pct", sent["share_of_pre_absence_pct"], 100 * block[1] / ramp.before, PERCENT)
    whole = record.history(first + timedelta(6)) >= 28
    check("four_week_mean_pct", sent["four_week_mean_pct"], 100 * four_weeks / ramp.before if whole else None, PERCENT)
    return block, ceilings
