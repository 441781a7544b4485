package ingest

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/format"
)

// Limits on what a file may ask for. Ordinary files stay far below.
const (
	maxFooter     = 16 << 20  // bytes of metadata
	maxChunk      = 1 << 30   // bytes of one column chunk, compressed or not
	maxPage       = 256 << 20 // bytes of one page after decompression
	maxPageValues = 16 << 20  // values of one page
	maxPageHeader = 64 << 10  // bytes of one page header
	maxRows       = 1<<31 - 1 // rows of one file
)

// source is an open input file that passed the guard.
type source struct {
	file   File
	f      *os.File
	pf     *parquet.File
	size   int64
	data   int64 // offset at which the data ends and the footer starts
	leaves map[string]*parquet.Column
	names  []string // leaf names in the file's order
}

func (s *source) close() { s.f.Close() }

// fail returns a FileError of the file.
func (f File) fail(group int, column, fix string, err error, msg string, args ...any) *FileError {
	return &FileError{File: f.Name, RowGroup: group, Column: column, Msg: fmt.Sprintf(msg, args...), Fix: fix, Err: err}
}

// damaged returns a FileError of a file that is not as it was written.
func (f File) damaged(group int, column string, err error, msg string, args ...any) *FileError {
	return f.fail(group, column, "the file is damaged: ask for it again", err, msg, args...)
}

// recovered runs fn and turns a panic of the Parquet library into an error.
func recovered(f File, fn func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = f.damaged(-1, "", nil, "the Parquet reader gave up: %v", r)
		}
	}()
	return fn()
}

// open opens one file and checks its metadata; see the package's page on
// hostile files. No value is read.
func open(f File) (*source, error) {
	h, err := os.Open(f.Path)
	if err != nil {
		return nil, f.fail(-1, "", "", err, "cannot be opened")
	}
	s := &source{file: f, f: h, leaves: map[string]*parquet.Column{}}
	if err := recovered(f, s.openFooter); err != nil {
		h.Close()
		return nil, err
	}
	return s, nil
}

func (s *source) openFooter() error {
	info, err := s.f.Stat()
	if err != nil {
		return s.file.fail(-1, "", "", err, "cannot be opened")
	}
	if !info.Mode().IsRegular() {
		return s.file.fail(-1, "", "name a file", nil, "is no regular file")
	}
	s.size = info.Size()
	bad := func(err error, msg string, args ...any) error { return s.file.damaged(-1, "", err, msg, args...) }
	if s.size == 0 {
		return bad(nil, "the file is empty")
	}
	var head [4]byte
	var tail [8]byte
	if s.size < 12 {
		return bad(nil, "not a Parquet file: only %d bytes", s.size)
	}
	if _, err := s.f.ReadAt(head[:], 0); err != nil {
		return bad(err, "cannot be read")
	}
	if _, err := s.f.ReadAt(tail[:], s.size-8); err != nil {
		return bad(err, "cannot be read")
	}
	if string(head[:]) == "PARE" || string(tail[4:]) == "PARE" {
		return s.file.fail(-1, "", "write it without encryption", nil, "the file is encrypted")
	}
	if string(head[:]) != "PAR1" {
		return s.file.fail(-1, "", "convert it to Parquet", nil, "not a Parquet file")
	}
	if string(tail[4:]) != "PAR1" {
		return bad(nil, "the file is truncated: it does not end with a Parquet footer")
	}
	n := int64(binary.LittleEndian.Uint32(tail[:]))
	if n > maxFooter || n > s.size-12 {
		return bad(nil, "the footer claims %d bytes of %d", n, s.size)
	}
	s.data = s.size - 8 - n
	footer := make([]byte, n)
	if _, err := s.f.ReadAt(footer, s.data); err != nil {
		return bad(err, "cannot be read")
	}
	if err := (&compact{b: footer}).skip(wireStruct, 0); err != nil {
		return bad(err, "the footer is damaged")
	}
	s.pf, err = parquet.OpenFile(s.f, s.size, parquet.SkipPageIndex(true), parquet.SkipBloomFilters(true),
		parquet.FileReadMode(parquet.ReadModeSync), parquet.ReadBufferSize(32<<10))
	if err != nil {
		return bad(err, "the footer is damaged")
	}
	return s.checkShape(bad)
}

