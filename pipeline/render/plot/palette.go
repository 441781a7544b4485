package plot

import (
	"cmp"
	"image"
	"image/color"
	"maps"
	"slices"
)

// paletted returns an opaque image with its 256 most frequent colours, others
// by the nearest of them. A figure has few colours and their blends at the
// edges of letters and lines, so that nothing is seen of it and the file is
// less than half as large.
func paletted(src image.Image) *image.Paletted {
	bounds := src.Bounds()
	seen := map[color.RGBA]int{}
	at := func(x, y int) color.RGBA {
		r, g, b, _ := src.At(x, y).RGBA()
		return color.RGBA{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8), 0xff}
	}
	for y := bounds.Min.Y; y < bounds.Max.Y; y++ {
		for x := bounds.Min.X; x < bounds.Max.X; x++ {
			seen[at(x, y)]++
		}
	}
	order := slices.SortedFunc(maps.Keys(seen), func(a, b color.RGBA) int {
		return cmp.Or(cmp.Compare(seen[b], seen[a]), cmp.Compare(a.R, b.R), cmp.Compare(a.G, b.G), cmp.Compare(a.B, b.B))
	})
	var palette color.Palette
	for _, c := range order[:min(len(order), 256)] {
		palette = append(palette, c)
	}
	index := make(map[color.RGBA]uint8, len(seen))
	for _, c := range order {
		index[c] = uint8(palette.Index(c))
	}
	out := image.NewPaletted(bounds, palette)
	for y := bounds.Min.Y; y < bounds.Max.Y; y++ {
		for x := bounds.Min.X; x < bounds.Max.X; x++ {
			out.SetColorIndex(x, y, index[at(x, y)])
		}
	}
	return out
}
