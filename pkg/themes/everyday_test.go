package themes

import (
	"context"
	"testing"
)

// The bundled lists keep the counts of the lists they were cut from: the first
// line as FrequencyWords has it (content/2018/xx/xx_50k.txt, seen).
func TestEverydayCounts(t *testing.T) {
	for _, c := range []struct {
		language, word string
		least          float64
	}{
		{"en", "you", 28_787_591},
		{"de", "ich", 5_890_279},
		{"fr", "vous", 4_500_162},
		{"es", "de", 14_459_520},
		{"nl", "ik", 10_006_772},
		{"it", "non", 6_257_811},
		{"pt", "que", 7_796_660},
	} {
		l := languageOf(c.language)
		ref := l.reference()
		if ref == nil {
			t.Fatalf("%s: no reference", c.language)
		}
		// Other forms may share the stem, but not a fifth of a common word's.
		got := ref.count(l.stem(c.word))
		if got < c.least || got > 1.2*c.least {
			t.Errorf("%s %s: got %g, want %g or a little more", c.language, c.word, got, c.least)
		}
		if rare := ref.count("zzz"); rare <= 0 || rare > 5000 {
			t.Errorf("%s: a word that is not listed counts %g", c.language, rare)
		}
	}
	if languageOf("cs").reference() != nil {
		t.Error("cs has a reference that nobody bundled")
	}
}

// What talk drops of a contraction, the English list doesn't count either, so
// that "o'clock" is no clock on either side. Counts of content/2018/en of
// FrequencyWords (seen): clock 23,907, clocks 2,098, 'clock 22,311; don
// 4,158,644; ain 166,551; 't 9,628,970.
func TestEverydayContractions(t *testing.T) {
	if got, want := cutAll("en", "Don't ring at five o'clock, it ain't right"), "don|ring|at|five|o|it|ain|right"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	l := languageOf("en")
	ref := l.reference()
	for word, want := range map[string]float64{"clock": 23_907 + 2_098, "don": 4_158_644, "ain": 166_551} {
		if got := ref.count(l.stem(word)); got != want {
			t.Errorf("%s: got %g, want %g", word, got, want)
		}
	}
	if got := ref.count("t"); got > 100_000 {
		t.Errorf("the end of don't counts as a word: %g", got)
	}
}

func TestEverydayListsAreSmall(t *testing.T) {
	entries, err := everydayLists.ReadDir("everyday")
	if err != nil {
		t.Fatal(err)
	}
	bytes := int64(0)
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		bytes += info.Size()
	}
	if len(entries) != 7 || bytes > 600_000 {
		t.Errorf("got %d lists of %d bytes, want 7 of at most 600,000", len(entries), bytes)
	}
}

// In each language the word that comes back is found, compared with everyday
// talk, and its inflected forms count as
// one word.
func TestSevenLanguages(t *testing.T) {
	for language, c := range map[string]struct {
		texts []string
		term  string
		count int
	}{
		"en": {[]string{"The bell rings.", "Two bells over the water.", "I hear the bell and I go."}, "bell", 3},
		"de": {[]string{"Die Glocke läutet.", "Zwei Glocken über dem Wasser.", "Ich höre die Glocke und gehe."}, "glocke", 3},
		"fr": {[]string{"La cloche sonne.", "Deux cloches sur l'eau.", "J'entends la cloche et j'y vais."}, "cloche", 3},
		"es": {[]string{"La campana suena.", "Dos campanas sobre el agua.", "Oigo la campana y voy."}, "campana", 3},
		"nl": {[]string{"De klok luidt.", "Twee klokken over het water.", "Ik hoor de klok en ik ga."}, "klok", 3},
		"it": {[]string{"La campana suona.", "Due campane sull'acqua.", "Sento la campana e vado."}, "campana", 3},
		"pt": {[]string{"O sino toca.", "Dois sinos sobre a água.", "Ouço o sino e vou."}, "sino", 3},
	} {
		got, err := Find(context.Background(), textQuotes(c.texts, language), Options{})
		if err != nil || len(got.Recurring) == 0 {
			t.Errorf("%s: got %v, %v; want %s", language, got.Recurring, err, c.term)
			continue
		}
		first := got.Recurring[0]
		if first.Term != c.term || first.Count != c.count || first.Everyday == nil || first.Everyday.LogRatio < 3 {
			t.Errorf("%s: got %s %d times, %+v; want %s %d times, far more than every day", language, first.Term, first.Count, first.Everyday, c.term, c.count)
		}
		if len(got.Notes) != 0 || got.Languages[0].Reference == "" {
			t.Errorf("%s: got notes %v, reference %q", language, got.Notes, got.Languages[0].Reference)
		}
	}
}
