package index

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/htmlindex"
)

// mythes is a thesaurus in the two files that office programs read: an index
// of "word|offset" lines and a data file in which, at the offset, a line
// "word|meanings" is followed by a line "(part of speech)|synonym|…" for each
// meaning; both begin with the name of their encoding (MyThes 1.2,
// data_layout.txt, seen).
type mythes struct {
	data string // path of the data file
	// words are the lines of the index, each with a line feed before it.
	words   string
	starts  map[string][]int32 // where in words those lie that begin with some letters
	decoder *encoding.Decoder  // nil for UTF-8
	stemmer *stemmer
}

const (
	mostThesaurusIndex = 64 << 20 // bytes; those in Debian have 3 MB at most
	mostThesaurusEntry = 1 << 20
	mostMeanings       = 10_000 // Danish has one of 1,208
)

// openThesauri opens the thesaurus files of a language in some folders.
// Folders that aren't there count as empty.
func openThesauri(folders []string, language string, m *stemmer) (out []*mythes, err error) {
	var seen []os.FileInfo
	for _, folder := range folders {
		names, err := filepath.Glob(filepath.Join(folder, "th*_*.dat"))
		if err != nil {
			return nil, err
		}
		home := "_" + language + "_" + strings.ToUpper(language) // first, de_DE before de_AT
		slices.SortStableFunc(names, func(a, b string) int {
			return strings.Count(b, home) - strings.Count(a, home)
		})
		for _, name := range names {
			_, tag, _ := strings.Cut(strings.TrimSuffix(filepath.Base(name), ".dat"), "_")
			if languageName(tag) != language {
				continue
			}
			info, err := os.Stat(name)
			if errors.Is(err, fs.ErrNotExist) || err == nil && slices.ContainsFunc(seen, func(i os.FileInfo) bool { return os.SameFile(i, info) }) {
				continue // a link, for another country
			}
			if err != nil {
				return nil, err
			}
			seen = append(seen, info)
			t, err := openMythes(name, m)
			if err != nil {
				return nil, err
			}
			out = append(out, t)
		}
	}
	return out, nil
}

// thesaurusError says what is wrong with a thesaurus file.
func thesaurusError(path string, err error) error {
	return fmt.Errorf("thesaurus %s: %w", path, err)
}

var errThesaurus = errors.New("it is damaged, or no thesaurus; install it again, or name another folder in RUSHLIGHT_THESAURI")

func openMythes(data string, m *stemmer) (*mythes, error) {
	path := strings.TrimSuffix(data, ".dat") + ".idx"
	f, err := os.Open(path)
	if err != nil {
		return nil, thesaurusError(path, err)
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, mostThesaurusIndex+1))
	if err != nil {
		return nil, thesaurusError(path, err)
	}
	if len(b) > mostThesaurusIndex {
		return nil, thesaurusError(path, errThesaurus)
	}
	t := &mythes{data: data, stemmer: m}
	name, rest, ok := strings.Cut(strings.TrimPrefix(string(b), "\ufeff"), "\n")
	if !ok {
		return nil, thesaurusError(path, errThesaurus)
	}
	if t.decoder, err = decoderNamed(name); err != nil {
		return nil, thesaurusError(path, err)
	}
	if t.words, err = t.text(rest); err != nil {
		return nil, thesaurusError(path, err)
	}
	// What stands here is how many there are.
	at := strings.IndexByte(t.words, '\n')
	if at < 0 {
		return nil, thesaurusError(path, errThesaurus)
	}
	t.words = t.words[at:]
	return t, nil
}

// decoderNamed finds an encoding by the name that thesaurus files give it; nil
// for UTF-8.
func decoderNamed(name string) (*encoding.Decoder, error) {
	name = strings.ToLower(strings.TrimSpace(name))
	name = strings.Replace(strings.Replace(name, "iso8859", "iso-8859", 1), "microsoft-cp", "windows-", 1)
	name = strings.Replace(name, "cp-125", "windows-125", 1)
	if name == "utf-8" || name == "utf8" {
		return nil, nil
	}
	e, err := htmlindex.Get(name)
	if err != nil {
		return nil, fmt.Errorf("unknown encoding %q: %w", name, errThesaurus)
	}
	return e.NewDecoder(), nil
}

func (t *mythes) text(s string) (string, error) {
	if t.decoder == nil {
		return s, nil
	}
	return t.decoder.String(s)
}

