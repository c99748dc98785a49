package selects

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

const sec = timecode.Second

func clock25(label string) timecode.Clock {
	b := timecode.Base{Rate: timecode.Rate25}
	n, err := b.Frame(label)
	if err != nil {
		panic(err)
	}
	return timecode.Clock{Base: b, Start: b.Rate.Ticks(n)}
}

func code(reel string, in timecode.Ticks) story.Code {
	return story.NewCode(reel, in, func(story.Code) bool { return false })
}

func quote(reel string, in, out timecode.Ticks, text string) story.Quote {
	return story.Quote{
		Code: code(reel, in), Reel: reel, Speaker: "Ines Corrigan", Text: text,
		Span: timecode.Span{In: in, Out: out}, Clock: clock25("10:00:00:00"),
	}
}

// three are quotes of the invented ferry film.
func three() []story.Quote {
	return []story.Quote{
		quote("D2-INT2", 12*sec, 16*sec, "You ring, and somebody comes."),
		quote("D2-INT2", 40*sec, 47*sec, "Nobody rings a bridge."),
		quote("D1-WILF", 5*sec, 8*sec, "I ring it out of habit."),
	}
}

func ids(s story.Selects) []int {
	var out []int
	for _, it := range s.Items {
		out = append(out, it.ID)
	}
	return out
}

