// Package demo plays out seasons of an invented league and writes them the way
// a tracking provider might: its own column names, units and codes, with the
// blemishes that real files have. Since the league is invented, the truth
// behind every pitch is known, and with it the true thresholds.
//
// Three things come out of it. [Play] gives the bare season, pitch by pitch,
// in canonical words, so that a test can write the same season in another
// shape. [Write] writes Parquet files, a source profile that maps them, a run
// configuration and truth.json. [TruthOf] gives the estimand: the zones of
// E[outcome | quality] against the reference lines in a population of many
// leagues drawn alike, which the package's tests measure.
//
// The league, its clubs and its players are invented; the rates of swings,
// whiffs, strikeouts and walks are near the usual professional ones (common
// practice, no source). The package knows the rules of play and the motion of
// a pitch under constant acceleration. It knows nothing of bins, of intervals,
// or of how thresholds are found.
package demo
