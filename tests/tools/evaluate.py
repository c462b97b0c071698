"""The sums of `soakbook evaluate`, written a second time in Python, to be timed against it.

Reads a bundle and works out, per test, from its entries: operated, the counted trips, the operating temperature with its
uncertainty, whether it lies within its limits, the conformance probability and the limit result. Twice: `plain`, one test after another
as a script would do it, and `vectorised`, with arrays over all tests. Reading the JSON is not timed; both begin with the entries as
dictionaries and end with the numbers. It knows bundles of heaters that cycle by themselves, without undoes, moves, clock gaps and
take-overs, and refuses any other.

    python3 evaluate.py BUNDLE

prints one JSON object: versions, seconds of each way, and the results of both.
"""

import json
import math
import platform
import sys
import time

import numpy as np
import scipy
from scipy import stats

COVERAGE = 0.95
REPEATS = 3
# What takes a fraction of a second is repeated more often: a busy machine slows single ones by half.
SHORT_REPEATS = 15
KNOWN = {"site", "area", "visit_opened", "visit_closed", "test_started", "mark", "reading_taken", "panel_point", "test_ended"}
STATEMENTS = ["pass", "conditional pass", "conditional fail", "fail"]


def number(given):
    """A reading or difference as a number in its own unit."""
    return given["value"] * 10.0 ** given["scale"] if given["scale"] >= 0 else given["value"] / 10.0 ** -given["scale"]


def celsius(reading):
    value = number(reading)
    return value if reading["unit"] == "C" else (value - 32.0) * 5.0 / 9.0


def kelvin(difference):
    value = number(difference)
    return value if difference["unit"] == "C" else value * 5.0 / 9.0


def check(entries):
    for entry in entries:
        if entry["type"] not in KNOWN:
            raise SystemExit(f"this script does not know entries of type {entry['type']}")
        if entry["type"] == "test_started" and entry["heater"]["heating"]["cycle"]["drive"] != "by_itself":
            raise SystemExit("this script knows heads that cycle by themselves only")


def plain(entries):
    """One test after another. Returns test -> results."""
    starts, marks, readings, ends = {}, {}, {}, {}
    for entry in entries:
        kind = entry["type"]
        if kind == "test_started":
            starts[entry["test"]] = entry
        elif kind == "mark":
            marks.setdefault(entry["test"], []).append(entry)
        elif kind == "reading_taken":
            readings.setdefault(entry["test"], []).append(entry)
        elif kind == "test_ended":
            ends[entry["test"]] = entry
    results = {}
    for run, start in starts.items():
        results[run] = plain_run(start, marks.get(run, []), readings.get(run, []), ends.get(run))
    return results


def plain_run(start, marks, readings, end):
    cycle, procedure = start["heater"]["heating"]["cycle"], start["procedure"]
    zero = next(mark["mono"] for mark in marks if mark["what"] == "heat_on")
    first = cycle["heat_up_cold_ms"] + cycle["hold_first_ms"] + cycle["off_ms"]
    again = cycle["heat_up_again_ms"] + cycle["hold_again_ms"] + cycle["off_ms"]
    trips, seen = [], set()
    for index, mark in enumerate(mark for mark in marks if mark["what"] == "tripped"):
        at = mark["mono"] - zero
        climb = 1 if at < first else 2 + (at - first) // again
        counts = procedure["uncounted"] < climb <= procedure["trips"] and climb not in seen
        seen.add(climb)
        trips.append((at, counts, index))
    if not trips:
        full = end["mono"] - zero >= cycle["heat_up_cold_ms"] + cycle["hold_first_ms"]
        return {"operated": "no" if full else "not decided"}
    result = {"operated": "yes"}
    if any(climb not in seen for climb in range(procedure["uncounted"] + 1, procedure["trips"] + 1)):
        return result
    values = [celsius(reading["reading"]) for reading, (_, counts, _) in zip(readings, trips) if counts]
    n = len(values)
    mean = math.fsum(values) / n
    sd = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (n - 1))
    floor = kelvin(start["heater"]["heating"]["resolution"]) / math.sqrt(12.0)
    sem = sd / math.sqrt(n)
    a, finite = (sem, True) if sem > floor else (floor, False)
    metrology = start["heater"]["metrology"]
    shared = [kelvin(metrology["calibration_u"]), kelvin(metrology["fit_u"])]
    shared.append(drift(values, floor))
    u = math.sqrt(a * a + sum(part * part for part in shared))
    df = math.floor(u**4 / (a**4 / (n - 1)) * (1.0 + 1e-12)) if finite else math.inf
    k = stats.t.ppf(0.5 + COVERAGE / 2.0, df) if finite else stats.norm.ppf(0.5 + COVERAGE / 2.0)
    expanded = k * u
    marking = start["detector"]["marking"]
    rating = celsius(marking["rating"])
    low, high = rating + kelvin(marking["minus"]), rating + kelvin(marking["plus"])
    share = stats.t(df) if finite else stats.norm
    p = 1.0 - share.cdf((low - mean) / u) - share.sf((high - mean) / u)
    if low + expanded <= mean <= high - expanded:
        statement = 0
    elif low <= mean <= high:
        statement = 1
    elif low - expanded <= mean <= high + expanded:
        statement = 2
    else:
        statement = 3
    result.update(mean=mean, u=u, df=df if finite else None, expanded=expanded, p=min(max(p, 0.0), 1.0))
    result["as_read"] = "within" if low <= mean <= high else "outside"
    result["limit_result"] = STATEMENTS[statement]
    return result


