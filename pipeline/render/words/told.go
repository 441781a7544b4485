package words

// Apart tells whether limits leave out 0; one that is open does not.
func Apart(lo, hi *float64) bool { return lo != nil && *lo > 0 || hi != nil && *hi < 0 }

// Told says what was decided of one of several comparisons by its q: "differs, q .021".
// Where the 95 % limits beside it alone would say otherwise, so that they do not agree,
// it says of how many comparisons that allows: "not shown to differ after allowing for
// 96 comparisons, q .140"; 0 where how many is not known. A comparison without a q
// was decided otherwise.
func Told(decided string, agree bool, q *float64, together int64) string {
	switch {
	case q == nil:
		return decided
	case !agree && together == 0:
		decided += " after allowing for all comparisons of its kind"
	case !agree:
		decided += " after allowing for " + Plural(together, "comparison")
	}
	return decided + ", q" + NoBreak + Probability(*q)
}