// checkShape checks row counts and collects the leaf columns.
func (s *source) checkShape(bad func(error, string, ...any) error) error {
	meta := s.pf.Metadata()
	if meta.NumRows < 0 || meta.NumRows > maxRows {
		return bad(nil, "the footer claims %d rows", meta.NumRows)
	}
	var visit func(c *parquet.Column, depth int) error
	visit = func(c *parquet.Column, depth int) error {
		if depth > 64 {
			return bad(nil, "the schema is nested too deeply")
		}
		if c.Leaf() {
			name := strings.Join(c.Path(), ".")
			if _, twice := s.leaves[name]; twice {
				return bad(nil, "column %q stands in the file twice", name)
			}
			s.leaves[name] = c
			s.names = append(s.names, name)
			return nil
		}
		for _, child := range c.Columns() {
			if err := visit(child, depth+1); err != nil {
				return err
			}
		}
		return nil
	}
	if err := visit(s.pf.Root(), 0); err != nil {
		return err
	}
	sum := int64(0)
	for i, g := range meta.RowGroups {
		if g.NumRows < 0 || g.NumRows > meta.NumRows {
			return bad(nil, "row group %d claims %d rows of %d", i, g.NumRows, meta.NumRows)
		}
		if len(g.Columns) != len(s.names) {
			return bad(nil, "row group %d has %d columns of %d", i, len(g.Columns), len(s.names))
		}
		for k, name := range s.names {
			if path := []string(g.Columns[k].MetaData.PathInSchema); !slices.Equal(path, s.leaves[name].Path()) {
				return bad(nil, "row group %d calls column %q %q", i, name, strings.Join(path, "."))
			}
		}
		sum += g.NumRows
	}
	if sum != meta.NumRows || len(s.pf.RowGroups()) != len(meta.RowGroups) {
		return bad(nil, "the row groups hold %d rows, the footer claims %d", sum, meta.NumRows)
	}
	return nil
}

// chunkMeta returns the metadata of one column chunk after checking it.
func (s *source) chunkMeta(group int, leaf *parquet.Column, name string) (*format.ColumnMetaData, error) {
	bad := func(msg string, args ...any) error { return s.file.damaged(group, name, nil, msg, args...) }
	g := &s.pf.Metadata().RowGroups[group]
	if i := leaf.Index(); i < 0 || i >= len(g.Columns) {
		return nil, bad("the column has no chunk")
	}
	c := &g.Columns[leaf.Index()]
	m := &c.MetaData
	start := chunkStart(m)
	switch {
	case c.FilePath != "":
		return nil, bad("the data stands in another file")
	case len(c.EncryptedColumnMetadata) > 0 || c.CryptoMetadata.Value != nil:
		return nil, bad("the column is encrypted")
	case int(m.Type) != int(leaf.Type().Kind()):
		return nil, bad("its type in the row group is %v, in the schema %v", m.Type, leaf.Type().Kind())
	case m.NumValues != g.NumRows:
		return nil, bad("%d values in %d rows", m.NumValues, g.NumRows)
	case leaf.MaxDefinitionLevel() == 0 && m.Statistics.NullCount != 0:
		return nil, bad("a required column claims %d nulls", m.Statistics.NullCount)
	case m.Statistics.NullCount < 0 || m.Statistics.NullCount > g.NumRows:
		return nil, bad("%d nulls in %d rows", m.Statistics.NullCount, g.NumRows)
	case m.TotalCompressedSize < 0 || m.TotalCompressedSize > maxChunk || m.TotalUncompressedSize < 0 || m.TotalUncompressedSize > maxChunk:
		return nil, bad("the chunk claims %d bytes, %d decompressed", m.TotalCompressedSize, m.TotalUncompressedSize)
	case start < 4 || start > s.data || m.TotalCompressedSize > s.data-start:
		return nil, bad("the chunk lies outside the file")
	case m.DataPageOffset < start || m.DataPageOffset > start+m.TotalCompressedSize:
		return nil, bad("the data pages lie outside the chunk")
	}
	switch m.Codec {
	case format.Uncompressed, format.Snappy, format.Gzip, format.Zstd:
	default:
		return nil, s.file.fail(group, name, "write it with zstd, snappy, gzip or no compression", nil, "compression %v is not read", m.Codec)
	}
	return m, nil
}

