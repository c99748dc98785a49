package themes

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// tagQuotes reads lines "reel speaker in out themes…", seconds for times; "!"
// is the mark of a strong quote. Codes are the line numbers.
func tagQuotes(lines string) func(func(story.Quote, error) bool) {
	return func(yield func(story.Quote, error) bool) {
		order := map[string]int{}
		for i, line := range strings.Split(strings.TrimSpace(lines), "\n") {
			var reel, speaker string
			var in, out int
			if _, err := fmt.Sscan(line, &reel, &speaker, &in, &out); err != nil {
				panic(err)
			}
			q := story.Quote{
				Code: story.Code(fmt.Sprint(i + 1)), Reel: reel, Day: reel[:2], Speaker: speaker, Order: order[reel],
				Span:   timecode.Span{In: timecode.Ticks(in) * timecode.Second, Out: timecode.Ticks(out) * timecode.Second},
				Themes: strings.Fields(strings.ReplaceAll(line, "!", story.Strong))[4:],
			}
			order[reel]++
			if !yield(q, nil) {
				return
			}
		}
	}
}

// shoot is laid out by hand: bell and waiting meet in D2-A, bell and bridge
// only by the clock, bridge and rope never.
const shoot = `
D2-A Ines 0 10 bell
D2-A Ines 12 20
D2-A Ines 22 30 waiting !
D2-A Joss 31 32
D2-A Ines 40 50 Bell waiting
D2-A Ines 51 52
D2-A Ines 53 54
D2-A Ines 55 56
D2-A Ines 57 58
D2-A Ines 109 112 bridge
D2-A Ines 600 610 rope
D1-B Joss 0 5 bridge
D1-B Ines 6 8
D1-B Ines 9 10 bridge
`