def drift(values, floor):
    """What trips that still settle add: the drift along their line over the root of 12, where the slope exceeds its t test."""
    n = len(values)
    if n < 3:
        return 0.0
    middle, mean = (n - 1) / 2.0, math.fsum(values) / n
    sxx = math.fsum((i - middle) ** 2 for i in range(n))
    slope = math.fsum((i - middle) * (value - mean) for i, value in enumerate(values)) / sxx
    left = math.fsum((value - mean - slope * (i - middle)) ** 2 for i, value in enumerate(values))
    sd = math.sqrt(left / (n - 2))
    t = stats.t.ppf(0.5 + COVERAGE / 2.0, n - 2) if sd > floor else stats.norm.ppf(0.5 + COVERAGE / 2.0)
    still = abs(slope) > t * max(sd, floor) / math.sqrt(sxx)
    return abs(slope) * (n - 1) / math.sqrt(12.0) if still else 0.0


def columns(entries):
    """Entries as arrays: what a vectorised script has to do before it can begin."""
    index, runs, start_rows = {}, [], []
    trip_run, trip_at, reading_value = [], [], []
    zero, end = [], []
    for entry in entries:
        kind = entry["type"]
        if kind == "test_started":
            index[entry["test"]] = len(runs)
            runs.append(entry["test"])
            cycle, procedure = entry["heater"]["heating"]["cycle"], entry["procedure"]
            metrology, marking = entry["heater"]["metrology"], entry["detector"]["marking"]
            start_rows.append((
                cycle["heat_up_cold_ms"], cycle["hold_first_ms"], cycle["off_ms"], cycle["heat_up_again_ms"], cycle["hold_again_ms"],
                procedure["trips"], procedure["uncounted"], kelvin(entry["heater"]["heating"]["resolution"]),
                kelvin(metrology["calibration_u"]), kelvin(metrology["fit_u"]), celsius(marking["rating"]),
                kelvin(marking["minus"]), kelvin(marking["plus"]),
            ))
            zero.append(0)
            end.append(0)
        elif kind == "mark":
            run = index[entry["test"]]
            if entry["what"] == "tripped":
                trip_run.append(run)
                trip_at.append(entry["mono"])
            elif entry["what"] == "heat_on":
                zero[run] = entry["mono"]
        elif kind == "reading_taken":
            reading_value.append(celsius(entry["reading"]))
        elif kind == "test_ended":
            end[index[entry["test"]]] = entry["mono"]
    arrays = np.array(start_rows), np.array(zero), np.array(end), np.array(trip_run), np.array(trip_at)
    return runs, arrays, np.array(reading_value)


