cd outputs/lantern/"$(cat outputs/lantern/LATEST)"
sha256sum --check --quiet SHA256SUMS || exit
jq -r '.rows[] | select(.pitch_type == "four_seam" and .variable == "velocity" and .outcome == "whiff_rate"
  and .reference == "pitch_type_median" and .lower_kind == "edge") | "\(.hand) \(.side) \(.lower)"' thresholds.json
