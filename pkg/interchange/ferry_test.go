package interchange

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

var update = flag.Bool("update", false, "write golden files anew")

// golden compares with testdata/name.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs; got:\n%s", path, got)
	}
}

// corpus is a folder of shared sample files.
func corpus(t testing.TB, name string) string {
	t.Helper()
	dir := os.Getenv("RUSHLIGHT_CORPORA")
	if dir == "" {
		root, err := os.Getwd()
		if err != nil {
			t.Fatal(err)
		}
		for {
			if _, err := os.Stat(filepath.Join(root, "go.mod")); err == nil {
				break
			}
			up := filepath.Dir(root)
			if up == root {
				t.Fatal("no go.mod above the test")
			}
			root = up
		}
		dir = filepath.Join(root, "..", "shared", "corpora")
	}
	dir = filepath.Join(dir, name)
	if _, err := os.Stat(dir); err != nil {
		t.Skip(name + " samples not found: set RUSHLIGHT_CORPORA")
	}
	return dir
}

func base(text string) timecode.Base {
	b, err := timecode.ParseBase(text)
	if err != nil {
		panic(err)
	}
	return b
}

func at(b timecode.Base, label string) timecode.Ticks {
	n, err := b.Frame(label)
	if err != nil {
		panic(err)
	}
	return b.Rate.Ticks(n)
}

// piece is an event of the invented ferry film, source and record as labels.
func piece(b timecode.Base, reel, start, in, out, recIn, recOut string) story.Event {
	return story.Event{
		Reel: reel, Clock: timecode.Clock{Base: b, Start: at(b, start)},
		Source: timecode.Span{In: at(b, in) - at(b, start), Out: at(b, out) - at(b, start)},
		Record: timecode.Span{In: at(b, recIn) - at(b, "01:00:00:00"), Out: at(b, recOut) - at(b, "01:00:00:00")},
	}
}

func code(reel string, second timecode.Ticks) story.Code {
	return story.NewCode(reel, second*timecode.Second, func(story.Code) bool { return false })
}

// ferry is a short cut of the invented ferry film.
func ferry() story.Cut {
	b := base("25")
	frame := b.Rate.Ticks(1)
	one := piece(b, "D2-INT2", "10:00:00:00", "10:04:12:05", "10:04:19:12", "01:00:00:00", "01:00:07:07")
	one.Path, one.Channels, one.Available = "/film/The Far Bank/audio/D2-INT2 #1.wav", 3, 300*timecode.Second
	one.Speaker, one.Code, one.Themes = "Ines Corrigan", code("D2-INT2", 252), []string{"bell", "the far bank"}
	one.Text = "You ring, and somebody comes. That's all it ever was. You ring it once for a walker and twice if you've a bicycle with you."
	one.Note = "Wind on the boom; the lavalier is clean."
	one.Lead, one.Tail = 12*frame, 12*frame
	two := piece(b, "D2-INT2", "10:00:00:00", "10:04:41:00", "10:04:43:20", "01:00:07:07", "01:00:10:02")
	two.Path, two.Channels, two.Available = one.Path, 3, 300*timecode.Second
	two.Speaker, two.Code, two.Text = "Ines Corrigan", code("D2-INT2", 281), "Nobody rings a bridge."
	gap := story.Event{
		Gap: true, Clock: timecode.Clock{Base: b},
		Source: timecode.Span{Out: 25 * frame},
		Record: timecode.Span{In: 252 * frame, Out: 277 * frame},
	}
	three := piece(b, "D1-WILF", "09:00:00:00", "09:02:00:00", "09:02:04:00", "01:00:11:02", "01:00:15:02")
	three.Speaker, three.Code = "Wilf Tranter", code("D1-WILF", 120)
	three.Channels = 2
	three.Text = "I *still* ring it.\n\n- Why? - Habit, they say. <laughs> 2. It's a fine bell."
	three.Note = "=landing, second try"
	return story.Cut{
		Title: "The Far Bank: opening", Base: b, Start: at(b, "01:00:00:00"),
		Events: []story.Event{one, two, gap, three},
		Notes:  []string{"reel D1-WILF: no sound file, only a transcript"},
	}
}

// failer is what testing.T and rapid.T have in common here.
type failer interface {
	Helper()
	Errorf(format string, a ...any)
	Fatalf(format string, a ...any)
}
