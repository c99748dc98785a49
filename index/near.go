package index

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"
	"unicode/utf8"

	bleveindex "github.com/blevesearch/bleve_index_api"
)

// longestFuzzy bounds the words that are compared letter by letter.
const longestFuzzy = 64

// Near gives up to n words that do occur and are spelt nearly like word,
// nearest first, the more frequent first among equally near ones. Words of up
// to four letters may differ in one letter, longer ones in two. The words
// come folded. No word, or none near: an empty list.
func (i *Index) Near(ctx context.Context, word string, n int) (near []string, err error) {
	defer caught(&err)
	words := foldedWords(strings.Trim(word, `*~"`))
	if len(words) != 1 {
		return nil, nil
	}
	want := words[0]
	letters := 2
	if utf8.RuneCountInString(want) <= 4 {
		letters = 1
	}
	like, err := i.spelledLike(want, letters)
	if err != nil {
		return nil, err
	}
	type candidate struct {
		word            string
		distance, count int
	}
	var found []candidate
	e := i.evaluator(ctx)
	for _, w := range like {
		c, err := e.count(fieldSaid, w)
		if err != nil {
			return nil, err
		}
		if c > 0 && w != want {
			found = append(found, candidate{w, distance(want, w), c})
		}
	}
	slices.SortFunc(found, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(a.distance, b.distance), cmp.Compare(b.count, a.count), strings.Compare(a.word, b.word))
	})
	var out []string
	for _, c := range found[:min(n, len(found))] {
		out = append(out, c.word)
	}
	return out, nil
}

// spelledLike lists the words of the index within some letters of a word.
func (i *Index) spelledLike(word string, letters int) ([]string, error) {
	if len(word) > longestFuzzy {
		return nil, nil
	}
	fuzzy, ok := i.reader.(bleveindex.IndexReaderFuzzy)
	if !ok {
		return nil, errors.New("index can't compare spellings")
	}
	dict, err := fuzzy.FieldDictFuzzy(fieldSaid, word, letters, "")
	if err != nil {
		return nil, err
	}
	defer dict.Close()
	return dictTerms(dict, func(string) bool { return true })
}

// distance is the number of letters to put in, take out or change to make a
// into b (Levenshtein 1966).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		diagonal := row[0]
		row[0] = i + 1
		for j := range y {
			change := diagonal
			if x[i] != y[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(y)]
}
