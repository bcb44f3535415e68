"""Compares the figures of plimsoll-domain with pandas and numpy on invented athletes.

200 athletes x 400 days from a fixed seed: rest days, weeks of equal days, empty months, halves of
an AU. Every figure of every day, and the comparisons of every ISO week, are computed twice, by the
Rust example `figures_csv` and here from the definitions with general-purpose libraries, and must
agree to 1e-9 relative; where one has no figure the other must have none either.

The example is the one in $CARGO_TARGET_DIR/debug (else target/debug), built with `cargo build --workspace --examples`.
Prints "N passed, N failed" and exits with 1 if anything failed.
"""

import io
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug" / "examples" / "figures_csv"
ATHLETES, DAYS, SEED = 200, 400, 20260907
TOLERANCE = 1e-9
CHRONIC_FLOOR = 250.0


def invented_loads(rng: np.random.Generator) -> np.ndarray:
    """Daily loads of one athlete in half-AU."""
    sessions = rng.choice([0, 1, 2, 3], size=DAYS, p=[0.4, 0.35, 0.2, 0.05])
    loads = np.zeros(DAYS, dtype=np.int64)
    for count in range(1, 4):
        taken = sessions >= count
        half_steps = rng.integers(0, 21, size=taken.sum())
        loads[taken] += half_steps * rng.integers(10, 121, size=taken.sum())
    for _ in range(2):
        start = rng.integers(0, DAYS - 20)
        loads[start : start + rng.integers(5, 15)] = rng.integers(0, 1200)
    start = rng.integers(0, DAYS - 60)
    loads[start : start + rng.integers(0, 60)] = 0
    return loads


def windows(values: np.ndarray, length: int) -> np.ndarray:
    """One window a day, the days before the first full window missing."""
    padded = np.concatenate([np.full(length - 1, np.nan), values])
    return np.lib.stride_tricks.sliding_window_view(padded, length)


def day_figures(loads: np.ndarray) -> pd.DataFrame:
    au = pd.Series(loads / 2.0)
    acute = au.rolling(7).sum()
    prior = au.shift(7).rolling(21).sum()
    given = prior / 3 >= CHRONIC_FLOOR
    out = {
        "acute": acute,
        "prior": prior,
        "chronic_coupled": (acute + prior) / 4,
        "chronic_uncoupled": prior / 3,
        "ratio_coupled": (acute / ((acute + prior) / 4)).where(given),
        "ratio_uncoupled": (acute / (prior / 3)).where(given),
    }
    have_28 = np.arange(DAYS) >= 27
    short = au.ewm(span=7, adjust=False).mean()
    long = au.ewm(span=28, adjust=False).mean()
    out["ewma_acute"] = short.where(have_28)
    out["ewma_chronic"] = long.where(have_28)
    out["ewma_ratio"] = (short / long).where(have_28 & (long > 0))
    week = windows(au.to_numpy(), 7)
    varies = week.max(axis=1) > week.min(axis=1)
    for name, ddof in (("sample", 1), ("population", 0)):
        deviation = week.std(axis=1, ddof=ddof)
        monotony = np.divide(
            week.mean(axis=1), deviation, out=np.full(DAYS, np.nan), where=varies
        )
        out[f"monotony_{name}"] = monotony
        out[f"strain_{name}"] = acute * monotony
    before = acute.shift(7)
    out["change_au"] = acute - before
    out["change_pct"] = (100 * (acute / before.where(before > 0) - 1))
    return pd.DataFrame(out)


def week_figures(loads: np.ndarray, dates: pd.DatetimeIndex) -> pd.DataFrame:
    au = pd.Series(loads / 2.0, index=dates)
    weeks = au.resample("W-SUN").agg(["sum", "count"])
    weeks.index = weeks.index - pd.Timedelta(days=6)
    weeks = weeks[weeks.index + pd.Timedelta(days=6) <= dates[-1]]
    load = weeks["sum"]
    full = load.where(weeks["count"] == 7)
    rows = []
    for at in range(len(load)):
        earlier = full.iloc[max(0, at - 26) : at].dropna().to_numpy()[-8:]
        row = {"load": load.iloc[at]}
        if len(earlier) >= 4:
            row["own_highest"] = earlier.max()
        if len(earlier) >= 6:
            row |= baseline(earlier, load.iloc[at])
        rows.append(row)
    columns = ["load", "own_highest", "mean", "sd", "z", "median", "median_deviation", "robust_z"]
    return pd.DataFrame(rows, columns=columns)


def baseline(earlier: np.ndarray, load: float) -> dict[str, float]:
    median = np.median(earlier)
    deviation = np.median(np.abs(earlier - median))
    sd = earlier.std(ddof=1) if earlier.max() > earlier.min() else 0.0
    return {
        "mean": earlier.mean(),
        "sd": sd,
        "z": (load - earlier.mean()) / sd if sd > 0 else np.nan,
        "median": median,
        "median_deviation": deviation,
        "robust_z": (load - median) / (1.4826 * deviation) if deviation > 0 else np.nan,
    }


def from_rust(kind: str, csv: str) -> pd.DataFrame:
    if not PROGRAM.exists():
        sys.exit(f"{PROGRAM} is not built: run `cargo build --workspace --examples` first, or `tests/run`, which builds everything")
    run = subprocess.run([PROGRAM, kind], input=csv, capture_output=True, text=True, check=False)
    if run.returncode != 0:
        sys.exit(f"figures_csv {kind} failed: {run.stderr}")
    return pd.read_csv(io.StringIO(run.stdout))


def compare(kind: str, found: pd.DataFrame, expected: pd.DataFrame) -> tuple[int, int]:
    """Counts of figures that agree and that do not; the first few that do not are printed."""
    if len(found) != len(expected):
        print(f"{kind}: {len(found)} rows for {len(expected)}")
        return 0, len(expected)
    passed = failed = 0
    for column in expected.columns:
        ours, theirs = found[column].to_numpy(float), expected[column].to_numpy(float)
        # A difference of nearly equal sums has no meaningful relative error below the sums' own.
        scale = np.maximum(np.abs(theirs), 1e-3)
        close = np.abs(ours - theirs) <= TOLERANCE * scale
        agrees = close | (np.isnan(ours) & np.isnan(theirs))
        passed, failed = passed + int(agrees.sum()), failed + int((~agrees).sum())
        for row in np.flatnonzero(~agrees)[:3]:
            print(f"{kind}, row {row}, {column}: {ours[row]} for {theirs[row]}")
    return passed, failed


def main() -> int:
    rng = np.random.default_rng(SEED)
    lines, days, weeks = ["athlete,date,half_au"], [], []
    for athlete in range(ATHLETES):
        loads = invented_loads(rng)
        first = pd.Timestamp("2025-08-01") + pd.Timedelta(days=int(rng.integers(0, 60)))
        dates = pd.date_range(first, periods=DAYS)
        lines += [f"{athlete:03},{day:%Y-%m-%d},{load}" for day, load in zip(dates, loads)]
        days.append(day_figures(loads))
        weeks.append(week_figures(loads, dates))
    csv = "\n".join(lines)
    passed = failed = 0
    for kind, expected in (("days", days), ("weeks", weeks)):
        counts = compare(kind, from_rust(kind, csv), pd.concat(expected, ignore_index=True))
        passed, failed = passed + counts[0], failed + counts[1]
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
