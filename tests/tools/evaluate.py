"""The results of `soakbook evaluate`, worked out a second time from what is documented: which sums, and when what is concluded.

    python3 evaluate.py BUNDLE

prints one JSON object: versions, the seconds it took from the entries as dictionaries, and the results of every test. It knows bundles of
one session whose heaters cycle by themselves without a profile, without undoes, moves, corrections, clock gaps and take-overs, and
refuses any other.
"""

import hashlib
import json
import math
import platform
import sys
import time

import scipy
from scipy import stats

KNOWN = {
    "site", "area", "visit_opened", "visit_closed", "test_started", "mark", "reading_taken", "panel_point", "restore_said",
    "early_trip_answered", "test_judged", "test_ended",
}
MARKS = {"heat_on", "tripped", "at_top", "restored", "panel_reset", "lowered"}
STEADY = {"rate_compensated", "fixed_restorable"}
RATE = {"rate_of_rise", "combination_restorable", "combination_nonrestorable"}

# Own figures of the method, in kelvins and seconds.
SLOWEST_ELEMENT_S = 120.0
LEAST_SOAK_MS = 60_000
PLUS_WHERE_NONE = 10 / 1.8
COLDEST = -40.0
FASTER_AT_TOP = 1.25
RATE_K_PER_S = 20 / 1.8 / 60
RATE_RISE = 30 / 1.8
NEAR_AMBIENT = 20 / 1.8
EARLY_BELOW = 20 / 1.8
EARLY_WITHIN_MS = 10_000


def decimal(given):
    return float(f"{given['value']}e{given['scale']}")


def celsius(given):
    return decimal(given) if given["unit"] == "C" else (decimal(given) - 32) * 5 / 9


def kelvin(given):
    return decimal(given) if given["unit"] == "C" else decimal(given) * 5 / 9


def optional(convert, given):
    return None if given is None else convert(given)


class Test:
    """One test, its times in ms since heat on."""

    def __init__(self, entry):
        self.start, self.entries = entry, []
        self.marking, self.procedure, self.heater = entry["detector"]["marking"], entry["procedure"], entry["heater"]
        self.kind = self.marking["detector_type"]
        self.rating = optional(celsius, self.marking.get("rating"))
        self.plus, self.minus = (optional(kelvin, self.marking.get(name)) for name in ("plus", "minus"))
        metrology = self.heater["metrology"]
        self.calibration, self.fit = (optional(kelvin, metrology.get(name)) for name in ("calibration_u", "fit_u"))
        self.step = kelvin(self.heater["heating"]["resolution"])
        self.top = celsius(self.heater["setting"]) + kelvin(self.heater["heating"]["overshoot"])
        self.ambient = optional(celsius, entry.get("ambient"))

    def of(self, kind):
        return [entry for entry in self.entries if entry["type"] == kind]

    def marks(self, what):
        return [mark["mono"] - self.zero for mark in self.of("mark") if mark["what"] == what]

    def lay_out(self):
        """The heater's clockwork, brought into step by the top temperature where it was marked, and the trips in it."""
        self.zero = next(mark["mono"] for mark in self.of("mark") if mark["what"] == "heat_on")
        ending = self.of("test_ended")[-1]
        self.how, self.end = ending["how"], ending["mono"] - self.zero
        self.tops = self.marks("at_top")
        self.readings = [(entry["mono"] - self.zero, celsius(entry["reading"])) for entry in self.of("reading_taken")]
        cycle, on = self.heater["heating"]["cycle"], 0
        self.heat_ups = []
        while on <= self.end:
            which = "again" if self.heat_ups else "cold"
            top, hold = on + cycle[f"heat_up_{which}_ms"], cycle["hold_again_ms" if self.heat_ups else "hold_first_ms"]
            top = min((at for at in self.tops if on <= at <= top + hold), default=top)
            self.heat_ups.append((on, top, top + hold))
            on = top + hold + cycle["off_ms"]
        read = {entry["trip"]: celsius(entry["reading"]) for entry in self.of("reading_taken") if "trip" in entry}
        self.trips, seen = [], set()
        for mark in (mark for mark in self.of("mark") if mark["what"] == "tripped"):
            at = mark["mono"] - self.zero
            number = sum(on <= at for on, _, _ in self.heat_ups)
            if at >= self.heat_ups[number - 1][2]:
                raise SystemExit("this script knows no trips while the heater is off")
            counts = self.procedure["not_averaged"] < number <= self.procedure["trips"] and number not in seen
            seen.add(number)
            self.trips.append({"hash": mark["hash"], "at": at, "read": read.get(mark["hash"]), "counts": counts})
        over = [number for number, (_, _, off) in enumerate(self.heat_ups[: self.procedure["trips"]], 1) if off <= self.end]
        self.missed = [number for number in over if number not in seen and number > self.procedure["not_averaged"]]


