package thresholds_test

import (
	"math"
	"math/big"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sill/pipeline/thresholds"
)

// TestEveryNumberStatesItsDecimals: rates and shares five, qualities four, p and q
// six, rounded up.
func TestEveryNumberStatesItsDecimals(t *testing.T) {
	want := map[string]int{"outcome": 5, "share": 5, "variable": 4, "count": 4}
	for _, r := range thresholds.Resources() {
		for _, c := range r.Columns {
			if (c.Type == "number") != (c.Decimals > 0) {
				t.Errorf("%s.%s is a %s of %d decimals", r.Name, c.Name, c.Type, c.Decimals)
			}
			if n, ok := want[c.Unit]; ok && c.Type == "number" && c.Decimals != n {
				t.Errorf("%s.%s in %s has %d decimals, want %d", r.Name, c.Name, c.Unit, c.Decimals, n)
			}
			chance := c.Name == "p" || c.Name == "q" || strings.HasSuffix(c.Name, "_q")
			if c.RoundedUp != chance || chance && c.Decimals != 6 || chance != strings.Contains(c.Meaning, "rounded up") {
				t.Errorf("%s.%s: %d decimals, rounded up %v: %s", r.Name, c.Name, c.Decimals, c.RoundedUp, c.Meaning)
			}
		}
	}
}

func TestRound(t *testing.T) {
	nearest, up := thresholds.Column{Decimals: 5}, thresholds.Column{Decimals: 6, RoundedUp: true}
	for _, c := range []struct {
		column  thresholds.Column
		x, want float64
	}{
		{nearest, .1 + .2, .3}, {nearest, .123456, .12346}, {nearest, -.123454, -.12345}, {nearest, 1e22, 1e22},
		{nearest, math.Inf(1), math.Inf(1)}, {nearest, math.MaxFloat64, math.MaxFloat64}, {nearest, 0.000004, 0},
		// six decimals reach every p of 999,999 flips
		{up, 1e-6, 1e-6}, {up, 1e-20, 1e-6}, {up, math.SmallestNonzeroFloat64, 1e-6}, {up, 0, 0}, {up, 1, 1}, {up, .0001, .0001},
		{up, .0000011, .000002}, {up, math.Nextafter(.0003, 1), .0003}, {up, .1, .1}, {up, .10000001, .100001}, {up, .0999999, .1},
		{thresholds.Column{}, 1. / 3, 1. / 3},
	} {
		if got := c.column.Round(c.x); got != c.want {
			t.Errorf("%v to %d decimals, up %v: %v, want %v", c.x, c.column.Decimals, c.column.RoundedUp, got, c.want)
		}
	}
	if math.Signbit(nearest.Round(-1e-9)) || math.Signbit(nearest.Round(math.Copysign(0, -1))) {
		t.Error("a negative zero")
	}
}

// TestRoundIsExact holds rounding against rational arithmetic: the nearest decimal,
// or the next above unless x is one but for its last bits.
func TestRoundIsExact(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := thresholds.Column{Decimals: rapid.IntRange(1, 8).Draw(rt, "decimals"), RoundedUp: rapid.Bool().Draw(rt, "up")}
		x := rapid.Float64Range(0, 1).Draw(rt, "x")
		got := c.Round(x)
		if c.Round(got) != got {
			rt.Fatalf("%v, rounded again %v", got, c.Round(got))
		}
		step := big.NewRat(1, int64(math.Pow10(c.Decimals)))
		steps := new(big.Rat).Quo(new(big.Rat).SetFloat64(x), step)
		whole := new(big.Int).Quo(steps.Num(), steps.Denom())
		rest := new(big.Rat).Sub(steps, new(big.Rat).SetInt(whole)) // of a step, 0 to 1
		half := rest.Cmp(big.NewRat(1, 2))
		more := half > 0 || half == 0 && whole.Bit(0) == 1 // of two as near the even one (IEEE 754)
		if c.RoundedUp {
			over := new(big.Rat).Mul(rest, step)
			more = over.Cmp(big.NewRat(1, 1e12)) > 0 || whole.Sign() == 0 && x > 0
		}
		if more {
			whole.Add(whole, big.NewInt(1))
		}
		exact := new(big.Rat)
		want, _ := exact.Mul(new(big.Rat).SetInt(whole), step).Float64()
		if got != want {
			rt.Fatalf("%v to %d decimals, up %v: %v, want %v", x, c.Decimals, c.RoundedUp, got, want)
		}
	})
}

// TestTablesRound: every number of every resource is rounded, in place, and a value
// that two rows point at as their columns say.
func TestTablesRound(t *testing.T) {
	third := 1. / 3
	var tables thresholds.Tables
	v := reflect.ValueOf(&tables).Elem()
	for i := range v.NumField() {
		rows := reflect.MakeSlice(v.Field(i).Type(), 2, 2)
		fill(rows.Index(1), third)
		v.Field(i).Set(rows)
	}
	verdict := &tables.Verdicts[1]
	verdict.Q = verdict.Line
	tables.Round()
	for i := range v.NumField() {
		if n := unrounded(v.Field(i).Index(1)); n > 0 {
			t.Errorf("%d numbers of %s stay as they were", n, v.Type().Field(i).Name)
		}
	}
	if *verdict.Line != .33333 || *verdict.Q != .333334 || third != 1./3 {
		t.Errorf("line %v, q %v", *verdict.Line, *verdict.Q)
	}
}

// fill sets every number of a row, keys included, to x.
func fill(row reflect.Value, x float64) {
	for i := range row.NumField() {
		switch f := row.Field(i); {
		case f.Kind() == reflect.Struct:
			fill(f, x)
		case f.Kind() == reflect.Float64:
			f.SetFloat(x)
		case f.Type() == reflect.TypeFor[*float64]():
			y := x
			f.Set(reflect.ValueOf(&y))
		}
	}
}

// unrounded counts the numbers of a row with more than eight decimals.
func unrounded(row reflect.Value) (n int) {
	many := func(x float64) bool { return math.Abs(x*1e8-math.Round(x*1e8)) > 1e-6 }
	for i := range row.NumField() {
		switch f := row.Field(i); {
		case f.Kind() == reflect.Struct:
			n += unrounded(f)
		case f.Kind() == reflect.Float64 && many(f.Float()), f.Type() == reflect.TypeFor[*float64]() && many(f.Elem().Float()):
			n++
		}
	}
	return n
}
