package index

import (
	"bufio"
	"context"
	"os"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// germanParadigms reads verbs with their forms from the dictionary of spelling
// that Debian has (hunspell-de-de: igerman98), by the rules of its affix file
// for the flags of conjugation I, X and Y; nouns are its words with a
// capital letter, in small letters.
func germanParadigms(t *testing.T) (verbs map[string][]string, nouns []string) {
	t.Helper()
	const base = "/usr/share/hunspell/de_DE"
	type rule struct{ strip, add, ends string }
	rules := map[byte][]rule{}
	lines := func(path string, each func(string)) {
		f, err := os.Open(path)
		if err != nil {
			t.Skip("no German dictionary: apt-get install hunspell-de-de")
		}
		defer f.Close()
		for sc := bufio.NewScanner(f); sc.Scan(); {
			each(sc.Text())
		}
	}
	lines(base+".aff", func(l string) {
		if w := strings.Fields(l); len(w) >= 5 && w[0] == "SFX" && strings.Contains("IXY", w[1]) {
			r := rule{w[2], w[3], w[4]}
			if r.strip == "0" {
				r.strip = ""
			}
			rules[w[1][0]] = append(rules[w[1][0]], r)
		}
	})
	verbs = map[string][]string{}
	lines(base+".dic", func(l string) {
		word, flags, _ := strings.Cut(l, "/")
		if word == "" || word[0] == '#' {
			return
		}
		if word != strings.ToLower(word) {
			nouns = append(nouns, strings.ToLower(word))
			return
		}
		if !strings.HasSuffix(word, "n") || !strings.Contains(flags, "X") || !strings.Contains(flags, "I") {
			return
		}
		for i := range len(flags) {
			for _, r := range rules[flags[i]] {
				core, ok := strings.CutSuffix(word, r.strip)
				if ok && endsSo(word, r.ends) && r.add != "0" {
					verbs[word] = append(verbs[word], core+r.add)
				}
			}
		}
	})
	return verbs, nouns
}

// endsSo tells whether a word ends as the condition of an affix wants it.
func endsSo(word, condition string) bool {
	w := []rune(word)
	var parts []string
	for c := []rune(condition); len(c) > 0; {
		n := 1
		if c[0] == '[' {
			n = slices.Index(c, ']') + 1
		}
		parts = append(parts, string(c[:n]))
		c = c[n:]
	}
	if len(parts) > len(w) {
		return false
	}
	for i, p := range parts {
		r := string(w[len(w)-len(parts)+i])
		switch {
		case strings.HasPrefix(p, "[^") && strings.Contains(p[2:], r), strings.HasPrefix(p, "[") && p[1] != '^' && !strings.Contains(p, r), p[0] != '[' && p != r && p != ".":
			return false
		}
	}
	return true
}

// TestGermanVerbs: nearly every form of a regular verb leads to the others,
// where stems alone lead from one in nine; few words that are no verbs seem to
// be forms of one.
func TestGermanVerbs(t *testing.T) {
	verbs, nouns := germanParadigms(t)
	var stems stemmers
	m, err := stems.of("de")
	if err != nil {
		t.Fatal(err)
	}
	forms, found, based, stemmed := 0, 0, 0, 0
	for verb, list := range verbs {
		if len(verb)%4 != 0 && os.Getenv("RUSHLIGHT_SLOW") == "" {
			continue
		}
		others := germanVerbForms(verb)
		for _, form := range list {
			forms++
			if m.stem(form) == m.stem(verb) {
				stemmed++
				found++
				based++
				continue
			}
			if slices.Contains(others, form) && slices.Contains(germanVerbForms(form), verb) {
				found++
			}
			if slices.Contains(Bases("de", form), verb) {
				based++
			}
		}
	}
	like := 0
	for _, w := range nouns {
		if slices.ContainsFunc(Bases("de-AT", w), func(v string) bool { return verbs[v] != nil && m.stem(v) != m.stem(w) }) {
			like++
		}
	}
	t.Logf("FIGURE | Search | forms of %d German verbs led to the infinitive and back, igerman98 | %.1f %% of %d (base alone %.1f %%, stem alone %.1f %%); of %d nouns %.2f %% look like a form of a verb | –",
		len(verbs), pct(found, forms), forms, pct(based, forms), pct(stemmed, forms), len(nouns), pct(like, len(nouns)))
	if pct(found, forms) < 98 || pct(based, forms) < 98 {
		t.Errorf("%.1f %% of forms found, base of %.1f %%; want 98", pct(found, forms), pct(based, forms))
	}
	if pct(like, len(nouns)) > 1.5 {
		t.Errorf("%.2f %% of nouns look like a form of a verb, want at most 1.5", pct(like, len(nouns)))
	}
	// Verbs that change their vowels, and those that part (Duden's tables of
	// strong verbs, recalled).
	for verb, list := range map[string]string{
		"fahren": "fährt fuhr fuhren fahrt fuhrst", "gehen": "ging gingen gegangen geht", "ankommen": "ankam angekommen anzukommen ankommt",
		"nehmen": "nahm nimmt genommen", "läuten": "läutet läutete geläutet läutest", "zurückbringen": "zurückgebracht zurückbringt", "sehen": "sah sieht gesehen",
	} {
		got := germanVerbForms(verb)
		for form := range strings.FieldsSeq(list) {
			if m.stem(form) != m.stem(verb) && (!slices.Contains(got, form) || !slices.Contains(germanVerbForms(form), verb) || !slices.Contains(Bases("de", form), verb)) {
				t.Errorf("%s and %s don't lead to each other", verb, form)
			}
		}
	}
	if got := Bases("en", "rings"); got != nil {
		t.Errorf("English: got %v", got)
	}
}

func pct(a, b int) float64 { return 100 * float64(a) / float64(max(1, b)) }

// TestFindGermanVerbs: a verb is found in all its forms, a noun isn't taken
// for one, and other languages go on as they were.
func TestFindGermanVerbs(t *testing.T) {
	i := built(t, []story.Quote{
		{Code: "A", Reel: "D1", Order: 0, Language: "de", Text: "Wer herüber will, der läutet."},
		{Code: "B", Reel: "D1", Order: 1, Language: "de", Text: "Sie hat jeden Abend geläutet."},
		{Code: "C", Reel: "D1", Order: 2, Language: "de", Text: "Wir fuhren bei jedem Wetter, und ich fahre noch."},
		{Code: "D", Reel: "D1", Order: 3, Language: "de", Text: "Sie sind herübergefahren."},
		{Code: "E", Reel: "D1", Order: 4, Language: "de", Text: "Die Gefahr war groß."},
		{Code: "F", Reel: "D1", Order: 5, Language: "de", Text: "Der Hund ist mit der Fähre gefahren."},
	})
	for query, want := range map[string]string{
		"läuten": "AB", "geläutet": "AB", "läutete": "AB", "fahren": "CF", "fuhr": "CF", "fährt": "CF", "herüberfahren": "D",
		"Gefahr":  "EF", // Snowball's stem of gefahren
		"Läutete": "A", `"läuten"`: "",
	} {
		res, err := i.Search(context.Background(), Query{Text: query})
		if err != nil {
			t.Fatal(err)
		}
		var codes []string
		for _, h := range res.Hits {
			codes = append(codes, string(h.Code))
			if len(h.Marks) == 0 {
				t.Errorf("%s: nothing is marked in %s", query, h.Code)
			}
		}
		slices.Sort(codes)
		if got := strings.Join(codes, ""); got != want {
			t.Errorf("%s: got %s, want %s", query, got, want)
		}
	}
}
