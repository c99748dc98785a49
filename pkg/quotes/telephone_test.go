package quotes

import (
	"archive/zip"
	"bufio"
	"strings"
	"testing"
)

// telephoneTurns reads the tagged telephone conversations (Switchboard sample
// of nltk_data): for each turn its text and the places where the annotators
// tagged a sentence's end ("./." and "?/.").
func telephoneTurns(t *testing.T) (texts []string, ends []map[int]bool) {
	archive, err := zip.OpenReader(corpora(t, "telephone-text/switchboard.zip"))
	if err != nil {
		t.Fatal(err)
	}
	defer archive.Close()
	file, err := archive.Open("switchboard/tagged")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	s := bufio.NewScanner(file)
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		_, line, ok := strings.Cut(s.Text(), ": ")
		if !ok {
			continue
		}
		var b strings.Builder
		end := map[int]bool{}
		for _, f := range strings.Fields(line) {
			i := strings.LastIndexByte(f, '/')
			if i < 0 {
				continue
			}
			word, tag := f[:i], f[i+1:]
			glued := strings.HasPrefix(word, "'") || word == "n't" || strings.Contains(".,?!:;", word)
			if b.Len() > 0 && !glued {
				b.WriteByte(' ')
			}
			b.WriteString(word)
			if tag == "." {
				end[b.Len()] = true
			}
		}
		if b.Len() > 0 {
			texts, ends = append(texts, b.String()), append(ends, end)
		}
	}
	return texts, ends
}

// Real speech with its fillers, broken words and initials, against the ends
// that annotators tagged; ends of turns are given and don't count.
func TestTelephone(t *testing.T) {
	texts, ends := telephoneTurns(t)
	var hits, extra, missed int
	for i, text := range texts {
		found := map[int]bool{}
		for _, r := range Sentences(text, "en") {
			if r.End == len(text) {
				continue
			}
			found[r.End] = true
			if ends[i][r.End] {
				hits++
			} else {
				extra++
			}
		}
		for e := range ends[i] {
			if e < len(text) && !found[e] {
				missed++
			}
		}
	}
	precision, recall := float64(hits)/float64(hits+extra), float64(hits)/float64(hits+missed)
	t.Logf("FIGURE | Words on sound | sentences of real speech, Switchboard | precision %.3f, recall %.3f (%d ends inside %d turns) | –", precision, recall, hits+missed, len(texts))
	// Most of what is missed are full stops after "U. S." and "Dr." that the
	// tags call ends, rightly missed.
	if len(texts) < 5000 || precision < 0.995 || recall < 0.975 {
		t.Errorf("got precision %.4f and recall %.4f over %d turns, want at least 0.995 and 0.975", precision, recall, len(texts))
	}
}
