package demo

import (
	"fmt"
	"math"
	"strconv"

	"sill/pipeline/pitch"
)

// opening is a row as the league's provider wrote it in the first months:
// lengths in feet, angles in degrees, sideways numbers positive to the
// catcher's right. A nil pointer is a missing value.
type opening struct {
	GameDay        string   `parquet:"game_day,dict,zstd"`
	GameCode       string   `parquet:"game_code,dict,zstd"`
	GameKind       string   `parquet:"game_kind,dict,zstd"`
	Ground         string   `parquet:"ground,dict,zstd"`
	Host           string   `parquet:"host_club,dict,zstd"`
	Guest          string   `parquet:"guest_club,dict,zstd"`
	Inning         int32    `parquet:"inning,dict,zstd"`
	InningHalf     string   `parquet:"inning_half,dict,zstd"`
	Turn           int32    `parquet:"turn_at_bat,zstd"`
	PitchInTurn    int32    `parquet:"pitch_in_turn,dict,zstd"`
	Outs           int32    `parquet:"outs_before,dict,zstd"`
	Balls          int32    `parquet:"balls_before,dict,zstd"`
	Strikes        int32    `parquet:"strikes_before,dict,zstd"`
	RunnersOn      int32    `parquet:"runners_on,dict,zstd"`
	BattingLead    int32    `parquet:"batting_lead,dict,zstd"`
	Thrower        string   `parquet:"thrower_code,dict,zstd"`
	ThrowingArm    *string  `parquet:"throwing_arm,optional,dict,zstd"`
	ThrowerHeight  *float64 `parquet:"thrower_height,optional,dict,zstd"`
	FielderOnMound bool     `parquet:"fielder_on_mound,zstd"`
	Striker        string   `parquet:"striker_code,dict,zstd"`
	Stance         string   `parquet:"stance,dict,zstd"`
	Delivery       *string  `parquet:"delivery,optional,dict,zstd"`
	Call           string   `parquet:"umpire_call,dict,zstd"`
	TurnResult     string   `parquet:"turn_result,dict,zstd"`
	Bunted         bool     `parquet:"bunted,zstd"`
	HandSpeed      *float64 `parquet:"hand_speed,optional,dict,zstd"`
	Lift           *float64 `parquet:"lift,optional,dict,zstd"`
	Sway           *float64 `parquet:"sway,optional,dict,zstd"`
	DownwardSlope  *float64 `parquet:"entry_slope,optional,dict,zstd"`
	SidewaysSlope  *float64 `parquet:"entry_drift,optional,dict,zstd"`
	HandHeight     *float64 `parquet:"hand_height,optional,dict,zstd"`
	HandOffset     *float64 `parquet:"hand_offset,optional,dict,zstd"`
	Reach          *float64 `parquet:"reach,optional,dict,zstd"`
	Turns          *float64 `parquet:"turns_a_minute,optional,dict,zstd"`
	TurnTilt       *float64 `parquet:"turning_tilt,optional,dict,zstd"`
	ArmSlope       *float64 `parquet:"arm_slope,optional,dict,zstd"`
	CrossingHeight *float64 `parquet:"crossing_height,optional,dict,zstd"`
	CrossingOffset *float64 `parquet:"crossing_offset,optional,dict,zstd"`
	ZoneCeiling    float64  `parquet:"zone_ceiling,dict,zstd"`
	ZoneFloor      float64  `parquet:"zone_floor,dict,zstd"`
	StartOffset    *float64 `parquet:"start_offset,optional,zstd"`
	StartHeight    *float64 `parquet:"start_height,optional,zstd"`
	DriftSpeed     *float64 `parquet:"drift_speed,optional,zstd"`
	ForwardSpeed   *float64 `parquet:"forward_speed,optional,zstd"`
	ClimbSpeed     *float64 `parquet:"climb_speed,optional,zstd"`
	DriftGain      *float64 `parquet:"drift_gain,optional,zstd"`
	ForwardGain    *float64 `parquet:"forward_gain,optional,zstd"`
	ClimbGain      *float64 `parquet:"climb_gain,optional,zstd"`
}

