package demo

import (
	"fmt"
	"strings"
)

// profileYAML is the source profile of the league's files.
func profileYAML(s *Scenario) []byte {
	var b strings.Builder
	say := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	say("# Source profile of the %s: how its files map to canonical columns.", s.Title)
	say("name: %s", s.Title)
	say("result_on: every_pitch")
	say("switch_side: opposite_hand")
	say("pitchers_bat: never")
	say("speed_at: release")
	say("movement_from: release")
	say("pitch_types: [%s]", declared)
	say("exclude_pitchers:")
	say("  position_players: true")
	say("columns:")
	plain := func(name, column string) { say("  %s: {column: %s}", name, column) }
	words := func(name, column string, list []word) {
		say("  %s:", name)
		if first, second, ok := strings.Cut(column, "|"); ok {
			say("    first_of: [%s, %s]", first, second)
		} else {
			say("    column: %s", column)
		}
		say("    values:")
		for _, w := range list {
			to := fmt.Sprintf("%q", w.to)
			if name == "half" {
				to = w.to
			} else if strings.Contains(w.to, " + ") {
				to = "[" + strings.ReplaceAll(w.to, " + ", ", ") + "]"
			}
			say("      - {from: %q, to: %s}", w.from, to)
		}
	}
	unit := func(name, column, unit string) { say("  %s: {column: %s, unit: %q}", name, column, unit) }
	lateral := func(name, column, unit string) {
		say("  %s: {column: %s, unit: %q, positive: catcher_right}", name, column, unit)
	}
	plain("season", "season")
	say("  date: {column: game_day, format: year/month/day}")
	plain("game", "game_code")
	words("game_type", "game_kind", kindWords)
	plain("venue", "ground")
	plain("home_club", "host_club")
	plain("away_club", "guest_club")
	plain("inning", "inning")
	words("half", "inning_half", halfWords)
	say("  plate_appearance: {first_of: [turn_at_bat, batting_turn]}")
	plain("pitch_number", "pitch_in_turn")
	plain("outs", "outs_before")
	plain("balls", "balls_before")
	plain("strikes", "strikes_before")
	plain("bases", "runners_on")
	plain("score_difference", "batting_lead")
	plain("pitcher", "thrower_code")
	words("hand", "throwing_arm", armWords)
	unit("pitcher_height", "thrower_height", "ft")
	plain("position_player", "fielder_on_mound")
	plain("batter", "striker_code")
	words("side", "stance", stanceWords)
	words("pitch_type", "delivery", typeWords)
	words("outcome", "umpire_call|umpire.call", callWords)
	words("result", "turn_result", resultWords)
	plain("bunt", "bunted")
	unit("velocity", "hand_speed", "ft/s")
	unit("induced_vertical_break", "lift", "ft")
	lateral("horizontal_break", "sway", "ft")
	unit("vertical_approach_angle", "entry_slope", "deg")
	lateral("horizontal_approach_angle", "entry_drift", "deg")
	unit("release_height", "hand_height", "ft")
	lateral("release_side", "hand_offset", "ft")
	unit("extension", "reach", "ft")
	unit("spin_rate", "turns_a_minute", "rpm")
	unit("spin_axis", "turning_tilt", "deg")
	unit("arm_angle", "arm_slope", "deg")
	unit("plate_height", "crossing_height", "ft")
	lateral("plate_side", "crossing_offset", "ft")
	unit("zone_top", "zone_ceiling", "ft")
	unit("zone_bottom", "zone_floor", "ft")
	lateral("position_x", "start_offset", "ft")
	say("  position_y: {constant: %g, unit: ft}", referenceY)
	unit("position_z", "start_height", "ft")
	lateral("velocity_x", "drift_speed", "ft/s")
	unit("velocity_y", "forward_speed", "ft/s")
	unit("velocity_z", "climb_speed", "ft/s")
	lateral("acceleration_x", "drift_gain", "ft/s²")
	unit("acceleration_y", "forward_gain", "ft/s²")
	unit("acceleration_z", "climb_gain", "ft/s²")
	return []byte(b.String())
}

// runYAML is a run configuration for the league's files; paths are relative to
// the file.
func runYAML(s *Scenario) []byte {
	return fmt.Appendf(nil, `# Run configuration of the %s; every setting left out keeps its default.
league: %s
inputs: ["."]
profile: profile.yaml
`, s.Title, s.Name)
}