func TestMap(t *testing.T) {
	got, err := Map(context.Background(), tagQuotes(shoot), MapOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if want := []string{"D1-B", "D2-A"}; !slices.Equal(got.Reels, want) {
		t.Errorf("reels: got %v, want %v", got.Reels, want)
	}
	rows := []string{}
	for _, r := range got.Themes {
		rows = append(rows, fmt.Sprintf("%s %d+%d %g+%gs %d strong %s-%s", r.Name, r.PerReel[0].Quotes, r.PerReel[1].Quotes,
			r.PerReel[0].Seconds, r.PerReel[1].Seconds, r.Strong, r.First, r.Last))
	}
	want := []string{
		"bridge 2+1 6+3s 0 strong 12-10", "bell 0+2 0+20s 0 strong 1-5", "waiting 0+2 0+18s 1 strong 3-5", "rope 0+1 0+10s 0 strong 11-11",
	}
	if !slices.Equal(rows, want) {
		t.Errorf("rows: got\n%s\nwant\n%s", strings.Join(rows, "\n"), strings.Join(want, "\n"))
	}
	meets := []string{}
	for _, m := range got.Meet {
		meets = append(meets, fmt.Sprintf("%s+%s %d/%d at %s in %v", m.A, m.B, m.Stretches, m.Same, m.At, m.Reels))
	}
	slices.Sort(meets)
	// The bridge stands 59 s after the bell of quote 5, five quotes on; the
	// rope next to the bridge by number, though eight minutes later.
	want = []string{
		"bell+bridge 1/0 at 5 in [D2-A]", "rope+bridge 1/0 at 11 in [D2-A]",
		"waiting+bell 2/1 at 3 in [D2-A]", "waiting+bridge 1/0 at 5 in [D2-A]",
	}
	if !slices.Equal(meets, want) {
		t.Errorf("meetings: got\n%s\nwant\n%s", strings.Join(meets, "\n"), strings.Join(want, "\n"))
	}
	if want := []string{"bell", "waiting", "rope"}; !slices.Equal(got.OneVoice, want) {
		t.Errorf("one voice: got %v, want %v", got.OneVoice, want)
	}
	if want := []string{"bridge", "bell", "rope"}; !slices.Equal(got.NoStrong, want) {
		t.Errorf("no strong quote: got %v, want %v", got.NoStrong, want)
	}
	if got.Quotes != 14 || got.Untagged != 7 {
		t.Errorf("got %d quotes, %d without a theme; want 14, 7", got.Quotes, got.Untagged)
	}
	// Ten of 14 quotes are near the bell: all of D2-A but the last.
	near(t, "G² of waiting and bell", meetingOf(got, "waiting", "bell").G2, LogLikelihood(2, 8, 0, 4), 1e-12)
	near(t, "their log ratio", meetingOf(got, "waiting", "bell").LogRatio, math.Log2(14.0/10), 1e-12)
}

func meetingOf(m ThemeMap, a, b string) Meeting {
	i := slices.IndexFunc(m.Meet, func(x Meeting) bool { return x.A == a && x.B == b })
	if i < 0 {
		return Meeting{}
	}
	return m.Meet[i]
}

func TestMapBounds(t *testing.T) {
	for name, c := range map[string]struct {
		opt  MapOptions
		want int
	}{
		"bell and bridge, three quotes or a minute": {MapOptions{}, 1},
		"58 seconds":       {MapOptions{Within: 58 * timecode.Second}, 0},
		"59 seconds":       {MapOptions{Within: 59 * timecode.Second}, 1},
		"five quotes only": {MapOptions{Quotes: 5, Within: -1}, 1},
		"four quotes only": {MapOptions{Quotes: 4, Within: -1}, 0},
		"time only":        {MapOptions{Quotes: -1}, 1},
	} {
		got, err := Map(context.Background(), tagQuotes(shoot), c.opt)
		if n := meetingOf(got, "bell", "bridge").Stretches; err != nil || n != c.want {
			t.Errorf("%s: got %d, %v; want %d", name, n, err, c.want)
		}
	}
}

func TestMapOfNothing(t *testing.T) {
	got, err := Map(context.Background(), textQuotes([]string{"a", "b"}, "en"), MapOptions{})
	if err != nil || len(got.Themes) != 0 || got.Untagged != 2 {
		t.Errorf("got %+v, %v; want no themes and two quotes without", got, err)
	}
	b, err := json.Marshal(got)
	if want := `{"reels":["A"],"themes":[],"meet":[],"one_voice":[],"no_strong":[],"quotes":2,"untagged":2}`; err != nil || string(b) != want {
		t.Errorf("got %s, %v; want %s", b, err, want)
	}
	broken := errors.New("the bank is gone")
	_, err = Map(context.Background(), func(yield func(story.Quote, error) bool) { yield(story.Quote{}, broken) }, MapOptions{})
	if !errors.Is(err, broken) {
		t.Errorf("got %v, want %v", err, broken)
	}
}

// The map equals one made by comparing every quote with every other, and
// doesn't depend on the order in which quotes come.
func TestMapAgainstEveryPair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 25).Draw(t, "quotes")
		var qs []story.Quote
		at := map[string]int{}
		for i := range n {
			reel := rapid.SampledFrom([]string{"A", "B"}).Draw(t, "reel")
			in := at[reel] + rapid.IntRange(0, 70).Draw(t, "gap")
			at[reel] = in + rapid.IntRange(1, 20).Draw(t, "length")
			qs = append(qs, story.Quote{
				Code: story.Code(fmt.Sprint(i)), Reel: reel, Order: i, Speaker: "S",
				Span:   timecode.Span{In: timecode.Ticks(in) * timecode.Second, Out: timecode.Ticks(at[reel]) * timecode.Second},
				Themes: rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"x", "y", "z"}), 0, 2, rapid.ID).Draw(t, "themes"),
			})
		}
		nth := map[string]int{}
		place := make([]int, n)
		for i, q := range qs {
			place[i] = nth[q.Reel]
			nth[q.Reel]++
		}
		isNear := func(i, j int) bool {
			a, b := qs[i], qs[j]
			apart := max(a.In-b.Out, b.In-a.Out)
			d := max(place[i]-place[j], place[j]-place[i])
			return a.Reel == b.Reel && (d <= 3 || apart <= timecode.Minute)
		}
		shuffled := rapid.Permutation(qs).Draw(t, "order")
		got, err := Map(context.Background(), func(yield func(story.Quote, error) bool) {
			for _, q := range shuffled {
				if !yield(q, nil) {
					return
				}
			}
		}, MapOptions{})
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range got.Meet {
			want := 0
			for i := range qs {
				if slices.Contains(qs[i].Themes, m.A) && slices.ContainsFunc(qs, func(q story.Quote) bool {
					j := slices.IndexFunc(qs, func(o story.Quote) bool { return o.Code == q.Code })
					return slices.Contains(q.Themes, m.B) && isNear(i, j)
				}) {
					want++
				}
			}
			if m.Stretches != want {
				t.Fatalf("%s and %s: got %d, want %d", m.A, m.B, m.Stretches, want)
			}
		}
	})
}
