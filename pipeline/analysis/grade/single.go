package grade

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/parquet-go/parquet-go"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// Pitches writes one row for each pitch that is graded, in the order in which it is
// given them: what pitch it was, and of each variable its value and, by each outcome,
// its position and what the curve expects there.
type Pitches struct {
	reader  *Reader
	names   tally.Names
	columns []thresholds.Column
	csv     *csv.Writer
	parquet *parquet.GenericWriter[any]
	row     []parquet.Value
	record  []string
}

// million rounds expected advantages: a rate is known far less well than to a
// millionth, and a season has many of them.
const million = 1e6

// The formats of single pitches.
const (
	CSVFormat     = "csv"
	ParquetFormat = "parquet"
)

// Pitches begins such a table; pitches index names. The notes say which variables
// are left out.
func (y *Yardstick) Pitches(w io.Writer, format string, names tally.Names, variables []shape.Variable) (*Pitches, []string, error) {
	r, notes := y.Read(variables, 0)
	p := &Pitches{reader: r, names: names, columns: r.columns()}
	if format == CSVFormat {
		p.csv = csv.NewWriter(w)
		p.csv.UseCRLF = true
		for _, c := range p.columns {
			p.record = append(p.record, c.Name)
		}
		return p, notes, p.csv.Write(p.record)
	}
	told, err := json.Marshal(p.columns)
	if err != nil {
		return nil, nil, err
	}
	p.parquet = parquet.NewGenericWriter[any](w, append(parquetOptions("grade_pitches", told), schemaOf(p.columns))...)
	return p, notes, nil
}

// columns describe a row.
func (r *Reader) columns() []thresholds.Column {
	text := func(name, meaning string) thresholds.Column {
		return thresholds.Column{Name: name, Type: "text", Meaning: meaning}
	}
	number := func(name, unit, meaning string) thresholds.Column {
		return thresholds.Column{Name: name, Type: "number", Nullable: true, Unit: unit, Meaning: meaning}
	}
	out := []thresholds.Column{
		{Name: "season", Type: "integer", Meaning: "season"},
		text("game", "the game's id in the source, empty where it has none"),
		number("plate_appearance", "", "number of the plate appearance in its game"),
		number("pitch_number", "", "number of the pitch in its plate appearance"),
		text("pitcher", "the pitcher's id in the source"), text("hand", "the hand he throws with"),
		text("side", "side of the batter"), text("pitch_type", "pitch type"), text("pitch_outcome", "what happened on the pitch"),
	}
	for v, at := range r.index {
		if at < 0 {
			continue
		}
		name := r.yardstick.Variables[v].Name
		out = append(out, number(name, r.yardstick.Variables[v].Unit, answer.Variable(name).Title))
		for m, measure := range measureNames() {
			title := words.OutcomeOf(measure).Title
			out = append(out, text(name+"_"+measure+"_position", "where the value lies: inside a zone that beats the line by "+title+", outside, unresolved, beyond_data or no_threshold"))
			if m < outcomes {
				out = append(out, number(name+"_"+measure+"_advantage", measure, "what the curve expects there over the line by "+title+", positive is good for the pitcher, to a millionth"))
			}
		}
	}
	return out
}

// schemaOf makes the Parquet schema of columns, in their order.
func schemaOf(columns []thresholds.Column) *parquet.Schema {
	var fields []reflect.StructField
	for i, c := range columns {
		kind := map[string]reflect.Type{"text": reflect.TypeFor[string](), "integer": reflect.TypeFor[int64](), "number": reflect.TypeFor[*float64]()}[c.Type]
		tag := `parquet:"` + c.Name
		switch {
		case c.Nullable:
			tag += ",optional"
		case c.Type == "text":
			tag += ",dict"
		}
		fields = append(fields, reflect.StructField{Name: "C" + strconv.Itoa(i), Type: kind, Tag: reflect.StructTag(tag + `"`)})
	}
	return parquet.SchemaOf(reflect.New(reflect.StructOf(fields)).Interface())
}

// Add writes a batch. It is for one goroutine, whose order is that of the rows.
func (p *Pitches) Add(_ int, batch []pitch.Pitch) error {
	for i := range batch {
		t := &batch[i]
		if !graded(t.Type) || !outcome.Shaped(t.Outcome) {
			continue
		}
		p.fill(t)
		if err := p.write(); err != nil {
			return err
		}
	}
	return nil
}

func (p *Pitches) fill(t *pitch.Pitch) {
	r := p.reader
	p.row = p.row[:0]
	text := func(s string) { p.put(parquet.ByteArrayValue([]byte(s)), false) }
	number := func(x float64) { p.put(parquet.DoubleValue(x), math.IsNaN(x)) }
	p.put(parquet.Int64Value(int64(t.Season)), false)
	game := ""
	if t.Game >= 0 {
		game = p.names.Games[t.Game]
	}
	text(game)
	number(t.Num[pitch.PlateAppearance])
	number(t.Num[pitch.PitchNumber])
	text(idOf(p.names.Pitchers[t.Pitcher]))
	text(t.Hand.String())
	text(t.Side.String())
	text(t.Type.String())
	text(t.Outcome.String())
	curves := r.yardstick.curves[answer.CellOfPitch(t)]
	for v, at := range r.index {
		if at < 0 {
			continue
		}
		x, _, known := r.value(t, at)
		number(x)
		for m := range measures {
			position, gain := thresholds.NoThreshold, math.NaN()
			if known && curves != nil {
				of := &curves[v*measures+m]
				position, _ = of.at(x)
				if d, _, ok := of.gain(x); ok {
					gain = math.Round(d*million) / million
				}
			}
			text(position.String())
			if m < outcomes {
				number(gain)
			}
		}
	}
}

// put adds a value to the row, or a null.
func (p *Pitches) put(v parquet.Value, null bool) {
	c := len(p.row)
	defined := 0
	if p.columns[c].Nullable && !null {
		defined = 1
	}
	if null {
		v = parquet.NullValue()
	}
	p.row = append(p.row, v.Level(0, defined, c))
}

func (p *Pitches) write() error {
	if p.parquet != nil {
		_, err := p.parquet.WriteRows([]parquet.Row{p.row})
		return err
	}
	for i, v := range p.row {
		switch {
		case v.IsNull():
			p.record[i] = ""
		case v.Kind() == parquet.Double:
			p.record[i] = strconv.FormatFloat(v.Double(), 'g', -1, 64)
		case v.Kind() == parquet.Int64:
			p.record[i] = strconv.FormatInt(v.Int64(), 10)
		default:
			p.record[i] = strings.Clone(string(v.ByteArray()))
		}
	}
	return p.csv.Write(p.record)
}

// Close ends the table.
func (p *Pitches) Close() error {
	if p.parquet != nil {
		return p.parquet.Close()
	}
	p.csv.Flush()
	return p.csv.Error()
}
