package story

import (
	"errors"
	"strings"
	"testing"
	"time"

	"rushlight/pkg/timecode"
)

func TestThemeForm(t *testing.T) {
	fields(t, golden(t, "theme", Theme{
		Name: "ringing for nobody", Statement: "The bell goes on after the ferry.", Parent: "bell", Rule: `"rings" AND nobody`,
		Quotes: 3, Reels: []string{"D2-INT2"}, Speakers: []string{"Ines Corrigan"}, Strong: 1, Ticks: 2 * timecode.Second, Seconds: 2,
	}), "theme", "statement", "parent", "rule", "quotes", "reels", "speakers", "strong", "seconds")
	fields(t, golden(t, "theme-bare", Theme{Name: "bell"}), "theme", "quotes", "reels", "speakers", "seconds")
	fields(t, golden(t, "tagging", Tagging{
		Theme: "bell", Who: "Joss", When: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC), By: ByHand,
	}), "theme", "who", "when", "by")
}

func TestThemeTexts(t *testing.T) {
	for name, c := range map[string]struct {
		f        func(string) (string, error)
		in, want string
		bad      bool
	}{
		"one line":        {ThemeStatement, " Who rings,\n\tand who  stopped. ", "Who rings, and who stopped.", false},
		"none":            {ThemeStatement, "\n", "", false},
		"long":            {ThemeStatement, strings.Repeat("é", 240), strings.Repeat("é", 240), false},
		"too long":        {ThemeStatement, strings.Repeat("é", 241), "", true},
		"control":         {ThemeStatement, "a\x00b", "", true},
		"not text":        {ThemeRule, "a\xffb", "", true},
		"a rule":          {ThemeRule, `bell  OR "far bank"`, `bell OR "far bank"`, false},
		"a long rule":     {ThemeRule, strings.Repeat("a", 1000), strings.Repeat("a", 1000), false},
		"a too long rule": {ThemeRule, strings.Repeat("a", 1001), "", true},
	} {
		got, err := c.f(c.in)
		if got != c.want || c.bad != errors.Is(err, ErrInvalid) || !c.bad && err != nil {
			t.Errorf("%s: got %q, %v, want %q", name, got, err, c.want)
		}
	}
	if ByHand.Valid() != nil || ByRule.Valid() != nil || !errors.Is(TaggedBy("").Valid(), ErrInvalid) {
		t.Error("a tag is by hand or by rule, nothing else")
	}
}
