package themes

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"embed"
	"strconv"
	"strings"
)

//go:embed everyday/*.txt.gz
var everydayLists embed.FS

//go:embed everyday/stop.txt
var stopLists string

// commonest is how many words of a language only serve to join others.
const commonest = 300

// everyday holds how often the families of one language are said in everyday
// talk.
type everyday struct {
	counts map[string]float64 // by stem
	size   float64
	least  float64 // count of the rarest bundled word
	common float64 // count from which a word is among the commonest
}

// everydayOf names the bundled list of a language and the number of words that
// its counts are out of: all of the list it was taken from, not only the words
// that are bundled. "" for a language without one.
func everydayOf(language string) (source string, size float64) {
	const subtitles = "OpenSubtitles 2018, counted by FrequencyWords (CC BY-SA 4.0)"
	switch language {
	case "en":
		return subtitles, 725_119_374
	case "de":
		return subtitles, 151_705_378
	case "fr":
		return subtitles, 312_994_233
	case "es":
		return subtitles, 413_264_052
	case "nl":
		return subtitles, 258_103_024
	case "it":
		return subtitles, 241_736_295
	case "pt":
		return subtitles, 212_103_058
	}
	return "", 0
}

// source names what stands for everyday talk in this language, "" if nothing
// does.
func (l *language) source() string {
	name, _ := everydayOf(l.name)
	return name
}

// reference reads the everyday counts of a language, at first use; nil if
// there are none.
func (l *language) reference() *everyday {
	_, size := everydayOf(l.name)
	if l.everyday != nil || size == 0 {
		return l.everyday
	}
	e := &everyday{counts: map[string]float64{}, size: size, least: 1}
	l.everyday = e
	packed, err := everydayLists.ReadFile("everyday/" + l.name + ".txt.gz")
	if err != nil {
		return e // bundled: can't happen
	}
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return e // bundled: can't happen
	}
	lines := 0
	for s := bufio.NewScanner(z); s.Scan(); {
		entry, digits, _ := strings.Cut(s.Text(), "\t")
		n, err := strconv.ParseFloat(digits, 64)
		if err != nil {
			continue
		}
		e.least = n
		if lines++; lines == commonest {
			e.common = n
		}
		// An entry is cut as talk is: "dell'acqua" counts for acqua. The lists
		// have "don't" as "don" and "'t", and leave out the end, as cut does.
		l.cut(entry, func(word string) { e.counts[l.stem(word)] += n })
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
