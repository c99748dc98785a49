package bank

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func TestUndo(t *testing.T) {
	b := newBank(t)
	if _, err := b.Undo(t.Context()); !errors.Is(err, ErrNothingToUndo) {
		t.Errorf("got %v, want ErrNothingToUndo", err)
	}
	empty := dump(t, b)
	shoot(t, b)
	ingested := dump(t, b)
	q := all(t, b, Filter{})
	tag := func(theme string) story.Entry {
		return do(t, b, "tag", func(tx *Tx) error {
			tx.SetSummary("bell on 1 quote")
			_, err := tx.Tag(q[0].Code, []string{theme}, nil)
			return err
		})
	}
	tag("bell")
	if e := tag("Bell"); e.Number != 0 {
		t.Errorf("got entry %d for nothing changed, want none", e.Number)
	}
	e, err := b.Undo(t.Context())
	if e.Number != 3 || e.Undoes != 2 || e.Kind != "undo" || e.Summary != "took back 2: bell on 1 quote" || err != nil {
		t.Errorf("got %+v, %v", e, err)
	}
	if dump(t, b) != ingested {
		t.Error("got other rows after undo than before the change")
	}
	tag("winch")
	for _, undoes := range []int64{4, 1} {
		if e, err := b.Undo(t.Context()); e.Undoes != undoes || err != nil {
			t.Errorf("got %+v, %v, want it to undo %d", e, err, undoes)
		}
	}
	if dump(t, b) != empty {
		t.Error("got other rows after all undos than at first")
	}
	if _, err := b.Undo(t.Context()); !errors.Is(err, ErrNothingToUndo) {
		t.Errorf("got %v, want ErrNothingToUndo", err)
	}
	list, err := b.History(t.Context(), 0)
	var got []string
	for _, e := range list {
		got = append(got, fmt.Sprintf("%d %s %d/%d", e.Number, e.Kind, e.Undoes, e.UndoneBy))
	}
	want := []string{"6 undo 1/0", "5 undo 4/0", "4 tag 0/5", "3 undo 2/0", "2 tag 0/3", "1 ingest 0/6"}
	if !slices.Equal(got, want) || err != nil {
		t.Errorf("got %v, %v, want %v", got, err, want)
	}
	if list[5].Who != "Joss" || !list[5].When.Equal(testDay.Add(1e9)) || list[5].Rows != 7 {
		t.Errorf("got %+v", list[5])
	}
	if list, err := b.History(t.Context(), 2); len(list) != 2 || list[0].Number != 6 || err != nil {
		t.Errorf("got %v, %v, want the last two", list, err)
	}
}

// A change that fails, or panics, leaves nothing and lets go of the bank.
func TestChangeFails(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	before := dump(t, b)
	own := errors.New("changed my mind")
	_, err := b.Change(t.Context(), "remove", "", func(tx *Tx) error {
		if err := tx.RemoveRecording("D1-INT1"); err != nil {
			return err
		}
		return own
	})
	if err != own || dump(t, b) != before {
		t.Errorf("got %v, want our own error and nothing changed", err)
	}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("got no panic")
			}
		}()
		_, _ = b.Change(t.Context(), "remove", "", func(tx *Tx) error {
			_ = tx.RemoveRecording("D1-INT1")
			panic("oh")
		})
	}()
	if dump(t, b) != before {
		t.Error("got a change after a panic")
	}
	do(t, b, "remove", func(tx *Tx) error { return tx.RemoveRecording("D1-INT1") })
}