// chunkStart is the offset of the first page, as the Parquet library sees it.
func chunkStart(m *format.ColumnMetaData) int64 {
	if m.DictionaryPageOffset != 0 {
		return m.DictionaryPageOffset
	}
	return m.DataPageOffset
}

// pageHeader is what the guard needs of a page's header.
type pageHeader struct {
	kind, plain, packed int64 // page type, bytes decompressed, bytes stored
	values, rows, nulls int64
	levels              int64 // bytes of levels, stored uncompressed (version 2)
	raw                 bool  // version 2 page that is not compressed
	crc                 bool
}

const (
	dataPage       = 0
	indexPage      = 1
	dictionaryPage = 2
	dataPage2      = 3
)

func (c *compact) pageHeader() (h pageHeader, err error) {
	h.rows, h.nulls, h.values = -1, -1, -1
	err = c.fields(func(id int16, wire byte) error {
		var to *int64
		switch id {
		case 1:
			to = &h.kind
		case 2:
			to = &h.plain
		case 3:
			to = &h.packed
		case 4:
			h.crc = true
		case 5, 7, 8:
			if wire != wireStruct {
				return errThriftBad
			}
			return c.fields(func(sub int16, wire byte) error {
				var to *int64
				switch {
				case sub == 1:
					to = &h.values
				case id == 8 && sub == 2:
					to = &h.nulls
				case id == 8 && sub == 3:
					to = &h.rows
				case id == 8 && (sub == 5 || sub == 6) && wire == wireI32:
					n, err := c.int()
					if n < 0 {
						return errThriftBad
					}
					h.levels += n
					return err
				case id == 8 && sub == 7 && (wire == wireTrue || wire == wireFalse):
					h.raw = wire == wireFalse
					return nil
				}
				return c.number(to, wire)
			})
		}
		return c.number(to, wire)
	})
	return h, err
}

// number reads an i32 into to, or skips a field nobody asked for.
func (c *compact) number(to *int64, wire byte) (err error) {
	if to == nil {
		return c.skip(wire, 0)
	}
	if wire != wireI32 {
		return errThriftBad
	}
	*to, err = c.int()
	return err
}

// checkPages walks the pages of a chunk without decoding them and refuses
// what would overrun memory or disagree with the row group. It returns whether
// every page carries a checksum.
func (s *source) checkPages(group int, name string, m *format.ColumnMetaData, buf *[]byte) (crc bool, err error) {
	bad := func(err error, msg string, args ...any) error { return s.file.damaged(group, name, err, msg, args...) }
	rest := m.TotalCompressedSize
	r := bufio.NewReaderSize(io.NewSectionReader(s.f, chunkStart(m), rest), maxPageHeader)
	crc = true
	values, pages, dictionaries := int64(0), 0, 0
	for rest > 0 {
		head, err := r.Peek(int(min(rest, maxPageHeader)))
		if err != nil {
			return false, bad(err, "page %d cannot be read", pages)
		}
		c := &compact{b: head}
		h, err := c.pageHeader()
		if err != nil {
			return false, bad(err, "page %d: the header is damaged", pages)
		}
		rest -= int64(c.i)
		if _, err := r.Discard(c.i); err != nil {
			return false, bad(err, "page %d cannot be read", pages)
		}
		switch {
		case h.packed < 0 || h.packed > rest:
			return false, bad(nil, "page %d claims %d bytes, %d are left", pages, h.packed, rest)
		case h.plain < 0 || h.plain > maxPage:
			return false, bad(nil, "page %d claims %d bytes decompressed", pages, h.plain)
		case h.kind != indexPage && (h.values < 0 || h.values > maxPageValues):
			return false, bad(nil, "page %d claims %d values", pages, h.values)
		case h.kind == dictionaryPage && h.values > h.plain:
			return false, bad(nil, "page %d: a dictionary of %d entries in %d bytes", pages, h.values, h.plain)
		case h.kind == dataPage2 && (h.rows != h.values || h.nulls < 0 || h.nulls > h.values || h.levels > h.packed || h.levels > h.plain):
			return false, bad(nil, "page %d: %d rows, %d values, %d nulls disagree", pages, h.rows, h.values, h.nulls)
		}
		switch h.kind {
		case dataPage, dataPage2:
			values += h.values
		case dictionaryPage:
			if dictionaries++; dictionaries > 1 {
				return false, bad(nil, "page %d is a second dictionary", pages)
			}
		default:
			return false, bad(nil, "page %d is of kind %d, which is no data", pages, h.kind)
		}
		crc = crc && h.crc
		rest -= h.packed
		pages++
		if m.Codec == format.Uncompressed || h.raw {
			if h.packed != h.plain {
				return false, bad(nil, "page %d: %d bytes stored, %d claimed", pages-1, h.packed, h.plain)
			}
			if _, err := r.Discard(int(h.packed)); err != nil {
				return false, bad(err, "page %d cannot be read", pages-1)
			}
			continue
		}
		*buf = slices.Grow((*buf)[:0], int(h.packed))[:h.packed]
		if _, err := io.ReadFull(r, *buf); err != nil {
			return false, bad(err, "page %d cannot be read", pages-1)
		}
		if err := checkExpansion(m.Codec, (*buf)[h.levels:], h.plain-h.levels); err != nil {
			return false, bad(err, "page %d", pages-1)
		}
	}
	if values != m.NumValues {
		return false, bad(nil, "the pages hold %d values of %d", values, m.NumValues)
	}
	return crc, nil
}

