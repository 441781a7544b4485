package main

import (
	"maps"
	"net/url"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"sill/pipeline"
	"sill/pipeline/render/page"
	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

// newReport is the command that writes a version as a page.
func newReport(t *terminal.Terminal) *cobra.Command {
	var at place
	var out, reference string
	var force bool
	cmd := &cobra.Command{
		Use:   "report [VERSION]",
		Short: "Write a version as one page of HTML to read and to print",
		Long: `report writes one page: for each pitch type the breakpoints of the four matchups
side by side, then every figure with its numbers, contrasts, lines, the quality
of the data, the method and cautions. The page needs no network. Its links lead
to the version's files, so that it is best kept where it was written. The same
version gives the same bytes.`,
		Example: `  sill report --out report.html
  sill report v1.0.0 --out season.html            # or a league, or a folder
  sill report kestrel@v1.0.0 --out kestrel.html
  sill report --reference pitch_type_rate --out - > rate.html`,
		Args: atMost("VERSION"),
		RunE: func(_ *cobra.Command, words []string) error {
			if out == "" {
				return usagef("report: missing --out FILE; - is standard output")
			}
			if len(words) > 0 {
				named, err := at.named(words[0])
				if err != nil {
					return err
				}
				at = *named
			}
			v, err := at.open()
			if err != nil {
				return err
			}
			warnDeprecated(t, v)
			dir, err := at.dir()
			if err != nil {
				return err
			}
			if filepath.Base(dir) != v.version {
				dir = filepath.Join(dir, v.version)
			}
			page, err := reportPage(v, dir, out, reference)
			if err != nil {
				return err
			}
			if out == "-" {
				_, err = t.Out.Write(page)
				return err
			}
			return writeNew(out, page, force)
		},
	}
	f := cmd.Flags()
	at.flags(f)
	f.StringVar(&out, "out", "", "`file` to write; - for standard output")
	f.StringVar(&reference, "reference", thresholds.HeadlineReference, "`line` compared with: one whose curves are published")
	f.BoolVar(&force, "force", false, "replace the file")
	return cmd
}

// reportPage renders the page, to lie at out, of a version that lies in a folder.
func reportPage(v *published, dir, out, reference string) ([]byte, error) {
	tables, err := v.table.Load()
	if err != nil {
		return nil, err
	}
	curves := map[string]bool{}
	for i := range tables.Curves {
		curves[tables.Curves[i].Reference] = true
	}
	if len(curves) > 0 && !curves[reference] {
		return nil, unknown("line with curves", reference, slices.Sorted(maps.Keys(curves)))
	}
	quality, err := v.table.Optional("quality.json")
	if err != nil {
		return nil, err
	}
	diff, err := v.table.Optional("diff.json")
	if err != nil {
		return nil, err
	}
	base, err := way(out, dir)
	if err != nil {
		return nil, err
	}
	return pipeline.Page(tables, v.table.Manifest(), quality, diff, page.Options{Base: base, Reference: reference})
}

// way is the relative URL that leads from a page to a folder; "" for a page on
// standard output, which lies nowhere yet.
func way(page, folder string) (string, error) {
	if page == "-" {
		return "", nil
	}
	from, err := filepath.Abs(filepath.Dir(page))
	if err != nil {
		return "", err
	}
	to, err := filepath.Abs(folder)
	if err != nil {
		return "", err
	}
	rel, err := filepath.Rel(from, to)
	if err != nil || rel == "." {
		return "", err
	}
	return (&url.URL{Path: "./" + filepath.ToSlash(rel) + "/"}).EscapedPath(), nil
}