// someChange makes one random change of any kind; what it names need not be
// there.
func someChange(r *rapid.T, tx *Tx) error {
	reel := rapid.SampledFrom([]string{"A1", "a1", "Ünal", "ÜNAL", "c.3"}).Draw(r, "reel")
	theme := rapid.SampledFrom([]string{"bell", "BELL", "écluse", "Écluse", "strong", "far bank", "winch"})
	codes := rapid.SampledFrom([]story.Code{"AAA", "BBB", "CCC", "DDD", "EEE"})
	texts := rapid.StringN(0, 8, -1)
	switch rapid.IntRange(0, 20).Draw(r, "kind") {
	case 0, 1:
		rec := recording(reel, texts.Draw(r, "day"))
		rec.Path = string(rapid.SliceOfN(rapid.Byte(), 0, 6).Draw(r, "path"))
		return tx.PutRecording(rec)
	case 2:
		return tx.RemoveRecording(reel)
	case 3:
		return tx.PutHeard(reel, someHeard(r))
	case 4, 5, 6:
		var list []story.Quote
		for _, c := range rapid.SliceOfNDistinct(codes, 0, 4, rapid.ID).Draw(r, "codes") {
			list = append(list, story.Quote{
				Code: c, Speaker: texts.Draw(r, "speaker"), Text: texts.Draw(r, "text"),
				Span:   timecode.Span{In: 3, Out: timecode.Ticks(rapid.Int64Range(3, 9).Draw(r, "out"))},
				Themes: rapid.SliceOfN(theme, 0, 3).Draw(r, "themes"), Rating: rapid.IntRange(0, 5).Draw(r, "rating"),
				Words: []story.Word{{Text: texts.Draw(r, "word")}},
			})
		}
		return tx.PutQuotes(reel, list)
	case 7:
		_, err := tx.Tag(codes.Draw(r, "code"), []string{theme.Draw(r, "on")}, []string{theme.Draw(r, "off")})
		return err
	case 8:
		_, err := tx.Rate(codes.Draw(r, "code"), rapid.IntRange(0, 5).Draw(r, "rating"))
		return err
	case 9:
		_, _, err := tx.SetSpeaker(reel, "", texts.Draw(r, "to"))
		return err
	case 10:
		_, err := tx.RenameTheme(theme.Draw(r, "from"), theme.Draw(r, "to"))
		return err
	case 11:
		s := story.Selects{Name: rapid.SampledFrom([]string{"opening", "OPENING", "end"}).Draw(r, "name")}
		for range rapid.IntRange(0, 3).Draw(r, "items") {
			s.Items = append(s.Items, story.Item{
				Code: codes.Draw(r, "code"), Trimmed: rapid.Bool().Draw(r, "trim"), Span: timecode.Span{In: 1, Out: 2},
			})
		}
		return tx.PutSelects(s)
	case 12:
		return tx.RemoveSelects("opening")
	}
	return someThemeChange(r, tx, reel, theme, codes)
}

// someThemeChange makes one of the changes that form 2 brought.
func someThemeChange(r *rapid.T, tx *Tx, reel string, theme *rapid.Generator[string], codes *rapid.Generator[story.Code]) error {
	some := func() []story.Code { return rapid.SliceOfN(codes, 0, 4).Draw(r, "some") }
	switch rapid.IntRange(0, 7).Draw(r, "theme kind") {
	case 0:
		var d story.ThemeDetail
		for _, p := range []**string{&d.Statement, &d.Parent, &d.Rule} {
			if text := rapid.OneOf(theme, rapid.Just("")).Draw(r, "detail"); rapid.Bool().Draw(r, "set") {
				*p = &text
			}
		}
		_, err := tx.DescribeTheme(theme.Draw(r, "name"), d)
		return err
	case 1:
		parent := theme.Draw(r, "parent")
		_, err := tx.DescribeTheme(theme.Draw(r, "name"), story.ThemeDetail{Parent: &parent})
		return err
	case 2:
		_, err := tx.RemoveTheme(theme.Draw(r, "name"))
		return err
	case 3:
		by := rapid.SampledFrom([]story.TaggedBy{story.ByHand, story.ByRule}).Draw(r, "by")
		_, err := tx.TagBy(codes.Draw(r, "code"), []string{theme.Draw(r, "on")}, by)
		return err
	case 4:
		_, err := tx.Refuse(theme.Draw(r, "name"), some())
		return err
	case 5:
		_, err := tx.SplitTheme(theme.Draw(r, "old"), theme.Draw(r, "new"), some())
		return err
	case 6:
		return tx.RemoveSync(reel, rapid.SampledFrom([]string{"A1", "ünal", "C.3"}).Draw(r, "sound"))
	}
	other := rapid.SampledFrom([]string{"A1", "ünal", "C.3"}).Draw(r, "sound")
	return tx.PutSync(story.Sync{
		Picture: reel, Sound: other, Offset: timecode.Ticks(rapid.Int64().Draw(r, "offset")),
		DriftPPB: rapid.Int64Range(-1e7, 1e7).Draw(r, "drift"), Confidence: rapid.IntRange(0, 1000).Draw(r, "confidence"),
		By: story.SyncBySound, HasTimecode: rapid.Bool().Draw(r, "timecode"), Disagreement: 7,
	})
}

// lawful holds a bank to what its operations keep: themes nest one level deep,
// and no quote carries what is refused for it. SQLite itself watches over the
// links between rows.
func lawful(r *rapid.T, b *Bank) {
	for what, query := range map[string]string{
		"a parent with a parent":    "SELECT count(*) FROM nest AS a JOIN nest AS b ON b.theme = a.parent",
		"a theme under itself":      "SELECT count(*) FROM nest WHERE theme = parent",
		"the mark nested":           "SELECT count(*) FROM nest WHERE 'strong' IN (theme, parent)",
		"carried and refused":       "SELECT count(*) FROM refusal AS f JOIN tag AS g ON g.code = f.code AND g.theme = f.theme",
		"a tag that nobody set":     "SELECT count(*) FROM tag WHERE who = '' OR at = '' OR how NOT IN ('hand', 'rule')",
		"nothing said":              "SELECT count(*) FROM about WHERE statement = '' AND rule = ''",
		"a sync with the same reel": "SELECT count(*) FROM sync WHERE picture = sound",
	} {
		var n int
		if err := b.db.QueryRow(query).Scan(&n); n != 0 || err != nil {
			r.Fatalf("got %d of %s, %v, want none", n, what, err)
		}
	}
}

