package thresholds

import (
	"math"
	"reflect"
	"strconv"
)

// Round gives every number of every row the decimals that its column states, so
// that all formats hold the same decimals, and what is read is what was compared.
// Rounding twice changes nothing. Verdicts are words by then: they rest on the
// numbers before.
func (t *Tables) Round() {
	for _, r := range resources() {
		r.round(t)
	}
	rows := Stretches(t.Zones)
	roundRows(rows)
	for i := range t.Zones {
		z := &t.Zones[i]
		for k := range z.Certain {
			z.Certain[k] = Span{rows[0].Lo, rows[0].Hi}
			rows = rows[1:]
		}
	}
}

func roundRows[T any](rows []T) {
	for _, c := range Columns[T]() {
		if c.Decimals == 0 {
			continue
		}
		for i := range rows {
			f := c.Field(reflect.ValueOf(&rows[i]).Elem())
			switch {
			case f.Kind() == reflect.Float64:
				f.SetFloat(c.Round(f.Float()))
			case !f.IsNil(): // rows may share what is pointed at
				x := c.Round(f.Elem().Float())
				f.Set(reflect.ValueOf(&x))
			}
		}
	}
}

// Round returns the number of the column's decimals nearest to x, or the next
// above it where the column is rounded up; x itself where the column states none.
// The result is the float64 nearest to that decimal number, so that its shortest
// form has no more decimals; 0 has no sign. Not a number stays so, as do
// infinities.
func (c Column) Round(x float64) float64 {
	if c.Decimals == 0 {
		return x
	}
	nearest := nearestDecimal(x, c.Decimals)
	// what lies this little above a decimal number is that number with its last bits off
	const noise = 1e-12
	if c.RoundedUp && (x-nearest > noise || nearest == 0 && x > 0) {
		nearest = nearestDecimal(nearest+math.Pow10(-c.Decimals), c.Decimals)
	}
	return nearest
}

// nearestDecimal goes by way of the decimal digits, which are exact for every x.
func nearestDecimal(x float64, decimals int) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	y, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'f', decimals, 64), 64) // digits just written
	if y == 0 {
		return 0 // not −0
	}
	return y
}
