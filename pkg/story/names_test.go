package story

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestReelName(t *testing.T) {
	tests := []struct{ in, want string }{
		{"D1-INT1", "D1-INT1"},
		{"D1 INT 1", "D1-INT-1"},
		{"  D1_INT1.final  ", "D1_INT1.final"},
		{"Ines / winch shed (2)", "Ines-winch-shed-2"},
		{"--D1", "D1"},
		{"D1--", "D1"},
		{"D1...", "D1"},
		{"Fähre 3", "Fähre-3"},
		{"e\u0301te\u0301", "e\u0301te\u0301"},
		{"\u0301a", "a"},
		{"渡し船", "渡し船"},
		{"", ""},
		{"???", ""},
		{strings.Repeat("a", 80), strings.Repeat("a", 64)},
		{"a\x00b", "a-b"},
		{"a\xffb", "a-b"},
	}
	for _, tt := range tests {
		got := ReelName(tt.in)
		if got != tt.want {
			t.Errorf("ReelName(%q): got %q, want %q", tt.in, got, tt.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		name := ReelName(rapid.String().Draw(t, "stem"))
		if name == "" {
			return
		}
		if err := ValidReel(name); err != nil {
			t.Fatal(err)
		}
		if again := ReelName(name); again != name {
			t.Fatalf("%q becomes %q", name, again)
		}
	})
}

func TestValidReel(t *testing.T) {
	for _, s := range []string{"D1-INT1", "a", "1", "A_b.c-d", "Fähre", strings.Repeat("ä", 64)} {
		if err := ValidReel(s); err != nil {
			t.Errorf("%q: %v", s, err)
		}
	}
	for _, s := range []string{"", "-a", ".a", "_a", "a b", "a/b", "a\\b", "a:b", "a\n", "\u0301a", "a\xff", strings.Repeat("a", 65)} {
		if err := ValidReel(s); !errors.Is(err, ErrInvalid) {
			t.Errorf("%q: got %v, want ErrInvalid", s, err)
		}
	}
	if err := (Recording{Reel: "D1", Duration: -1}).Valid(); !errors.Is(err, ErrInvalid) {
		t.Errorf("negative duration: got %v", err)
	}
	if err := (Recording{}).Valid(); !errors.Is(err, ErrInvalid) {
		t.Errorf("no reel: got %v", err)
	}
	if err := (Recording{Reel: "D1"}).Valid(); err != nil {
		t.Error(err)
	}
}

func TestThemeName(t *testing.T) {
	good := map[string]string{
		"bell": "bell", "  the   far bank ": "the far bank", "Ines' rope": "Ines' rope", "34 years": "34 years",
		"鐘": "鐘", "well-known": "well-known", strings.Repeat("ä", 60): strings.Repeat("ä", 60), "a\tb": "a b",
	}
	for in, want := range good {
		if got, err := ThemeName(in); err != nil || got != want {
			t.Errorf("ThemeName(%q): got %q, %v, want %q", in, got, err, want)
		}
	}
	for _, in := range []string{"", "   ", "+bell", "-bell", " +bell", `a"b`, "a\x00b", "a\x1bb", "a\xffb", strings.Repeat("a", 61)} {
		if got, err := ThemeName(in); !errors.Is(err, ErrInvalid) || got != "" {
			t.Errorf("ThemeName(%q): got %q, %v, want ErrInvalid", in, got, err)
		}
	}
	if !SameTheme("Bell", "bell") || !SameTheme("GLÄSER", "gläser") || SameTheme("bell", "bells") {
		t.Error("themes are the same without regard to case, and only then")
	}
	rapid.Check(t, func(t *rapid.T) {
		if name, err := ThemeName(rapid.String().Draw(t, "name")); err == nil {
			if again, err := ThemeName(name); err != nil || again != name {
				t.Fatalf("%q becomes %q, %v", name, again, err)
			}
		}
	})
}

func TestSelectsName(t *testing.T) {
	for in, want := range map[string]string{"opening": "opening", " the  far bank": "the far bank", "Öffnung 2": "Öffnung 2", "v1.2": "v1.2"} {
		if got, err := SelectsName(in); err != nil || got != want {
			t.Errorf("SelectsName(%q): got %q, %v, want %q", in, got, err, want)
		}
	}
	for _, in := range []string{"", " ", "a/b", `a\b`, "a\x00", "a\u200b", "a\xffb", strings.Repeat("a", 61)} {
		if got, err := SelectsName(in); !errors.Is(err, ErrInvalid) || got != "" {
			t.Errorf("SelectsName(%q): got %q, %v, want ErrInvalid", in, got, err)
		}
	}
}

func TestValidRating(t *testing.T) {
	for n := -2; n <= 7; n++ {
		if err := ValidRating(n); (err == nil) != (n >= 0 && n <= 5) || err != nil && !errors.Is(err, ErrInvalid) {
			t.Errorf("rating %d: got %v", n, err)
		}
	}
}
