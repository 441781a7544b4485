package page

// mostBytes is how many bytes a page takes at most, so that a mail or a phone carries it.
const mostBytes = 2_000_000

// room says what a page holds. What it has no room for is left out in steps, the
// least missed first, and told.
type room struct{ step int }

// steps of what is left out, each with those before it.
const (
	everything = iota
	withoutQuietNumbers
	withoutQuietDrawings
	withoutNumbers
	withoutFurtherDrawings
	withoutDrawings
	withoutWords
)

// leavings say what a step leaves out.
var leavings = [...]string{
	withoutQuietNumbers:    "the numbers of figures where nothing was shown",
	withoutQuietDrawings:   "the drawings of figures where nothing was shown",
	withoutNumbers:         "the numbers of all other figures",
	withoutFurtherDrawings: "the drawings of all but velocity, breaks and approach angles",
	withoutDrawings:        "the drawings of all other figures",
	withoutWords:           "what the figures say of each matchup beside their drawing",
}

// numbers tells whether a figure has its table, shown telling whether anything was
// shown in it.
func (r *room) numbers(shown bool) bool {
	return r.step < withoutQuietNumbers || shown && r.step < withoutNumbers
}

// draws tells whether a figure is drawn, of a main quality or of another.
func (r *room) draws(shown, main bool) bool {
	return r.step < withoutQuietDrawings || shown && (r.step < withoutFurtherDrawings || main && r.step < withoutDrawings)
}

// says tells whether figures say what was found in each matchup.
func (r *room) says() bool { return r.step < withoutWords }

// left lists what is left out.
func (r *room) left() []string { return leavings[1 : r.step+1] }