def results(test):
    test.lay_out()
    late = lateness(test)
    found = {"at_panel": at_panel(test), "restored": restored(test)}
    if test.trips:
        found.update(tripped="yes", first_at=test.trips[0]["at"])
    else:
        found.update((by_rate if test.kind in RATE else by_soak)(test))
    early = early_trip(test, late)
    if early is not None:
        found["early_confirmed"] = early
    found["outcome"] = outcome(test, found)
    found.update(limits(test, operating(test, late), early is False))
    return found


def at_panel(test):
    said = {entry["trip"]: entry["point"] for entry in test.of("panel_point")}.values()
    return next((point for point in ("wrong", "not_there", "right") if point in said), "not_checked")


def restored(test):
    """The last word on it stands before how the test ended, and that before a mark after the last trip."""
    said = [entry["restored"] for entry in test.of("restore_said")]
    if said:
        return said[-1]
    if test.how == "stays_in_alarm":
        return "no"
    marked = test.trips and any(at >= test.trips[-1]["at"] for at in test.marks("restored"))
    return "yes" if marked else "pending"


def early_trip(test, late):
    """Whether somebody said that an early trip is this detector's; None without one."""
    answers = {entry["trip"]: entry["this_detector"] for entry in test.of("early_trip_answered")}
    early = []
    for trip in test.trips:
        cold = trip["at"] <= EARLY_WITHIN_MS and test.start["detector_warmth"] == "cold"
        judged = test.kind in STEADY and test.rating is not None and trip["read"] is not None
        if cold or (judged and test.rating - (trip["read"] - (late or (0, 0))[0]) > EARLY_BELOW):
            early.append(answers.get(trip["hash"], False))
    return all(early) if early else None


def by_soak(test):
    """No alarm of a fixed element: top temperature seen, and held until the slowest element has come near enough."""
    calibration = test.calibration or 0.0
    seen = test.tops + [at for at, value in test.readings if value >= test.top - 2 * calibration]
    end = min([test.end, *test.marks("lowered")])
    soaks = []
    for on, _, off in test.heat_ups:
        at = [at for at in seen if on <= at <= min(off, end)]
        if on < end and at:
            soaks.append((on, min(at), min(off, end)))
    if not soaks:
        return undecided("top_not_seen")
    for value, why in ((test.rating, "no_rating"), (test.calibration, "calibration_unknown"), (test.fit, "fit_unknown")):
        if value is None:
            return undecided(why)
    # Of several soaks the one counts that decides, or else comes nearest.
    found = [one_soak(test, *soak) for soak in soaks]
    return min(found, key=lambda one: -1 if one["tripped"] == "no" else one.get("needed_ms", math.inf) - one.get("held_ms", 0))


def one_soak(test, on, since, until):
    target = test.rating + (PLUS_WHERE_NONE if test.plus is None else test.plus)
    top = min([test.top] + [value for at, value in test.readings if since <= at <= until])
    reach = top - 2 * (test.calibration + test.fit)
    if reach <= target:
        return undecided("not_hot_enough", reach=reach, needed=target)
    # How far the element is behind when the top is reached: all of the rise after a step, r * tau after a heat-up from cold.
    behind = max(top - (COLDEST if test.ambient is None else test.ambient), 0.0)
    if on == 0 and test.start["heater_warmth"] == "cold":
        behind = min(behind, FASTER_AT_TOP * behind / (since / 1000) * SLOWEST_ELEMENT_S)
    wait = SLOWEST_ELEMENT_S * math.log(max(behind / (reach - target), 1.0))
    held, needed = until - since, max(LEAST_SOAK_MS, test.procedure.get("soak_ms", 0), math.ceil(wait * 1000))
    if held < needed:
        return undecided("soak_too_short", held_ms=held, needed_ms=needed)
    return {"tripped": "no", "up_to": target, "held_ms": held}


