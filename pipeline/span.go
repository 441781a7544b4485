package pipeline

import (
	"time"

	"sill/pipeline/pitch"
)

// span is the days between which dated pitches lie; the zero value holds none.
type span struct {
	from, to int32 // days since 1970-01-01, where known
	known    bool
}

// add takes a pitch's date up, unless it has none.
func (s *span) add(day int32) {
	if day != pitch.NoDate {
		s.join(span{day, day, true})
	}
}

func (s *span) join(o span) {
	switch {
	case !o.known:
	case !s.known:
		*s = o
	default:
		s.from, s.to = min(s.from, o.from), max(s.to, o.to)
	}
}

func (s span) first() string { return s.day(s.from) }
func (s span) last() string  { return s.day(s.to) }

// day spells a day as 2031-04-05, "" where none is known.
func (s span) day(n int32) string {
	if !s.known {
		return ""
	}
	return time.Unix(int64(n)*24*60*60, 0).UTC().Format(time.DateOnly)
}
