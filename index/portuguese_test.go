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

// portugueseParadigms reads verbs of the first and second conjugation with
// their forms from the dictionary of spelling that Debian has
// (hunspell-pt-pt, of the project Natura): flags X (-ar) and others.
func portugueseParadigms(t *testing.T) map[string][]string {
	t.Helper()
	const base = "/usr/share/hunspell/pt_PT"
	aff, err := os.ReadFile(base + ".aff")
	if err != nil {
		t.Skip("no Portuguese dictionary: apt-get install hunspell-pt-pt")
	}
	type rule struct{ strip, add, ends string }
	rules := map[rune][]rule{}
	for l := range strings.Lines(string(aff)) {
		if w := strings.Fields(l); len(w) >= 5 && w[0] == "SFX" {
			add, _, _ := strings.Cut(w[3], "/")
			r := rule{strings.TrimPrefix(w[2], "0"), strings.TrimPrefix(add, "0"), w[4]}
			rules[[]rune(w[1])[0]] = append(rules[[]rune(w[1])[0]], r)
		}
	}
	dic, err := os.Open(base + ".dic")
	if err != nil {
		t.Skip(err)
	}
	defer dic.Close()
	verbs := map[string][]string{}
	for sc := bufio.NewScanner(dic); sc.Scan(); {
		head, more, _ := strings.Cut(sc.Text(), "\t")
		word, flags, _ := strings.Cut(head, "/")
		if !strings.Contains(more, "CAT=v,T=inf") || !strings.Contains(flags, "X") && !strings.Contains(flags, "Y") {
			continue
		}
		for _, f := range flags {
			if f != 'X' && f != 'Y' {
				continue
			}
			for _, r := range rules[f] {
				if core, ok := strings.CutSuffix(word, r.strip); ok && endsSo(word, r.ends) && r.add != "" {
					verbs[word] = append(verbs[word], core+r.add)
				}
			}
		}
	}
	return verbs
}

// TestPortugueseVerbs: the forms of regular verbs are found by the infinitive;
// stems alone find few.
func TestPortugueseVerbs(t *testing.T) {
	verbs := portugueseParadigms(t)
	var stems stemmers
	m, err := stems.of("pt")
	if err != nil {
		t.Fatal(err)
	}
	forms, found, stemmed := 0, 0, 0
	for verb, list := range verbs {
		if len(verb)%4 != 0 && os.Getenv("RUSHLIGHT_SLOW") == "" {
			continue
		}
		others := map[string]bool{}
		for _, f := range portugueseVerbForms(verb) {
			others[m.stem(f)] = true
		}
		for _, form := range list {
			forms++
			same := m.stem(form) == m.stem(verb)
			if same {
				stemmed++
			}
			if same || others[m.stem(form)] {
				found++
			}
		}
	}
	t.Logf("FIGURE | Search | forms of %d Portuguese verbs found by the infinitive, Natura | %.1f %% of %d (stem alone %.1f %%) | –",
		len(verbs), pct(found, forms), forms, pct(stemmed, forms))
	if len(verbs) < 1000 || pct(found, forms) < 90 {
		t.Errorf("%.1f %% of the forms of %d verbs, want 90", pct(found, forms), len(verbs))
	}
}

func TestFindPortugueseVerbs(t *testing.T) {
	i := built(t, []story.Quote{
		{Code: "A", Reel: "D1", Order: 0, Language: "pt", Text: "Quem quer atravessar toca o sino."},
		{Code: "B", Reel: "D1", Order: 1, Language: "pt", Text: "A minha mãe tocava todas as noites."},
		{Code: "C", Reel: "D1", Order: 2, Language: "pt", Text: "Ontem tocaram, e eu toquei também."},
		{Code: "D", Reel: "D1", Order: 3, Language: "pt", Text: "A casa é velha."},
		{Code: "E", Reel: "D1", Order: 4, Language: "pt", Text: "Casaram em maio."},
	})
	for query, want := range map[string]string{"tocar": "ABC", "tocava": "ABC", "toquei": "ABC", "casa": "D", "casar": "DE"} {
		res, err := i.Search(context.Background(), Query{Text: query})
		if err != nil {
			t.Fatal(err)
		}
		var codes []string
		for _, h := range res.Hits {
			codes = append(codes, string(h.Code))
		}
		slices.Sort(codes)
		if got := strings.Join(codes, ""); got != want {
			t.Errorf("%s: got %s, want %s", query, got, want)
		}
	}
}
