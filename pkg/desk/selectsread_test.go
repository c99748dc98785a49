package desk

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rushlight/pkg/bank"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// TestReadSelectsRoundTrip: selects that were exported and read back are the
// same items, in every form, with picture, handles and trims, also after the
// selects themselves were removed.
func TestReadSelectsRoundTrip(t *testing.T) {
	d := cameraBank(t)
	sec := timecode.Second
	want := []story.Item{
		{Code: "CCCCCC"},
		{Code: "DDDDDW", Trimmed: true, Span: timecode.Span{In: 39*sec + sec/2, Out: 41 * sec}},
		{Code: "FFFFFR", Note: "over the landing"},
		{Code: "GGGGGN", Trimmed: true, Span: timecode.Span{In: 89*sec + sec/2, Out: 92 * sec}},
		{Code: "HHHHHJ"},
		{Code: "CCCCCC"},
	}
	put := func() {
		t.Helper()
		_, err := d.change(t.Context(), "test", "test", func(tx *bank.Tx) error {
			return tx.PutSelects(story.Selects{Name: "cut", Items: want})
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if _, err := d.RemoveSelects(t.Context(), "cut"); err != nil {
		t.Fatal(err)
	}
	for _, form := range []string{"edl", "otio"} {
		for _, video := range []bool{false, true} {
			for _, handles := range []string{"", "1s"} {
				for _, remembered := range []bool{false, true} {
					put()
					file := filepath.Join(t.TempDir(), "cut."+form)
					if _, err := d.Export(t.Context(), ExportOptions{Selects: "cut", Form: form, Video: video, Handles: handles, Out: Output{Path: file}}); err != nil {
						t.Fatal(err)
					}
					if _, err := d.ReadSelects(t.Context(), ReadSelectsOptions{File: file}); err == nil || !strings.Contains(err.Error(), "exist already") {
						t.Errorf("read under a name that is taken: %v", err)
					}
					if !remembered {
						if _, err := d.RemoveSelects(t.Context(), "cut"); err != nil {
							t.Fatal(err)
						}
					}
					got, err := d.ReadSelects(t.Context(), ReadSelectsOptions{File: file, Name: "back"})
					if err != nil || len(got.Missed) > 0 || len(got.Selects.Items) != len(want) {
						t.Fatalf("%s, video %v, handles %q: %d items of %d, missed %v, %v", form, video, handles, len(got.Selects.Items), len(want), got.Missed, err)
					}
					for i, it := range got.Selects.Items {
						w := want[i]
						if it.Code != w.Code || it.Trimmed != w.Trimmed || it.Note != w.Note || w.Trimmed && it.Span != w.Span {
							// The trims of want lie on frames of 25.
							if w.Trimmed && it.Clock.Timecode(it.In, timecode.Floor) == it.Clock.Timecode(w.In, timecode.Floor) &&
								it.Clock.Timecode(it.Out, timecode.Ceil) == it.Clock.Timecode(w.Out, timecode.Ceil) {
								continue
							}
							t.Errorf("%s, video %v, handles %q, item %d: got %+v, want %+v", form, video, handles, i+1, it, w)
						}
					}
					for _, name := range []string{"back", "cut"} {
						if _, err := d.RemoveSelects(t.Context(), name); err != nil && remembered {
							t.Fatal(err)
						}
					}
				}
			}
		}
	}
}

// TestReadSelectsPublished: the published lists and documents (see
// docs/outside-data.md) are of no film of ours: each is refused with what it
// names, and nothing is made of it.
func TestReadSelectsPublished(t *testing.T) {
	dir := os.Getenv("RUSHLIGHT_CORPORA")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "shared", "corpora")
	}
	files, _ := filepath.Glob(filepath.Join(dir, "edl", "*.edl"))
	more, _ := filepath.Glob(filepath.Join(dir, "otio", "*.otio"))
	files = append(files, more...)
	if len(files) == 0 {
		t.Skip("no published lists: see docs/outside-data.md")
	}
	d := cameraBank(t)
	before, err := d.AllSelects(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		_, err := d.ReadSelects(t.Context(), ReadSelectsOptions{File: file, Rate: "24", Name: "theirs"})
		if err == nil || Hint(err) == "" || strings.Contains(err.Error(), "panic") {
			t.Errorf("%s: got %v, want a refusal with a hint", filepath.Base(file), err)
		} else {
			t.Log(err)
		}
	}
	if after, err := d.AllSelects(t.Context()); len(after) != len(before) || err != nil {
		t.Errorf("%d selects, %v, want %d", len(after), err, len(before))
	}
}

// TestReadSelectsOfOddFiles: what is no cut is refused with a hint, a list
// without a rate is read at the film's.
func TestReadSelectsOfOddFiles(t *testing.T) {
	d := cameraBank(t)
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for _, file := range []string{write("empty.edl", ""), write("brace.otio", "{"), write("words.txt", "Nobody rings a bridge."), dir, filepath.Join(dir, "none.edl")} {
		if _, err := d.ReadSelects(t.Context(), ReadSelectsOptions{File: file}); err == nil {
			t.Errorf("%s was read", filepath.Base(file))
		}
	}
	list := write("plain.edl", "\ufeffTITLE: rough\r\n1 S A C 00:00:10:00 00:00:12:00 01:00:00:00 01:00:02:00\r\n2 X AA C 00:00:10:00 00:00:12:00 01:00:02:00 01:00:04:00\r\n")
	got, err := d.ReadSelects(t.Context(), ReadSelectsOptions{File: list})
	if err != nil {
		t.Fatal(err)
	}
	if s := got.Selects; s.Name != "rough" || len(s.Items) != 1 || s.Items[0].Code != "CCCCCC" || s.Items[0].Trimmed {
		t.Errorf("got %+v", s)
	}
	if len(got.Missed) != 1 || got.Missed[0].String() != "event 2 at 01:00:02:00: reel X is not in the bank" {
		t.Errorf("missed %v", got.Missed)
	}
	if !strings.Contains(strings.Join(got.Notes, "\n"), "read at 25 frames/s, the film's") {
		t.Errorf("notes %v", got.Notes)
	}
	history, err := d.History(t.Context(), 1)
	if err != nil || history[0].Summary != `read selects "rough" from plain.edl: 1 item of 2 events` {
		t.Errorf("the journal says %v, %v", history, err)
	}
	var b bytes.Buffer
	if _, err := d.Export(t.Context(), ExportOptions{Selects: "rough", Form: "paper", Out: Output{Path: "-", Stdout: &b}}); err != nil {
		t.Error(err)
	}
}

// TestReadSelectsAtOnce: of two people who read a cut under one name at once,
// one is told that the name is taken.
func TestReadSelectsAtOnce(t *testing.T) {
	d := cameraBank(t)
	list := filepath.Join(t.TempDir(), "x.edl")
	if err := os.WriteFile(list, []byte("1 S A C 00:00:10:00 00:00:12:00 01:00:00:00 01:00:02:00\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	const people = 4
	errs := make(chan error, people)
	for range people {
		other, err := Open(t.Context(), Options{Bank: d.Dir(), Busy: time.Minute})
		if err != nil {
			t.Fatal(err)
		}
		defer other.Close()
		go func() {
			_, err := other.ReadSelects(t.Context(), ReadSelectsOptions{File: list, Name: "theirs"})
			errs <- err
		}()
	}
	made := 0
	for range people {
		if err := <-errs; err == nil {
			made++
		} else if !strings.Contains(err.Error(), "exist already") {
			t.Error(err)
		}
	}
	if made != 1 {
		t.Errorf("%d were told that they made the selects, want 1", made)
	}
}