def by_rate(test):
    """No alarm of a rate element: from cold and near ambient it was heated fast enough and far enough, by two readings."""
    if test.ambient is not None and test.start["detector_warmth"] == "cold":
        for begun, low in test.readings:
            for at, high in test.readings:
                fast = at > begun and high - low >= max(RATE_RISE, RATE_K_PER_S * (at - begun) / 1000)
                if fast and abs(low - test.ambient) <= NEAR_AMBIENT:
                    return {"tripped": "no", "up_to": high}
    return undecided("rate_not_shown")


def undecided(why, **numbers):
    return {"tripped": "not_decided", "not_proven": why, **numbers}


def outcome(test, found):
    """The one line: the worst of what the three results say."""
    if test.how == "mistake":
        return "mistake"
    if found["tripped"] == "no":
        return "no_alarm"
    if found["tripped"] == "not_decided":
        judged = [entry["did_not_operate"] for entry in test.of("test_judged")][-1:]
        return "did_not_operate_judged" if judged == [True] else "not_decided"
    if found.get("early_confirmed") is False:
        return "early_trip"
    if found["restored"] == "no":
        return "stays_in_alarm"
    bad = {"wrong": "wrong_point", "not_there": "not_at_panel"}.get(found["at_panel"])
    open_ends = [name for name, well in (("panel", found["at_panel"] == "right"), ("restore", found["restored"] == "yes")) if not well]
    return bad or ("_and_".join(open_ends) + "_not_verified" if open_ends else "passed")


def lateness(test):
    """What the heater rose between a trip and its tap, with its uncertainty: anything up to the fastest over lag and twice its
    uncertainty. None where nobody knows how fast the heater is: it has to come from cold and be marked at its top."""
    lag, lag_u = (test.start["indication"][name] / 1000 for name in ("lag_ms", "lag_u_ms"))
    if not lag and not lag_u:
        return 0.0, 0.0
    if not test.tops or test.ambient is None or test.start["heater_warmth"] != "cold":
        return None
    half = 2 * (test.top - test.ambient) / (test.tops[0] / 1000) * (lag + 2 * lag_u) / 2
    return half, half / math.sqrt(3)


def operating(test, late):
    """Mean of the counted trips and its uncertainty, or why there is none."""
    counted = [trip["read"] for trip in test.trips if trip["counts"]]
    if test.how in ("mistake", "heater_problem"):
        return "stopped"
    if test.missed:
        return "heat_up_without_trip"
    if not counted:
        return "no_counted_trip"
    if None in counted:
        return "not_read"
    rise, rise_u = late or (0.0, 0.0)
    n, mean = len(counted), math.fsum(counted) / len(counted) - rise
    rounding = test.step / math.sqrt(12)
    sem = stats.tstd(counted) / math.sqrt(n) if n > 1 else 0.0
    own, finite = max(sem, rounding), sem > rounding
    parts = (own, test.calibration or 0.0, test.fit or 0.0, rise_u, drift(counted, rounding))
    u = math.hypot(*parts)
    df = math.floor((u / own) ** 4 * (n - 1) * (1 + 1e-12)) if finite else math.inf
    known = {"calibration": test.calibration, "fit": test.fit, "lag": late, "spread": None if n == 1 else sem}
    unknown = [name for name, value in known.items() if value is None]
    return {"n": n, "mean": mean, "u": u, "df": df, "expanded": stats.t.ppf(0.975, df) * u, "unknown": unknown}


