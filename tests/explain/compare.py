"""What was sent against what was recomputed: every digit, every null and every reason."""

from collections import Counter
from decimal import Decimal, getcontext
from fractions import Fraction

getcontext().prec = 60
ENDS = ("low", "point", "high")
AU, RATIO, PERCENT, WHOLE = 1, 4, 2, 0  # decimals; sums of AU are exact

compared = Counter()


def decimal(value):
    return Decimal(value.numerator) / value.denominator if isinstance(value, (Fraction, int)) else value


def root(square):
    """The square root of a fraction, to 60 digits."""
    return decimal(square).sqrt()


def check(what, sent, ours, places):
    """One value: a number to its last digit, and null exactly where it does not exist."""
    if ours is None:
        assert sent is None, f"{what}: sent {float(sent)}, recomputed: it does not exist"
    else:
        assert sent is not None, f"{what}: sent null, recomputed {float(ours)}"
        rounded = round(decimal(ours), places)
        assert Fraction(rounded) == sent, f"{what}: sent {float(sent)}, recomputed {rounded}"
    compared["null" if ours is None else "number"] += 1


def check_ends(what, sent, ours, places):
    """Low, point and high."""
    for end, value in zip(ENDS, ours[:3]):
        check(f"{what} {end}", sent[end], value, places)


def check_reason(what, sent, ours):
    """Why something is null; nothing where all is there."""
    assert sent == ours, f"{what}: sent the reason {sent}, recomputed {ours}"
    compared["reason"] += 1


def check_figure(what, sent, ours, places):
    """Low, point and high, with the reason beside them."""
    check_ends(what, sent, ours, places)
    check_reason(what, sent["reason"], ours[3])


def check_text(what, sent, ours):
    assert sent == ours, f"{what}: sent {sent}, recomputed {ours}"
    compared["text"] += 1
