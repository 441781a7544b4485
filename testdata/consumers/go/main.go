// Consumer is a grading tool in a module of its own. It opens a store's newest
// version of major 1, or the one that is named, and grades pitches:
//
//	consumer STORE PITCHES [VERSION]
package main

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"

	"sill/pipeline/thresholds"
)

func main() {
	if err := grade(os.Stdout, os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func grade(w io.Writer, args []string) error {
	if len(args) < 2 {
		return fmt.Errorf("use: consumer STORE PITCHES [VERSION]")
	}
	which := thresholds.WithMajor(1) // columns and meanings stay as they are
	if len(args) > 2 {
		which = thresholds.WithVersion(args[2])
	}
	table, err := thresholds.Open(args[0], which, // every file is verified
		thresholds.WithDefinitions(map[string]string{"velocity": "velocity/release/mph"}))
	if err != nil {
		return err
	}
	thin := map[thresholds.Key][]thresholds.Bin{}
	for b, err := range table.Bins() {
		if err != nil {
			return err
		}
		if b.Thin {
			thin[b.Key] = append(thin[b.Key], b)
		}
	}
	f, err := os.Open(args[1])
	if err != nil {
		return err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return err
	}
	fmt.Fprintln(w, strings.Join(rows[0], ",")+",verdict,position,nearest,distance,rate,lo,hi,thin")
	for _, p := range rows[1:] {
		key := thresholds.Key{Hand: p[0], Side: p[1], PitchType: p[2], Variable: p[3], Outcome: p[4]}
		x, err := strconv.ParseFloat(p[6], 64)
		if err != nil {
			return err
		}
		a, err := table.Lookup(key, p[5], x)
		if err != nil {
			return err
		}
		fmt.Fprintln(w, strings.Join([]string{strings.Join(p[:6], ","), number(x, 2), a.Verdict, a.Position.String(), number(a.Nearest, 2), number(a.Distance, 2),
			number(a.Rate, 4), number(a.Lo, 4), number(a.Hi, 4), bin(thin[key], x)}, ","))
	}
	return nil
}

// number prints a number that may be unknown.
func number(x float64, decimals int) string {
	if math.IsNaN(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'f', decimals, 64)
}

// bin says whether x lies in one of the thin bins: [lower, upper), null where open.
func bin(thin []thresholds.Bin, x float64) string {
	for _, b := range thin {
		if b.Kind != "missing" && (b.Lower == nil || x >= *b.Lower) && (b.Upper == nil || x < *b.Upper) {
			return "thin"
		}
	}
	return ""
}