// like gives the synonyms of a word as typed, those of its meanings in turn:
// of the word as it stands, or of the verb that it is a form of, then of the
// words with its stem.
func (t *mythes) like(written string) ([]string, error) {
	own, base := t.find(written)
	if t.stemmer != nil && len(own) == 0 {
		for _, infinitive := range Bases(t.stemmer.language, strings.ToLower(written)) {
			verb, _ := t.find(infinitive)
			own = append(own, verb...)
		}
	}
	var out []string
	for _, places := range [][]entryPlace{own, base} {
		var meanings [][]string
		for _, p := range places {
			m, err := t.entry(p)
			if err != nil {
				return nil, thesaurusError(t.data, err)
			}
			meanings = append(meanings, m...)
		}
		for k := 0; ; k++ {
			more := false
			for _, m := range meanings {
				if k < len(m) {
					more = true
					if !slices.Contains(out, m[k]) {
						out = append(out, m[k])
					}
				}
			}
			if !more {
				break
			}
		}
	}
	return out, nil
}

// entryPlace is where the entry of a word is.
type entryPlace struct {
	word string
	at   int64
}

// find gives where the entries of a word are, and those of other words with
// its stem.
func (t *mythes) find(written string) (own, base []entryPlace) {
	folded, stem := Fold(written), ""
	if t.stemmer != nil {
		stem = t.stemmer.stem(written)
	}
	for _, start := range t.begunWith(firstLetters(folded, alikeLetters)) {
		line, _, _ := strings.Cut(t.words[start:], "\n")
		word, offset, _ := strings.Cut(strings.TrimSuffix(line, "\r"), "|")
		at, err := strconv.ParseInt(offset, 10, 64)
		if err != nil {
			continue
		}
		switch {
		case Fold(word) == folded:
			own = append(own, entryPlace{word, at})
		case stem != "" && t.stemmer.stem(word) == stem:
			base = append(base, entryPlace{word, at})
		}
	}
	return own, base
}

// alikeLetters are how many letters words of one stem begin with.
const alikeLetters = 3

// begunWith gives where the lines of single words begin that begin with some
// folded letters. All lines are looked through the first time.
func (t *mythes) begunWith(letters string) []int32 {
	if t.starts == nil {
		t.starts = map[string][]int32{}
		for at := 0; at < len(t.words); {
			at++ // the line feed
			line, _, _ := strings.Cut(t.words[at:], "\n")
			if word, _, ok := strings.Cut(line, "|"); ok && !strings.Contains(word, " ") {
				start := firstLetters(Fold(firstLetters(word, alikeLetters)), alikeLetters)
				t.starts[start] = append(t.starts[start], int32(at))
			}
			at += len(line)
		}
	}
	return t.starts[letters]
}

// firstLetters is the first n letters of a word.
func firstLetters(w string, n int) string {
	for at := range w {
		if n--; n < 0 {
			return w[:at]
		}
	}
	return w
}

// entry reads the meanings of an entry, each as a list of single words.
func (t *mythes) entry(p entryPlace) (out [][]string, err error) {
	f, err := os.Open(t.data)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return t.meanings(p.word, io.NewSectionReader(f, p.at, mostThesaurusEntry))
}

func (t *mythes) meanings(of string, from io.Reader) (out [][]string, err error) {
	r := bufio.NewReader(from)
	line := func() (string, error) {
		s, err := r.ReadString('\n')
		if err != nil && (err != io.EOF || s == "") {
			return "", errThesaurus
		}
		return t.text(strings.TrimRight(s, "\r\n"))
	}
	head, err := line()
	if err != nil {
		return nil, err
	}
	word, count, _ := strings.Cut(head, "|")
	n, err := strconv.Atoi(strings.TrimSpace(count))
	if err != nil || n < 0 || n > mostMeanings || word != of {
		return nil, errThesaurus
	}
	for range n {
		s, err := line()
		if err != nil {
			return nil, err
		}
		_, synonyms, _ := strings.Cut(s, "|") // the part of speech comes first
		if words := meant(synonyms); len(words) > 0 {
			out = append(out, words)
		}
	}
	return out, nil
}

// otherwise are parts of the remarks on words that don't mean the same: wider,
// narrower, opposite. As met in Danish, English, German, Polish, Romanian and
// Russian files.
var otherwise = []string{
	"oberbegriff", "unterbegriff", "overbegreb", "underbegreb", "generic", "antonym", "антоним", "nadrzędn", "podrzędn", "hyper", "hypo", "родов", "видов",
}

// meant gives the synonyms of a meaning that are single words and mean the
// same, without remarks.
func meant(list string) (out []string) {
next:
	for s := range strings.SplitSeq(list, "|") {
		for {
			from, to := strings.IndexByte(s, '('), strings.IndexByte(s, ')')
			if from < 0 || to < from {
				break
			}
			remark := strings.ToLower(s[from:to])
			for _, o := range otherwise {
				if strings.Contains(remark, o) {
					continue next
				}
			}
			s = s[:from] + s[to+1:]
		}
		if w := strings.ToLower(strings.TrimSpace(s)); w != "" && !strings.ContainsAny(w, " ()") && !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return out
}
