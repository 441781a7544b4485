package calibrate

import (
	"context"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"

	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/thresholds"
	"sill/stats/calibrate"
)

// needSets is the full number of leagues of a size in which it is asked what would
// settle a question.
const needSets = 200

// largestNeed is the largest number of pitchers at which an answer is tried out.
const largestNeed = 1500

// promised is the chance with which a stated number of pitchers promises to settle;
// the bar leaves room for a pattern that was seen larger than it is.
const promised = .70

// need is a question that some leagues leave open, saying how many pitchers would
// settle it.
type need struct {
	name   string
	design trialDesign
	// ask plays a league: whether the question is settled and, where it is open, how
	// many pitchers it is said to need, NaN where it says that none in reach would do.
	ask func(ctx context.Context, d trialDesign, seed uint64) (settled bool, pitchers float64, err error)
}

func needQuestions() []need {
	return []need{
		{"trial, no verdict yet", trialDesign{30, .2, .04}, trialNeed},
		{"trial, no verdict yet, faint", trialDesign{60, .2, .03}, trialNeed},
		{"inconclusive", trialDesign{30, .2, .04}, verdictNeed(locate.Inconclusive)},
		{"edge unresolved", trialDesign{60, .2, .05}, verdictNeed(locate.EdgeUnresolved)},
	}
}

// trialNeed tries the claim of the study of trials.
func trialNeed(_ context.Context, d trialDesign, seed uint64) (bool, float64, error) {
	tried, err := d.try(seed)
	if err != nil {
		return false, 0, err
	}
	if !tried.Unsettled() {
		return true, math.NaN(), nil
	}
	if n := tried.Rows[0].NeedPitcher; n != nil {
		return false, *n, nil
	}
	return false, math.NaN(), nil
}

// wouldSettle reads the number of pitchers out of what a verdict says.
var wouldSettle = regexp.MustCompile(`^if the .* is real, about (\d+) pitchers`)

// verdictNeed publishes a table and looks at the verdict on whiffs by velocity: a
// verdict leaves it open, and anything that says more settles it.
func verdictNeed(open string) func(context.Context, trialDesign, uint64) (bool, float64, error) {
	return func(ctx context.Context, d trialDesign, seed uint64) (bool, float64, error) {
		counts, err := d.play(seed)
		if err != nil {
			return false, 0, err
		}
		tables, err := publish(ctx, counts, seed)
		if err != nil {
			return false, 0, err
		}
		i := slices.IndexFunc(tables.Verdicts, func(v thresholds.Verdict) bool {
			return v.Variable == "velocity" && v.Outcome == outcome.Metrics[outcome.Whiff].Name && v.Reference == estimate.TypeMedian && v.Stratum == ""
		})
		if i < 0 {
			return false, 0, fmt.Errorf("no verdict on whiffs by velocity")
		}
		v := &tables.Verdicts[i]
		settled := v.Verdict == locate.Found || open == locate.Inconclusive && v.Verdict == locate.EdgeUnresolved
		if m := wouldSettle.FindStringSubmatch(v.Settle); m != nil && v.Verdict == open {
			n, err := strconv.ParseFloat(m[1], 64)
			return false, n, err
		}
		return settled, math.NaN(), nil
	}
}

// needs asks leagues what would settle an open question, and tries the median answer
// out in leagues of that size.
func needs(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	const now, then, pitchers = "settled at once", "settled with as many pitchers", "pitchers stated, median"
	var out []calibrate.Finding
	for k, n := range needQuestions() {
		first := 0
		ask := func(d trialDesign, settled string) (*calibrate.Sheet, error) {
			r, err := o.Gather(ctx, needSets, func(i int, s calibrate.Scores) error {
				yes, stated, err := n.ask(ctx, d, seed(o, needSeeds, k<<12+first+i))
				s.Hit(settled, yes)
				if !math.IsNaN(stated) {
					s.Value(pitchers, stated)
				}
				return err
			})
			first += len(r)
			return r.Sheet(n.name + ", " + n.design.String()), err
		}
		t, err := ask(n.design, now)
		if err != nil {
			return nil, err
		}
		stated, settled := t.Values(pitchers), t.Total(now)
		t.Share(now, calibrate.NoBar, "")
		t.Add(calibrate.ShareFinding(t.Design, "a number of pitchers is stated, of those left open",
			calibrate.Share{Hits: len(stated), Of: settled.Of - settled.Hits}, calibrate.NoBar, ""))
		if len(stated) > 0 {
			larger := n.design
			larger.pitchers = int(min(largestNeed, math.Round(t.Median(pitchers).Value)))
			u, err := ask(larger, then)
			if err != nil {
				return nil, err
			}
			t.Add(*u.Share(then, calibrate.AtLeast(promised), ""))
		}
		out = append(out, t.Findings...)
	}
	return out, nil
}
