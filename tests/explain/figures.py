"""Figures of some days, each as (low, point, high, reason); None where one does not exist.

Monotony, training strain: Foster 1998; exponential means: Williams 2017.
"""

from datetime import timedelta
from fractions import Fraction
from itertools import product

from compare import root


def over(numerator, denominator):
    return Fraction(numerator, denominator) if denominator else None


def none(reason):
    return (None, None, None, reason)


def ratio_of(coupled, acute, prior):
    return over(4 * acute, acute + prior) if coupled else over(3 * acute, prior)


def ratio(record, last, coupled):
    if record.history(last) < 28:
        return none("fewer_than_28_days")
    if any(day["in_long_absence"] for day in record.held(last - timedelta(27), 28)):
        return none("absence_in_window")
    acute, prior = record.sum(last - timedelta(6)), record.sum(last - timedelta(27), 21)

    def missing(a, p):
        return "no_load_in_window" if a + p == 0 else "no_prior_load" if p == 0 and not coupled else None

    reason = missing(acute[1], prior[1])
    if prior[0] < 3 * Fraction(record.policy(last)["chronic_floor_au"]):
        return none(reason or "below_chronic_floor")
    low, point, high = (ratio_of(coupled, a, p) for a, p in zip(acute, reversed_ends(prior)))
    return (low, point, high, reason or (missing(acute[2], prior[0]) if high is None else None))


def reversed_ends(bounds):
    return (bounds[2], bounds[1], bounds[0])


def evenness(loads):
    """S^2 / Q of seven days: 1 for a single session, 7 where all are equal."""
    squares = sum(load * load for load in loads)
    return Fraction(sum(loads) ** 2, squares) if squares else None


def evenness_bounds(week):
    """The evenness of seven days with low, point and high, and why the point or the upper bound is missing."""
    point = evenness([load[1] for load in week])
    reason = "no_load" if point is None else "no_variation" if point == 7 else None
    point = None if point == 7 else point
    if all(load[0] == load[2] for load in week):
        return (point, point, point, reason)
    if max(load[0] for load in week) <= min(load[2] for load in week) > 0:
        return (least(week), point, None, reason or "no_variation_possible")
    return (least(week), point, most(week), reason)


def least(week):
    """At a corner of the box of bounds; where that may be an empty week, the least a week can have."""
    if all(load[0] == 0 for load in week):
        return Fraction(1)
    corners = product(*({load[0], load[2]} for load in week))
    return min(found for found in map(evenness, corners) if found is not None)


def most(week):
    """Where each day is as near as it can be to one load t: at a bound of some day, or at t = Q / S of the days that do not move."""
    ends = sorted({end for load in week for end in (load[0], load[2])})
    candidates = list(ends)
    for low, high in zip(ends, ends[1:]):
        still = [min(max(low, load[0]), load[2]) for load in week if not (load[0] <= low and load[2] >= high)]
        if sum(still):
            candidates.append(Fraction(sum(load * load for load in still), sum(still)))
    at = [[min(max(t, load[0]), load[2]) for load in week] for t in candidates]
    return max(found for found in map(evenness, at) if found is not None)


def monotony(record, last, sample):
    if record.history(last) < 7:
        return none("fewer_than_7_days")
    *bounds, reason = evenness_bounds([record.loads[last - timedelta(n)] for n in range(7)])

    def of(even):
        return None if even is None else root(Fraction(6, 7) * even / (7 - even) if sample else even / (7 - even))

    return (*map(of, bounds), reason)


def strain(record, last, sample):
    *bounds, reason = monotony(record, last, sample)
    week = record.sum(last - timedelta(6))
    products = (None if one is None else one * load.numerator / load.denominator for one, load in zip(bounds, week))
    return (*products, reason)


def change_between(week, before):
    """In per cent of the earlier load."""
    low, point, high = (b and 100 * (a / b - 1) for a, b in zip(week, reversed_ends(before)))
    ends = (None if b == 0 else one for one, b in zip((low, point, high), reversed_ends(before)))
    return (*ends, "no_load_in_previous_week" if before[0] == 0 else None)


def change(record, last):
    """AU as logged, and per cent with its reason."""
    if record.history(last) < 14:
        return None, none("fewer_than_14_days")
    week, before = record.sum(last - timedelta(6)), record.sum(last - timedelta(13))
    return week[1] - before[1], change_between(week, before)


def sums(record, last):
    """A and P, each with its reason."""
    history = record.history(last)
    acute = (*record.sum(last - timedelta(6)), None) if history >= 7 else none("fewer_than_7_days")
    prior = (*record.sum(last - timedelta(27), 21), None) if history >= 28 else none("fewer_than_28_days")
    return acute, prior