var errExpands = errors.New("the compressed data does not decompress to the size it claims")

// checkExpansion tells, before anything is allocated, whether compressed data
// would decompress to more than it claims.
func checkExpansion(codec format.CompressionCodec, b []byte, plain int64) error {
	if plain == 0 && len(b) == 0 {
		return nil
	}
	switch codec {
	case format.Snappy: // opens with its length (snappy format description, section 1)
		n, k := binary.Uvarint(b)
		if k <= 0 || n != uint64(plain) {
			return errExpands
		}
	case format.Gzip:
		z, err := gzip.NewReader(bytes.NewReader(b))
		if err != nil {
			return err
		}
		n, err := io.Copy(io.Discard, io.LimitReader(z, plain+1))
		if err != nil {
			return err
		}
		if n != plain {
			return errExpands
		}
	case format.Zstd:
		return checkZstd(b, plain)
	}
	return nil
}

// checkZstd walks the frames and blocks of zstd data (RFC 8878, section 3.1).
// A compressed block holds at most 128 KiB, a raw or repeated one says its
// size, so a bound of the total is known without decompressing.
func checkZstd(b []byte, plain int64) error {
	const block = 128 << 10
	le := func(n int) (v uint64, ok bool) {
		if len(b) < n {
			return 0, false
		}
		for i := n - 1; i >= 0; i-- {
			v = v<<8 | uint64(b[i])
		}
		b = b[n:]
		return v, true
	}
	exact, bound := int64(0), int64(0)
	for len(b) > 0 {
		magic, ok := le(4)
		if ok && magic&^0xf == 0x184D2A50 { // skippable frame
			n, ok := le(4)
			if !ok || n > uint64(len(b)) {
				return errExpands
			}
			b = b[n:]
			continue
		}
		desc, ok2 := le(1)
		if !ok || !ok2 || magic != 0xFD2FB528 {
			return errors.New("no zstd frame")
		}
		single := desc&0x20 != 0
		if !single {
			w, ok := le(1)
			if !ok || w>>3 > 17 { // window of more than 128 MiB
				return errExpands
			}
		}
		if _, ok := le([4]int{0, 1, 2, 4}[desc&3]); !ok {
			return errExpands
		}
		size := [4]int{0, 2, 4, 8}[desc>>6]
		if desc>>6 == 0 && single {
			size = 1
		}
		content, ok := le(size)
		if size == 2 {
			content += 256
		}
		if !ok || size > 0 && content > uint64(plain) {
			return errExpands
		}
		for last := false; !last; {
			h, ok := le(3)
			if !ok {
				return errExpands
			}
			last = h&1 != 0
			n, stored := int64(h>>3), int64(h>>3)
			switch h >> 1 & 3 {
			case 0:
				exact += n
			case 1:
				exact, stored = exact+n, 1
			case 2:
				bound += block
			default:
				return errExpands
			}
			if stored > int64(len(b)) || exact > plain || exact+bound > 2*maxPage {
				return errExpands
			}
			b = b[stored:]
		}
		if desc&4 != 0 {
			if _, ok := le(4); !ok {
				return errExpands
			}
		}
	}
	return nil
}
