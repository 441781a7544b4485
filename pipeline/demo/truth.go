package demo

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Truth is what is known of an invented league.
//
// Planted breakpoints are where the effects on one pitch turn; zones are the
// estimand, where E[outcome | quality] crosses a line. The two differ, since
// qualities travel together and pitchers who throw harder are others than
// those who do not.
type Truth struct {
	League    string  `json:"league"`
	Title     string  `json:"title"`
	Structure string  `json:"structure"` // identifies the scenario
	Planted   []Plant `json:"planted"`
	// PitcherSpread, RepertoireSpread and BatterSpread are standard deviations
	// of random effects on the logit of a whiff.
	PitcherSpread    float64 `json:"pitcher_spread"`
	RepertoireSpread float64 `json:"repertoire_spread"`
	BatterSpread     float64 `json:"batter_spread"`
	// Population is how the estimand was measured; nil where it was not.
	Population *Measured   `json:"population"`
	Lines      []TrueLine  `json:"lines"`
	Zones      []TrueZones `json:"zones"`
}

// Plant is one planted effect; see Effect.
type Plant struct {
	Type        string    `json:"pitch_type"`
	Matchups    []string  `json:"matchups"`
	Variable    string    `json:"variable"`
	Outcome     string    `json:"outcome"`
	Form        string    `json:"form"`
	At          float64   `json:"at"`
	Spread      float64   `json:"spread"`
	Amount      float64   `json:"amount"`
	Breakpoints []float64 `json:"breakpoints"`
}

// Measured says how large a population the estimand comes from.
type Measured struct {
	Seasons int    `json:"seasons"`
	Pitches int    `json:"pitches"`
	Seed    uint64 `json:"seed"` // of the first season
}

// The lines that the estimand is taken against; the names are those of the
// published references.
const (
	TypeMedian    = "pitch_type_median"
	TypeRate      = "pitch_type_rate"
	MatchupMedian = "matchup_median"
	MatchupRate   = "matchup_rate"
)

// TrueLine is a line m in the population. Matchup is empty for the lines of the
// pitch type over all matchups.
type TrueLine struct {
	Outcome   string  `json:"outcome"`
	Reference string  `json:"reference"`
	Type      string  `json:"pitch_type"`
	Matchup   string  `json:"matchup,omitempty"`
	Value     float64 `json:"value"`
}

// TrueZones are the stretches of one curve above and below one line, in order.
type TrueZones struct {
	Type      string `json:"pitch_type"`
	Matchup   string `json:"matchup"`
	Variable  string `json:"variable"`
	Outcome   string `json:"outcome"`
	Reference string `json:"reference"`
	Lobes     []Lobe `json:"lobes"`
}

// Lobe is one stretch on one side of the line.
type Lobe struct {
	Sign  int     `json:"sign"` // +1 better than the line for the pitcher, −1 worse
	Lower float64 `json:"lower"`
	Upper float64 `json:"upper"`
	Open  [2]bool `json:"open"`  // whether lower and upper are ends of the data, not edges
	Peak  float64 `json:"peak"`  // largest distance from the line
	Share float64 `json:"share"` // of events

	from, to int // places in the curve
}

// Edges returns where the curve crosses the line, in order.
func (z *TrueZones) Edges() []float64 {
	var out []float64
	for _, l := range z.Lobes {
		if !l.Open[0] {
			out = append(out, l.Lower)
		}
	}
	return out
}

// structure fills what needs no measuring.
func structure(s *Scenario) *Truth {
	t := &Truth{League: s.Name, Title: s.Title, Structure: fingerprint(s),
		PitcherSpread: s.PitcherSpread, RepertoireSpread: s.RepertoireSpread, BatterSpread: s.BatterSpread,
		Planted: []Plant{}, Lines: []TrueLine{}, Zones: []TrueZones{}}
	for _, e := range s.Effects {
		p := Plant{Type: e.Type.String(), Variable: e.Quality.String(), Outcome: [...]string{"whiff", "contact"}[e.Outcome],
			Form: formNames[e.Form], At: e.At, Spread: e.Spread, Amount: e.Amount, Breakpoints: e.Breakpoints()}
		for i, m := range matchupNames {
			if e.Matchups&(1<<i) != 0 {
				p.Matchups = append(p.Matchups, m)
			}
		}
		t.Planted = append(t.Planted, p)
	}
	return t
}

var matchupNames = [4]string{"L-v-L", "L-v-R", "R-v-L", "R-v-R"}

// modelVersion changes with the model that plays a scenario, so that a truth
// measured under another one is not taken for this one's.
const modelVersion = 1

// fingerprint identifies a scenario under the present model. The number of
// pitches a season is left out: it moves only the medians, and them little.
func fingerprint(s *Scenario) string {
	c := *s
	c.Pitches = 0
	text, err := json.Marshal(c)
	if err != nil {
		panic("demo: a scenario has no JSON form")
	}
	sum := sha256.Sum256(fmt.Appendf(text, " model %d", modelVersion))
	return hex.EncodeToString(sum[:8])
}

// measured holds the estimands of the package's own leagues, one file each:
//
//	go test ./pipeline/demo -run MeasureTruth -measure
//
// writes them anew (a few minutes; add -league NAME for one league), which is needed whenever a scenario or
// the model changes.
//
//go:embed truth/*.json.gz
var measured embed.FS

// TruthOf returns the truth of a scenario: with the estimand if it is one of
// the package's own leagues, else the structure alone.
func TruthOf(s Scenario) (*Truth, error) {
	want := structure(&s)
	raw, err := measured.ReadFile("truth/" + s.Name + ".json.gz")
	if errors.Is(err, fs.ErrNotExist) {
		return want, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read truth of %s: %w", s.Name, err)
	}
	z, err := gzip.NewReader(bytes.NewReader(raw))
	if err != nil {
		return nil, fmt.Errorf("read truth of %s: %w", s.Name, err)
	}
	var t Truth
	if err := json.NewDecoder(z).Decode(&t); err != nil {
		return nil, fmt.Errorf("read truth of %s: %w", s.Name, err)
	}
	if t.Structure != want.Structure {
		return want, nil
	}
	return &t, nil
}

// writeTruth writes truth.json.
func writeTruth(s *Scenario, o Options) error {
	t, err := TruthOf(*s)
	if err != nil {
		return err
	}
	text, err := json.MarshalIndent(t, "", " ")
	if err != nil {
		return fmt.Errorf("write truth: %w", err)
	}
	return os.WriteFile(filepath.Join(o.Dir, "truth.json"), append(text, '\n'), 0o644)
}
