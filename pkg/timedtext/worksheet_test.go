package timedtext

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

func TestWorksheet(t *testing.T) {
	entries := []WorksheetEntry{
		{"INES", "", timecode.Span{In: timecode.FromMillis(12_400), Out: timecode.FromMillis(20_080)}},
		{"", "", timecode.Span{In: timecode.FromMillis(21_000), Out: timecode.FromMillis(22_000)}},
		{"speaker 2", "", timecode.Span{In: timecode.FromMillis(30_000), Out: timecode.FromMillis(31_000)}},
	}
	start := 10 * timecode.Hour
	for _, clock := range []timecode.Clock{{Base: at25, Start: start}, {}} {
		var b bytes.Buffer
		if err := WriteWorksheet(&b, "D2-INT2", entries, clock); err != nil {
			t.Fatal(err)
		}
		if clock.Base.Rate.Known() && !strings.Contains(b.String(), "\n[10:00:12:10 - 10:00:20:02] INES: \n") {
			t.Errorf("got\n%s", b.String())
		}
		d, err := Read(strings.NewReader(b.String()), ReadOptions{Name: "x.txt"})
		if err != nil || len(d.Cues) != 0 || len(d.Repairs) != 0 || len(d.Comments) != 4 {
			t.Errorf("untouched: got %v, %v, %v, comments %q", err, d.Cues, d.Repairs, d.Comments)
		}
		typed := strings.Replace(b.String(), "INES: ", "INES: It was the bell.\nNobody rang: yes.", 1)
		typed = strings.Replace(typed, "] \n", "] He said: no.\n", 1)
		typed = strings.Replace(typed, "speaker 2: ", "speaker 2: \nWho rang?", 1)
		d, err = Read(strings.NewReader(typed), ReadOptions{Name: "x.txt"})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, c := range d.Cues {
			got = append(got, fmt.Sprintf("%s-%s %s %s", c.In-clock.Start, c.Out-clock.Start, c.Speaker(), strings.ReplaceAll(c.Plain(), "\n", "/")))
		}
		want := []string{"00:00:12.400-00:00:20.080 INES It was the bell./Nobody rang: yes.", "00:00:21.000-00:00:22.000  He said: no.", "00:00:30.000-00:00:31.000 speaker 2 Who rang?"}
		if !slices.Equal(got, want) || d.Labels != clock.Base.Rate.Known() {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// What is said already is read back word for word, and neighbours don't
// overlap although their edges lie inside one frame.
func TestWorksheetOfWords(t *testing.T) {
	entries := []WorksheetEntry{
		{"Ines", "It was: the bell.", timecode.Span{In: timecode.FromMillis(1010), Out: timecode.FromMillis(2010)}},
		{"Joss", "Who\nrang?", timecode.Span{In: timecode.FromMillis(2015), Out: timecode.FromMillis(2600)}},
		{"Ines", "", timecode.Span{In: timecode.FromMillis(3000), Out: timecode.FromMillis(4000)}},
	}
	for _, start := range []timecode.Ticks{0, 10*timecode.Hour + timecode.FromMillis(7)} {
		var b bytes.Buffer
		if err := WriteWorksheet(&b, "D2-INT2", entries, timecode.Clock{Base: at25, Start: start}); err != nil {
			t.Fatal(err)
		}
		d, err := Read(strings.NewReader(b.String()), ReadOptions{Name: "x.txt"})
		if err != nil || len(d.Cues) != 2 || len(d.Repairs) != 0 {
			t.Fatalf("got %v, %d cues, repairs %v of\n%s", err, len(d.Cues), d.Repairs, b.String())
		}
		for i, c := range d.Cues {
			if want := oneLine(entries[i].Text); c.Plain() != want || c.Speaker() != entries[i].Speaker {
				t.Errorf("got %s: %q, want %s: %q", c.Speaker(), c.Plain(), entries[i].Speaker, want)
			}
		}
		if d.Cues[0].Out > d.Cues[1].In {
			t.Errorf("the first ends at %s, the second begins at %s", d.Cues[0].Out, d.Cues[1].In)
		}
	}
}