def drift(values, rounding):
    """What trips that still settle add: their drift as a rectangle, where its slope passes the t test."""
    n = len(values)
    if n < 3:
        return 0.0
    line = stats.linregress(range(n), values)
    sxx = n * (n * n - 1) / 12
    spread = line.stderr * math.sqrt(sxx)
    t = stats.t.ppf(0.975, n - 2 if spread > rounding else math.inf)
    still = abs(line.slope) > t * max(spread, rounding) / math.sqrt(sxx)
    return abs(line.slope) * (n - 1) / math.sqrt(12) if still else 0.0


def limits(test, mean, unanswered):
    """The operating temperature against the limits: a limit result only of a complete set-point test, by limits that apply, and never
    while nobody said whose an early trip is."""
    found, missing = {}, ["early_trip"] if unanswered else []
    if isinstance(mean, str):
        missing.append(mean)
    else:
        found = {name: mean[name] for name in ("mean", "u", "expanded")}
        if math.isfinite(mean["df"]):
            found["df"] = mean["df"]
        missing += mean["unknown"]
        if test.procedure["kind"] == "functional":
            missing.append("functional_test")
        elif mean["n"] < test.procedure["trips"] - test.procedure["not_averaged"]:
            missing.append("fewer_trips")
    if test.kind in RATE:
        return {**found, "missing": sorted(missing + ["no_set_point"])}
    if test.rating is None:
        return {**found, "missing": sorted(missing + ["no_rating"])}
    if test.kind != "rate_compensated" and test.marking["limits_from"] == "marking":
        missing.append("element_lags")
    low, high = test.rating + test.minus, test.rating + test.plus
    if not isinstance(mean, str):
        found["mean_within"] = low <= mean["mean"] <= high
    if missing:
        return {**found, "missing": sorted(missing)}
    at, u, w, share = mean["mean"], mean["u"], mean["expanded"], stats.t(mean["df"])
    p = share.sf((low - at) / u) - share.sf((high - at) / u) if at < low else share.cdf((high - at) / u) - share.cdf((low - at) / u)
    inside = min(at - low, high - at)
    zones = ((w, "Within"), (0, "Within, close to limit"), (-w, "Outside, within uncertainty"), (-math.inf, "Outside"))
    return {**found, "limit_result": next(words for least, words in zones if inside >= least), "p": min(max(p, 0.0), 1.0)}


def by_test(entries):
    """Entries by their test; what names a trip belongs to the test of that trip."""
    tests, trips = {}, {}
    for entry in entries:
        if entry["type"] == "test_started":
            tests[entry["test"]] = Test(entry)
            continue
        about = entry.get("test", entry.get("of"))
        test = trips[entry["trip"]] if entry["type"] in ("panel_point", "early_trip_answered") else tests.get(about)
        if test:
            test.entries.append(entry)
            if entry["type"] == "mark":
                trips[entry["hash"]] = test
    return tests


def check(entries):
    for entry in entries:
        heater = entry.get("heater", {})
        if entry["type"] not in KNOWN or (entry["type"] == "mark" and entry["what"] not in MARKS):
            raise SystemExit(f"this script does not know entries like {entry}")
        if heater and (heater["heating"]["cycle"]["control"] != "auto" or "profile" in heater):
            raise SystemExit("this script knows heaters that cycle by themselves only, and no profiles")
        if heater and (entry["indication"]["restores"] == "watched" or "limits" in entry["procedure"]):
            raise SystemExit("this script knows no watched restores and no limits of a procedure")
    if len({entry["session"] for entry in entries}) > 1:
        raise SystemExit("this script knows one session only")


def identified(entries):
    """Marks with their identity, the SHA-256 of their canonical text, by which others name them."""
    for entry in entries:
        if entry["type"] == "mark":
            text = json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
            entry = {**entry, "hash": hashlib.sha256(text.encode()).hexdigest()}
        yield entry


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        bundle = json.load(file)
    if bundle["v"] != 2:
        raise SystemExit("this script knows format 2 only")
    check(bundle["entries"])
    entries = list(identified(bundle["entries"]))
    start = time.perf_counter()
    found = {name: results(test) for name, test in by_test(entries).items()}
    seconds = time.perf_counter() - start
    json.dump({"python": platform.python_version(), "scipy": scipy.__version__, "seconds": seconds, "tests": found}, sys.stdout)


main()
