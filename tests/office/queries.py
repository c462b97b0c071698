"""Asks DuckDB the questions of the README and works the answers out again with Python's statistics module.

Arguments: the README, the records of many files; the records of a few, and their results table. Prints what was asked."""

import datetime
import json
import re
import statistics
import sys
from collections import defaultdict

import duckdb

readme, records, few, table = sys.argv[1:]
queries = re.findall(r"```sql\n(.*?)```", open(readme, encoding="utf-8").read(), re.S)
assert len(queries) == 3, len(queries)
answers = [duckdb.sql(query.replace("results.ndjson", records)).fetchall() for query in queries]
rows = [json.loads(line) for line in open(records, encoding="utf-8")]


def close(found, expected, within):
    """Half of the last place that a query rounds to, and of a large number what is left of a double."""
    assert abs(found - expected) <= within + 1e-6 * abs(expected), (found, expected)


# Pass rate by type.
by_type = defaultdict(list)
for row in rows:
    if row["kind"] == "position" and row["outcome"] not in ("not_tested", "visual_only", "electrical_only", "in_progress"):
        by_type[row["detector_type"]].append(row["outcome"] == "passed")
assert len(answers[0]) == len(by_type) > 0
for kind, tested, percent in answers[0]:
    all = by_type[kind]
    assert tested == len(all)
    close(percent, 100 * sum(all) / len(all), 0.051)

# Drift by detector: one that was replaced starts anew.
by_detector, by_heater = defaultdict(list), defaultdict(list)
tags = {}
for row in rows:
    read = row["kind"] == "test" and row["role"] == "as_found" and "operating" in row
    if read and "estimated" not in row["operating"]:
        mean = row["operating"]["mean_c"]
        years = datetime.datetime.fromisoformat(row["started"]).timestamp() / 31557600
        key = (row["position"], row["detector"])
        by_detector[key].append((years, mean))
        tags[key] = (row["site_name"], row["tag"])
        by_heater[(row["detector_type"], row["heater_name"])].append((mean, row.get("marked_c")))
slopes = {
    key: (len(all), statistics.linear_regression(*zip(*all)).slope) for key, all in by_detector.items() if len(all) >= 3
}
assert len({position for position, _ in slopes}) < len(slopes), "no position has had two detectors"
drift = answers[1]
assert len(drift) == min(len(slopes), 20) > 0
for site, tag, count, slope in drift:
    same = [key for key in slopes if tags[key] == (site, tag) and slopes[key][0] == count]
    assert any(abs(slopes[key][1] - slope) <= 0.0051 + 1e-6 * abs(slope) for key in same), (tag, slope)

# Heaters that differ.
heaters = {}
for key, all in by_heater.items():
    if len(all) >= 5:
        above = [mean - marked for mean, marked in all if marked is not None]
        heaters[key] = (len(all), statistics.fmean(above), statistics.stdev(above) / len(all) ** 0.5)
assert len(answers[2]) == len(heaters) > 0
for kind, heater, count, above, error in answers[2]:
    expected = heaters[(kind, heater)]
    assert count == expected[0]
    close(above, expected[1], 0.0051)
    close(error, expected[2], 0.0051)

# The flat table: every cell by its own reader, against the records.
found = duckdb.sql(f"SELECT * FROM read_csv('{table}', sample_size = -1)").fetchall()
names = [column[0] for column in duckdb.sql(f"SELECT * FROM read_csv('{table}', sample_size = -1)").description]
lines = [dict(zip(names, line)) for line in found]
told = [row for row in map(json.loads, open(few, encoding="utf-8")) if row["kind"] in ("position", "test")]
assert len(lines) == len(told), (len(lines), len(told))
for line, row in zip(lines, told):
    assert (line["row"], line["outcome"]) == (row["kind"], row["outcome"]), (line, row)
    operating = row.get("operating", {})
    assert line["operating_temperature"] == operating.get("mean_c"), (line, row)
    assert line["expanded_uncertainty"] == operating.get("expanded_k"), (line, row)
print(json.dumps({"duckdb": duckdb.__version__, "records": len(rows), "answers": [len(answer) for answer in answers]}))
