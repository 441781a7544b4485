package grade

import (
	"encoding/json"
	"io"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/thresholds"
)

// Tables are the names of a report's tables.
var Tables = []string{"qualities", "arsenal", "platoon", "pairs"}

// Body is a report as JSON.
type Body struct {
	Yardstick string    `json:"yardstick" doc:"the version graded by"`
	League    string    `json:"league" doc:"where the pitchers threw"`
	Exact     bool      `json:"exact" doc:"whether every pitch was read; else the pitches of a bin are taken to be spread evenly over it"`
	Notes     []string  `json:"notes" doc:"what a reader must know"`
	Caution   string    `json:"caution" doc:"what stands under every grade"`
	Usage     string    `json:"usage_caution" doc:"what stands beside every ranking"`
	Location  string    `json:"location_caution" doc:"what stands beside where pitches went"`
	Columns   Columns   `json:"columns" doc:"the members of the rows"`
	Arsenal   []Arsenal `json:"arsenal" doc:"what was thrown, with what result, and where it went"`
	Qualities []Quality `json:"qualities" doc:"each quality against the yardstick"`
	Platoon   []Platoon `json:"platoon" doc:"gaps between batters of the own and of the other hand"`
	Pairs     []Pair    `json:"pairs" doc:"which pitches of an arsenal can be told apart"`
}

// Columns describe the tables.
type Columns struct {
	Arsenal   []thresholds.Column `json:"arsenal"`
	Qualities []thresholds.Column `json:"qualities"`
	Platoon   []thresholds.Column `json:"platoon"`
	Pairs     []thresholds.Column `json:"pairs"`
}

// Body returns the report as it is written.
func (r *Report) Body() Body {
	return Body{r.Yardstick, r.League, r.Exact, append([]string{}, r.Notes...), Caution, UsageCaution, LocationCaution,
		Columns{thresholds.Columns[Arsenal](), thresholds.Columns[Quality](), thresholds.Columns[Platoon](), thresholds.Columns[Pair]()},
		r.Arsenal, r.Qualities, r.Platoon, r.Pairs}
}

// CSV writes one table as RFC 4180; a null is an empty field.
func (r *Report) CSV(w io.Writer, table string) error {
	switch table {
	case "arsenal":
		return thresholds.CSV(w, r.Arsenal)
	case "platoon":
		return thresholds.CSV(w, r.Platoon)
	case "pairs":
		return thresholds.CSV(w, r.Pairs)
	}
	return thresholds.CSV(w, r.Qualities)
}

// Parquet writes one table as Parquet.
func (r *Report) Parquet(w io.Writer, table string) error {
	switch table {
	case "arsenal":
		return writeParquet(w, table, r.Arsenal)
	case "platoon":
		return writeParquet(w, table, r.Platoon)
	case "pairs":
		return writeParquet(w, table, r.Pairs)
	}
	return writeParquet(w, table, r.Qualities)
}

func writeParquet[T any](w io.Writer, table string, rows []T) error {
	columns, err := json.Marshal(thresholds.Columns[T]())
	if err != nil {
		return err
	}
	out := parquet.NewGenericWriter[T](w, parquetOptions("grade_"+table, columns)...)
	if _, err := out.Write(rows); err != nil {
		return err
	}
	return out.Close()
}

// parquetOptions are those of a published resource.
func parquetOptions(resource string, columns []byte) []parquet.WriterOption {
	return []parquet.WriterOption{
		parquet.Compression(&parquet.Zstd),
		parquet.MaxRowsPerRowGroup(1 << 16),
		parquet.CreatedBy("sill", thresholds.SchemaVersion+".0", "grade"),
		parquet.KeyValueMetadata("sill.resource", resource),
		parquet.KeyValueMetadata("sill.columns", string(columns)),
	}
}
