package demo

import "time"

// days returns the day number of a date, counted from 1970-01-01.
func days(year, month, day int) int32 {
	return int32(time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC).Unix() / 86_400)
}

// date returns the date of a day number.
func date(day int32) time.Time { return time.Unix(int64(day)*86_400, 0).UTC() }
