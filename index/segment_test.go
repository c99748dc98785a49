package index

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"iter"
	"os"
	"path/filepath"
	"testing"

	bleveindex "github.com/blevesearch/bleve_index_api"
	segmentapi "github.com/blevesearch/scorch_segment_api/v2"
	zap "github.com/blevesearch/zapx/v17"

	"rushlight/pkg/story"
)

// segmentQuotes are 3,000 quotes, so that frequent words have several chunks
// of 1,024, and some odd ones.
func segmentQuotes() iter.Seq2[story.Quote, error] {
	odd := []story.Quote{
		{Code: "A", Text: ""},
		{Code: "AB", Reel: "D1", Text: "…!"},
		{Code: "ABCDEFGH", Reel: "D1", Speaker: "Ines", Day: "D1", Language: "en", Text: "Bell, bell's bells — the BELL rang; ringing bell", Themes: []string{"bell", "strong", "bell"}, Note: "n", Rating: 5},
		{Code: "B", Reel: "D\xff1\x00", Language: "de", Text: "Fährmänner fahren die Fähre, die Fähren fuhren", Themes: []string{"", "z", "a"}},
		{Code: "C", Text: "渡し船の鐘 ﬁne ½ Ⅻ \xff x\x00y l'eau d'été"},
		{Code: "D", Language: "fr", Text: "l'eau de l'eau, aujourd'hui"},
	}
	return func(yield func(story.Quote, error) bool) {
		for _, q := range odd {
			if !yield(q, nil) {
				return
			}
		}
		for q, err := range benchQuotes(3000) {
			q.Text += "everywhere"
			if !yield(q, err) {
				return
			}
		}
	}
}

// filledParts writes the quotes in parts of some bytes.
func filledParts(t *testing.T, dir string, most int) *parts {
	t.Helper()
	p, err := newParts(dir, most)
	if err != nil {
		t.Fatal(err)
	}
	var docs documents
	for q, err := range segmentQuotes() {
		if err != nil {
			t.Fatal(err)
		}
		s, err := p.next()
		if err != nil {
			t.Fatal(err)
		}
		if err := docs.into(s, q); err != nil {
			t.Fatal(err)
		}
	}
	return p
}

// ourSegment writes the quotes in parts of some bytes and gives the path of
// the whole.
func ourSegment(t *testing.T, most int) (path string, count int) {
	t.Helper()
	dir := t.TempDir()
	p := filledParts(t, dir, most)
	if err := p.finish(t.Context()); err != nil {
		t.Fatal(err)
	}
	found, err := filepath.Glob(filepath.Join(dir, "*.zap"))
	if err != nil || len(found) != 1 {
		t.Fatalf("segments: got %v %v, want one", found, err)
	}
	return found[0], len(p.paths)
}

// zapxSegment lets zapx write the same quotes: two segments, merged.
func zapxSegment(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	var plugin zap.ZapPlugin
	var docs documents
	var batch []bleveindex.Document
	var paths []string
	flush := func() {
		s, _, err := plugin.New(batch)
		if err != nil {
			t.Fatal(err)
		}
		paths = append(paths, filepath.Join(dir, fmt.Sprint(len(paths))))
		if err := s.(segmentapi.UnpersistedSegment).Persist(paths[len(paths)-1]); err != nil {
			t.Fatal(err)
		}
		batch = nil
	}
	for q, err := range segmentQuotes() {
		if err != nil {
			t.Fatal(err)
		}
		d, err := docs.of(q)
		if err != nil {
			t.Fatal(err)
		}
		d.AddIDField()
		if batch = append(batch, d); len(batch) == 2000 {
			flush()
		}
	}
	flush()
	whole := filepath.Join(dir, "whole")
	if err := mergeSegments(t.Context(), paths, whole); err != nil {
		t.Fatal(err)
	}
	return whole
}

// segmentFile is a segment file taken apart.
type segmentFile struct {
	body                         []byte // all before the table of fields
	docs, stored, fields         uint64
	chunkMode, version, sum, own uint32
}

func readSegment(t *testing.T, path string) segmentFile {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	u64 := func(end int) uint64 { return binary.BigEndian.Uint64(b[len(b)-end:]) }
	u32 := func(end int) uint32 { return binary.BigEndian.Uint32(b[len(b)-end:]) }
	f := segmentFile{
		sum: u32(4), version: u32(8), chunkMode: u32(12), docs: u64(36), stored: u64(28),
		own: crc32.ChecksumIEEE(b[:len(b)-4]),
	}
	n, k := binary.Uvarint(b[u64(20):])
	f.fields = n
	f.body = b[:binary.BigEndian.Uint64(b[int(u64(20))+k:])]
	return f
}

// TestSegmentLikeZapx holds the segments of full builds against what zapx, the
// library that reads them, writes for the same quotes: byte for byte, but for
// the table of fields, in which zapx lists sections that aren't used.
func TestSegmentLikeZapx(t *testing.T) {
	want := readSegment(t, zapxSegment(t))
	for name, most := range map[string]int{"one part": partBytes, "several parts": 100_000} {
		t.Run(name, func(t *testing.T) {
			path, parts := ourSegment(t, most)
			if got := parts > 1; got != (most < partBytes) {
				t.Fatalf("parts: got %d", parts)
			}
			got := readSegment(t, path)
			if !bytes.Equal(got.body, want.body) {
				at := 0
				for at < min(len(got.body), len(want.body)) && got.body[at] == want.body[at] {
					at++
				}
				t.Errorf("got %d bytes, want %d, different from %d on", len(got.body), len(want.body), at)
			}
			if got.sum != got.own {
				t.Errorf("check sum: got %08x, want %08x", got.sum, got.own)
			}
			got.body, got.sum, got.own = nil, 0, 0
			w := want
			w.body, w.sum, w.own = nil, 0, 0
			if fmt.Sprint(got) != fmt.Sprint(w) {
				t.Errorf("footer: got %+v, want %+v", got, w)
			}
		})
	}
}

// TestJoiningStops: segments are not joined any more once that was stopped.
func TestJoiningStops(t *testing.T) {
	dir := t.TempDir()
	p := filledParts(t, dir, 1000)
	defer p.abandon()
	stopped, stop := context.WithCancel(t.Context())
	stop()
	if err := p.finish(stopped); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want that it was stopped", err)
	}
	if len(p.paths) < 2 {
		t.Fatalf("%d segments: there was nothing to join", len(p.paths))
	}
	if found, _ := filepath.Glob(filepath.Join(dir, "*.zap")); len(found) > 0 {
		t.Errorf("%v is there", found)
	}
}
