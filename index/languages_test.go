package index

import (
	"strings"
	"testing"

	"github.com/kljensen/snowball"
)

// TestStemsAgainstPeer compares the forms that count as one word with another
// implementation of the published Snowball rules, github.com/kljensen/snowball.
// Words come from the names below and their regular endings.
func TestStemsAgainstPeer(t *testing.T) {
	for language, c := range map[string]struct {
		name, words string
	}{
		"en": {"english", "bell bells ringing rings caresses flies dies mules agreed owned humbling sized meeting stating itemization traditional reference colonizer plotted national nationally happy happiness relational conditional rational electricity hopeful goodness adjustment dependent adoption homologous communism activate angularities effective bowdlerize crying die dying lying tying generous generously generation news"},
		"es": {"spanish", "campana campanas cantar cantaba cantaron hablando hablamos rápidamente canciones nación nacional ferrocarril puentes río ríos barquero barqueros trabajador trabajadores trabajadora llamada llamadas esperanza esperando cruzaban cruzaremos"},
		"fr": {"french", "cloche cloches sonner sonnait sonnaient sonnerie rivière rivières passage passager passagers traversait traversée traversées continuellement majestueux mangeait mangeons finir finissait nationale nationaux chevaux journaux lentement heureusement"},
	} {
		var s stemmers
		m, err := s.of(language)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range strings.Fields(c.words) {
			want, err := snowball.Stem(w, c.name, true)
			if err != nil {
				t.Fatal(err)
			}
			if got := m.stem(w); got != Fold(want) {
				t.Errorf("%s %q: got %q, the peer has %q", language, w, got, Fold(want))
			}
		}
	}
}

// TestFamilies: forms that a speaker of each language takes for one word
// (common knowledge, no source), and pairs that are not.
func TestFamilies(t *testing.T) {
	for language, families := range map[string][]string{
		"en": {"ring rings ringing rang rung", "bell bells", "go goes going went gone", "child children child's", "bridge bridges bridging"},
		"de": {"Glocke Glocken", "läuten läute", "Brücke Brücken", "warten warte"},
		"fr": {"cloche cloches", "sonner sonnait sonnaient", "l'eau eau"},
		"es": {"campana campanas", "esperar esperando esperaba"},
		"nl": {"brug", "klokken", "wachten wacht"},
		"it": {"campana campane", "suonare suonava suonavano"},
		"pt": {"sino sinos", "ponte pontes", "região regiões"},
		"ru": {"колокол колокола колоколу", "вёдра ведра ведро"},
		"sv": {"klocka klockor klockorna"},
		"hu": {"harang harangok"},
		"ar": {"جرس الجرس"},
		"pl": {"most mosty"},
	} {
		var s stemmers
		m, err := s.of(language)
		if err != nil {
			t.Fatal(err)
		}
		for _, family := range families {
			words := strings.Fields(family)
			for _, w := range words {
				if got, want := m.stem(w), m.stem(words[0]); got != want || got == "" {
					t.Errorf("%s: %s has stem %q, %s %q", language, w, got, words[0], want)
				}
			}
		}
		if m.stem("") != "" {
			t.Errorf("%s: nothing has a stem", language)
		}
	}
}

// TestEveryLanguageLoads makes every analyser that filtersOf knows.
func TestEveryLanguageLoads(t *testing.T) {
	n := 0
	for a := 'a'; a <= 'z'; a++ {
		for b := 'a'; b <= 'z'; b++ {
			for _, tag := range []string{string(a) + string(b), string(a) + string(b) + "b"} {
				if filtersOf(tag) == nil {
					continue
				}
				n++
				var s stemmers
				if _, err := s.of(tag); err != nil {
					t.Errorf("%s: %v", tag, err)
				}
			}
		}
	}
	if n < 29 {
		t.Errorf("%d languages, want at least 29", n)
	}
	for tag, want := range map[string]string{"en-GB": "en", "EN_us": "en", "nb": "no", "deu": "de", "": "", "xx": "", "x": ""} {
		if got := languageName(tag); got != want {
			t.Errorf("%q: got %q, want %q", tag, got, want)
		}
	}
}
