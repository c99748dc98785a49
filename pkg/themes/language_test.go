package themes

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/kljensen/snowball"
)

func languageOf(tag string) *language {
	return (&corpus{langs: map[string]*language{}}).language(tag)
}

func cutAll(name, text string) string {
	l := languageOf(name)
	var words []string
	l.cut(text, func(w string) { words = append(words, strings.Clone(w)) })
	return strings.Join(words, "|")
}

func TestCut(t *testing.T) {
	for _, c := range []struct{ language, text, want string }{
		{"en", "", ""},
		{"en", "Nobody rings a bridge.", "nobody|rings|a|bridge"},
		{"en", "The bell’s rope, don't you think?", "the|bell|rope|don|you|think"},
		{"en", "In 1994 the B2 ferry", "in|the|b2|ferry"},
		{"fr", "L'eau de l’église", "eau|de|église"},
		{"it", "Dell'acqua", "acqua"},
		{"de", "Die Brücke—die Straße", "die|brücke|die|straße"},
		{"", "far-bank \xff bell", "far|bank|bell"},
	} {
		if got := cutAll(c.language, c.text); got != c.want {
			t.Errorf("%s %q: got %q, want %q", c.language, c.text, got, c.want)
		}
	}
}

// Stems equal those of another implementation of Snowball's published rules,
// github.com/kljensen/snowball.
func TestStemsAgainstPeer(t *testing.T) {
	for tag, c := range map[string]struct{ name, words string }{
		"en": {"english", "bells ringing crossing crossings carried nationally happiness electricity bridges"},
		"es": {"spanish", "campanas cantaban puentes trabajadora rápidamente canciones"},
		"fr": {"french", "cloches sonnaient rivières passagers traversée continuellement"},
		"sv": {"swedish", "klockor klockorna båtarna floden broarna"},
		"ru": {"russian", "колокола колоколами мостов переправа"},
	} {
		l := languageOf(tag)
		for _, w := range strings.Fields(c.words) {
			want, err := snowball.Stem(w, c.name, true)
			if err != nil {
				t.Fatal(err)
			}
			if got := l.stem(w); got != want {
				t.Errorf("%s %q: got %q, the peer has %q", tag, w, got, want)
			}
		}
	}
}

func TestStopsAndFillers(t *testing.T) {
	l := languageOf("en")
	for w, want := range map[string]bool{
		"the": true, "um": true, "uh": true, "hmm": true, "mhm": true, "yeah": true, "x": true, "twenty": true,
		"bell": false, "bridge": false, "home": false, "work": false, "ahoy": false, "hem": false, "omen": false,
	} {
		if got := l.isStop(w); got != want {
			t.Errorf("%q: got %v, want %v", w, got, want)
		}
	}
	for _, tag := range []string{"en", "de", "fr", "es", "nl", "it", "pt"} {
		if n := len(stopWords(tag)); n < 100 {
			t.Errorf("%s: %d stop words, want at least 100", tag, n)
		}
	}
	ref := l.reference()
	// FrequencyWords (content/2018/en/en_50k.txt, seen) has chicken 41,996;
	// chickens 6,815 belong to the same family; the rarest word that is bundled
	// is scrubbing, 1,294.
	if got, want := ref.count(l.stem("chicken")), 41_996.0+6_815; got != want {
		t.Errorf("chicken: got %g, want %g", got, want)
	}
	if got, want := ref.count("nosuchwordatall"), 1_294.0/2; got != want {
		t.Errorf("an unknown word: got %g, want %g", got, want)
	}
}

func FuzzCut(f *testing.F) {
	for _, s := range []string{"bell's", "l'eau", "\xff'\xff", "''", "e\u0301", "B2 3.5"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, tag := range []string{"en", "fr"} {
			for _, w := range strings.Split(cutAll(tag, s), "|") {
				if strings.ContainsAny(w, " '’") || utf8.ValidString(s) && !utf8.ValidString(w) {
					t.Fatalf("%q: word %q", s, w)
				}
			}
		}
	})
}
