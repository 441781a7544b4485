package thresholds_test

import (
	"errors"
	"fmt"
	"log"
	"os"

	"sill/pipeline/thresholds"
)

// fourSeam is the whiff curve of left-handers' four-seams to left-handed batters.
var fourSeam = thresholds.Key{Hand: "left", Side: "left", PitchType: "four_seam", Variable: "velocity", Outcome: "whiff_rate"}

// Open a store: its newest version is taken, and every file of it verified.
func ExampleOpen() {
	table, err := thresholds.Open("testdata/harbour")
	if err != nil {
		log.Fatal(err)
	}
	m := table.Manifest()
	fmt.Println(m.Name, table.Version(), "of", m.Rows.Read, "rows")
	// Output: harbour v1.0.0 of 3000 rows
}

// Pin a version, so that grades stay as they are until somebody changes the pin.
func ExampleWithVersion() {
	table, err := thresholds.Open("testdata/harbour", thresholds.WithVersion("v1.0.0"))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(table.Version())

	_, err = thresholds.Open("testdata/harbour", thresholds.WithVersion("v1.4.0"))
	fmt.Println(errors.Is(err, thresholds.ErrNoVersion), err)
	// Output:
	// v1.0.0
	// true open thresholds: no such version: v1.4.0 is not in the log
}

// Take the newest version that a program written for major 1 can read.
func ExampleWithMajor() {
	table, err := thresholds.Open("testdata/harbour", thresholds.WithMajor(1))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(table.Version())
	// Output: v1.0.0
}

// Say what the caller's own velocity is. One measured elsewhere is not graded.
func ExampleWithDefinitions() {
	_, err := thresholds.Open("testdata/harbour", thresholds.WithDefinitions(map[string]string{"velocity": "velocity/50ft/mph"}))
	fmt.Println(errors.Is(err, thresholds.ErrDefinition))
	fmt.Println(err)
	// Output:
	// true
	// open thresholds: definition mismatch: velocity is published as "velocity/release/mph", the caller measures "velocity/50ft/mph"
}

// OpenFS reads from any file system, such as an embed.FS in the program itself.
func ExampleOpenFS() {
	table, err := thresholds.OpenFS(os.DirFS("testdata/harbour"))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(table.Version())
	// Output: v1.0.0
}

func ExampleTable_Lookup() {
	table, err := thresholds.Open("testdata/harbour")
	if err != nil {
		log.Fatal(err)
	}
	for _, x := range []float64{90, 93.25, 95, 101} {
		a, err := table.Lookup(fourSeam, "pitch_type_median", x)
		if err != nil {
			log.Fatal(err)
		}
		fmt.Printf("%6.2f mph: %s, %s, %+.2f from %.1f, rate %.3f (%.3f to %.3f)\n", x, a.Verdict, a.Position, a.Distance, a.Nearest, a.Rate, a.Lo, a.Hi)
	}
	// Output:
	//  90.00 mph: found, outside, -3.00 from 93.0, rate 0.140 (0.120 to 0.160)
	//  93.25 mph: found, unresolved, +0.25 from 93.0, rate 0.205 (0.185 to 0.225)
	//  95.00 mph: found, inside, +2.00 from 93.0, rate 0.240 (0.220 to 0.260)
	// 101.00 mph: found, beyond_data, +8.00 from 93.0, rate NaN (NaN to NaN)
}

// Grade many pitches of one cell at once: nothing is allocated a pitch.
func ExampleCurve_Grade() {
	table, err := thresholds.Open("testdata/harbour")
	if err != nil {
		log.Fatal(err)
	}
	curve, err := table.Curve(fourSeam, "") // "" takes the headline line
	if err != nil {
		log.Fatal(err)
	}
	velocities := []float64{91.2, 93.1, 94.6, 95.8}
	answers := make([]thresholds.Answer, len(velocities))
	curve.Grade(answers, velocities)
	inside := 0
	for _, a := range answers {
		if a.Position == thresholds.Inside {
			inside++
		}
	}
	fmt.Println(inside, "of", len(answers), "certainly beat the line")
	// Output: 2 of 4 certainly beat the line
}

// Walk the rows of a resource.
func ExampleTable_Thresholds() {
	table, err := thresholds.Open("testdata/harbour")
	if err != nil {
		log.Fatal(err)
	}
	for row, err := range table.Thresholds() {
		if err != nil {
			log.Fatal(err)
		}
		fmt.Println(row.Hand, row.Side, row.PitchType, row.Variable, row.LowerKind, *row.Lower, row.Unit)
	}
	// Output: left left four_seam velocity edge 93 mph
}
