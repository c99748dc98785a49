package timedtext

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/asticode/go-astisub"

	"rushlight/pkg/timecode"
)

// theirs reads a file with go-astisub, which may panic or not return.
func theirs(data []byte, f Format) (*Document, error) {
	type result struct {
		doc *Document
		err error
	}
	done := make(chan result, 1)
	go func() {
		var r result
		defer func() {
			if p := recover(); p != nil {
				r = result{err: fmt.Errorf("panic: %v", p)}
			}
			done <- r
		}()
		var s *astisub.Subtitles
		in := bytes.NewReader(data)
		switch f {
		case SRT:
			s, r.err = astisub.ReadFromSRT(in)
		case WebVTT:
			s, r.err = astisub.ReadFromWebVTT(in)
		case TTML:
			s, r.err = astisub.ReadFromTTML(in)
		case STL:
			s, r.err = astisub.ReadFromSTL(in, astisub.STLOptions{IgnoreTimecodeStartOfProgramme: true})
		}
		if r.err == nil {
			r.doc = theirDocument(s, f)
		}
	}()
	select {
	case r := <-done:
		return r.doc, r.err
	case <-time.After(5 * time.Second):
		return nil, fmt.Errorf("no answer in 5 s")
	}
}

// theirDocument is what go-astisub read in our terms.
func theirDocument(s *astisub.Subtitles, f Format) *Document {
	d := &Document{Format: f}
	if s.Metadata != nil {
		theirHead(d, s.Metadata)
	}
	for _, r := range s.Regions {
		region := Region{ID: r.ID, Settings: map[string]string{}}
		if a := r.InlineStyle; a != nil {
			for k, v := range map[string]string{"width": a.WebVTTWidth, "lines": fmt.Sprint(a.WebVTTLines), "regionanchor": a.WebVTTRegionAnchor, "viewportanchor": a.WebVTTViewportAnchor, "scroll": a.WebVTTScroll} {
				if v != "" && v != "0" {
					region.Settings[k] = v
				}
			}
		}
		d.Regions = append(d.Regions, region)
	}
	for _, item := range s.Items {
		c := Cue{Span: timecode.Span{In: theirTime(item.StartAt), Out: theirTime(item.EndAt)}}
		if item.Index > 0 {
			c.ID = fmt.Sprint(item.Index)
		}
		if item.Region != nil {
			c.set("region", item.Region.ID)
		}
		theirSettings(&c, item.InlineStyle)
		for _, l := range item.Lines {
			var line Line
			for _, i := range l.Items {
				r := Run{Text: i.Text, Speaker: l.VoiceName}
				if a := i.InlineStyle; a != nil && a.TeletextColor != nil {
					r.Style.Colour = theirColour(a.TeletextColor)
				}
				line = append(line, r)
			}
			c.Lines = append(c.Lines, line)
		}
		d.Cues = append(d.Cues, c)
	}
	return d
}

func theirTime(t time.Duration) timecode.Ticks {
	return timecode.FromSeconds(t.Seconds())
}

func theirColour(c *astisub.Color) string {
	hex := "#" + c.TTMLString()
	for _, name := range stlColours {
		if colourHex[name] == hex {
			return name
		}
	}
	return hex
}

func theirSettings(c *Cue, a *astisub.StyleAttributes) {
	if a == nil {
		return
	}
	for k, v := range map[string]string{"align": a.WebVTTAlign, "line": a.WebVTTLine, "position": a.WebVTTPosition, "size": a.WebVTTSize, "vertical": a.WebVTTVertical} {
		if v != "" {
			c.set(k, v)
		}
	}
	if p := a.STLPosition; p != nil {
		c.set("row", fmt.Sprint(p.VerticalPosition))
	}
	if j := a.STLJustification; j != nil {
		if v := map[astisub.Justification]string{astisub.JustificationLeft: "left", astisub.JustificationCentered: "center", astisub.JustificationRight: "right"}[*j]; v != "" {
			c.set("align", v)
		}
	}
}

