package timedtext

import (
	"bytes"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"
)

// srtWild are SRT files as met in practice, by what is wrong with them.
func srtWild() map[string]string {
	const tc, next = "00:00:01,000 --> 00:00:02,000", "00:00:03,000 --> 00:00:04,000"
	return map[string]string{
		"second paragraph":     "1\n" + tc + "\nOne.\n\nTwo.\n\n2\n" + next + "\nThree.\n",
		"no index":             "1\n" + tc + "\nOne\ntwo.\n\n" + next + "\nThree.\n",
		"no blank line":        "1\n" + tc + "\nOne.\n2\n" + next + "\nThree.\n",
		"no spaces, full stop": "1\n00:00:01.000-->00:00:02.000\nOne.\n",
		"no hours":             "1\n00:01,000 --> 00:02,000\nOne.\n",
		"hours over 99":        "1\n100:00:01,000 --> 100:00:02,000\nOne.\n",
		"text by the times":    "1\n" + tc + " One.\n",
		"coordinates":          "1\n" + tc + " X1:63 X2:223 Y1:43 Y2:58\nOne.\n",
		"CR line ends":         strings.ReplaceAll("1\n"+tc+"\nOne.\n\n2\n"+next+"\nTwo.\n", "\n", "\r"),
		"CR CR LF":             strings.ReplaceAll("1\n"+tc+"\nOne.\n\n2\n"+next+"\nTwo.\n", "\n", "\r\r\n"),
		"mark":                 "\ufeff1\n" + tc + "\nOne.\n",
		"less than":            "1\n" + tc + "\nFive < six & seven > two\n",
		"stray tag":            "1\n" + tc + "\nOne</i> <b>two\n",
		"not a tag":            "1\n" + tc + "\nOne <laughs> two\n",
		"unclosed":             "1\n" + tc + "\n<i>One\ntwo\n",
		"digits as text":       "1\n" + tc + "\n1984\n\n2\n" + next + "\nTwo.\n",
		"no number, no blank":  "1\n" + tc + "\nOne.\n" + next + "\nThree.\n",
		"line over 64 KiB":     "1\n" + tc + "\n" + strings.Repeat("bell ", 20_000) + "end\n",
		"CRLF at 4096":         "1\r\n" + tc + "\r\n" + strings.Repeat("x", 4096-len(tc)-6) + "\r\nrest of the cue\r\n",
	}
}

// sideSRT counts the files of which no word is lost, and each cue is there.
func sideSRT(t *testing.T) []score {
	t.Helper()
	suite := score{suite: "IRT SRT", what: "files without a word lost"}
	wild := score{suite: "SRT as met in practice", what: "files without a word lost"}
	count := func(s *score, data []byte) {
		want := srtWords(string(data))
		s.of++
		if d, err := Read(bytes.NewReader(data), ReadOptions{As: SRT}); err == nil && hasWords(d, want) {
			s.ours++
		}
		if d, err := theirs(data, SRT); err == nil && hasWords(d, want) {
			s.theirs++
		}
	}
	for _, path := range glob(t, corpora(t, "srt"), "*.srt") {
		data, err := os.ReadFile(filepath.Clean(path))
		if err != nil {
			t.Fatal(err)
		}
		count(&suite, data)
	}
	for _, s := range srtWild() {
		count(&wild, []byte(s))
	}
	return []score{suite, wild}
}

var (
	srtTimes = regexp.MustCompile(`(?m)^.*-->\s*[\d:.,]+( [XY][12]:\d+)*`)
	srtTag   = regexp.MustCompile(`(?i)</?(i|b|u|font)\b[^>]*>|\{\\[^}]*\}`)
	srtIndex = regexp.MustCompile(`(?m)^\d+\n(.*-->)`)
)

// srtWords are the words of a file, found without a reader: what is left when
// numbers before times, times and tags are gone.
func srtWords(s string) []string {
	s = strings.NewReplacer("\r\r\n", "\n", "\r\n", "\n", "\r", "\n", "\ufeff", "").Replace(s)
	s = srtTimes.ReplaceAllString(srtIndex.ReplaceAllString(s, "$1"), "")
	return bareWords(html.UnescapeString(srtTag.ReplaceAllString(s, "")))
}

func bareWords(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// hasWords tells whether a document says the words, in order and no others.
func hasWords(d *Document, want []string) bool {
	var got []string
	for _, c := range d.Cues {
		for _, l := range c.Lines {
			who := ""
			if len(l) > 0 && l[0].Speaker != "" && !strings.Contains(strings.Join(got, " "), l[0].Speaker) {
				who = l[0].Speaker + " "
			}
			got = append(got, bareWords(who+l.Plain())...)
		}
	}
	return slices.Equal(got, want)
}
