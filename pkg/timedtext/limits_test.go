package timedtext

import (
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"time"
)

// Lines made to be slow: each reading takes time in proportion to its length.
func TestNoSlowInput(t *testing.T) {
	const n = 200_000
	cases := map[string]string{
		"SRT brackets":   "1\n00:00:01,000 --> 00:00:02,000\n" + strings.Repeat("<", n),
		"SRT ampersands": "1\n00:00:01,000 --> 00:00:02,000\n" + strings.Repeat("&a", n),
		"SRT braces":     "1\n00:00:01,000 --> 00:00:02,000\n" + strings.Repeat(`{\`, n),
		"SRT numbers":    "1\n00:00:01,000 --> 00:00:02,000\n" + strings.Repeat("1\n", n),
		"VTT tags":       "WEBVTT\n\n00:01.000 --> 00:02.000\n" + strings.Repeat("<i>x", n),
		"VTT times":      "WEBVTT\n\n00:01.000 --> 00:02.000\n" + strings.Repeat("x<00:01.500>", 20_000),
		"plain brackets": "[0:10] " + strings.Repeat("[0:1", n),
		"plain digits":   "[0:10] x\n" + strings.Repeat("A 1 ", n),
		"ASS overrides":  "[Events]\nDialogue: 0,0:00:01.50,0:00:02.25,D,,0,0,0,," + strings.Repeat(`{\i1}x{\i0}y`, n/4),
		"ASS commas":     "[Events]\nDialogue: 0,0:00:01.50,0:00:02.25,D," + strings.Repeat("x,", n),
		"CSV quotes":     "tc,text\n0:10,\"" + strings.Repeat(`"`, n),
	}
	for name, in := range cases {
		t.Run(name, func(t *testing.T) {
			began := time.Now()
			_, err := Read(strings.NewReader(in), ReadOptions{})
			if err != nil && !errors.Is(err, ErrFormat) {
				t.Fatal(err)
			}
			if d := time.Since(began); d > 2*time.Second {
				t.Errorf("took %v", d)
			} else {
				t.Logf("%d bytes in %v", len(in), d)
			}
		})
	}
}

// endless gives a line of text for ever.
type endless struct{ n int }

func (e *endless) Read(p []byte) (int, error) {
	const cue = "1\n00:00:01,000 --> 00:00:02,000\n"
	if e.n == 0 {
		e.n++
		return copy(p, cue), nil
	}
	for i := range p {
		p[i] = 'x'
	}
	return len(p), nil
}

func TestTooLarge(t *testing.T) {
	if os.Getenv("RUSHLIGHT_SLOW") == "" {
		t.Skip("reads 256 MiB: set RUSHLIGHT_SLOW=1")
	}
	var r io.Reader = &endless{}
	_, err := Read(r, ReadOptions{Name: "a.srt"})
	if !errors.Is(err, ErrTooLarge) || !errors.Is(err, ErrFormat) {
		t.Fatalf("got %v, want ErrTooLarge", err)
	}
	if want := "a.srt: the file is too large: got over 256 MiB, want less"; err.Error() != want {
		t.Errorf("got %q, want %q", err, want)
	}
}

func TestCapped(t *testing.T) {
	c := &capped{r: strings.NewReader("0123456789"), n: MaxSize - 5}
	if _, err := io.ReadAll(c); !errors.Is(err, ErrTooLarge) {
		t.Errorf("got %v, want ErrTooLarge", err)
	}
}
