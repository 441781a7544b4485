package trial

import _ "embed" // the example

// Example is a file of claims: cutoffs of the trade, common practice without a
// source.
//
//go:embed common-practice.yaml
var Example string
