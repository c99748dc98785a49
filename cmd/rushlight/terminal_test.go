package main

import (
	"bytes"
	"strings"
	"testing"
)

// TestNothingSteersTheTerminal: control sequences that came in with a name or
// a note are shown as replacement characters, whatever prints them; only our
// own highlights are let through, and only where they can be seen.
func TestNothingSteersTheTerminal(t *testing.T) {
	var out, err bytes.Buffer
	c := &call{terminal: terminal{out: &out, err: &err}}
	c.printf("%s is %s\n", "\x1b[31mInes\u009b2J", c.strong("bell\r\a"))
	if got, want := out.String(), "\uFFFD[31mInes\uFFFD2J is bell\uFFFD\uFFFD\n"; got != want {
		t.Errorf("printf wrote %q, want %q", got, want)
	}
	c.notef("note: %s\n", "a\x1b]0;title\x07b")
	if got, want := err.String(), "note: a\uFFFD]0;title\uFFFDb\n"; got != want {
		t.Errorf("notef wrote %q, want %q", got, want)
	}
	if got, want := shown(c.strong("bell")+"\x1b[2J", true), "\x1b[1mbell\x1b[0m\uFFFD[2J"; got != want {
		t.Errorf("shown painted: got %q, want %q", got, want)
	}
}

// TestTableOfOddCells: a cell of control characters alone has a width, and one
// with line ends stays on its line.
func TestTableOfOddCells(t *testing.T) {
	var out bytes.Buffer
	c := &call{terminal: terminal{out: &out}}
	c.table([]string{"", "speaker", "talk"}, [][]string{{"\x01", "Voice \x01", "0:01"}, {"B", "a\nb\tc", "0:02"}})
	want := "   speaker  talk\n\uFFFD  Voice \uFFFD  0:01\nB  a\uFFFDb\uFFFDc    0:02\n"
	if got := out.String(); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

// TestWrapWidths: what is shown for a control character counts in the width.
func TestWrapWidths(t *testing.T) {
	text := strings.Repeat("\x01\x01\x01 ", 40)
	for _, line := range strings.Split(shown(wrap(text, 20, "  ", plain), false), "\n") {
		if wide(line) > 20 {
			t.Errorf("%d columns: %q", wide(line), line)
		}
	}
}