// closing is the same row from the season's second half on, after the provider
// changed its files: umpire_call became umpire.call, turn_at_bat became
// batting_turn, turns are whole numbers, the zone's floor is text, and the arm's slope
// is gone.
type closing struct {
	GameCode       string   `parquet:"game_code,dict,zstd"`
	GameDay        string   `parquet:"game_day,dict,zstd"`
	GameKind       string   `parquet:"game_kind,dict,zstd"`
	Ground         string   `parquet:"ground,dict,zstd"`
	Host           string   `parquet:"host_club,dict,zstd"`
	Guest          string   `parquet:"guest_club,dict,zstd"`
	Thrower        string   `parquet:"thrower_code,dict,zstd"`
	Striker        string   `parquet:"striker_code,dict,zstd"`
	ThrowingArm    *string  `parquet:"throwing_arm,optional,dict,zstd"`
	Stance         string   `parquet:"stance,dict,zstd"`
	ThrowerHeight  *float64 `parquet:"thrower_height,optional,dict,zstd"`
	FielderOnMound bool     `parquet:"fielder_on_mound,zstd"`
	Inning         int64    `parquet:"inning,dict,zstd"`
	InningHalf     string   `parquet:"inning_half,dict,zstd"`
	Turn           int64    `parquet:"batting_turn,zstd"`
	PitchInTurn    int64    `parquet:"pitch_in_turn,dict,zstd"`
	Outs           int64    `parquet:"outs_before,dict,zstd"`
	Balls          int64    `parquet:"balls_before,dict,zstd"`
	Strikes        int64    `parquet:"strikes_before,dict,zstd"`
	RunnersOn      int64    `parquet:"runners_on,dict,zstd"`
	BattingLead    int64    `parquet:"batting_lead,dict,zstd"`
	Delivery       *string  `parquet:"delivery,optional,dict,zstd"`
	Call           string   `parquet:"umpire.call,dict,zstd"`
	TurnResult     string   `parquet:"turn_result,dict,zstd"`
	Bunted         bool     `parquet:"bunted,zstd"`
	HandSpeed      *float64 `parquet:"hand_speed,optional,dict,zstd"`
	Lift           *float64 `parquet:"lift,optional,dict,zstd"`
	Sway           *float64 `parquet:"sway,optional,dict,zstd"`
	DownwardSlope  *float64 `parquet:"entry_slope,optional,dict,zstd"`
	SidewaysSlope  *float64 `parquet:"entry_drift,optional,dict,zstd"`
	HandHeight     *float64 `parquet:"hand_height,optional,dict,zstd"`
	HandOffset     *float64 `parquet:"hand_offset,optional,dict,zstd"`
	Reach          *float64 `parquet:"reach,optional,dict,zstd"`
	Turns          *int32   `parquet:"turns_a_minute,optional,dict,zstd"`
	TurnTilt       *float64 `parquet:"turning_tilt,optional,dict,zstd"`
	CrossingHeight *float64 `parquet:"crossing_height,optional,dict,zstd"`
	CrossingOffset *float64 `parquet:"crossing_offset,optional,dict,zstd"`
	ZoneCeiling    float64  `parquet:"zone_ceiling,dict,zstd"`
	ZoneFloor      string   `parquet:"zone_floor,dict,zstd"`
	StartOffset    *float64 `parquet:"start_offset,optional,zstd"`
	StartHeight    *float64 `parquet:"start_height,optional,zstd"`
	DriftSpeed     *float64 `parquet:"drift_speed,optional,zstd"`
	ForwardSpeed   *float64 `parquet:"forward_speed,optional,zstd"`
	ClimbSpeed     *float64 `parquet:"climb_speed,optional,zstd"`
	DriftGain      *float64 `parquet:"drift_gain,optional,zstd"`
	ForwardGain    *float64 `parquet:"forward_gain,optional,zstd"`
	ClimbGain      *float64 `parquet:"climb_gain,optional,zstd"`
}

