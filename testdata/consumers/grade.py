#!/usr/bin/python3
"""Grades pitches with pandas, from a version's CSV: grade.py STORE PITCHES [VERSION]"""
import hashlib
import json
import math
import pathlib
import sys

import pandas as pd


def choose(store, want):
    """Which version: the log alone tells. The one asked for, else the newest of major 1."""
    published, retracted = {}, set()
    for file in sorted((store / "_log").glob("*.json")):
        entry = json.loads(file.read_text())
        if entry["action"] == "publish":
            published[entry["version"]] = entry["manifest_sha256"]
        elif entry["action"] == "retract":
            retracted.add(entry["version"])
    number = lambda version: tuple(int(n) for n in version[1:].split("."))
    names = [v for v in published if v not in retracted and (v == want if want else number(v)[0] == 1)]
    if not names:
        sys.exit("no such version")
    version = max(names, key=number)
    return store / version, published[version]


def verify(folder, manifest_sum):
    """The log vouches for the manifest, the manifest for every other file."""
    manifest = json.loads(checked(folder / "manifest.json", manifest_sum))
    if not manifest["schema_version"].startswith("1."):
        sys.exit("unknown schema")
    for output in manifest["outputs"]:
        checked(folder / output["path"], output["sha256"])


def checked(file, want):
    content = file.read_bytes()
    if hashlib.sha256(content).hexdigest() != want:
        sys.exit(f"{file} is not what was published")
    return content


def read(file):
    """Texts stay texts, numbers are read to the last bit, empty numbers are NaN."""
    rows = pd.read_csv(file, float_precision="round_trip", keep_default_na=False, na_values={c: [""] for c in NUMBERS})
    return rows[rows["stratum"] == ""] if "stratum" in rows else rows


NUMBERS = ["lower", "upper", "x", "rate", "lo", "hi"]
CELL = ["hand", "side", "pitch_type", "variable", "outcome"]
KEY = CELL + ["reference"]


def of(rows, columns, values):
    """The rows whose columns hold the values."""
    for c in columns:
        rows = rows[rows[c] == values[c]]
    return rows


def observed(t, p):
    """The range is that of the cell, whatever the line; of both outcomes at once, the first one."""
    cell = p | {"outcome": "whiff_rate"} if p["outcome"] == "joint" else p
    points = of(t["curves"], CELL, cell)["x"]
    return len(points) > 0 and points.min() <= p["x"] <= points.max()


def place(verdict, zones, stretches, seen, x):
    """On a certain stretch, else unresolved; with no zone at all as the verdict says."""
    if verdict in ("", "too_few", "inconclusive"):
        return "no_threshold"
    if not seen:
        return "beyond_data"
    for s in stretches.itertuples():
        if s.lo <= x <= s.hi:
            return "inside" if s.sign > 0 else "outside"
    if len(zones):
        return "unresolved"
    return {"always_beats": "inside", "never_beats": "outside"}.get(verdict, "unresolved")


def interpolate(points, x):
    """The rate with its limits, between the two points around x."""
    a, b = points[points["x"] <= x].iloc[-1], points[points["x"] >= x].iloc[0]
    u = 0 if a.x == b.x else (x - a.x) / (b.x - a.x)
    return [(1 - u) * a[c] + u * b[c] for c in ("rate", "lo", "hi")]


def grade(t, p):
    x, zones = p["x"], of(t["zones"], KEY, p)
    verdicts, points = of(t["verdicts"], KEY, p), of(t["curves"], KEY, p)
    verdict = verdicts["verdict"].iloc[0] if len(verdicts) else "found" if len(zones) else ""
    seen = observed(t, p)
    edges = [*zones.loc[zones["lower_kind"] == "edge", "lower"], *zones.loc[zones["upper_kind"] == "edge", "upper"]]
    nearest = min(edges, key=lambda e: (abs(x - e), e), default=math.nan)
    rate = interpolate(points, x) if seen and len(points) else [math.nan] * 3
    bins = of(t["bins"], CELL, p)
    thin = bins[bins["thin"] & (bins["kind"] != "missing") & ~(bins["lower"] > x) & ~(bins["upper"] <= x)]
    return [verdict, place(verdict, zones, of(t["stretches"], KEY, p), seen, x), fixed(nearest, 2), fixed(x - nearest, 2),
            *[fixed(r, 4) for r in rate], "thin" if len(thin) else ""]


def fixed(number, decimals):
    return "" if math.isnan(number) else f"{number:.{decimals}f}"


def main():
    folder, manifest_sum = choose(pathlib.Path(sys.argv[1]), sys.argv[3] if len(sys.argv) > 3 else "")
    verify(folder, manifest_sum)
    t = {name: read(folder / f"{name}.csv") for name in ("verdicts", "zones", "stretches", "curves", "bins")}
    pitches = read(sys.argv[2])
    print(",".join([*pitches.columns, "verdict,position,nearest,distance,rate,lo,hi,thin"]))
    for p in pitches.to_dict("records"):
        print(",".join([*[p[c] for c in KEY], fixed(p["x"], 2), *grade(t, p)]))


main()
