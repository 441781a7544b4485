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
	withoutDrawings
)

// leavings say what a step leaves out.
var leavings = [...]string{
	withoutQuietNumbers:  "the numbers of figures where nothing was shown",
	withoutQuietDrawings: "the drawings of figures where nothing was shown",
	withoutNumbers:       "the numbers of all other figures",
	withoutDrawings:      "the drawings of all other figures",
}

// numbers tells whether a figure has its table, shown telling whether anything was
// shown in it.
func (r *room) numbers(shown bool) bool {
	return r.step < withoutQuietNumbers || shown && r.step < withoutNumbers
}

// draws tells whether a figure is drawn.
func (r *room) draws(shown bool) bool {
	return r.step < withoutQuietDrawings || shown && r.step < withoutDrawings
}

// left lists what is left out.
func (r *room) left() []string { return leavings[1 : r.step+1] }