// someShoot fills an empty bank, so that the changes after it find something.
func someShoot(r *rapid.T, tx *Tx) error {
	names := []string{"bell", "écluse", "far bank", "winch"}
	theme := rapid.SampledFrom(names)
	var errs []error
	put := func(_ any, err error) { errs = append(errs, err) }
	for i, reel := range []string{"A1", "Ünal"} {
		errs = append(errs, tx.PutRecording(recording(reel, "")))
		var list []story.Quote
		for _, c := range [][]story.Code{{"AAA", "BBB", "CCC"}, {"DDD", "EEE"}}[i] {
			list = append(list, story.Quote{Code: c, Themes: rapid.SliceOfN(theme, 0, 2).Draw(r, "themes")})
		}
		errs = append(errs, tx.PutQuotes(reel, list))
	}
	errs = append(errs, tx.PutSync(story.Sync{Picture: "A1", Sound: "Ünal", By: story.SyncByTimecode}))
	for _, n := range names {
		put(tx.AddTheme(n))
		for _, c := range []story.Code{"AAA", "BBB", "CCC", "DDD"} {
			switch rapid.IntRange(0, 3).Draw(r, "mark") {
			case 0:
				put(tx.TagBy(c, []string{n}, story.ByRule))
			case 1:
				put(tx.Tag(c, nil, []string{n}))
				put(tx.Refuse(n, []story.Code{c}))
			}
		}
	}
	for _, n := range names[1:3] {
		d := story.ThemeDetail{Statement: &n}
		if rapid.Bool().Draw(r, "nested") {
			d.Parent = &names[rapid.SampledFrom([]int{0, 3}).Draw(r, "parent")]
		}
		put(tx.DescribeTheme(n, d))
	}
	return errors.Join(errs...)
}

func someHeard(r *rapid.T) story.Heard {
	level := rapid.SliceOfN(rapid.Int16(), 0, 20)
	return story.Heard{
		Version: 2, Duration: 100, FloorDBFS: rapid.Float64().Draw(r, "floor"),
		Envelope: story.Envelope{RMS: level.Draw(r, "rms"), Peak: level.Draw(r, "peak")},
		Speech:   []timecode.Span{{In: 1, Out: timecode.Ticks(rapid.Int64().Draw(r, "out"))}},
	}
}

