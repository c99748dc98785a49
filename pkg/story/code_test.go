package story

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/timecode"
)

func free(Code) bool { return false }

func TestParseCode(t *testing.T) {
	for _, s := range []string{"KRTWHC", "krtwhc", "KRT-WHC", " krt whc "} {
		if got, err := ParseCode(s); err != nil || got != "KRTWHC" {
			t.Errorf("%q: got %q, %v, want KRTWHC", s, got, err)
		}
	}
	tests := []struct{ in, want string }{
		{"KRTWHM", "check letter"},
		{"KRTWH", "it has 5 letters, want 6"},
		{"", "it has 0 letters, want 6"},
		{"KRTWHCCC", "it has 8 letters, want 6"},
		{"KRTWHA", `'A' is never in a code`},
		{"KRTWH0", `'0' is never in a code`},
		{"KRTWHÇ", `'Ç' is never in a code`},
	}
	for _, tt := range tests {
		got, err := ParseCode(tt.in)
		if !errors.Is(err, ErrCode) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%q: got %q, %v, want an error with %q", tt.in, got, err, tt.want)
		}
	}
}

// Every single wrong letter and every swap of two neighbours is found, in
// codes of both lengths: the reason for 17 letters (a prime) and weights that
// differ by one.
func TestCodeFindsSlips(t *testing.T) {
	full := func(c Code) bool { return len(c) == 6 }
	for i := range timecode.Ticks(60) {
		for _, taken := range []func(Code) bool{free, full} {
			c := NewCode("essence", i*timecode.Second, taken)
			if got, err := ParseCode(string(c)); err != nil || got != c {
				t.Fatalf("%s: got %q, %v", c, got, err)
			}
			for k := range c {
				for _, letter := range codeLetters {
					slip := string(c[:k]) + string(letter) + string(c[k+1:])
					if _, err := ParseCode(slip); (err == nil) != (slip == string(c)) {
						t.Fatalf("%s typed as %s: got %v", c, slip, err)
					}
				}
				if k+1 < len(c) && c[k] != c[k+1] {
					slip := string(c[:k]) + string(c[k+1]) + string(c[k]) + string(c[k+2:])
					if _, err := ParseCode(slip); err == nil {
						t.Fatalf("%s typed as %s passes", c, slip)
					}
				}
			}
		}
	}
}

func TestNewCode(t *testing.T) {
	// A code must never change from one version to the next; this one was
	// computed apart, with Python's hashlib.
	if got := NewCode("9f86d081", 12*timecode.Second, free); got != "YCQQHM" {
		t.Errorf("got %s, want YCQQHM", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		essence, in := rapid.String().Draw(t, "essence"), timecode.Ticks(rapid.Int64().Draw(t, "in"))
		a := NewCode(essence, in, free)
		if b := NewCode(essence, in, free); a != b {
			t.Fatalf("got %s and %s for the same quote", a, b)
		}
		if len(a) != 6 {
			t.Fatalf("got %s, want 6 letters", a)
		}
		if b := NewCode(essence, in, func(c Code) bool { return c == a }); b == a || len(b) != 6 {
			t.Fatalf("%s is taken: got %s", a, b)
		}
		long := NewCode(essence, in, func(c Code) bool { return len(c) == 6 })
		if got, err := ParseCode(string(long)); err != nil || got != long || len(long) != 7 {
			t.Fatalf("all short ones taken: got %s, %v", long, err)
		}
	})
	// Codes of one reel differ.
	used := map[Code]bool{}
	for i := range timecode.Ticks(20_000) {
		c := NewCode("e", i*timecode.Millisecond, func(c Code) bool { return used[c] })
		if used[c] {
			t.Fatalf("%s twice", c)
		}
		used[c] = true
	}
	if got := NewCode("e", 0, nil); len(got) != 6 {
		t.Errorf("no codes taken: got %q", got)
	}
}

func FuzzParseCode(f *testing.F) {
	for _, s := range []string{"KRTWHC", "krt-whc", "KRTWHM", "ß", "\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParseCode(s)
		if err != nil {
			if !errors.Is(err, ErrCode) || c != "" {
				t.Fatalf("%q: got %q, %v", s, c, err)
			}
			return
		}
		if again, err := ParseCode(string(c)); err != nil || again != c {
			t.Fatalf("%q: %q reads as %q, %v", s, c, again, err)
		}
	})
}