// word is the provider's word for a canonical one.
type word struct{ from, to string }

// declared is the name of a pitch type that is not common to all sources.
const declared = "eephus"

// The provider's words. The profile lists them; the rows use them.
var (
	armWords    = []word{{"left arm", "left"}, {"right arm", "right"}}
	stanceWords = []word{{"left", "left"}, {"right", "right"}, {"either", "switch"}}
	halfWords   = []word{{"upper", "1"}, {"lower", "2"}}
	kindWords   = []word{{"league game", "regular"}, {"spring game", "spring"}, {"exhibition", "exhibition"}}
	typeWords   = []word{
		{"riding fastball", "four_seam"}, {"running fastball", "sinker"}, {"cutting fastball", "cutter"},
		{"hard breaker", "slider"}, {"wide breaker", "sweeper"}, {"drop breaker", "curveball"},
		{"slow change", "changeup"}, {"forked change", "splitter"}, {"lob", declared},
	}
	callWords = []word{
		{"ball", "ball"}, {"strike taken", "called_strike"}, {"strike missed", "swinging_strike"},
		{"fouled off", "foul"}, {"fouled into the mitt", "foul_tip"}, {"put in play", "in_play"},
		{"struck the batter", "hit_by_pitch"}, {"bunt fouled", "bunt_fouled"}, {"bunt missed", "bunt_missed"},
		{"bunt into the mitt", "bunt_tipped"}, {"ball on purpose", "intentional_ball"},
		{"thrown wide", "pitchout"}, {"thrown wide, missed", "pitchout_missed"},
		{"ball by the clock", "automatic_ball"}, {"strike by the clock", "automatic_strike"},
		{"nothing thrown", "no_pitch"},
	}
	resultWords = []word{
		{"struck out", "strikeout"}, {"struck out, runner out", "strikeout + double_play"},
		{"walked", "walk"}, {"walked on purpose", "walk + intentional"}, {"struck by pitch", "hit_by_pitch"},
		{"one base hit", "single"}, {"two base hit", "double"}, {"three base hit", "triple"}, {"home run", "home_run"},
		{"put out", "out"}, {runnerForced, "fielders_choice"}, {"two put out", "out + double_play"},
		{"three put out", "out + triple_play"}, {allSafe, "fielders_choice"},
		{runnerOut, "fielders_choice"}, {"safe on error", "reached_on_error"},
		{"fly sacrifice", "sacrifice_fly"}, {"fly sacrifice, two out", "sacrifice_fly + double_play"},
		{"bunt sacrifice", "sacrifice_bunt"}, {"bunt sacrifice, two out", "sacrifice_bunt + double_play"},
		{"hindered by catcher", "catcher_interference"}, {"turn cut short", "not_appearance"},
	}
)

// The provider tells three fielder's choices apart.
const (
	runnerForced = "runner forced"
	runnerOut    = "runner out by choice"
	allSafe      = "all safe by choice"
)

// resultOf is the provider's word for how a plate appearance ended, by its last row.
func (p *provider) resultOf(last *Thrown) string {
	switch first := int(last.Num[pitch.Bases])&1 != 0; {
	case last.Result != pitch.FieldersChoice:
		return *p.res[last.Result.String()]
	case last.Out == 0:
		return allSafe
	case first:
		return runnerForced
	}
	return runnerOut
}

// toProvider inverts a list of words.
func toProvider(words []word) map[string]*string {
	m := make(map[string]*string, len(words))
	for i := range words {
		m[words[i].to] = &words[i].from
	}
	return m
}

// provider writes rows as the league's provider does.
type provider struct {
	s                                               *Scenario
	arms, stances, halves, kinds, types, calls, res map[string]*string
	floats                                          []float64           // pointed into by rows, never grown in place
	codes                                           map[[2]int32]string // by season and game
	days                                            map[int32]string
}

