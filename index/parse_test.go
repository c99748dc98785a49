package index

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"
)

// said prints a query as it was understood, without an index.
func said(n node) string { return (&evaluator{factNames: map[string][]string{}}).understood(n) }

func TestParse(t *testing.T) {
	for in, want := range map[string]string{
		"bell":                         "bell",
		"Bell RING":                    "bell AND ring",
		"bell AND ring":                "bell AND ring",
		"bell OR ring":                 "bell OR ring",
		"bell ring OR bridge":          "(bell AND ring) OR bridge",
		"bell (ring OR rope)":          "bell AND (ring OR rope)",
		"bell -bridge":                 "bell AND NOT bridge",
		"bell AND NOT bridge":          "bell AND NOT bridge",
		"NOT NOT bell":                 "NOT NOT bell",
		"-bridge":                      "NOT bridge",
		"-(a OR b)":                    "NOT (a OR b)",
		"bell or bridge":               "bell AND or AND bridge",
		`"to be"`:                      `"to be"`,
		"“to be”":                      `"to be"`,
		"«Wer läutet»":                 `"wer lautet"`,
		"»Wer läutet«":                 `"wer lautet"`,
		"»vem ringer» klockan":         `"vem ringer" AND klockan`,
		"”vem ringer”":                 `"vem ringer"`,
		"bell” ring»":                  "bell AND ring",
		"theme:”for nobody”":           "with theme for nobody",
		`"Ringing"`:                    `"ringing"`,
		"far-bank":                     `"far bank"`,
		"don't":                        "don't",
		"bell*":                        "bell*",
		"bell~ bridge~2":               "bell~1 AND bridge~2",
		"bell, ring?":                  "bell AND ring",
		"bell - ring":                  "bell AND ring",
		"speaker:ines":                 "spoken by ines",
		`speaker:"Ines Corrigan" bell`: "spoken by Ines Corrigan AND bell",
		`theme:"ringing for nobody"`:   "with theme ringing for nobody",
		"THEME:bell":                   "with theme bell",
		"reel:D2*":                     "in reel D2*",
		"rating:4 rating:>=4":          "rated 4 AND rated 4 or more",
		"rating:3-5 rating:none":       "rated 3 to 5 AND not rated",
		"rating:<3 rating:any":         "rated less than 3 AND rated",
		"day:2026-05-03":               "on day 2026-05-03",
		"strong:yes strong:no":         "marked strong AND NOT marked strong",
		"has:note has:theme":           "with a note AND with any theme",
		"language:de-AT":               "in language de",
		"10:30":                        `"10 30"`,
		"((bell))":                     "bell",
		"a OR b OR c":                  "a OR b OR c",
		"鐘":                            "鐘",
		"bell && ring || rope":         "(bell AND ring) OR rope",
	} {
		n, err := parse(in)
		if err != nil {
			t.Errorf("%q: %v", in, err)
			continue
		}
		if got := said(n); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
}

func TestParseErrors(t *testing.T) {
	for in, want := range map[string]struct {
		at   int
		says string
	}{
		"":                      {0, "nothing to search for"},
		"  ?! ":                 {5, "nothing to search for"},
		`bell "ring`:            {5, "never closed"},
		"bell (ring":            {5, "never closed"},
		"(":                     {0, "never closed"},
		"bell)":                 {4, "closes nothing"},
		")":                     {0, "closes nothing"},
		"bell ()":               {5, "nothing between"},
		`""`:                    {0, "no word between"},
		"bell OR":               {5, "OR needs something to search for after it"},
		"bell AND OR ring":      {5, "AND needs something to search for after it"},
		"OR bell":               {0, "OR needs something to search for before it"},
		"NOT":                   {0, "NOT needs something to search for after it"},
		"(bell OR) ring":        {6, "OR needs something to search for after it"},
		"colour:red":            {0, "speaker, theme, reel, day, rating, strong, has, language, code"},
		"bell speaker:":         {13, "needs a value"},
		"bell theme: ring":      {11, "needs a value"},
		"rating:6":              {7, "want 1 to 5"},
		"rating:5-3":            {7, "want 1 to 5"},
		"rating:high":           {7, "want 1 to 5"},
		"strong:maybe":          {7, "want yes or no"},
		"has:money":             {4, "want note"},
		"language:xx":           {9, "not one that forms are known for"},
		"code:KRTWHH":           {5, "not a quote code"},
		"be*ll":                 {2, "inside a word"},
		"*":                     {0, "needs the start of one word"},
		"bell~3":                {4, "want 1 or 2"},
		"far-bank~":             {0, "needs one word"},
		strings.Repeat("(", 60): {50, "more than 50"},
	} {
		_, err := parse(in)
		var q *QueryError
		if !errors.As(err, &q) || !errors.Is(err, ErrQuery) {
			t.Errorf("%q: got %v, want a QueryError", in, err)
			continue
		}
		if q.At != want.at || !strings.Contains(err.Error(), want.says) {
			t.Errorf("%q: got byte %d, %q; want byte %d and %q", in, q.At, err, want.at, want.says)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"bell OR ring", `speaker:"ines`, "a AND NOT (b OR -c)", "rating:>=4", "x~2 y*", "“to be”", "((((", "\xff:\xfe", "code:", `theme:"`, "-", "NOT -(", `„a“ «b»`,
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, err := parse(s)
		if err != nil {
			var q *QueryError
			if !errors.As(err, &q) {
				t.Fatalf("%q: %v is not a QueryError", s, err)
			}
			if q.At < 0 || q.At > len(s) || q.Problem == "" {
				t.Fatalf("%q: problem %q at byte %d of %d", s, q.Problem, q.At, len(s))
			}
			return
		}
		if said(n) == "" || !utf8.ValidString(s) && n == nil {
			t.Fatalf("%q: understood as nothing", s)
		}
	})
}