// failer ends a test, or one draw of a rapid check.
type failer interface {
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

// replays holds the journal to its word: from an empty bank on, each entry after one
// finds every row as its before says and leaves it as its after says, and in
// the end that is what the bank holds.
func replays(r failer, t *testing.T, b *Bank, after int64) {
	state, err := b.State(t.Context())
	if err != nil {
		r.Fatal(err)
	}
	rows := map[string]string{}
	text := func(m map[string]any) string {
		if m == nil {
			return "nothing"
		}
		return fmt.Sprintf("%q", m)
	}
	for n := after + 1; n <= state; n++ {
		list, err := view{b.db}.stories(t.Context(), n)
		if err != nil {
			r.Fatal(err)
		}
		for _, c := range list {
			key := fmt.Sprintf("%s %q", c.table, c.key)
			if had, ok := rows[key]; ok && had != text(c.before) || !ok && c.before != nil {
				r.Fatalf("entry %d: %s was %s, want %s", n, key, text(c.before), had)
			}
			rows[key] = text(c.after)
		}
	}
	there := 0
	for _, row := range rows {
		if row != "nothing" {
			there++
		}
	}
	for _, tab := range tables() {
		n := 0
		if err := b.db.QueryRow("SELECT count(*) FROM " + tab.name).Scan(&n); err != nil {
			r.Fatal(err)
		}
		there -= n
	}
	if there != 0 {
		r.Fatalf("got %d rows more in the journal than in the bank", there)
	}
}

// After any changes, undoing them one by one passes through exactly the
// states before each, to the first.
func TestUndoAll(t *testing.T) {
	// A bank in which all is undone serves again.
	var b *Bank
	rapid.Check(t, func(r *rapid.T) {
		if b == nil {
			b = newBank(t)
		}
		good := false
		defer func() {
			if !good {
				b = nil
			}
		}()
		states := []string{dump(t, b)}
		first, err := b.State(t.Context())
		if err != nil {
			r.Fatal(err)
		}
		if states[0] != "" {
			r.Fatal("got rows before the first change")
		}
		for range rapid.IntRange(1, 12).Draw(r, "changes") {
			e, err := b.Change(t.Context(), "test", "", func(tx *Tx) error {
				if len(states) == 1 && rapid.Bool().Draw(r, "begin with a shoot") {
					if err := someShoot(r, tx); err != nil {
						return err
					}
				}
				for range rapid.IntRange(1, 3).Draw(r, "steps") {
					// An error is a refusal of what isn't there; what was
					// done before it stays in the change.
					if err := someChange(r, tx); err != nil && !errors.Is(err, ErrNotFound) && !errors.Is(err, story.ErrInvalid) {
						return err
					}
				}
				return nil
			})
			if err != nil {
				r.Fatal(err)
			}
			now := dump(t, b)
			lawful(r, b)
			if (e.Number == 0) != (now == states[len(states)-1]) {
				r.Fatalf("got entry %d, but the rows changed: %v", e.Number, now != states[len(states)-1])
			}
			if e.Number != 0 {
				states = append(states, now)
			}
		}
		replays(r, t, b, first)
		for len(states) > 1 {
			states = states[:len(states)-1]
			if _, err := b.Undo(t.Context()); err != nil {
				r.Fatal(err)
			}
			if got, want := dump(t, b), states[len(states)-1]; got != want {
				r.Fatalf("after undo got\n%s\nwant\n%s", got, want)
			}
		}
		if _, err := b.Undo(t.Context()); !errors.Is(err, ErrNothingToUndo) {
			r.Fatalf("got %v, want ErrNothingToUndo", err)
		}
		good = true
	})
}

// What somebody else did is taken back with their name.
func TestUndoNamesWhoElse(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	other, err := Open(t.Context(), b.Dir(), Options{Who: "Petra"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = other.Close() }()
	_, err = other.Change(t.Context(), "themes", "made theme bell", func(tx *Tx) error { _, err := tx.AddTheme("bell"); return err })
	if err != nil {
		t.Fatal(err)
	}
	e, err := b.Undo(t.Context())
	if want := "of Petra: made theme bell"; err != nil || !strings.HasSuffix(e.Summary, want) {
		t.Errorf("got %q, %v; want it to end with %q", e.Summary, err, want)
	}
}

// A change of more rows than the journal takes at once is like any other: all
// of it can be taken back, and what ends as it began is no change.
func TestManyRows(t *testing.T) {
	b := newBank(t)
	texts := strings.Fields(strings.Repeat("bell ", 2*pendingMost+500))
	do(t, b, "ingest", func(tx *Tx) error {
		return errors.Join(tx.PutRecording(recording("D2-INT2", "")), tx.PutQuotes("D2-INT2", sayings("D2-INT2", texts...)))
	})
	first := dump(t, b)
	put := func(tx *Tx, change func(q *story.Quote)) error {
		list := sayings("D2-INT2", texts...)
		for i := range list {
			change(&list[i])
		}
		return tx.PutQuotes("D2-INT2", list)
	}
	e := do(t, b, "ingest", func(tx *Tx) error {
		if err := put(tx, func(q *story.Quote) { q.Speaker = "Wilf" }); err != nil {
			return err
		}
		return put(tx, func(*story.Quote) {})
	})
	if e.Number != 0 || dump(t, b) != first {
		t.Errorf("got entry %d of %d rows for what is again as it was", e.Number, e.Rows)
	}
	e = do(t, b, "ingest", func(tx *Tx) error {
		if err := put(tx, func(q *story.Quote) { q.Speaker, q.Rating = "Wilf", 3 }); err != nil {
			return err
		}
		return tx.PutQuotes("D2-INT2", all(t, b, Filter{})[:10])
	})
	// Of all but ten, the quote is gone and what it was last is kept.
	if want := 2 * (len(texts) - 10); e.Rows != want {
		t.Errorf("got %d rows in the entry, want %d", e.Rows, want)
	}
	var n int
	if err := b.db.QueryRow("SELECT count(*) FROM change WHERE entry = ?", e.Number).Scan(&n); n != e.Rows || err != nil {
		t.Errorf("got %d rows in the journal, %v, want %d", n, err, e.Rows)
	}
	if _, err := b.Undo(t.Context()); err != nil || dump(t, b) != first {
		t.Errorf("got %v, or other rows after undo", err)
	}
	if _, err := b.Undo(t.Context()); err != nil || dump(t, b) != "" {
		t.Errorf("got %v, or rows after undo of all", err)
	}
}