def sums(runs, arrays, value):
    """The same numbers over all tests at once; not a number where a test has none."""
    start, zero, end, run, at = arrays
    cold, hold, off, again, hold_again, trips, uncounted, step, calibration, coupling, rating, minus, plus = start.T
    count = len(runs)
    at = at - zero[run]
    first, each = cold + hold + off, again + hold_again + off
    climb = np.where(at < first[run], 1, 2 + (at - first[run]) // each[run])
    repeat = np.zeros(len(run), bool)
    repeat[1:] = (run[1:] == run[:-1]) & (climb[1:] == climb[:-1])
    counts = (climb > uncounted[run]) & (climb <= trips[run]) & ~repeat
    tripped = np.bincount(run, minlength=count) > 0
    operated = np.where(tripped, "yes", np.where(end - zero >= cold + hold, "no", "not decided"))
    run, value = run[counts], value[counts]
    n = np.bincount(run, minlength=count)
    whole = n == trips - uncounted
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.where(whole, np.bincount(run, value, count) / n, np.nan)
        sd = np.sqrt(np.bincount(run, (value - mean[run]) ** 2, count) / (n - 1))
        sem, floor = sd / np.sqrt(n), step / math.sqrt(12.0)
        finite = sem > floor
        a = np.where(finite, sem, floor)
        order = np.arange(len(run)) - np.searchsorted(run, run)
        across = order - (n[run] - 1) / 2.0
        sxx = np.bincount(run, across**2, count)
        slope = np.bincount(run, across * (value - mean[run]), count) / sxx
        left = np.bincount(run, (value - mean[run] - slope[run] * across) ** 2, count)
        spread = np.sqrt(left / (n - 2))
        t = stats.t.ppf(0.5 + COVERAGE / 2.0, np.where(spread > floor, n - 2.0, np.inf))
        still = (n > 2) & (np.abs(slope) > t * np.maximum(spread, floor) / np.sqrt(sxx))
        settling = np.where(still, np.abs(slope) * (n - 1) / math.sqrt(12.0), 0.0)
        u = np.sqrt(a**2 + calibration**2 + coupling**2 + settling**2)
        df = np.where(finite, np.floor(u**4 / (a**4 / (n - 1)) * (1.0 + 1e-12)), np.inf)
        k = stats.t.ppf(0.5 + COVERAGE / 2.0, df)
        expanded = k * u
        low, high = rating + minus, rating + plus
        p = 1.0 - stats.t.cdf((low - mean) / u, df) - stats.t.sf((high - mean) / u, df)
    within = (low <= mean) & (mean <= high)
    statement = np.select(
        [(low + expanded <= mean) & (mean <= high - expanded), within, (low - expanded <= mean) & (mean <= high + expanded)], [0, 1, 2], 3
    )
    return operated, whole, mean, u, df, expanded, np.clip(p, 0.0, 1.0), within, statement


def as_results(runs, numbers):
    """What `sums` gives in the form of `plain`, to be compared; not timed."""
    results = {}
    for run, operated, whole, mean, u, df, expanded, p, within, statement in zip(runs, *(column.tolist() for column in numbers)):
        results[run] = {"operated": operated}
        if whole:
            results[run].update(mean=mean, u=u, df=df if math.isfinite(df) else None, expanded=expanded, p=p)
            results[run].update(as_read="within" if within else "outside", statement=STATEMENTS[statement])
    return results


def timed(work, repeats):
    """The shortest of a few times, seconds, and what the work gave."""
    best = math.inf
    for _ in range(repeats):
        start = time.perf_counter()
        result = work()
        best = min(best, time.perf_counter() - start)
    return best, result


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        entries = json.load(file)["entries"]
    check(entries)
    plain_s, by_run = timed(lambda: plain(entries), REPEATS)
    columns_s, (runs, arrays, value) = timed(lambda: columns(entries), SHORT_REPEATS)
    sums_s, numbers = timed(lambda: sums(runs, arrays, value), SHORT_REPEATS)
    out = {
        "python": platform.python_version(),
        "numpy": np.__version__,
        "scipy": scipy.__version__,
        "plain_s": plain_s,
        "columns_s": columns_s,
        "sums_s": sums_s,
        "plain": by_run,
        "vectorised": as_results(runs, numbers),
    }
    json.dump(out, sys.stdout)


main()
