package quotes

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// bankOf makes tagged quotes of a marked text: one each 4 s, "text +theme".
func bankOf(marked ...string) []story.Quote {
	var out []story.Quote
	taken := map[story.Code]bool{}
	for i, s := range marked {
		text, theme, _ := strings.Cut(s, " +")
		in := timecode.Ticks(i) * 4 * timecode.Second
		q := story.Quote{Reel: "D1-INT1", Text: text, Span: timecode.Span{In: in, Out: in + 3*timecode.Second}, Order: i}
		q.Code = story.NewCode("e1", in, func(c story.Code) bool { return taken[c] })
		taken[q.Code] = true
		if theme != "" {
			q.Themes = strings.Fields(theme)
		}
		out = append(out, q)
	}
	return out
}

// fates prints each old quote with the new text its code stands at.
func fates(old []story.Quote, c Carried) []string {
	var out []string
	for _, q := range old {
		to, ok := c.Matched[q.Code]
		if !ok {
			out = append(out, q.Text+" -> gone")
			continue
		}
		i := slices.IndexFunc(c.Quotes, func(n story.Quote) bool { return n.Code == to })
		s := q.Text + " -> " + c.Quotes[i].Text
		if len(c.Quotes[i].Themes) > 0 {
			s += " +" + strings.Join(c.Quotes[i].Themes, " ")
		}
		out = append(out, s)
	}
	return out
}

func carry(t interface {
	Context() context.Context
	Fatal(args ...any)
}, old, fresh []story.Quote,
) Carried {
	c, err := Carry(t.Context(), old, fresh)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestCarry(t *testing.T) {
	tests := []struct {
		name      string
		old, new  []string
		move      timecode.Ticks
		want      []string
		lost      int
		untouched bool
	}{
		{
			name: "same", old: []string{"You ring the bell. +bell", "Nobody comes."}, new: []string{"You ring the bell.", "Nobody comes."},
			want: []string{"You ring the bell. -> You ring the bell. +bell", "Nobody comes. -> Nobody comes."}, untouched: true,
		},
		{
			name: "corrected word", old: []string{"You ring the bill at night. +bell", "Yes."}, new: []string{"You ring the bell at night.", "Yes."},
			want: []string{"You ring the bill at night. -> You ring the bell at night. +bell", "Yes. -> Yes."},
		},
		{
			name: "one word corrected", old: []string{"Belle. +bell"}, new: []string{"Bell."},
			want: []string{"Belle. -> Bell. +bell"},
		},
		{
			name: "moved by an hour", move: timecode.Hour, old: []string{"You ring the bell at night. +bell", "Yes. +yes"}, new: []string{"You ring the bell at night.", "Yes."},
			want: []string{"You ring the bell at night. -> You ring the bell at night. +bell", "Yes. -> Yes. +yes"},
		},
		{
			name: "split", old: []string{"You ring the bell and then you wait for the ferry. +bell", "Yes."}, new: []string{"You ring the bell.", "And then you wait for the ferry.", "Yes."},
			want: []string{"You ring the bell and then you wait for the ferry. -> And then you wait for the ferry. +bell", "Yes. -> Yes."},
		},
		{
			name: "merged", old: []string{"You ring the bell. +bell", "And then you wait for the ferry. +ferry strong"}, new: []string{"You ring the bell and then you wait for the ferry."},
			want: []string{
				"You ring the bell. -> You ring the bell and then you wait for the ferry. +bell ferry strong",
				"And then you wait for the ferry. -> You ring the bell and then you wait for the ferry. +bell ferry strong",
			},
		},
		{
			name: "one put in", old: []string{"Nobody rings it now. +bell", "The bridge opens in May. +bridge"}, new: []string{"My mother rang every night.", "Nobody rings it now.", "The bridge opens in May."},
			want: []string{"Nobody rings it now. -> Nobody rings it now. +bell", "The bridge opens in May. -> The bridge opens in May. +bridge"},
		},
		{
			name: "one taken out", old: []string{"Nobody rings it now. +bell", "Well whatever you think. +cut", "The bridge opens in May. +bridge"}, new: []string{"Nobody rings it now.", "The bridge opens in May."},
			want: []string{"Nobody rings it now. -> Nobody rings it now. +bell", "Well whatever you think. -> gone", "The bridge opens in May. -> The bridge opens in May. +bridge"}, lost: 1,
		},
		{
			name: "all other words", old: []string{"Nobody rings it now. +bell", "Untagged it was."}, new: []string{"Something quite different here.", "Again else."},
			want: []string{"Nobody rings it now. -> gone", "Untagged it was. -> gone"}, lost: 1,
		},
		{
			name: "japanese", old: []string{"鐘が鳴る。 +bell", "誰も来ない。"}, new: []string{"鐘が鳴った。", "誰も来ない。"},
			want: []string{"鐘が鳴る。 -> 鐘が鳴った。 +bell", "誰も来ない。 -> 誰も来ない。"},
		},
		{name: "first time", new: []string{"You ring the bell."}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			old, fresh := bankOf(tt.old...), bankOf(tt.new...)
			for i := range fresh {
				fresh[i].Span = fresh[i].Shift(tt.move)
			}
			got := carry(t, old, fresh)
			same(t, fates(old, got), tt.want)
			if len(got.Lost) != tt.lost || got.Same != tt.untouched {
				t.Errorf("got %d lost, same %v, want %d, %v", len(got.Lost), got.Same, tt.lost, tt.untouched)
			}
			checkCarried(t, old, fresh, got)
		})
	}
}

