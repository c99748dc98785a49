package themes

import (
	"bufio"
	"bytes"
	"compress/gzip"
	_ "embed"
	"strconv"
	"strings"
)

//go:embed everyday/en.txt.gz
var everydayEnglish []byte

//go:embed everyday/stop.txt
var stopLists string

// everydaySize is the number of words that the English counts are out of: all
// of the list, not only the words that are bundled.
const everydaySize = 49_719_560

// everyday holds how often the families of one language are said in everyday
// talk.
type everyday struct {
	counts map[string]float64 // by stem
	size   float64
	least  float64 // count of the rarest bundled word
}

// reference reads the everyday counts of a language, at first use; nil if
// there are none.
func (l *language) reference() *everyday {
	if l.everyday != nil || l.name != "en" {
		return l.everyday
	}
	e := &everyday{counts: map[string]float64{}, size: everydaySize}
	l.everyday = e
	z, err := gzip.NewReader(bytes.NewReader(everydayEnglish))
	if err != nil {
		return e // bundled: can't happen
	}
	for s := bufio.NewScanner(z); s.Scan(); {
		word, digits, _ := strings.Cut(s.Text(), "\t")
		if n, err := strconv.ParseFloat(digits, 64); err == nil {
			e.counts[l.stem(word)] += n
			e.least = n
		}
	}
	return e
}

// count is how often a family is said; a family that is not in the list is
// taken to be half as frequent as the rarest that is.
func (e *everyday) count(stem string) float64 {
	if n, ok := e.counts[stem]; ok {
		return n
	}
	return e.least / 2
}

// stopWords gives the stop words of a language; none for one without a list.
func stopWords(language string) map[string]bool {
	stops := map[string]bool{}
	for line := range strings.Lines(stopLists) {
		name, words, _ := strings.Cut(strings.TrimSpace(line), "\t")
		if name != language {
			continue
		}
		for _, w := range strings.Fields(words) {
			stops[w] = true
		}
	}
	return stops
}
