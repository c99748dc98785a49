package selects

import (
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// A corrected transcript doesn't change what selects say.
func TestFollow(t *testing.T) {
	q := three()
	s, err := Add(story.Selects{Name: "cut"}, q, 0)
	if err != nil {
		t.Fatal(err)
	}
	s.Items[1].Note = "slow"
	before := s.Items[0].Span

	// Two became one: both keep their own in and out.
	joined := Recut{Joined: map[story.Code]story.Code{q[0].Code: q[0].Code, q[1].Code: q[0].Code}}
	got, notes, changed := Follow(s, joined)
	if !changed || len(notes) != 2 || got.Items[0].Code != q[0].Code || got.Items[1].Code != q[0].Code || !got.Items[0].Trimmed ||
		got.Items[0].Span != before || got.Items[1].Span != s.Items[1].Span || got.Items[2] != s.Items[2] {
		t.Errorf("joined: got %+v, %q", got.Items, notes)
	}

	// One became two: both are in it, where it was.
	half := q[1]
	half.Code, half.In = "CFTTYW", q[1].In+2*timecode.Second
	first := q[1]
	first.Out = half.In
	parts := Recut{Parts: map[story.Code][]story.Quote{q[1].Code: {first, half}}}
	got, notes, changed = Follow(s, parts)
	var codes []story.Code
	for _, it := range got.Items {
		codes = append(codes, it.Code)
	}
	if !changed || !slices.Equal(codes, []story.Code{q[0].Code, q[1].Code, half.Code, q[2].Code}) || got.Items[1].ID != s.Items[1].ID ||
		got.Items[1].Note != "slow" || got.Items[2].ID != 0 || len(notes) != 1 || !strings.Contains(notes[0], "items 2 to 3") {
		t.Errorf("split: got %+v, %q", got.Items, notes)
	}
	if got.RunningTime() < s.RunningTime()-2*q[1].Clock.Base.Rate.Ticks(1) {
		t.Errorf("split: runs %s, before %s", got.RunningTime(), s.RunningTime())
	}

	// What was trimmed by hand stays; what isn't touched changes nothing.
	s.Items[1].Trimmed = true
	if got, notes, changed := Follow(s, parts); changed || len(notes) > 0 || got.Items[1] != s.Items[1] {
		t.Errorf("trimmed and split: got %+v, %q", got.Items, notes)
	}
	if got, _, changed := Follow(s, Recut{Joined: map[story.Code]story.Code{q[1].Code: q[0].Code}}); !changed || got.Items[1].Code != q[0].Code || got.Items[1].Span != s.Items[1].Span {
		t.Errorf("trimmed and joined: got %+v", got.Items)
	}
	if _, notes, changed := Follow(s, Recut{}); changed || len(notes) > 0 {
		t.Errorf("nothing happened: %v, %q", changed, notes)
	}
}
