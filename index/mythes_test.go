package index

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// TestThesaurusFiles looks words up in the thesauri that Debian has (mythes-de,
// -fr, -es, -it, -pl, -ru, -da, -sv, -pt-pt: OpenThesaurus and others), in the
// encodings that they have, and expects what stands in their data files (seen).
func TestThesaurusFiles(t *testing.T) {
	var stems stemmers
	tried := 0
	for _, tt := range []struct{ language, word, want, not string }{
		{"de", "Glocke", "klingel schelle", "fechtwaffe"},
		{"de", "Glocken", "klingel schelle", "fechtwaffe"},
		{"de", "gebimmelt", "läuten", ""},
		{"fr", "cloches", "grelot clochette carillon", ""},
		{"es", "casas", "hogar vivienda edificio", "casa consistorial"},
		{"it", "campane", "bronzo squilla", "punto"},
		{"pl", "dzwon", "karambol zderzenie", ""},
		{"da", "klokke", "ur", "kirkeklokke"},
		{"sv", "klocka", "bjällra ur", ""},
		{"pt", "sino", "signo", ""},
		{"ru", "дома", "здание изба", ""},
	} {
		m, err := stems.of(tt.language)
		if err != nil {
			t.Fatal(err)
		}
		files, err := openThesauri([]string{"/usr/share/mythes", "/nowhere"}, tt.language, m)
		if err != nil {
			t.Errorf("%s: %v", tt.language, err)
		}
		var got []string
		for _, f := range files {
			words, err := f.like(tt.word)
			if err != nil {
				t.Errorf("%s: %v", tt.word, err)
			}
			got = append(got, words...)
		}
		if len(files) == 0 {
			continue
		}
		tried++
		for w := range strings.FieldsSeq(tt.want) {
			if !slices.Contains(got, w) {
				t.Errorf("%s: got %v, want %s among them", tt.word, got, w)
			}
		}
		for w := range strings.FieldsSeq(tt.not) {
			if slices.Contains(got, w) {
				t.Errorf("%s: got %v, and %s means something else", tt.word, got, w)
			}
		}
	}
	if tried == 0 {
		t.Skip("no thesauri: apt-get install mythes-de mythes-fr")
	}
}

// writeThesaurus writes the two files of a thesaurus of two entries.
func writeThesaurus(t *testing.T, dir, name, encoding, data string) {
	t.Helper()
	data = encoding + "\n" + data
	index := encoding + "\n2\n"
	for at, line := 0, ""; at < len(data); at += len(line) {
		line = data[at : at+strings.IndexByte(data[at:], '\n')+1]
		if word, count, ok := strings.Cut(line, "|"); ok && strings.TrimSpace(count) != "" && strings.Trim(count, "0123456789\n") == "" {
			index += word + "|" + strconv.Itoa(at) + "\n"
		}
	}
	for ext, s := range map[string]string{".dat": data, ".idx": index} {
		if err := os.WriteFile(filepath.Join(dir, name+ext), []byte(s), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// TestWideInOtherLanguages: words of like meaning come from a thesaurus file
// where there is one for the language; remarks are no words, wider words and
// opposites no synonyms, and a thesaurus for another country is the same file.
func TestWideInOtherLanguages(t *testing.T) {
	i := built(t, []story.Quote{
		{Code: "A", Reel: "D1", Order: 0, Language: "de", Text: "Die Fähre legt um acht ab."},
		{Code: "B", Reel: "D1", Order: 1, Language: "de", Text: "Das Schiff kam, und die Boote lagen am Ufer."},
		{Code: "C", Reel: "D1", Order: 2, Language: "nl", Text: "De veerpont is laat."},
	})
	dir := t.TempDir()
	writeThesaurus(t, dir, "th_de_DE_v2", "ISO8859-1",
		"f\xe4hre|2\n-|F\xe4hre|Boot (ugs.)|Schiff (Oberbegriff)|bei Nacht\n-|Pf\xe4hre\nufer|1\n-|Land (Antonym)\n")
	for _, ext := range []string{".dat", ".idx"} {
		if err := os.Symlink("th_de_DE_v2"+ext, filepath.Join(dir, "th_de_AT_v2"+ext)); err != nil {
			t.Skip(err)
		}
	}
	res, err := i.Search(context.Background(), Query{Text: "fähren", Wide: true, Thesauri: []string{dir}})
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Hits) != 2 || res.Hits[0].Code != "A" || !slices.Equal(res.Widened, []string{"boot"}) || !slices.Equal(res.NotWidened, []string{"nl"}) {
		t.Errorf("got %d hits, widened %v, not %v; want A and B, boot, nl", len(res.Hits), res.Widened, res.NotWidened)
	}
}

// TestDamagedThesaurus: what is wrong with a thesaurus file is told, with its
// name.
func TestDamagedThesaurus(t *testing.T) {
	for what, s := range map[string]string{
		"empty":         "",
		"one line":      "UTF-8",
		"no words":      "UTF-8\n12",
		"encoding":      "EBCDIC\n1\nufer|6\n",
		"offset beyond": "UTF-8\n1\nufer|9999\n",
		"wrong offset":  "UTF-8\n1\nufer|8\n",
		"no entry":      "UTF-8\n1\nufer|0\n",
	} {
		dir := t.TempDir()
		writeThesaurus(t, dir, "th_de_DE_v2", "UTF-8", "ufer|1\n-|Strand\n")
		path := filepath.Join(dir, "th_de_DE_v2.idx")
		if err := os.WriteFile(path, []byte(s), 0o600); err != nil {
			t.Fatal(err)
		}
		files, err := openThesauri([]string{dir}, "de", nil)
		if err == nil && len(files) == 1 {
			_, err = files[0].like("Ufer")
		}
		if err == nil || !strings.Contains(err.Error(), "th_de_DE_v2") {
			t.Errorf("%s: got %v, want the file named", what, err)
		}
	}
}

// FuzzThesaurus: an entry gives single folded words or an error.
func FuzzThesaurus(f *testing.F) {
	f.Add("ufer", "ufer|2\n-|Strand (ugs.)|Land (Antonym)\n(s.)|am Fluss|(a)b\n", false)
	f.Add("ufer", "ufer|1\r\n  (-) |K\xfcste\r\n", true)
	f.Add("", "|0\n", false)
	f.Fuzz(func(t *testing.T, word, data string, latin bool) {
		m := &mythes{}
		if latin {
			m.decoder, _ = decoderNamed("ISO8859-1")
		}
		meanings, err := m.meanings(word, strings.NewReader(data))
		if err != nil && meanings != nil {
			t.Errorf("both %v and %v", meanings, err)
		}
		for _, words := range meanings {
			for _, w := range words {
				if w == "" || strings.ContainsAny(w, " |\n()") || strings.ToLower(w) != w {
					t.Errorf("%q is no word", w)
				}
			}
		}
	})
}
