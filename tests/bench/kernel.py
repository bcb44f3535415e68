"""Times the columns kernel beside numpy, polars and pandas, in one run on the same loads.

Work: every point figure of every day (16 columns and a byte of flags) for ATHLETES x 365 invented
days, 0 to 3 sessions a day. numpy is vectorised by hand over preallocated arrays with the days as
rows; polars and pandas use their own windows. The sums of the columns are compared before a time
is printed. Times are medians; compare them with each other, not with another machine's.

    kernel.py [ATHLETES] [REPEATS]
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

for variable in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
    os.environ.pop(variable, None)

import numpy as np  # noqa: E402
import pandas as pd  # noqa: E402
import polars as pl  # noqa: E402

ROOT = Path(__file__).resolve().parents[2]
DAYS = 365
FLOOR, LIMIT = 250.0, 1.5
COLUMNS = [
    "acute_7d_au", "prior_21d_au", "chronic_coupled_au", "chronic_uncoupled_au", "ratio_coupled",
    "ratio_uncoupled", "change_pct", "mean_day_au", "sd_sample_au", "monotony_sample",
    "monotony_population", "strain_sample_au", "strain_population_au", "ewma_acute_au",
    "ewma_chronic_au", "ewma_ratio",
]  # fmt: skip


def invented_loads(athletes: int) -> np.ndarray:
    """Loads in half-AU, one row an athlete."""
    rng = np.random.default_rng(1)
    sessions = rng.choice(4, size=(athletes, DAYS), p=[0.4, 0.35, 0.2, 0.05])
    loads = np.zeros((athletes, DAYS), dtype=np.int64)
    for count in range(1, 4):
        taken = sessions >= count
        rated = rng.integers(2, 19, taken.sum()) * rng.integers(15, 121, taken.sum())
        loads[taken] += rated
    return loads


class Numpy:
    """Days as rows, so that one step of the exponential means is one vector operation.

    Halves of an AU and their squares add up exactly, so nothing drifts here.
    """

    drifts = False

    def __init__(self, loads: np.ndarray) -> None:
        self.loads = np.ascontiguousarray(loads.T)
        shape = self.loads.shape
        self.out = {name: np.full(shape, np.nan) for name in COLUMNS}
        self.flags = np.zeros(shape, dtype=np.uint8)
        self.au, self.sums, self.squares, self.work = (np.empty(shape) for _ in range(4))

    def run(self) -> None:
        with np.errstate(divide="ignore", invalid="ignore"):
            np.multiply(self.loads, 0.5, out=self.au)
            self.loads_and_ratios()
            self.spread()
            self.means()
            self.flag_rows()

    @staticmethod
    def rolling(cumulated: np.ndarray, out: np.ndarray) -> None:
        out[6] = cumulated[6]
        np.subtract(cumulated[7:], cumulated[:-7], out=out[7:])

    def loads_and_ratios(self) -> None:
        out = self.out
        acute, prior = out["acute_7d_au"], out["prior_21d_au"]
        np.cumsum(self.au, axis=0, out=self.sums)
        self.rolling(self.sums, acute)
        np.add(acute[20:-7], acute[13:-14], out=prior[27:])
        prior[27:] += acute[6:-21]
        np.add(acute[27:], prior[27:], out=self.work[27:])
        np.multiply(self.work[27:], 0.25, out=out["chronic_coupled_au"][27:])
        np.multiply(prior[27:], 1 / 3, out=out["chronic_uncoupled_au"][27:])
        np.divide(acute[27:], out["chronic_coupled_au"][27:], out=out["ratio_coupled"][27:])
        np.divide(acute[27:], out["chronic_uncoupled_au"][27:], out=out["ratio_uncoupled"][27:])
        below = prior < 3 * FLOOR
        out["ratio_coupled"][below] = np.nan
        out["ratio_uncoupled"][below] = np.nan
        change = out["change_pct"]
        np.divide(acute[13:], acute[6:-7], out=change[13:])
        change[13:] -= 1
        change[13:] *= 100
        change[13:][acute[6:-7] == 0] = np.nan

    def spread(self) -> None:
        out = self.out
        acute = out["acute_7d_au"][6:]
        root, work = self.squares, self.work
        np.multiply(self.au, self.au, out=work)
        np.cumsum(work, axis=0, out=self.sums)
        self.rolling(self.sums, root)
        root, work = root[6:], work[6:]
        np.multiply(acute, acute, out=work)
        root *= 7
        root -= work
        np.sqrt(root, out=root)
        np.multiply(acute, 1 / 7, out=out["mean_day_au"][6:])
        np.multiply(root, 1 / np.sqrt(42), out=out["sd_sample_au"][6:])
        monotony = out["monotony_population"][6:]
        np.divide(acute, root, out=monotony)
        monotony[root == 0] = np.nan
        np.multiply(monotony, np.sqrt(6 / 7), out=out["monotony_sample"][6:])
        np.multiply(monotony, acute, out=out["strain_population_au"][6:])
        np.multiply(out["monotony_sample"][6:], acute, out=out["strain_sample_au"][6:])

    def means(self) -> None:
        for name, days in (("ewma_acute_au", 7), ("ewma_chronic_au", 28)):
            weight, mean = 2 / (days + 1), self.out[name]
            np.multiply(self.au, weight, out=mean)
            mean[0] = self.au[0]
            for day in range(1, DAYS):
                mean[day] += (1 - weight) * mean[day - 1]
        np.divide(self.out["ewma_acute_au"], self.out["ewma_chronic_au"], out=self.out["ewma_ratio"])
        for name in ("ewma_acute_au", "ewma_chronic_au", "ewma_ratio"):
            self.out[name][:27] = np.nan

    def flag_rows(self) -> None:
        out, flags = self.out, self.flags
        acute, prior, root = out["acute_7d_au"], out["prior_21d_au"], self.squares
        flags[:] = 0
        flags[:6] |= 1
        flags[:13] |= 2
        flags[:27] |= 4
        flags[6:] |= (acute[6:] == 0).view(np.uint8) << 3
        flags[6:] |= ((acute[6:] > 0) & (root[6:] == 0)).view(np.uint8) << 4
        flags[13:] |= (acute[6:-7] == 0).view(np.uint8) << 5
        flags[27:] |= (prior[27:] < 3 * FLOOR).view(np.uint8) << 6
        flags |= (out["ratio_coupled"] > LIMIT).view(np.uint8) << 7

    def column(self, name: str) -> np.ndarray:
        return self.out[name]


class Pandas:
    drifts = True

    def __init__(self, loads: np.ndarray) -> None:
        athlete = np.repeat(np.arange(len(loads)), DAYS)
        self.frame = pd.DataFrame({"athlete": athlete, "au": loads.ravel() / 2.0})
        self.out: dict[str, pd.Series] = {}

    def run(self) -> None:
        groups = self.frame.groupby("athlete", sort=False)["au"]
        flat = {"level": 0, "drop": True}
        out = self.out
        week = groups.rolling(7)
        acute = week.sum().reset_index(**flat)
        by_athlete = acute.groupby(self.frame["athlete"], sort=False)
        prior = by_athlete.shift(7) + by_athlete.shift(14) + by_athlete.shift(21)
        given = prior >= 3 * FLOOR
        out["acute_7d_au"], out["prior_21d_au"] = acute, prior
        out["chronic_coupled_au"] = (acute + prior) / 4
        out["chronic_uncoupled_au"] = prior / 3
        out["ratio_coupled"] = (acute / out["chronic_coupled_au"]).where(given)
        out["ratio_uncoupled"] = (acute / out["chronic_uncoupled_au"]).where(given)
        before = by_athlete.shift(7)
        out["change_pct"] = 100 * (acute / before.where(before > 0) - 1)
        deviation = week.std().reset_index(**flat)
        out["mean_day_au"], out["sd_sample_au"] = acute / 7, deviation
        out["monotony_sample"] = (out["mean_day_au"] / deviation).where(deviation > 0)
        out["monotony_population"] = out["monotony_sample"] * np.sqrt(7 / 6)
        out["strain_sample_au"] = out["monotony_sample"] * acute
        out["strain_population_au"] = out["monotony_population"] * acute
        day = groups.cumcount()
        for name, days in (("ewma_acute_au", 7), ("ewma_chronic_au", 28)):
            mean = groups.ewm(span=days, adjust=False).mean().reset_index(**flat)
            out[name] = mean.where(day >= 27)
        out["ewma_ratio"] = out["ewma_acute_au"] / out["ewma_chronic_au"]
        self.flags = (
            (day < 6) * 1 + (day < 13) * 2 + (day < 27) * 4 + (acute == 0) * 8
            + ((acute > 0) & (deviation == 0)) * 16 + (before == 0) * 32
            + (prior < 3 * FLOOR) * 64 + (out["ratio_coupled"] > LIMIT) * 128
        ).astype(np.uint8)  # fmt: skip

    def column(self, name: str) -> np.ndarray:
        return self.out[name].to_numpy()


class Polars:
    drifts = True

    def __init__(self, loads: np.ndarray) -> None:
        athlete = np.repeat(np.arange(len(loads)), DAYS)
        day = np.tile(np.arange(DAYS), len(loads))
        au = loads.ravel() / 2.0
        self.frame = pl.DataFrame({"athlete": athlete, "day": day, "au": au})

    def run(self) -> None:
        c, over = pl.col, "athlete"
        week = c("au").rolling_sum(7).over(over)
        deviation = c("au").rolling_std(7).over(over)
        long_enough = c("day") >= 27

        def mean(days: int) -> pl.Expr:
            ewm = c("au").ewm_mean(span=days, adjust=False).over(over)
            return pl.when(long_enough).then(ewm)

        acute, prior, before = c("acute_7d_au"), c("prior_21d_au"), c("before")
        lazy = self.frame.lazy().with_columns(
            week.alias("acute_7d_au"),
            deviation.alias("sd_sample_au"),
            mean(7).alias("ewma_acute_au"),
            mean(28).alias("ewma_chronic_au"),
        )
        lazy = lazy.with_columns(
            before=acute.shift(7).over(over),
            prior_21d_au=(acute.shift(7) + acute.shift(14) + acute.shift(21)).over(over),
        )
        given = prior >= 3 * FLOOR
        lazy = lazy.with_columns(
            ((acute + prior) / 4).alias("chronic_coupled_au"),
            (prior / 3).alias("chronic_uncoupled_au"),
            pl.when(given).then(4 * acute / (acute + prior)).alias("ratio_coupled"),
            pl.when(given).then(3 * acute / prior).alias("ratio_uncoupled"),
            pl.when(before > 0).then(100 * (acute / before - 1)).alias("change_pct"),
            (acute / 7).alias("mean_day_au"),
            pl.when(c("sd_sample_au") > 0)
            .then(acute / 7 / c("sd_sample_au"))
            .alias("monotony_sample"),
            (c("ewma_acute_au") / c("ewma_chronic_au")).alias("ewma_ratio"),
        )
        lazy = lazy.with_columns(
            (c("monotony_sample") * np.sqrt(7 / 6)).alias("monotony_population"),
            (c("monotony_sample") * acute).alias("strain_sample_au"),
            (c("monotony_sample") * acute * np.sqrt(7 / 6)).alias("strain_population_au"),
            flags=(
                (c("day") < 6) * 1 + (c("day") < 13) * 2 + (c("day") < 27) * 4
                + (acute == 0).fill_null(False) * 8
                + ((acute > 0) & (c("sd_sample_au") == 0)).fill_null(False) * 16
                + (before == 0).fill_null(False) * 32
                + (prior < 3 * FLOOR).fill_null(False) * 64
                + (c("ratio_coupled") > LIMIT).fill_null(False) * 128
            ).cast(pl.UInt8),
        )  # fmt: skip
        self.out = lazy.collect()

    def column(self, name: str) -> np.ndarray:
        return self.out[name].to_numpy()


def time_rust(loads: np.ndarray, repeats: int) -> tuple[list[float], dict[str, tuple[int, float]]]:
    """Seconds of each repeat, and the count and sum of each column."""
    command = ["cargo", "run", "--quiet", "--release", "-p", "plimsoll-domain"]
    with tempfile.NamedTemporaryFile() as file:
        loads.astype("<i8").tofile(file.name)
        arguments = ["--example", "time_columns", "--", file.name, str(DAYS), str(repeats + 1)]
        lines = subprocess.run(
            [*command, *arguments], cwd=ROOT, check=True, capture_output=True, text=True
        ).stdout.splitlines()
    seconds = [float(line.split()[1]) for line in lines if line.startswith("seconds ")]
    totals = [line.split() for line in lines if not line.startswith("seconds ")]
    return seconds[1:], {name: (int(count), float(total)) for name, count, total in totals}


def time_python(program: Numpy | Pandas | Polars, repeats: int) -> list[float]:
    program.run()
    seconds = []
    for _ in range(repeats):
        start = time.perf_counter()
        program.run()
        seconds.append(time.perf_counter() - start)
    return seconds


def disagreements(program: Numpy | Pandas | Polars, totals: dict[str, tuple[int, float]]) -> list[str]:
    """Columns whose count of values or sum differs from the kernel's.

    A running deviation drifts: a week of equal days is left with a tiny one, and a huge monotony
    where there is none. Where a program works that way, the columns that follow from the deviation
    are not compared.
    """
    found = []
    for name, (count, total) in totals.items():
        if program.drifts and name.startswith(("sd", "monotony", "strain")):
            continue
        values = program.column(name)
        present = ~np.isnan(values)
        if present.sum() != count or not np.isclose(values[present].sum(), total, rtol=1e-9):
            found.append(name)
    return found


def main() -> int:
    athletes = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    loads = invented_loads(athletes)
    seconds, totals = time_rust(loads, repeats)
    kernel = statistics.median(seconds)
    cells = athletes * DAYS
    print(f"{athletes} athletes x {DAYS} days, median of {repeats}")
    print(f"{'program':<28}{'seconds':>10}{'ns a day':>10}{'times the kernel':>18}")
    print(f"{'columns kernel, 1 thread':<28}{kernel:>10.4f}{kernel / cells * 1e9:>10.1f}{1:>18.1f}")
    failed = False
    for name, make in (("numpy, warm buffers", Numpy), ("polars", Polars), ("pandas", Pandas)):
        program = make(loads)
        median = statistics.median(time_python(program, repeats))
        print(f"{name:<28}{median:>10.4f}{median / cells * 1e9:>10.1f}{median / kernel:>18.1f}")
        differing = disagreements(program, totals)
        if differing:
            failed = True
            print(f"  differs in {', '.join(differing)}")
        del program
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
