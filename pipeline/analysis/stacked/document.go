package stacked

import (
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/stats"
)

// Body is a report as JSON.
type Body struct {
	Summary   string   `json:"summary" doc:"the whole in a sentence"`
	Caution   string   `json:"caution" doc:"what stands under every report"`
	Qualities []string `json:"qualities" doc:"qualities that were stacked"`
	Reference string   `json:"reference" doc:"the line that a good zone beats"`
	Zones     string   `json:"zones" doc:"found or possible: whether good zones run from breakpoint to breakpoint, without what lies within their limits, or as far as the limits allow"`
	Stacks    []Row    `json:"stacks"`
}

// Row is one cell and outcome.
type Row struct {
	PitchType   string       `json:"pitch_type" doc:"pitch type"`
	Hand        string       `json:"hand" doc:"hand of the pitcher"`
	Side        string       `json:"side" doc:"side of the batter"`
	Outcome     string       `json:"outcome" doc:"whiff_rate or woba_against"`
	Verdict     string       `json:"verdict" doc:"one_is_enough, each_adds, one_helps, takes_more, all_needed, only_one, no_gain, cannot_tell or too_few"`
	Sentence    string       `json:"sentence" doc:"the verdict in a sentence"`
	ByBatters   bool         `json:"by_batters" doc:"whether intervals count batters as clusters too"`
	Unknown     int64        `json:"unknown_pitches" doc:"pitches of which a quality is unknown, or lies in an open zone and no good one: in no level"`
	Good        []GoodZone   `json:"good_zones" doc:"zones that pitches were held against; a pitcher against those of the other half"`
	Open        []GoodZone   `json:"open_zones" doc:"the good zones with what lies within the limits of their breakpoints: a pitch there, and in no good zone, is in no level"`
	Levels      []Level      `json:"levels" doc:"rates by how many qualities lie in their good zones"`
	Comparisons []Comparison `json:"comparisons" doc:"levels against each other, positive is good for the pitcher"`
	Gain        *float64     `json:"gain" doc:"gain for each further quality, by a straight line; null where it cannot be fitted"`
	GainLo      *float64     `json:"gain_lo" doc:"its lower 95 % limit"`
	GainHi      *float64     `json:"gain_hi" doc:"its upper 95 % limit"`
	GainQ       *float64     `json:"gain_q" doc:"its one-sided p after Benjamini-Hochberg over the report"`
}

// GoodZone is a good zone that one half of the pitchers showed.
type GoodZone struct {
	Variable string   `json:"variable" doc:"quality of the pitch"`
	Half     int      `json:"half" doc:"1 or 2: the half of the pitchers that showed it"`
	Lo       *float64 `json:"lo" doc:"lower end; null where it has none"`
	Hi       *float64 `json:"hi" doc:"upper end; null where it has none"`
}

// Level is one number of qualities in their good zones.
type Level struct {
	Good     int      `json:"good" doc:"qualities in their good zones"`
	Pitches  int64    `json:"pitches" doc:"pitches"`
	Events   int64    `json:"events" doc:"eligible events"`
	Pitchers int64    `json:"pitchers" doc:"pitchers with an event"`
	Rate     *float64 `json:"rate" doc:"rate; null where there are too few to show one"`
	Lo       *float64 `json:"lo" doc:"its lower 95 % limit"`
	Hi       *float64 `json:"hi" doc:"its upper 95 % limit"`
}

// Comparison is one group of pitches against another.
type Comparison struct {
	Of      string   `json:"of" doc:"none (so many against none), step (against one fewer), any (one or more against none), more (two or more against one), several (two or more against none), some (one or more, not all, against none), alone (one quality only against none)"`
	Good    int      `json:"good" doc:"qualities in their good zones of the first group, 0 where the name says it"`
	Quality string   `json:"quality" doc:"the quality that stands alone, else empty"`
	Gain    *float64 `json:"gain" doc:"first group against second; null where there are too few"`
	Lo      *float64 `json:"lo" doc:"its lower 95 % limit"`
	Hi      *float64 `json:"hi" doc:"its upper 95 % limit"`
	Q       *float64 `json:"q" doc:"one-sided p after Benjamini-Hochberg over the report"`
	Verdict string   `json:"verdict" doc:"holds clearly, holds, real but small, does not hold or underpowered"`
}

// Body returns the report as it is written.
func (r *Report) Body() Body {
	b := Body{Summary: r.Summary(), Caution: r.Caution(), Qualities: r.Qualities, Reference: r.options.Reference, Zones: "found", Stacks: []Row{}}
	if r.options.Possible {
		b.Zones = "possible"
	}
	for i := range r.Stacks {
		b.Stacks = append(b.Stacks, r.Stacks[i].row(r.Qualities))
	}
	return b
}

func (s *Stack) row(qualities []string) Row {
	row := Row{PitchType: s.Cell.Type.String(), Hand: s.Cell.Hand.String(), Side: s.Cell.Side.String(), Outcome: s.Outcome().Name,
		Verdict: s.verdict, Sentence: s.Sentence(), ByBatters: s.byBatters, Unknown: s.unknown, Levels: s.Levels(), Comparisons: s.Comparisons()}
	for _, v := range s.qualities {
		q := slices.Index(qualities, v.Name)
		row.Good, row.Open = s.zones.list(row.Good, q, v.Name), s.open.list(row.Open, q, v.Name)
	}
	if s.hasTrend {
		row.Gain, row.GainLo, row.GainHi = s.trend.Columns()
		row.GainQ = answer.Null(s.trendQ)
	}
	return row
}

// list adds both halves' zones of a quality to a list.
func (z halves) list(to []GoodZone, quality int, name string) []GoodZone {
	for h := range z {
		for _, z := range z[h][quality] {
			to = append(to, GoodZone{name, h + 1, answer.Null(z.Lo), answer.Null(z.Hi)})
		}
	}
	return to
}

// Levels returns the rates by how many qualities lie in their good zones. A rate
// of too few events or pitchers is not shown.
func (s *Stack) Levels() []Level {
	var out []Level
	for _, l := range s.levels {
		v := Level{Good: l.k, Pitches: l.pitches, Events: int64(l.rate.N), Pitchers: int64(l.rate.Clusters)}
		if l.rate.N >= float64(s.Outcome().MinEvents) && l.rate.Clusters >= answer.MinPitchers {
			v.Rate, v.Lo, v.Hi = answer.Null(l.rate.Rate), answer.Null(l.rate.Lo), answer.Null(l.rate.Hi)
		}
		out = append(out, v)
	}
	return out
}

// Comparisons returns the levels against each other.
func (s *Stack) Comparisons() []Comparison {
	var out []Comparison
	for i := range s.comparisons {
		c := &s.comparisons[i]
		v := Comparison{Of: c.name, Good: c.k, Verdict: c.verdict().String()}
		if c.name == Alone {
			v.Quality = s.qualities[c.quality].Name
		}
		if c.enough() {
			v.Gain, v.Lo, v.Hi, v.Q = answer.Null(c.test.D), answer.Null(c.test.Lo), answer.Null(c.test.Hi), answer.Null(c.q)
		} else {
			v.Verdict = stats.CutoffUnderpowered.String()
		}
		out = append(out, v)
	}
	return out
}
