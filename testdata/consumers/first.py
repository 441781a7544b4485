import hashlib, pathlib, pandas

store = pathlib.Path("outputs/lantern")
version = store / (store / "LATEST").read_text().strip()
for line in (version / "SHA256SUMS").read_text().splitlines():
    want, name = line.split("  ")
    if hashlib.sha256((version / name).read_bytes()).hexdigest() != want:
        raise SystemExit(f"{name} is not what was published")

t = pandas.read_csv(version / "thresholds.csv")
t = t.query("pitch_type == 'four_seam' and variable == 'velocity' and outcome == 'whiff_rate'"
            " and reference == 'pitch_type_median' and lower_kind == 'edge'")
print(t[["hand", "side", "lower"]].to_string(header=False, index=False))
