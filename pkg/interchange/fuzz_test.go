package interchange

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

// seed adds the golden file and, where they are, the corpus.
func seed(f *testing.F, name, pattern string) {
	files, err := filepath.Glob(filepath.Join("testdata", pattern))
	if err != nil {
		f.Fatal(err)
	}
	if dir := os.Getenv("RUSHLIGHT_CORPORA"); dir != "" {
		more, _ := filepath.Glob(filepath.Join(dir, name, pattern))
		files = append(files, more...)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(data))
	}
}

// What is read as a list can be written, and reads back with the same places;
// what is not gives an error of ours.
func FuzzReadEDL(f *testing.F) {
	seed(f, "edl", "*.edl")
	for _, s := range []string{
		"1 A V C 23:59:59;29 00:00:01;00 23:59:59;28 00:00:01;00\n* LOC: 00:00:00;05 RED x",
		"FCM: DROP FRAME\n1 A V K B 010 01:00:00:00 01:00:01:00 00:00:00:00 00:00:01:00\nAUD 3 4\nM2 A -25.0 01:00:00:00",
		"* REEL A IS b c\n2 A V C 01:00:00:00 01:00:00:00 00:00:00:00 00:00:00:00\n2 BL V W001 999999 01:00:00:00 01:00:01:00 00:00:00:00 00:00:01:00\n* HANDLES: 1 2",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, list string) {
		for _, b := range []timecode.Base{{Rate: timecode.Rate25}, {Rate: timecode.Rate2997, Drop: true}, {}} {
			c, _, err := ReadEDL(strings.NewReader(list), "x.edl", b)
			if err != nil {
				if !errors.Is(err, ErrFormat) {
					t.Fatalf("%v does not wrap ErrFormat", err)
				}
				continue
			}
			var w bytes.Buffer
			if _, err := WriteEDL(&w, c, EDLOptions{FullPaths: true}); err != nil {
				t.Fatalf("cannot write what was read: %v", err)
			}
			again, _, err := ReadEDL(bytes.NewReader(w.Bytes()), "x.edl", timecode.Base{})
			if err != nil {
				t.Fatalf("cannot read what was written: %v\n%s", err, w.String())
			}
			if len(again.Events) != len(c.Events) {
				t.Fatalf("%d events became %d\n%s", len(c.Events), len(again.Events), w.String())
			}
			for i := range c.Events {
				x, y := c.Events[i], again.Events[i]
				if x.Source != y.Source || x.Record != y.Record || x.Gap != y.Gap || x.Track != y.Track {
					t.Fatalf("event %d: %v %v became %v %v\n%s", i+1, x.Source, x.Record, y.Source, y.Record, w.String())
				}
			}
			_ = WriteOTIO(&bytes.Buffer{}, c)
			_ = WritePaper(&bytes.Buffer{}, c, PaperOptions{})
			_ = WriteCSV(&bytes.Buffer{}, c)
		}
	})
}

// What is read from a document can be written, unless the lanes overlap, and
// reads back with the same events.
func FuzzReadOTIO(f *testing.F) {
	seed(f, "otio", "*.otio")
	f.Add(`{"OTIO_SCHEMA":"Track.1","kind":"Video","children":[{"OTIO_SCHEMA":"Transition.1","in_offset":{"rate":25,"value":5}},{"OTIO_SCHEMA":"Clip.1","name":"a","media_reference":{"available_range":{"start_time":{"rate":25,"value":1},"duration":{"rate":25,"value":3.5}},"target_url":"file:///a%20b"},"markers":[{"range":{"start_time":{"rate":1,"value":1}}}]}]}`)
	f.Fuzz(func(t *testing.T, doc string) {
		c, _, err := ReadOTIO(strings.NewReader(doc), "x.otio")
		if err != nil {
			if !errors.Is(err, ErrFormat) {
				t.Fatalf("%v does not wrap ErrFormat", err)
			}
			return
		}
		var w bytes.Buffer
		if err := WriteOTIO(&w, c); err != nil {
			if !errors.Is(err, ErrCut) {
				t.Fatalf("cannot write what was read: %v", err)
			}
			return
		}
		again, _, err := ReadOTIO(bytes.NewReader(w.Bytes()), "x.otio")
		if err != nil {
			t.Fatalf("cannot read what was written: %v", err)
		}
		if again.Base != c.Base || len(again.Events) != len(c.Events) {
			t.Fatalf("%d events at %s became %d at %s", len(c.Events), c.Base, len(again.Events), again.Base)
		}
		for i := range c.Events {
			x, y := c.Events[i], again.Events[i]
			if x.Reel != y.Reel || x.Gap != y.Gap || !reflect.DeepEqual(x.Themes, y.Themes) {
				t.Fatalf("event %d: %+v became %+v", i+1, x, y)
			}
		}
		_, _ = WriteEDL(&bytes.Buffer{}, c, EDLOptions{})
	})
}
