package bank

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// said writes out what is said of all themes, by name.
func said(t testing.TB, b *Bank) string {
	t.Helper()
	list, err := b.Themes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, th := range list {
		s := th.Name
		for _, part := range []struct{ mark, text string }{{" < ", th.Parent}, {": ", th.Statement}, {" ? ", th.Rule}} {
			if part.text != "" {
				s += part.mark + part.text
			}
		}
		out = append(out, s)
	}
	slices.Sort(out)
	return strings.Join(out, " | ")
}

func addThemes(t testing.TB, b *Bank, names ...string) {
	t.Helper()
	do(t, b, "theme", func(tx *Tx) error {
		for _, n := range names {
			if _, err := tx.AddTheme(n); err != nil {
				return err
			}
		}
		return nil
	})
}

func describe(t testing.TB, b *Bank, name string, d story.ThemeDetail) error {
	t.Helper()
	_, err := b.Change(t.Context(), "theme", "", func(tx *Tx) error { _, err := tx.DescribeTheme(name, d); return err })
	return err
}

func TestDescribeTheme(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	q := all(t, b, Filter{})
	addThemes(t, b, "Bell", "ringing for nobody", "bridge")
	do(t, b, "tag", func(tx *Tx) error {
		_, e1 := tx.Tag(q[3].Code, []string{"bell", "strong"}, nil)
		_, e2 := tx.Tag(q[4].Code, []string{"bell"}, nil)
		_, e3 := tx.Tag(q[2].Code, []string{"strong"}, nil)
		return errors.Join(e1, e2, e3)
	})
	state, err := b.State(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	line, rule, bell, none := " Who rings,\n and who stopped. ", "bell OR ring", "BELL", ""
	if err := describe(t, b, "bell", story.ThemeDetail{Statement: &line, Rule: &rule}); err != nil {
		t.Error(err)
	}
	if err := describe(t, b, "Ringing for nobody", story.ThemeDetail{Parent: &bell}); err != nil {
		t.Error(err)
	}
	const want = "Bell: Who rings, and who stopped. ? bell OR ring | bridge | ringing for nobody < Bell"
	if got := said(t, b); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	list, err := b.Themes(t.Context())
	if err != nil || list[0].Name != "Bell" || list[0].Quotes != 2 || list[0].Strong != 1 || list[1].Strong != 0 {
		t.Errorf("got %+v, %v, want Bell with 2 quotes, 1 of them strong", list, err)
	}
	// Saying something of a theme changes no quote.
	if changed, gone, full, err := b.ChangedSince(t.Context(), state); len(changed) != 0 || len(gone) != 0 || full || err != nil {
		t.Errorf("got %s changed, %v gone, full %v, %v, want nothing", texts(changed), gone, full, err)
	}
	long, nobody, ringing, strong := strings.Repeat("a", 241), "nobody", "ringing for nobody", "strong"
	for name, c := range map[string]struct {
		theme string
		d     story.ThemeDetail
		want  error
	}{
		"no such theme":     {"nobody", story.ThemeDetail{Rule: &rule}, ErrNotFound},
		"no such parent":    {"bridge", story.ThemeDetail{Parent: &nobody}, ErrNotFound},
		"under itself":      {"bell", story.ThemeDetail{Parent: &bell}, story.ErrInvalid},
		"parent is nested":  {"bridge", story.ThemeDetail{Parent: &ringing}, story.ErrInvalid},
		"child is a parent": {"bell", story.ThemeDetail{Parent: &[]string{"bridge"}[0]}, story.ErrInvalid},
		"the mark":          {"strong", story.ThemeDetail{Rule: &rule}, story.ErrInvalid},
		"under the mark":    {"bridge", story.ThemeDetail{Parent: &strong}, story.ErrInvalid},
		"too long":          {"bridge", story.ThemeDetail{Statement: &long}, story.ErrInvalid},
	} {
		if err := describe(t, b, c.theme, c.d); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", name, err, c.want)
		}
	}
	if got := said(t, b); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if err := describe(t, b, "Bell", story.ThemeDetail{Statement: &none}); err != nil {
		t.Error(err)
	}
	if err := describe(t, b, "ringing for nobody", story.ThemeDetail{Parent: &none}); err != nil {
		t.Error(err)
	}
	if got, want := said(t, b), "Bell ? bell OR ring | bridge | ringing for nobody"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// What becomes of details when themes are renamed, merged and removed.
func TestDetailsFollow(t *testing.T) {
	rename := func(old, name string) func(*Tx) error {
		return func(tx *Tx) error { _, err := tx.RenameTheme(old, name); return err }
	}
	remove := func(name string) func(*Tx) error {
		return func(tx *Tx) error { _, err := tx.RemoveTheme(name); return err }
	}
	b := newBank(t)
	for _, c := range []struct{ name, themes, want string }{
		{"rename", "a: about a ? rule a | c < a", "c < e | e: about a ? rule a"},
		{"rename of a nested one", "a < b: about a | b", "b | e < b: about a"},
		{"merge: the kept one wins", "a: about a ? rule a | e: about e ? rule e", "e: about e ? rule e"},
		{"merge: empty ones filled", "a: about a ? rule a | e ? rule e", "e: about a ? rule e"},
		{"merge: the parent fills", "a < p | e | p", "e < p | p"},
		{"merge: the kept parent wins", "a < p | e < q | p | q", "e < q | p | q"},
		{"merge: children move", "a | c < a | d < e | e", "c < e | d < e | e"},
		{"merge: a parent of others gets no parent", "a < p | d < e | e | p", "d < e | e | p"},
		{"merge: children of one that is nested stand beside it", "a | c < a | e < p | p", "c < p | e < p | p"},
		{"merge a parent into its child", "a: about a | c < a | e < a", "c < e | e: about a"},
		{"merge a child into its parent", "a < e: about a | c < e | e", "c < e | e: about a"},
	} {
		if got := follow(t, b, c.themes, rename("a", "e")); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
	if got, want := follow(t, b, "a: about a ? rule a | b < a | c < a: about c", remove("a")), "b | c: about c"; got != want {
		t.Errorf("remove a parent: got %s, want %s", got, want)
	}
	if got, want := follow(t, b, "a | b < a", remove("b")), "a"; got != want {
		t.Errorf("remove a child: got %s, want %s", got, want)
	}
}

// follow makes the themes that a text as said writes it tells of in a bank
// without any, changes them, says what they are then, and takes all back.
func follow(t *testing.T, b *Bank, themes string, change func(*Tx) error) string {
	t.Helper()
	cut := func(s, mark string) (string, *string) {
		if head, tail, ok := strings.Cut(s, mark); ok {
			return head, &tail
		}
		return s, nil
	}
	do(t, b, "theme", func(tx *Tx) error {
		details := map[string]story.ThemeDetail{}
		for s := range strings.SplitSeq(themes, " | ") {
			var d story.ThemeDetail
			s, d.Rule = cut(s, " ? ")
			s, d.Statement = cut(s, ": ")
			s, d.Parent = cut(s, " < ")
			details[s] = d
			if _, err := tx.AddTheme(s); err != nil {
				return err
			}
		}
		for name, d := range details {
			if _, err := tx.DescribeTheme(name, d); err != nil {
				return err
			}
		}
		return nil
	})
	if got := said(t, b); got != themes {
		t.Fatalf("got %s, want %s", got, themes)
	}
	before := dump(t, b)
	do(t, b, "theme", change)
	got := said(t, b)
	_, e1 := b.Undo(t.Context())
	if now := dump(t, b); now != before {
		t.Errorf("%s: after undo got %s, want %s", themes, now, before)
	}
	if _, e2 := b.Undo(t.Context()); e1 != nil || e2 != nil || dump(t, b) != "" {
		t.Errorf("%s: got rows after all was undone, %v, %v", themes, e1, e2)
	}
	return got
}

func TestSplitTheme(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	q := all(t, b, Filter{})
	do(t, b, "tag", func(tx *Tx) error {
		_, e1 := tx.TagBy(q[0].Code, []string{"bell"}, story.ByRule)
		_, e2 := tx.Tag(q[1].Code, []string{"bell", "silence"}, nil)
		_, e3 := tx.Tag(q[2].Code, []string{"bell"}, nil)
		_, e4 := tx.Refuse("silence", []story.Code{q[2].Code})
		return errors.Join(e1, e2, e3, e4)
	})
	was := tags(t, b, q[0].Code)
	split := func(old, name string, codes ...story.Code) (n int, err error) {
		_, err = b.Change(t.Context(), "split", "", func(tx *Tx) (err error) { n, err = tx.SplitTheme(old, name, codes); return err })
		return n, err
	}
	b.who = "Petra"
	n, err := split("BELL", "Silence", q[0].Code, q[1].Code, q[2].Code, q[3].Code)
	if n != 3 || err != nil {
		t.Errorf("got %d moved, %v, want 3", n, err)
	}
	if got, want := tags(t, b, q[0].Code), strings.ReplaceAll(was, "bell", "silence"); got != want {
		t.Errorf("got %s, want %s: as it was set before", got, want)
	}
	if got := texts(all(t, b, Filter{Theme: "silence"})); got != texts(q[:3]) {
		t.Errorf("got %s, want %s", got, texts(q[:3]))
	}
	if list, err := b.Refused(t.Context(), "silence"); len(list) != 0 || err != nil {
		t.Errorf("got %v, %v refused, want none: what is moved there isn't refused", list, err)
	}
	if list, err := b.Themes(t.Context()); len(list) != 2 || list[1].Name != "bell" || list[1].Quotes != 0 || err != nil {
		t.Errorf("got %+v, %v, want the old theme to stay without quotes", list, err)
	}
	if n, err := split("silence", "far bank", q[1].Code); n != 1 || err != nil {
		t.Errorf("got %d moved to a new theme, %v, want 1", n, err)
	}
	for name, c := range map[string]struct {
		old, to string
		code    story.Code
		want    error
	}{
		"no such theme": {"winch", "rope", q[0].Code, ErrNotFound},
		"no such quote": {"bell", "rope", "NOSUCH", ErrNotFound},
		"into itself":   {"bell", "BELL", q[0].Code, story.ErrInvalid},
		"into the mark": {"bell", "strong", q[0].Code, story.ErrInvalid},
		"a bad name":    {"bell", "+", q[0].Code, story.ErrInvalid},
	} {
		before := dump(t, b)
		if n, err := split(c.old, c.to, c.code); n != 0 || !errors.Is(err, c.want) || dump(t, b) != before {
			t.Errorf("%s: got %d, %v, want %v and nothing changed", name, n, err, c.want)
		}
	}
}

func tags(t testing.TB, b *Bank, code story.Code) string {
	t.Helper()
	list, err := b.Tags(t.Context(), code)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, x := range list {
		at := "-"
		if !x.When.IsZero() {
			at = fmt.Sprint(int(x.When.Sub(testDay).Seconds()))
		}
		out = append(out, fmt.Sprintf("%s %s %s %s", x.Theme, x.Who, at, x.By))
	}
	return strings.Join(out, ", ")
}