func newProvider(s *Scenario) *provider {
	return &provider{s: s, arms: toProvider(armWords), stances: toProvider(stanceWords), halves: toProvider(halfWords),
		kinds: toProvider(kindWords), types: toProvider(typeWords), calls: toProvider(callWords),
		res: toProvider(resultWords), codes: map[[2]int32]string{}, days: map[int32]string{}}
}

// number returns a pointer to v rounded to a step of 1/perUnit, nil where it is
// missing; perUnit 0 does not round.
func (p *provider) number(v, perUnit float64) *float64 {
	if pitch.IsMissing(v) {
		return nil
	}
	if perUnit > 0 {
		v = math.Round(v*perUnit) / perUnit
	}
	if len(p.floats) == cap(p.floats) {
		p.floats = make([]float64, 0, 4096)
	}
	p.floats = append(p.floats, v)
	return &p.floats[len(p.floats)-1]
}

func gameCode(s *Scenario, season int, game int32) string {
	return fmt.Sprintf("%s-%d-%05d", s.Name, season, game)
}

// row turns a pitch into the provider's first form. The result is that of the plate
// appearance, which its last row tells, repeated on each of its rows.
func (p *provider) row(t, last *Thrown) opening {
	n := &t.Num
	arm := t.Hand.ArmSide()
	stance := t.Side.String()
	if t.Blemish == StanceUnread {
		stance = "switch"
	}
	day, ok := p.days[t.Day]
	if !ok {
		day = date(t.Day).Format("2006/01/02")
		p.days[t.Day] = day
	}
	game := [2]int32{int32(t.Season), t.Game}
	code, ok := p.codes[game]
	if !ok {
		code = gameCode(p.s, t.Season, t.Game)
		p.codes[game] = code
	}
	r := opening{
		GameDay: day, GameCode: code, GameKind: *p.kinds[gameKinds[t.Kind]],
		Ground: p.s.Clubs[t.Home] + " Field", Host: p.s.Clubs[t.Home], Guest: p.s.Clubs[t.Away],
		Inning: int32(n[pitch.Inning]), InningHalf: halfWords[int(n[pitch.Half])-1].from,
		Turn: int32(n[pitch.PlateAppearance]), PitchInTurn: int32(n[pitch.PitchNumber]),
		Outs: int32(n[pitch.OutsBefore]), Balls: int32(n[pitch.BallsBefore]), Strikes: int32(n[pitch.StrikesBefore]),
		RunnersOn: int32(n[pitch.Bases]), BattingLead: int32(n[pitch.ScoreDifference]),
		Thrower: ID(t.Pitcher), ThrowingArm: p.arms[t.Hand.String()],
		ThrowerHeight:  p.number(n[pitch.PitcherHeight], 100),
		FielderOnMound: t.Fielder, Striker: ID(t.Batter), Stance: *p.stances[stance],
		Delivery: p.types[t.Type.String()], Call: *p.calls[t.Outcome.String()], TurnResult: p.resultOf(last),
		Bunted:      t.Bunt,
		ZoneCeiling: math.Round(n[pitch.ZoneTop]*100) / 100, ZoneFloor: math.Round(n[pitch.ZoneBottom]*100) / 100,
	}
	switch t.Blemish {
	case Handless:
		r.ThrowingArm = nil
	case Untyped:
		r.Delivery = nil
	}
	if t.Blemish == Untracked || pitch.IsMissing(n[pitch.Velocity]) {
		return r
	}
	r.HandSpeed = p.number(n[pitch.Velocity]*mph, 100)
	r.Lift = p.number(n[pitch.InducedVerticalBreak]/12, 1000)
	r.Sway = p.number(arm*n[pitch.HorizontalBreak]/12, 1000)
	r.DownwardSlope = p.number(n[pitch.VerticalApproachAngle], 100)
	r.SidewaysSlope = p.number(arm*n[pitch.HorizontalApproachAngle], 100)
	r.HandHeight = p.number(n[pitch.ReleaseHeight], 100)
	r.HandOffset = p.number(arm*n[pitch.ReleaseSide], 100)
	r.Reach = p.number(n[pitch.Extension], 100)
	r.Turns = p.number(n[pitch.SpinRate], 1)
	r.TurnTilt = p.number(n[pitch.SpinAxis], 1)
	r.ArmSlope = p.number(n[pitch.ArmAngle], 10)
	r.CrossingHeight = p.number(n[pitch.PlateHeight], 100)
	r.CrossingOffset = p.number(arm*n[pitch.PlateSide], 100)
	r.StartOffset = p.number(n[pitch.PositionX], 0)
	r.StartHeight = p.number(n[pitch.PositionZ], 0)
	r.DriftSpeed = p.number(n[pitch.VelocityX], 0)
	r.ForwardSpeed = p.number(n[pitch.VelocityY], 0)
	r.ClimbSpeed = p.number(n[pitch.VelocityZ], 0)
	r.DriftGain = p.number(n[pitch.AccelerationX], 0)
	r.ForwardGain = p.number(n[pitch.AccelerationY], 0)
	r.ClimbGain = p.number(n[pitch.AccelerationZ], 0)
	switch t.Blemish {
	case TooFast:
		r.HandSpeed = p.number(400, 0)
	case NotANumber:
		*r.HandSpeed = math.NaN()
	case Endless:
		r.Lift = p.number(math.Inf(1), 0)
	}
	return r
}

