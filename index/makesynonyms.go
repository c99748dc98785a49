//go:build ignore

// Writes wordnet/synonyms.gz from the files of WordNet 3.0, as Debian's
// wordnet-base has them in /usr/share/wordnet:
//
//	go run makesynonyms.go -from /usr/share/wordnet
//
// A line of synonyms.gz is a word, a tab, and its synonyms with spaces
// between, the nearest first: words of the same sets (synsets) of its first
// senses, then words derived from it. Names and words of several parts are
// left out.
package main

import (
	"bufio"
	"cmp"
	"compress/gzip"
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// senses is how many senses of a word count, per part of speech; most is how
// many synonyms a word has at the most.
const (
	senses = 3
	most   = 8
)

type synset struct {
	words []string
	// derived lists, per word (from 0), synset and word of what is derived.
	derived map[int][]link
}

type link struct {
	set  string
	word int
}

func main() {
	from := flag.String("from", "/usr/share/wordnet", "folder of WordNet's data and index files")
	flag.Parse()
	if err := run(*from); err != nil {
		log.Fatal(err)
	}
}

func run(from string) error {
	sets := map[string]synset{}
	order := map[string][]string{} // pos+lemma: sets in order of sense
	letters := map[string]string{"noun": "n", "verb": "v", "adj": "a", "adv": "r"}
	for _, pos := range []string{"noun", "verb", "adj", "adv"} {
		if err := lines(filepath.Join(from, "data."+pos), func(f []string) { readSet(sets, letters[pos], f) }); err != nil {
			return err
		}
		if err := lines(filepath.Join(from, "index."+pos), func(f []string) {
			n, _ := strconv.Atoi(f[2])
			for _, o := range f[len(f)-n:] {
				order[letters[pos]+f[0]] = append(order[letters[pos]+f[0]], letters[pos]+o)
			}
		}); err != nil {
			return err
		}
	}
	// weight of a word of a set for a lemma: 1 / (sense of the lemma × sense of the word).
	found := map[string]map[string]float64{}
	for key, list := range order {
		pos, lemma := key[:1], key[1:]
		if !usable(lemma) {
			continue
		}
		add := func(w string, weight float64) {
			if w != lemma && usable(w) {
				if found[lemma] == nil {
					found[lemma] = map[string]float64{}
				}
				found[lemma][w] += weight
			}
		}
		for rank, set := range list[:min(senses, len(list))] {
			s := sets[set]
			for k, w := range s.words {
				other := slices.Index(order[pos+w], set) + 1
				if other > 0 && other <= senses {
					add(w, 1/float64((rank+1)*other))
				}
				if w != lemma {
					continue
				}
				for _, d := range s.derived[k] {
					if to := sets[d.set]; d.word < len(to.words) {
						add(to.words[d.word], 0.1/float64(rank+1))
					}
				}
			}
		}
	}
	return write(found)
}

// usable tells single words of small letters.
func usable(w string) bool {
	if len(w) < 3 {
		return false
	}
	for _, r := range w {
		if r < 'a' || r > 'z' {
			return false
		}
	}
	return true
}

func readSet(sets map[string]synset, pos string, f []string) {
	n, _ := strconv.ParseInt(f[3], 16, 32)
	s := synset{derived: map[int][]link{}}
	at := 4
	for range n {
		w, _, _ := strings.Cut(f[at], "(") // adjectives carry a mark of place
		s.words = append(s.words, w)
		at += 2
	}
	pointers, _ := strconv.Atoi(f[at])
	at++
	for range pointers {
		if f[at] == "+" {
			source, _ := strconv.ParseInt(f[at+3][:2], 16, 32)
			target, _ := strconv.ParseInt(f[at+3][2:], 16, 32)
			p := f[at+2]
			if p == "s" {
				p = "a"
			}
			s.derived[int(source)-1] = append(s.derived[int(source)-1], link{p + f[at+1], int(target) - 1})
		}
		at += 4
	}
	sets[pos+f[0]] = s
}

func lines(path string, each func([]string)) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	scan := bufio.NewScanner(f)
	scan.Buffer(nil, 1<<20)
	for scan.Scan() {
		if line := scan.Text(); !strings.HasPrefix(line, "  ") { // the licence
			each(strings.Fields(line))
		}
	}
	return scan.Err()
}

func write(found map[string]map[string]float64) error {
	var words []string
	for w := range found {
		words = append(words, w)
	}
	slices.Sort(words)
	out, err := os.Create(filepath.Join("wordnet", "synonyms.gz"))
	if err != nil {
		return err
	}
	z, err := gzip.NewWriterLevel(out, gzip.BestCompression)
	if err != nil {
		return err
	}
	for _, w := range words {
		var list []string
		for s := range found[w] {
			list = append(list, s)
		}
		slices.SortFunc(list, func(a, b string) int {
			return cmp.Or(cmp.Compare(found[w][b], found[w][a]), strings.Compare(a, b))
		})
		fmt.Fprintf(z, "%s\t%s\n", w, strings.Join(list[:min(most, len(list))], " "))
	}
	if err := z.Close(); err != nil {
		return err
	}
	return out.Close()
}