// A repeated short answer keeps its own place when one of them goes.
func TestCarryByTime(t *testing.T) {
	old := bankOf("Yes. +first", "Yes. +second", "Yes. +third")
	got := carry(t, old, bankOf("Yes.", "Yes.", "Yes.")[1:])
	want := []string{"Yes. -> gone", "Yes. -> Yes. +second", "Yes. -> Yes. +third"}
	same(t, fates(old, got), want)
}

// An inserted saying that begins where an old one did must not take its code.
func TestCarryKeepsCodesApart(t *testing.T) {
	old := bankOf("Nobody rings the bell at night. +bell")
	fresh := bankOf("My mother did it once.", "Nobody rings the bell at night.")
	if fresh[0].Code != old[0].Code {
		t.Fatal("the case needs equal codes")
	}
	got := carry(t, old, fresh)
	if got.Quotes[1].Code != old[0].Code || got.Quotes[0].Code != fresh[1].Code {
		t.Errorf("got codes %s, %s, want %s, %s", got.Quotes[0].Code, got.Quotes[1].Code, fresh[1].Code, old[0].Code)
	}
	gone := carry(t, old, bankOf("My mother did it once."))
	if gone.Quotes[0].Code == old[0].Code {
		t.Error("a new saying goes by the code of a lost one")
	}
}

func TestCarryNotesAndRatings(t *testing.T) {
	old := bankOf("You ring the bell. +bell", "And then you wait for the ferry.")
	old[0].Note, old[1].Note, old[0].Rating, old[1].Rating = "dry", "long look", 3, 5
	got := carry(t, old, bankOf("You ring the bell and then you wait for the ferry."))
	if q := got.Quotes[0]; q.Note != "dry; long look" || q.Rating != 5 {
		t.Errorf("got note %q and rating %d, want both notes and 5", q.Note, q.Rating)
	}
	if len(got.Merged) != 1 || got.Merged[0].Into != old[0].Code || !slices.Equal(got.Merged[0].From, []story.Code{old[1].Code}) {
		t.Errorf("got merged %v", got.Merged)
	}
	split := bankOf("You ring the bell.", "And then you wait for the ferry.")
	back := carry(t, got.Quotes, split)
	if len(back.Split) != 1 || len(back.Split[0].Parts) != 1 || back.Quotes[0].Rating != 5 || back.Quotes[0].Themes[0] != "bell" {
		t.Errorf("got split %v and %v", back.Split, back.Quotes[0])
	}
}