// gameKinds are the canonical-like words of GameKind.
var gameKinds = [...]string{"regular", "spring", "exhibition"}

// contradicted is the second row of a conflicting pair.
func (p *provider) contradicted(r opening) opening {
	r.Call = *p.calls["ball"]
	if r.HandSpeed != nil {
		r.HandSpeed = p.number(*r.HandSpeed+3, 0)
	}
	return r
}

// later turns a row into the provider's second form.
func later(r opening) closing {
	c := closing{
		GameCode: r.GameCode, GameDay: r.GameDay, GameKind: r.GameKind, Ground: r.Ground, Host: r.Host, Guest: r.Guest,
		Thrower: r.Thrower, Striker: r.Striker,
		ThrowingArm: r.ThrowingArm, Stance: r.Stance, ThrowerHeight: r.ThrowerHeight, FielderOnMound: r.FielderOnMound,
		Inning: int64(r.Inning), InningHalf: r.InningHalf, Turn: int64(r.Turn), PitchInTurn: int64(r.PitchInTurn),
		Outs: int64(r.Outs), Balls: int64(r.Balls), Strikes: int64(r.Strikes),
		RunnersOn: int64(r.RunnersOn), BattingLead: int64(r.BattingLead),
		Delivery: r.Delivery, Call: r.Call, TurnResult: r.TurnResult, Bunted: r.Bunted,
		HandSpeed: r.HandSpeed, Lift: r.Lift, Sway: r.Sway, DownwardSlope: r.DownwardSlope, SidewaysSlope: r.SidewaysSlope,
		HandHeight: r.HandHeight, HandOffset: r.HandOffset, Reach: r.Reach, TurnTilt: r.TurnTilt,
		CrossingHeight: r.CrossingHeight, CrossingOffset: r.CrossingOffset,
		ZoneCeiling: r.ZoneCeiling, ZoneFloor: strconv.FormatFloat(r.ZoneFloor, 'f', 2, 64),
		StartOffset: r.StartOffset, StartHeight: r.StartHeight,
		DriftSpeed: r.DriftSpeed, ForwardSpeed: r.ForwardSpeed, ClimbSpeed: r.ClimbSpeed,
		DriftGain: r.DriftGain, ForwardGain: r.ForwardGain, ClimbGain: r.ClimbGain,
	}
	if r.Turns != nil {
		n := int32(*r.Turns)
		c.Turns = &n
	}
	return c
}
