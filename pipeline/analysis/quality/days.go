package quality

import (
	"time"

	"sill/pipeline/pitch"
)

// Span is the days between which dated pitches lie; the zero value holds none.
type Span struct {
	from, to int32 // days since 1970-01-01, where known
	known    bool
}

// add takes a pitch's date up, unless it has none.
func (s *Span) add(day int32) {
	if day != pitch.NoDate {
		s.join(Span{day, day, true})
	}
}

func (s *Span) join(o Span) {
	switch {
	case !o.known:
	case !s.known:
		*s = o
	default:
		s.from, s.to = min(s.from, o.from), max(s.to, o.to)
	}
}

// First spells the first day, such as 2031-04-05, "" where none is known.
func (s Span) First() string { return s.day(s.from) }

// Last spells the last day as First does.
func (s Span) Last() string { return s.day(s.to) }

// day spells a day as 2031-04-05, "" where none is known.
func (s Span) day(n int32) string {
	if !s.known {
		return ""
	}
	return time.Unix(int64(n)*24*60*60, 0).UTC().Format(time.DateOnly)
}