// theirHead gives the fields of an EBU STL header by their codes.
func theirHead(d *Document, m *astisub.Metadata) {
	if m.Framerate > 0 {
		d.Base = timecode.Base{Rate: timecode.Rate{Num: int64(m.Framerate), Den: 1}}
	}
	date := func(t *time.Time) string {
		if t == nil {
			return ""
		}
		return t.Format("060102")
	}
	count := func(n *int) string {
		if n == nil {
			return ""
		}
		return fmt.Sprintf("%02d", *n)
	}
	d.Metadata = map[string]string{
		"OPT": m.Title, "OET": m.STLOriginalEpisodeTitle, "TPT": m.STLTranslatedProgramTitle, "TET": m.STLTranslatedEpisodeTitle,
		"TN": m.STLTranslatorName, "TCD": m.STLTranslatorContactDetails, "SLR": m.STLSubtitleListReferenceCode, "CD": date(m.STLCreationDate), "RD": date(m.STLRevisionDate),
		"RN": fmt.Sprintf("%02d", m.STLRevisionNumber), "MNC": count(m.STLMaximumNumberOfDisplayableCharactersInAnyTextRow), "MNR": count(m.STLMaximumNumberOfDisplayableRows),
		"CO": m.STLCountryOfOrigin, "PUB": m.STLPublisher, "EN": m.STLEditorName, "ECD": m.STLEditorContactDetails, "DSC": m.STLDisplayStandardCode,
		"DFC": fmt.Sprintf("STL%d.01", m.Framerate),
	}
}

// score counts for both readers.
type score struct {
	suite, what      string
	of, ours, theirs int
}

// Our reader and go-astisub's over the same files with the same checkers; those
// of ours assert elsewhere what is only counted here. The table is for
// docs/figures.md.
func TestCorporaSideBySide(t *testing.T) {
	corpora(t, "webvtt", "wpt-file-parsing")
	scores := sideVTT(t)
	scores = append(scores, sideTTML(t)...)
	scores = append(scores, sideSTL(t)...)
	scores = append(scores, sideSRT(t)...)
	var b strings.Builder
	b.WriteString("| suite | counted | of | Rushlight | go-astisub v0.34.0 |\n|---|---|---|---|---|\n")
	for _, s := range scores {
		fmt.Fprintf(&b, "| %s | %s | %d | %d | %d |\n", s.suite, s.what, s.of, s.ours, s.theirs)
		if s.ours < s.theirs {
			t.Errorf("%s, %s: got %d, want at least go-astisub's %d", s.suite, s.what, s.ours, s.theirs)
		}
	}
	t.Logf("\n%s", b.String())
}

var anyTag = regexp.MustCompile(`<[^>]*>`)

// sideVTT counts the files of which all facts hold. go-astisub takes tags apart,
// so for it the text is compared without them.
func sideVTT(t *testing.T) []score {
	t.Helper()
	dir := corpora(t, "webvtt", "wpt-file-parsing")
	raw, err := os.ReadFile(filepath.Join(dir, "expected.json"))
	if err != nil {
		t.Fatal(err)
	}
	var expected map[string][]map[string]json.RawMessage
	if err := json.Unmarshal(raw, &expected); err != nil {
		t.Fatal(err)
	}
	files, facts := score{suite: "W3C WebVTT file parsing", what: "files with every fact right"}, score{suite: "W3C WebVTT file parsing", what: "facts"}
	for name, list := range expected {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		files.of++
		ours := vttFacts(t, data)
		var other any
		if d, err := theirs(data, WebVTT); err == nil {
			cues := []any{}
			for _, c := range d.Cues {
				cues = append(cues, vttCueFacts(c.ID, c.Plain(), c.In, c.Out, c.Settings, d.Regions))
			}
			other = map[string]any{"cues": cues}
		}
		goodOurs, goodTheirs := true, other != nil
		for _, fact := range list {
			var path string
			_ = json.Unmarshal(fact["path"], &path)
			facts.of++
			v, err := follow(ours, path)
			if err == nil && vttHolds(v, fact) {
				facts.ours++
			} else {
				goodOurs = false
			}
			if strings.HasSuffix(path, ".text") {
				fact = withoutTags(fact)
			}
			if v, err = follow(other, path); other != nil && err == nil && vttHolds(v, fact) {
				facts.theirs++
			} else {
				goodTheirs = false
			}
		}
		if goodOurs {
			files.ours++
		}
		if goodTheirs {
			files.theirs++
		}
	}
	return []score{files, facts}
}