// checkCarried asserts what holds of every Carry.
func checkCarried(t interface {
	Helper()
	Fatalf(string, ...any)
}, old, fresh []story.Quote, c Carried,
) {
	t.Helper()
	if len(c.Quotes) != len(fresh) {
		t.Fatalf("got %d quotes of %d", len(c.Quotes), len(fresh))
	}
	codes := map[story.Code]bool{}
	for i, q := range c.Quotes {
		if codes[q.Code] {
			t.Fatalf("code %s twice", q.Code)
		}
		codes[q.Code] = true
		if q.Text != fresh[i].Text || q.Span != fresh[i].Span {
			t.Fatalf("quote %d changed its words or times", i)
		}
	}
	themes := map[string]bool{}
	for _, q := range append(slices.Clone(c.Quotes), c.Lost...) {
		for _, th := range q.Themes {
			themes[th] = true
		}
	}
	gone := map[story.Code]bool{}
	for _, g := range c.Gone {
		gone[g] = true
	}
	for _, q := range old {
		to, matched := c.Matched[q.Code]
		if matched == gone[q.Code] || matched && !codes[to] || !matched && codes[q.Code] {
			t.Fatalf("old %s: matched %v, gone %v, code in use %v", q.Code, matched, gone[q.Code], codes[q.Code])
		}
		for _, th := range q.Themes {
			if !themes[th] {
				t.Fatalf("theme %q vanished", th)
			}
		}
	}
}

func TestCarryProperties(t *testing.T) {
	words := []string{"bell", "ring", "ferry", "bridge", "nobody", "river", "night", "mother", "rope", "yes", "fog", "tide"}
	draw := func(t *rapid.T, label string) []string {
		var out []string
		for range rapid.IntRange(0, 10).Draw(t, label) {
			var text []string
			for range rapid.IntRange(1, 8).Draw(t, "words") {
				text = append(text, rapid.SampledFrom(words).Draw(t, "word"))
			}
			out = append(out, strings.Join(text, " ")+".")
		}
		return out
	}
	rapid.Check(t, func(t *rapid.T) {
		a := draw(t, "old")
		for i := range a {
			if rapid.Bool().Draw(t, "tagged") {
				a[i] += fmt.Sprintf(" +theme%d", i)
			}
		}
		old, fresh := bankOf(a...), bankOf(draw(t, "new")...)
		checkCarried(t, old, fresh, carry(t, old, fresh))
		again := slices.Clone(old)
		for i := range again {
			again[i].Themes = nil
		}
		c := carry(t, old, again)
		if !c.Same {
			t.Fatalf("the same quotes again: got changes %v", fates(old, c))
		}
		checkCarried(t, old, again, c)
	})
}

// One word wrong in each sentence, as a first transcript has it, and some
// sentences cut differently: the tags must come over.
func TestCarryMuchCorrected(t *testing.T) {
	var old, fresh []string
	for i := range 200 {
		s := fmt.Sprintf("number%d we took the ferry over with rope%d and the fog was down", i, i%17)
		old = append(old, fmt.Sprintf("%s. +t%d", strings.Replace(s, "ferry", "fairy", 1), i))
		if i%5 == 0 {
			head, tail, _ := strings.Cut(s, " and ")
			fresh = append(fresh, head+".", "And "+tail+".")
		} else {
			fresh = append(fresh, s+".")
		}
	}
	o := bankOf(old...)
	c := carry(t, o, bankOf(fresh...))
	if len(c.Gone) != 0 || len(c.Split) != 40 {
		t.Errorf("got %d gone and %d split, want 0 and 40", len(c.Gone), len(c.Split))
	}
	for i, q := range o {
		n := slices.IndexFunc(c.Quotes, func(n story.Quote) bool { return n.Code == q.Code })
		if n < 0 || !strings.HasPrefix(c.Quotes[n].Text, fmt.Sprintf("number%d ", i)) {
			t.Errorf("%q went astray", q.Text)
		}
	}
}
