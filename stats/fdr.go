package stats

import (
	"cmp"
	"math"
	"slices"
	"strconv"
)

// BenjaminiHochberg returns the adjusted p-values (q-values), in the order of p:
// rejecting every q ≤ α keeps the expected share of false rejections among all
// rejections at or below α for independent or positively dependent tests.
//
//	q₍ᵢ₎ = min over j ≥ i of min(1, m·p₍ⱼ₎/j)
//
// Tied p-values get the same q. Panics on a p outside [0, 1]; no test in, none
// out.
//
// Source: Benjamini & Hochberg 1995, JRSSB 57:289.
func BenjaminiHochberg(p []float64) []float64 {
	order := ranked(p)
	q := make([]float64, len(p))
	m := float64(len(p))
	low := 1.0
	for i := len(order) - 1; i >= 0; i-- {
		low = min(low, m/float64(i+1)*p[order[i]])
		q[order[i]] = low
	}
	return q
}

// QValues is BenjaminiHochberg of the tests that were made: a p of NaN is none, and its
// q is NaN.
func QValues(p []float64) []float64 {
	made := slices.DeleteFunc(slices.Clone(p), math.IsNaN)
	q := make([]float64, len(p))
	adjusted := BenjaminiHochberg(made)
	for i, x := range p {
		if q[i] = math.NaN(); !math.IsNaN(x) {
			q[i], adjusted = adjusted[0], adjusted[1:]
		}
	}
	return q
}

// Selection is the result of BenjaminiBogomolov.
type Selection struct {
	// Q holds the q of every test, by family: rejected where it is at most α.
	Q [][]float64
	// FamilyQ holds the q of every family as a whole, NaN of one without tests.
	FamilyQ  []float64
	Families int // families with a test: M
	Selected int // families whose q is at most α: k
	// Limit holds by family the p that a test has to reach, all others being as
	// they are: one that falls to it is rejected. NaN of a family without tests.
	Limit []float64
}

// BenjaminiBogomolov controls false discoveries among tests that fall into
// families, given as p by family. A family is selected where Simes' p of all its
// tests, adjusted over the families, is at most α; inside the selected ones the
// tests are adjusted as strictly as so few families were selected:
//
//	P_f = the smallest Benjamini–Hochberg q inside family f (Simes' p)
//	Q_f = P_f adjusted over the M families by Benjamini–Hochberg
//	k   = number of families with Q_f ≤ α
//	q   = max(Q_f, min(1, q inside the family·M/max(k, 1))), with 14 significant digits
//
// Rejecting every q ≤ α keeps the mean, over the selected families, of the expected
// share of false rejections at or below α for independent or positively dependent
// tests, so that a family in which nothing is true cannot hide among others. With one
// family it is Benjamini–Hochberg. Panics on a p outside [0, 1] and an α outside (0, 1).
//
// Source: Benjamini & Bogomolov 2014, JRSSB 76:297; Simes 1986, Biometrika 73:751.
func BenjaminiBogomolov(p [][]float64, alpha float64) Selection {
	if !(alpha > 0 && alpha < 1) {
		panic("stats: BenjaminiBogomolov needs an alpha between 0 and 1")
	}
	s := Selection{Q: make([][]float64, len(p)), FamilyQ: make([]float64, len(p)), Limit: make([]float64, len(p))}
	var simes []float64
	for f, tests := range p {
		s.Q[f], s.FamilyQ[f], s.Limit[f] = BenjaminiHochberg(tests), math.NaN(), math.NaN()
		if len(tests) > 0 {
			simes = append(simes, slices.Min(s.Q[f]))
		}
	}
	s.Families = len(simes)
	whole := BenjaminiHochberg(simes)
	for i, q := range whole {
		if whole[i] = settled(q); whole[i] <= alpha {
			s.Selected++
		}
	}
	scale := float64(s.Families) / float64(max(s.Selected, 1))
	for f, tests := range p {
		if len(tests) == 0 {
			continue
		}
		s.FamilyQ[f], whole = whole[0], whole[1:]
		reach := s.Selected
		if s.FamilyQ[f] > alpha {
			reach++ // it would be selected too
		}
		s.Limit[f] = alpha * float64(reach) / float64(s.Families*len(tests))
		for i, q := range s.Q[f] {
			s.Q[f][i] = max(s.FamilyQ[f], settled(min(1, scale*q)))
			if s.Q[f][i] <= alpha {
				s.Limit[f] = max(s.Limit[f], tests[i])
			}
		}
	}
	return s
}

// settled is x with 14 significant digits, so that a q which is α in exact arithmetic
// is α, whatever the last bits of the products say.
func settled(x float64) float64 {
	y, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 13, 64), 64) // digits just written
	return y
}

// Holm returns p-values adjusted for the chance of even one false rejection in
// the family, under any dependence, in the order of p.
//
//	p̃₍ᵢ₎ = max over j ≤ i of min(1, (m−j+1)·p₍ⱼ₎)
//
// Panics on a p outside [0, 1].
//
// Source: Holm 1979, Scandinavian Journal of Statistics 6:65.
func Holm(p []float64) []float64 {
	order := ranked(p)
	adjusted := make([]float64, len(p))
	high := 0.0
	for i, at := range order {
		high = max(high, min(1, float64(len(p)-i)*p[at]))
		adjusted[at] = high
	}
	return adjusted
}

// ranked lists the indexes of p from the smallest p to the largest, ties in
// their order of appearance.
func ranked(p []float64) []int {
	order := make([]int, len(p))
	for i, v := range p {
		if !(v >= 0 && v <= 1) {
			panic("stats: a p-value lies outside [0, 1]")
		}
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	return order
}