func list(t *testing.T) story.Selects {
	t.Helper()
	s, err := Add(story.Selects{Name: "opening"}, three(), 0)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestAddMoveDrop(t *testing.T) {
	start := list(t)
	cases := []struct {
		name string
		do   func(story.Selects) (story.Selects, error)
		want []int
		fail string
	}{
		{"add at end", func(s story.Selects) (story.Selects, error) { return Add(s, three()[:1], 0) }, []int{1, 2, 3, 4}, ""},
		{"add in front", func(s story.Selects) (story.Selects, error) { return Add(s, three()[:2], 1) }, []int{4, 5, 1, 2, 3}, ""},
		{"add one past the end", func(s story.Selects) (story.Selects, error) { return Add(s, three()[:1], 4) }, []int{1, 2, 3, 4}, ""},
		{"add too far", func(s story.Selects) (story.Selects, error) { return Add(s, three()[:1], 5) }, nil, "want 1 to 4"},
		{"add before the start", func(s story.Selects) (story.Selects, error) { return Add(s, three()[:1], -1) }, nil, "want 1 to 4"},
		{"move down", func(s story.Selects) (story.Selects, error) { return Move(s, 1, 3) }, []int{2, 3, 1}, ""},
		{"move up", func(s story.Selects) (story.Selects, error) { return Move(s, 3, 1) }, []int{3, 1, 2}, ""},
		{"move to end", func(s story.Selects) (story.Selects, error) { return Move(s, 2, 0) }, []int{1, 3, 2}, ""},
		{"move nowhere", func(s story.Selects) (story.Selects, error) { return Move(s, 2, 2) }, []int{1, 2, 3}, ""},
		{"move from nowhere", func(s story.Selects) (story.Selects, error) { return Move(s, 4, 1) }, nil, "position 4"},
		{"move too far", func(s story.Selects) (story.Selects, error) { return Move(s, 1, 4) }, nil, "want 1 to 3"},
		{"drop two", func(s story.Selects) (story.Selects, error) { return Drop(s, []int{3, 1}) }, []int{2}, ""},
		{"drop one twice", func(s story.Selects) (story.Selects, error) { return Drop(s, []int{2, 2}) }, []int{1, 3}, ""},
		{"drop none", func(s story.Selects) (story.Selects, error) { return Drop(s, nil) }, []int{1, 2, 3}, ""},
		{"drop a missing one", func(s story.Selects) (story.Selects, error) { return Drop(s, []int{1, 9}) }, nil, "position 9"},
		{"drop from an empty list", func(story.Selects) (story.Selects, error) {
			return Drop(story.Selects{Name: "empty"}, []int{1})
		}, nil, "is empty"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			before := slices.Clone(start.Items)
			got, err := c.do(start)
			if !reflect.DeepEqual(start.Items, before) {
				t.Error("the list that was given has changed")
			}
			if c.fail != "" {
				if !errors.Is(err, ErrPosition) || !strings.Contains(err.Error(), c.fail) {
					t.Errorf("got error %v, want ErrPosition with %q", err, c.fail)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(ids(got), c.want) {
				t.Errorf("got %v, want %v", ids(got), c.want)
			}
		})
	}
}

func TestAddEmptyQuote(t *testing.T) {
	q := quote("D2-INT2", 5*sec, 5*sec, "")
	if _, err := Add(story.Selects{}, []story.Quote{q}, 0); !errors.Is(err, story.ErrInvalid) {
		t.Errorf("got %v, want ErrInvalid", err)
	}
}

func TestResolve(t *testing.T) {
	s := list(t)
	twice, err := Add(s, three()[1:2], 0)
	if err != nil {
		t.Fatal(err)
	}
	second := string(s.Items[1].Code)
	absent := string(code("D1-INT1", 99*sec))
	cases := []struct {
		name, ref string
		s         story.Selects
		want      int
		is        error
		text      string
	}{
		{"number", " 3 ", s, 3, nil, ""},
		{"code", second, s, 2, nil, ""},
		{"code in small letters", strings.ToLower(second), s, 2, nil, ""},
		{"number too high", "4", s, 0, ErrPosition, "want 1 to 3"},
		{"zero", "0", s, 0, ErrPosition, "want 1 to 3"},
		{"code twice", second, twice, 0, ErrPosition, "positions 2, 4"},
		{"code absent", absent, s, 0, ErrPosition, "is not in"},
		{"neither", "bell", s, 0, story.ErrCode, "position from 1 to 3"},
		{"nothing", "", s, 0, story.ErrCode, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := Resolve(c.s, c.ref)
			if !errors.Is(err, c.is) || err != nil && !strings.Contains(err.Error(), c.text) {
				t.Fatalf("got error %v, want %v with %q", err, c.is, c.text)
			}
			if err == nil && got != c.want {
				t.Errorf("got %d, want %d", got, c.want)
			}
		})
	}
}

// Any order of adding, moving and dropping keeps exactly the items that a
// plain list of IDs keeps, and the running time is the sum of what is left.
func TestOrderProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := story.Selects{Name: "opening"}
		var model []int
		length := map[int]timecode.Ticks{}
		for range rapid.IntRange(1, 30).Draw(t, "steps") {
			before, kept := s, slices.Clone(s.Items)
			var err error
			switch op := rapid.IntRange(0, 2).Draw(t, "op"); {
			case op == 0 || len(model) == 0:
				n := rapid.IntRange(0, 4).Draw(t, "n")
				at := rapid.IntRange(0, len(model)+1).Draw(t, "at")
				var quotes []story.Quote
				for i := range n {
					in := timecode.Ticks(rapid.Int64Range(0, 1000).Draw(t, "in")) * sec
					quotes = append(quotes, quote("D2-INT2", in, in+timecode.Ticks(i+1)*sec, ""))
				}
				s, err = Add(s, quotes, at)
				if at == 0 {
					at = len(model) + 1
				}
				var fresh []int
				for i := range n {
					id := s.Items[at-1+i].ID
					if slices.Contains(model, id) {
						t.Fatalf("ID %d given twice", id)
					}
					length[id] = timecode.Ticks(i+1) * sec
					fresh = append(fresh, id)
				}
				model = slices.Insert(model, at-1, fresh...)
			case op == 1:
				from := rapid.IntRange(1, len(model)).Draw(t, "from")
				to := rapid.IntRange(1, len(model)).Draw(t, "to")
				s, err = Move(s, from, to)
				id := model[from-1]
				model = slices.Delete(model, from-1, from)
				model = slices.Insert(model, to-1, id)
				if s.Items[to-1].ID != id {
					t.Fatalf("item %d does not stand at %d", id, to)
				}
				back, err2 := Move(s, to, from)
				if err2 != nil || !reflect.DeepEqual(back.Items, before.Items) {
					t.Fatalf("moving back does not undo: %v", err2)
				}
			default:
				at := rapid.IntRange(1, len(model)).Draw(t, "gone")
				s, err = Drop(s, []int{at})
				model = slices.Delete(model, at-1, at)
			}
			if err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(before.Items, kept) {
				t.Fatal("the list that was given has changed")
			}
			if !slices.Equal(ids(s), model) {
				t.Fatalf("got %v, want %v", ids(s), model)
			}
			var want timecode.Ticks
			for _, id := range model {
				want += length[id]
			}
			if got := FitOf(s).Running; got != want {
				t.Fatalf("running time: got %s, want %s", got, want)
			}
		}
	})
}

func TestFit(t *testing.T) {
	s := list(t) // 4 + 7 + 3 s
	cases := []struct {
		name   string
		target timecode.Ticks
		over   timecode.Ticks
		text   string
	}{
		{"none", 0, 0, "0:14.0"},
		{"under", 20 * sec, -6 * sec, "0:14.0 of 0:20.0, 0:06.0 under"},
		{"over", 10 * sec, 4 * sec, "0:14.0 of 0:10.0, 0:04.0 over"},
		{"met", 14 * sec, 0, "0:14.0 of 0:14.0, to the point"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s.Target = c.target
			got := FitOf(s)
			want := Fit{Items: 3, Running: 14 * sec, Target: c.target, Over: c.over}
			if got != want {
				t.Errorf("got %+v, want %+v", got, want)
			}
			if got.String() != c.text {
				t.Errorf("got %q, want %q", got.String(), c.text)
			}
		})
	}
}
