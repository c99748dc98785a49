package themes

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

func find(t *testing.T, opt Options) Found {
	t.Helper()
	got, err := Find(context.Background(), farBankQuotes, opt)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func candidate(t *testing.T, list []Candidate, term string) Candidate {
	t.Helper()
	i := slices.IndexFunc(list, func(c Candidate) bool { return slices.Contains(c.Forms, term) })
	if i < 0 {
		t.Fatalf("%q is not listed", term)
	}
	return list[i]
}

// What is told of a candidate, counted by hand in farBank.
func TestCandidate(t *testing.T) {
	got := find(t, Options{})
	if want := []string{"D1-INT1", "D1-WILF", "D2-INT2"}; !slices.Equal(got.Reels, want) {
		t.Errorf("reels: got %v, want %v", got.Reels, want)
	}
	if got.Quotes != 29 || len(got.Languages) != 1 || got.Languages[0].Tag != "en" || got.Languages[0].Words != got.Words {
		t.Errorf("got %d quotes in %+v, want 29 in English", got.Quotes, got.Languages)
	}
	bell := candidate(t, got.Recurring, "bell")
	counts := []int{}
	for _, r := range bell.PerReel {
		counts = append(counts, r.Count)
	}
	if want := []int{1, 1, 6}; !slices.Equal(counts, want) {
		t.Errorf("bell per reel: got %v, want %v", counts, want)
	}
	if bell.Sayings != 7 || bell.Asked != 0 || bell.Answered != 8 || bell.Here != 8 {
		t.Errorf("bell: got %d sayings, %d asked, %d answered, %d here; want 7, 0, 8, 8", bell.Sayings, bell.Asked, bell.Answered, bell.Here)
	}
	if f := bell.FirstSaid; f.Code != "D1-INT1.8" || f.Speaker != "Ines Corrigan" || f.By != ByAnswerer || f.Reel != "D1-INT1" {
		t.Errorf("bell: brought up by %+v, want Ines Corrigan in D1-INT1.8", f)
	}
	bridge := candidate(t, got.Recurring, "bridge")
	if f := bridge.FirstSaid; f.By != ByAsker || f.Speaker != "Joss Adeyemi" {
		t.Errorf("bridge: brought up by %+v, want Joss Adeyemi, who asks", f)
	}
	if bridge.Asked+bridge.Answered != bridge.Count || bridge.Asked != 8 {
		t.Errorf("bridge: got %d asked and %d answered of %d, want 8 asked", bridge.Asked, bridge.Answered, bridge.Count)
	}
	ring := candidate(t, got.Recurring, "ring")
	sum := 0
	for _, f := range ring.Family {
		sum += f.Count
	}
	if sum != ring.Count || len(ring.Family) != 4 {
		t.Errorf("ring: got family %v of %d, want four forms that add up", ring.Family, ring.Count)
	}
	for i, c := range got.Recurring {
		product := 1.0
		for _, p := range c.Why {
			product *= p.Factor
			if p.Note == "" {
				t.Errorf("%s: part %s says nothing", c.Term, p.Name)
			}
		}
		if math.Abs(product/c.Score-1) > 1e-9 || c.Place != i+1 {
			t.Errorf("%s: parts make %g, the score is %g; place %d of %d", c.Term, product, c.Score, c.Place, i+1)
		}
	}
}

// The fields that others rely on are there beside the new ones.
func TestCandidateJSON(t *testing.T) {
	b, err := json.Marshal(find(t, Options{Limit: 1}))
	if err != nil {
		t.Fatal(err)
	}
	for _, field := range strings.Fields("term count reels speakers keyness dispersion first quotes forms" +
		" place here score family per_reel sayings asked answered first_said everyday others burst why") {
		if !strings.Contains(string(b), `"`+field+`":`) {
			t.Errorf("no %q in %s", field, b)
		}
	}
	if !strings.Contains(string(b), `"by":"answerer"`) {
		t.Errorf("who brought it up is missing in %s", b)
	}
}

func TestListsBy(t *testing.T) {
	for by, want := range map[string]string{
		BySpeaker: "Ines Corrigan, Joss Adeyemi, Wilf Tranter", ByReel: "D1-INT1, D1-WILF, D2-INT2", ByDay: "D1, D2",
	} {
		got := find(t, Options{By: by})
		values := []string{}
		words := 0
		for _, l := range got.Lists {
			values = append(values, l.Value)
			words += l.Words
			for _, c := range l.Recurring {
				if c.Here < 1 || c.Here > c.Count || c.Others == nil || c.Others.G2 <= 0 || c.Others.Where != l.Value || len(c.Quotes) == 0 {
					t.Errorf("%s %s: %s: got here %d of %d, others %+v, quotes %v", by, l.Value, c.Term, c.Here, c.Count, c.Others, c.Quotes)
				}
				if by == ByReel && slices.ContainsFunc(c.Quotes, func(q story.Code) bool { return !strings.HasPrefix(string(q), l.Value+".") }) {
					t.Errorf("%s: quotes %v, want only those of %s", c.Term, c.Quotes, l.Value)
				}
			}
		}
		if strings.Join(values, ", ") != want || words != got.Words {
			t.Errorf("by %s: got %v with %d words, want %s with %d", by, values, words, want, got.Words)
		}
		if len(got.Recurring) == 0 {
			t.Errorf("by %s: the list of all talk is gone", by)
		}
	}
	got := find(t, Options{By: BySpeaker})
	if l := got.Lists[0]; candidate(t, l.Recurring, "ring").Place > 2 {
		t.Errorf("ring sets Ines apart at place %d, want first or second", candidate(t, l.Recurring, "ring").Place)
	}
	if l := got.Lists[1]; len(l.Recurring) == 0 || l.Recurring[0].Term != "bridge" {
		t.Errorf("got %v first, want bridge to set Joss apart", l.Recurring)
	}
	if _, err := Find(context.Background(), farBankQuotes, Options{By: "mood"}); !errors.Is(err, ErrOption) {
		t.Errorf("by mood: got %v, want ErrOption", err)
	}
}

func TestLate(t *testing.T) {
	got := find(t, Options{Late: true})
	if len(got.Recurring) == 0 || !slices.Contains(got.Recurring[0].Forms, "ring") || !got.Recurring[0].Late {
		t.Errorf("got %+v, want ring first", got.Recurring)
	}
	for _, c := range got.Recurring {
		if c.Term == "bridge" {
			t.Error("bridge was said from the start and is listed as late")
		}
	}
	one, err := Find(context.Background(), textQuotes([]string{"lantern", "lantern", "lantern"}, "en"), Options{Late: true})
	if err != nil || len(one.Recurring) != 0 || len(one.Notes) != 1 {
		t.Errorf("one reel: got %+v, %v; want nothing and a note", one, err)
	}
}

func TestSaysWhatIsMissing(t *testing.T) {
	got, err := Find(context.Background(), textQuotes([]string{"zvon a zvon", "zvon"}, "cs"), Options{})
	if err != nil || len(got.Recurring) != 1 || len(got.Notes) != 1 || !strings.Contains(got.Notes[0], `"cs"`) {
		t.Fatalf("got %+v, %v; want zvon, and a note about cs", got, err)
	}
	if c := got.Recurring[0]; c.Everyday != nil || got.Languages[0].Reference != "" {
		t.Errorf("got %+v against %q, want no contrast with everyday talk", c.Everyday, got.Languages[0].Reference)
	}
	got = find(t, Options{Reel: "D9-GONE"})
	if len(got.Recurring) != 0 || len(got.Notes) != 1 {
		t.Errorf("a reel that isn't there: got %v, %v; want nothing and a note", got.Recurring, got.Notes)
	}
}

// What all say evenly is a theme as well, with and without a list of everyday
// language, though nothing sets a reel apart.
func TestEvenTheme(t *testing.T) {
	for _, language := range []string{"en", "cs"} {
		got, err := Find(context.Background(), func(yield func(story.Quote, error) bool) {
			for i := range 12 {
				q := story.Quote{Reel: string(rune('A' + i/3)), Language: language, Order: i, Text: "lantern"}
				if !yield(q, nil) {
					return
				}
			}
		}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		c := candidate(t, got.Recurring, "lantern")
		if c.FirstSaid.By != "" {
			t.Errorf("%s: got %q, want nobody known to ask", language, c.FirstSaid.By)
		}
		if c.Count != 12 || c.Keyness != 0 || c.Others.G2 != 0 || c.Dispersion != 0 || c.Score <= 0 {
			t.Errorf("%s: got %d times, keyness %g, dispersion %g, score %g; want 12, 0, 0, more than 0", language, c.Count, c.Keyness, c.Dispersion, c.Score)
		}
	}
}

// Who says it, and where, does not depend on the order in which quotes come.
func TestOrderOfQuotes(t *testing.T) {
	var qs []story.Quote
	for q := range farBankQuotes {
		qs = append(qs, q)
	}
	slices.Reverse(qs)
	got, err := Find(context.Background(), func(yield func(story.Quote, error) bool) {
		for _, q := range qs {
			if !yield(q, nil) {
				return
			}
		}
	}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	a, _ := json.Marshal(got)
	b, _ := json.Marshal(find(t, Options{}))
	if string(a) != string(b) {
		t.Errorf("got\n%s\nwant\n%s", a, b)
	}
}

func TestPhrasesStopAtSigns(t *testing.T) {
	for text, want := range map[string]bool{
		"the rope ferry": true, "the rope, ferry": false, "a rope. Ferry": false, "rope – ferry": false, "rope-ferry": true, "“rope” ferry": false,
	} {
		got, err := Find(context.Background(), textQuotes([]string{text, text, text, "wind and rain and wind again"}, "en"), Options{Limit: -1})
		if err != nil {
			t.Fatal(err)
		}
		is := slices.ContainsFunc(got.Recurring, func(c Candidate) bool { return c.Term == "rope ferry" })
		if is != want {
			t.Errorf("%q: got a phrase %v, want %v", text, is, want)
		}
	}
}

func TestDerivedWordsShareAFamily(t *testing.T) {
	for _, c := range []struct {
		language, words string
		want            bool
	}{
		{"en", "ring ringer", true},
		{"en", "transcribe transcription", true},
		{"en", "recognise recognition", true},
		{"en", "friend friendship", true},
		{"en", "corn corner", false},
		{"en", "number numb", false},
		{"en", "bell belly", false},
		{"de", "Freund Freundschaft", true},
		{"de", "Brunnen Brücke", false},
		{"nl", "vriend vriendschap", true},
	} {
		got, err := Find(context.Background(), textQuotes([]string{c.words, c.words, c.words}, c.language), Options{Limit: -1})
		if err != nil {
			t.Fatal(err)
		}
		is := slices.ContainsFunc(got.Recurring, func(x Candidate) bool { return x.Count == 6 })
		if is != c.want {
			t.Errorf("%s %q: got one family %v, want %v (%v)", c.language, c.words, is, c.want, got.Recurring)
		}
	}
}

func TestSpark(t *testing.T) {
	at := func(xs ...float64) []InReel {
		var in []InReel
		for _, x := range xs {
			in = append(in, InReel{PerThousand: x})
		}
		return in
	}
	for _, c := range []struct {
		name    string
		reels   []InReel
		columns int
		want    string
	}{
		{"nothing", nil, 5, ""},
		{"never said", at(0, 0), 0, "  "},
		{"late", at(0, 1, 8), 0, " ▁█"},
		{"a little is seen", at(0.001, 100), 0, "▁█"},
		{"two share", at(0, 4, 8, 0), 2, "▄█"},
		{"wider than long", at(8), 9, "█"},
	} {
		if got := Spark(c.reels, c.columns); got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}

// Words of like meaning stand beside a word with their own counts, and change
// no count; what isn't said twice, means nothing or isn't known is left out.
func TestRelatedWords(t *testing.T) {
	texts := []string{"The ferry is late.", "A boat, a ferry, a vessel.", "Boats and ferries.", "The ferry."}
	related := func(language, word string) []string {
		if language == "en" && word == "ferry" {
			return []string{"boat", "vessel", "the", "raft", "ferries"}
		}
		return nil
	}
	got, err := Find(context.Background(), textQuotes(texts, "en"), Options{Related: related})
	if err != nil {
		t.Fatal(err)
	}
	c := candidate(t, got.Recurring, "ferry")
	if c.Count != 4 || len(c.Related) != 1 || c.Related[0].Count != 2 || !strings.HasPrefix(c.Related[0].Text, "boat") {
		t.Errorf("got %d times, beside it %v; want 4 times, and boat twice", c.Count, c.Related)
	}
}

// Forms that stemming leaves apart count together where the caller knows what
// they are forms of, if both are said; what isn't said, or means nothing by
// itself, joins nothing.
func TestBasesShareAFamily(t *testing.T) {
	texts := []string{"Der Nachbar läutet.", "Abends läutete der Nachbar.", "Wir wollten läuten.", "Die Mutter hat geläutet.", "Das Seil und der Wind."}
	bases := func(language, word string) []string {
		if language != "de" {
			return nil
		}
		return map[string][]string{"läutet": {"läuten"}, "geläutet": {"läuten", "läutet"}, "seil": {"seilen"}, "wind": {"und"}}[word]
	}
	count := func(opt Options) map[string]int {
		t.Helper()
		got, err := Find(context.Background(), textQuotes(texts, "de"), opt)
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]int{}
		for _, c := range got.Recurring {
			for _, f := range c.Family {
				out[f.Text] = c.Count
			}
		}
		return out
	}
	if got := count(Options{Limit: -1, Bases: bases}); got["läutet"] != 4 || got["geläutet"] != 4 || got["läuten"] != 4 {
		t.Errorf("got %v, want läuten, läutet, läutete and geläutet said 4 times together", got)
	}
	if got := count(Options{Limit: -1}); got["geläutet"] != 0 {
		t.Errorf("without bases: got %v, want no family of geläutet, said once", got)
	}
}
