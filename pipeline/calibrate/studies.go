package calibrate

import (
	"sill/pipeline/analysis/quality"
	"sill/stats/calibrate"
)

// Studies lists the studies of whole leagues.
func Studies() []calibrate.Study {
	return []calibrate.Study{
		{Name: "leagues", Asks: "Do the breakpoints of whole published tables hold what is true of the league, with batters, workloads and qualities that travel together?", Run: leagues},
		{Name: "flat_leagues", Asks: "Where most curves of a whole table are flat by construction, how many discoveries are false?", Run: flatLeagues},
		{Name: "whole_seasons", Asks: "Does the program say of whole seasons, read from Parquet, what the studies without files say?", Run: seasons},
		{Name: "facts", Asks: "Are cutoffs of the trade, planted in large seasons, read off without bias?", Run: facts},
		{Name: "trials", Asks: "Does a stated cutoff that is tried in a small league hold, and not hold, no more often by mistake than it says?", Run: trials},
		{Name: "needs", Asks: "Where a verdict or a trial says how many pitchers would settle it, do so many settle it as often as promised?", Run: needs},
		{Name: "lines", Asks: "Do the intervals of the lines, as published, hold what an endless league would show?", Run: lines},
		{Name: "venues", Asks: "Is what a venue reads too high held, warned of where it is planted, and not where it is not?", Run: venues(quality.CompareVenues)},
		{Name: "trend", Asks: "Do changes of quality and of outcomes, from season to season, hold what is true at 20, 60 and 200 events, and who is said to have moved?", Run: trends},
		{Name: "persistence", Asks: "Do the events at which half of a number is the pitcher, and what else is said of how soon it is his, hold what is true?", Run: persistences},
		{Name: "season_shifts", Asks: "Where an instrument shifts sideways between two seasons, in how many of nine pitch types is it found, and how often is any shift named that is none?", Run: shifts},
		{Name: "slopes", Asks: "Do slopes inside and between pitchers hold what is true, and is their difference told at its level?", Run: slopes},
		{Name: "stacked", Asks: "Do rates and gains by how many qualities are good, in zones that the other half of the pitchers found, hold what is true?", Run: stacks},
		{Name: "opponents", Asks: "Is the difference of the batters faced from the league's held, whether or not some pitch types go to the better ones?", Run: faced},
		{Name: "located", Asks: "Are the gain of a breakpoint with location held, and what of it is location, held where both are known?", Run: holdings},
		{Name: "grades", Asks: "Do pitchers' own rates and platoon gaps, drawn toward their like, hold the true ones, and are pitches that are told apart ranked the right way?", Run: grades},
	}
}
