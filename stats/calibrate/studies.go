package calibrate

import "slices"

// Studies lists every study of package stats, in the order of the report.
func Studies() []Study { return slices.Concat(singleStudies(), leagueStudies()) }
