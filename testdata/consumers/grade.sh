#!/bin/sh
# Grades pitches with jq, from a version's JSON: grade.sh STORE PITCHES [VERSION]
set -eu
export LC_ALL=C
pitches=$(realpath "$2")
cd "$1"

# Which version: the log alone tells. The one asked for, else the newest of major 1.
entry=$(jq -se --arg want "${3-}" '
  map(select(.action == "retract").version) as $retracted
  | map(select(.action == "publish" and ([.version] - $retracted != []))
        | .number = (.version[1:] / "." | map(tonumber))
        | select(if $want == "" then .number[0] == 1 else .version == $want end))
  | max_by(.number) // error("no such version")' _log/*.json)
cd "$(printf %s "$entry" | jq -r .version)"

# Verify: the log vouches for the manifest, the manifest for every other file.
printf %s "$entry" | jq -r '.manifest_sha256 + "  manifest.json"' | sha256sum --check --quiet --strict
jq -r 'if .schema_version | startswith("1.") then .outputs[] | .sha256 + "  " + .path
  else error("unknown schema") end' manifest.json | sha256sum --check --quiet --strict

# Grade.
head -n 1 "$pitches" | sed 's/$/,verdict,position,nearest,distance,rate,lo,hi,thin/'
jq -nr --rawfile pitches "$pitches" --slurpfile verdicts verdicts.json --slurpfile zones zones.json \
  --slurpfile stretches stretches.json --slurpfile curves curves.json --slurpfile bins bins.json '
  def rows: .[0].rows | map(select(.stratum == ""));
  def cell: [.hand, .side, .pitch_type, .variable, .outcome] | join(",");
  def key: cell + "," + .reference;
  def by(f): group_by(f) | INDEX(.[0] | f);
  ($verdicts | rows | INDEX(key)) as $verdict | ($zones | rows | by(key)) as $zone
  | ($stretches | rows | by(key)) as $stretch
  | ($curves | rows | by(key)) as $curve | ($curves | rows | by(cell)) as $seen | ($bins | rows | by(cell)) as $bin
  | $pitches | split("\n")[1:][] | select(. != "") | split(",") as $p
  | ($p[:5] | join(",")) as $cell | ($p[:6] | join(",")) as $key | ($p[6] | tonumber) as $x
  | ($zone[$key] // []) as $z
  | ($verdict[$key].verdict // if $z == [] then "" else "found" end) as $v
  # The range observed is that of the cell, whatever the line; of both outcomes at once, the first one.
  | ($seen[$cell] // $seen[$cell | sub("joint$"; "whiff_rate")] // [] | map(.x) | [min, max]) as [$from, $to]
  | ($from != null and $x >= $from and $x <= $to) as $observed
  | ($stretch[$key] // [] | map(select($x >= .lo and $x <= .hi)) | .[0].sign) as $sign
  | (if $v == "" or $v == "too_few" or $v == "inconclusive" then "no_threshold"
     elif $observed | not then "beyond_data"
     elif $sign != null then if $sign > 0 then "inside" else "outside" end
     elif $z != [] then "unresolved"
     else {always_beats: "inside", never_beats: "outside"}[$v] // "unresolved" end) as $position
  | ([$z[] | (select(.lower_kind == "edge").lower), (select(.upper_kind == "edge").upper)]
     | min_by([(. - $x | fabs), .])) as $nearest
  | ($curve[$key] // []) as $c
  | (if $observed and $c != [] then
       ($c | map(select(.x <= $x)) | max_by(.x)) as $a | ($c | map(select(.x >= $x)) | min_by(.x)) as $b
       | (if $a.x == $b.x then 0 else ($x - $a.x) / ($b.x - $a.x) end) as $u
       | ["rate", "lo", "hi"] | map((1 - $u) * $a[.] + $u * $b[.])
     else [null, null, null] end) as $rate
  | (any($bin[$cell] // [] | .[]; .thin and .kind != "missing"
       and (.lower == null or $x >= .lower) and (.upper == null or $x < .upper))) as $thin
  | $p[:6] + [$x, $v, $position, $nearest, (if $nearest == null then null else $x - $nearest end)] + $rate
    + [if $thin then "thin" else "" end] | @tsv' |
  awk -F '\t' -v OFS=, '
    function fixed(i, decimals) { if ($i != "") $i = sprintf("%." decimals "f", $i) }
    { fixed(7, 2); fixed(10, 2); fixed(11, 2); fixed(12, 4); fixed(13, 4); fixed(14, 4); $1 = $1; print }'
