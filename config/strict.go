package config

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"sort"

	"github.com/go-viper/mapstructure/v2"
	"go.yaml.in/yaml/v3"
)

// decode fills dst from settings: unknown keys and fractions in whole-number
// fields are errors, and nothing is converted in silence.
func decode(settings map[string]any, dst any) error {
	var meta mapstructure.Metadata
	d, err := mapstructure.NewDecoder(&mapstructure.DecoderConfig{
		Result:               dst,
		Metadata:             &meta,
		ZeroFields:           true,
		IgnoreUntaggedFields: true,
		DecodeHook:           wholeNumbers,
	})
	if err != nil {
		return err
	}
	if err := d.Decode(settings); err != nil {
		return err
	}
	sort.Strings(meta.Unused)
	var faults []error
	for _, key := range meta.Unused {
		faults = append(faults, fmt.Errorf("unknown key %q%s", key, didYouMean(key, meta.Unset)))
	}
	return errors.Join(faults...)
}

// wholeNumbers refuses a fraction where a whole number belongs.
func wholeNumbers(from, to reflect.Type, data any) (any, error) {
	if from.Kind() != reflect.Float64 {
		return data, nil
	}
	switch to.Kind() {
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64,
		reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		if f := data.(float64); f != math.Trunc(f) {
			return nil, fmt.Errorf("%v is not a whole number", f)
		}
	}
	return data, nil
}

var leadingZero = regexp.MustCompile(`^[-+]?0[0-9]`)

// checkYAML refuses what YAML would turn into something else without a word:
// nulls, unquoted dates and numbers with leading zeros, and keys given twice.
func checkYAML(file string, raw []byte) error {
	var doc yaml.Node
	if err := yaml.Unmarshal(raw, &doc); err != nil {
		return fmt.Errorf("read %s: %w", file, err)
	}
	var faults []error
	fault := func(n *yaml.Node, format string, args ...any) {
		faults = append(faults, fmt.Errorf("%s:%d: %s", file, n.Line, fmt.Sprintf(format, args...)))
	}
	var visit func(n *yaml.Node)
	visit = func(n *yaml.Node) {
		switch n.Kind {
		case yaml.MappingNode:
			seen := map[string]bool{}
			for i := 0; i < len(n.Content); i += 2 {
				if k := n.Content[i]; seen[k.Value] {
					fault(k, "key %q is given twice", k.Value)
				} else {
					seen[k.Value] = true
				}
				visit(n.Content[i+1])
			}
			return
		case yaml.ScalarNode:
			if n.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) != 0 {
				return
			}
			switch tag := n.ShortTag(); {
			case tag == "!!null":
				fault(n, "a null value: give a value or leave the key out")
			case tag == "!!timestamp":
				fault(n, "an unquoted date %s: write it in quotes", n.Value)
			case (tag == "!!int" || tag == "!!float") && leadingZero.MatchString(n.Value):
				fault(n, "a number with leading zeros %s: write it in quotes", n.Value)
			}
			return
		}
		for _, c := range n.Content {
			visit(c)
		}
	}
	visit(&doc)
	return errors.Join(faults...)
}