// withoutTags is a fact about text without tags and references.
func withoutTags(fact map[string]json.RawMessage) map[string]json.RawMessage {
	out := map[string]json.RawMessage{}
	for k, raw := range fact {
		var s string
		if err := json.Unmarshal(raw, &s); err == nil {
			raw, _ = json.Marshal(html.UnescapeString(anyTag.ReplaceAllString(s, "")))
		}
		out[k] = raw
	}
	return out
}

// sideTTML counts the documents read, and where npm imsc is there, those with
// the same text at all times.
func sideTTML(t *testing.T) []score {
	t.Helper()
	var out []score
	for _, s := range []struct {
		name string
		dirs []string
	}{{"W3C IMSC 1.0-1.3", []string{"imsc/imsc1/ttml", "imsc/imsc1_1/ttml", "imsc/imsc1_3/ttml"}}, {"IRT EBU-TT-D", []string{"ebu-tt-d/ttml"}}} {
		files := ttmlFiles(t, s.dirs...)
		read := score{suite: s.name, what: "documents read without error or panic", of: len(files)}
		whole := score{suite: s.name, what: "documents with the text of npm imsc at every time"}
		ref := imscReference(t, files)
		for _, f := range files {
			data, err := os.ReadFile(filepath.Clean(f))
			if err != nil {
				t.Fatal(err)
			}
			rd := &reader{doc: &Document{}}
			ours := rd.doc
			if err := rd.readTTML(bytes.NewReader(data)); err == nil {
				read.ours++
			}
			other, err := theirs(data, TTML)
			if err == nil {
				read.theirs++
			}
			r, ok := ref[f]
			if !ok || r.Fail != "" {
				continue
			}
			whole.of++
			if points, equal := r.equal(ours); points == equal {
				whole.ours++
			}
			if other != nil {
				if points, equal := r.equal(other); points == equal {
					whole.theirs++
				}
			}
		}
		out = append(out, read)
		if whole.of > 0 {
			out = append(out, whole)
		} else {
			t.Log("imsc not found: npm install --prefix DIR imsc, then set RUSHLIGHT_NPM=DIR, to compare text")
		}
	}
	return out
}

func sideSTL(t *testing.T) []score {
	t.Helper()
	quiet := func(string, ...any) {}
	facts, read := score{suite: "IRT EBU STL", what: "expectations about fields and text"}, score{suite: "IRT EBU STL", what: "files read without error or panic"}
	facts.of, facts.ours, _ = stlSuite(t, func(path string) (*Document, error) { return readFile(t, path, ReadOptions{}) }, quiet)
	other := func(path string) (*Document, error) {
		data, err := os.ReadFile(filepath.Clean(path))
		if err != nil {
			return nil, err
		}
		return theirs(data, STL)
	}
	_, facts.theirs, _ = stlSuite(t, other, quiet)
	for _, path := range glob(t, corpora(t, "ebu-stl", "files"), "*.stl") {
		read.of++
		if _, err := readFile(t, path, ReadOptions{}); err == nil {
			read.ours++
		}
		if _, err := other(path); err == nil {
			read.theirs++
		}
	}
	return []score{read, facts}
}

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
