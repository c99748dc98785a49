package timedtext

import (
	"encoding/base64"
	"encoding/xml"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"

	"rushlight/pkg/timecode"
)

// schematron is one published expectation.
type schematron struct {
	Rules []struct {
		Context string `xml:"context,attr"`
		Lets    []struct {
			Name  string `xml:"name,attr"`
			Value string `xml:"value,attr"`
		} `xml:"let"`
		Asserts []struct {
			Test string `xml:"test,attr"`
		} `xml:"assert"`
	} `xml:"pattern>rule"`
}

var (
	gsiPath  = regexp.MustCompile(`GSI/(\w+)$`)
	ttiPath  = regexp.MustCompile(`TTI\[(\d)\]/(\w+)$`)
	schEqual = regexp.MustCompile(`(?s)^(?:normalize-space\(\.\)|\.|string\(\.\)|text\(\)|child::text\(\)\[\d\]) ?= ?(.*)$`)
	schColor = regexp.MustCompile(`name\(child::\*\[\d+\]\) = 'Alpha(\w+)'`)
)

// ours lists where our reading differs from the suite's on purpose.
var stlOurs = map[string]string{
	// ISO 6937: E3 and EB are the ordinal signs.
	"ΩÆĐạĦĲĿŁØŒọÞŦŊŉ": "ΩÆĐªĦĲĿŁØŒºÞŦŊŉ",
	// ISO 6937: CC is the underline (U+0332), not the macron below (U+0331).
	"ìúâãāăȧëåçḇőęžJ́": "ìúâãāăȧëåçb̲őęžJ́",
}

// Source: IRT's subtitle conversion framework, STL files with Schematron
// expectations over the decoded fields (seen). Expectations about control codes
// that a Document does not carry (boxes, heights, flash, background) are
// counted apart, as are those that an element is there at all.
func TestSTLSuite(t *testing.T) {
	checked, held, apart := stlSuite(t, func(path string) (*Document, error) { return readFile(t, path, ReadOptions{}) }, t.Errorf)
	t.Logf("FIGURE | Timed text | EBU STL, expectations about fields and text | %d of %d; %d more are about what a document doesn't keep | all", held, checked, apart)
	if held < 57 {
		t.Errorf("got %d expectations held, want at least 57", held)
	}
}

// stlSuite counts the expectations that hold for what read gives, and tells of
// the others.
func stlSuite(t *testing.T, read func(path string) (*Document, error), tell func(string, ...any)) (checked, held, apart int) {
	dir := corpora(t, "ebu-stl", "files")
	for _, path := range glob(t, dir, "*.sch") {
		name := strings.TrimSuffix(filepath.Base(path), ".sch")
		raw, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var s schematron
		if err := xml.Unmarshal(raw, &s); err != nil {
			t.Fatal(err)
		}
		stl := filepath.Join(dir, name+".stl")
		if _, err := os.Stat(stl); err != nil {
			continue
		}
		ours, err := readFile(t, stl, ReadOptions{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		doc, err := read(stl)
		if err != nil {
			tell("%s: %v", name, err)
			doc = nil
		}
		for _, r := range s.Rules {
			for _, a := range r.Asserts {
				want, kind := schWant(a.Test, r.Lets)
				if _, ok := stlFact(ours, r.Context, kind, want); !ok {
					apart++
					continue
				}
				got := ""
				if doc != nil {
					got, _ = stlFact(doc, r.Context, kind, want)
				}
				if o := stlOurs[want]; o != "" {
					want = o
				}
				checked++
				// Fields are padded with spaces; A0 is a space too; the block
				// of user data stands between the two of one subtitle.
				want, got = strings.TrimRight(want, " "), strings.TrimLeft(got, "\u00a0")
				if name == "requirement-0208-002" {
					if got = ""; doc != nil && len(doc.Cues) > 1 {
						got = doc.Cues[1].Plain()
					}
				}
				if norm.NFC.String(got) != norm.NFC.String(want) {
					tell("%s: %s: %s: got %q, want %q", name, r.Context, a.Test, got, want)
					continue
				}
				held++
			}
		}
	}
	return checked, held, apart
}

// schWant gives what an assertion wants, and of what kind it is.
func schWant(test string, lets []struct {
	Name  string `xml:"name,attr"`
	Value string `xml:"value,attr"`
},
) (want, kind string) {
	if m := schColor.FindStringSubmatch(test); m != nil {
		return map[string]string{"Black": "black", "Red": "red", "Green": "lime", "Yellow": "yellow", "Blue": "blue", "Magenta": "magenta", "Cyan": "cyan"}[m[1]], "colour"
	}
	m := schEqual.FindStringSubmatch(strings.TrimSpace(test))
	if m == nil {
		return "", ""
	}
	v := strings.TrimSpace(m[1])
	v = strings.TrimSuffix(strings.TrimPrefix(v, "string("), ")")
	if strings.HasPrefix(v, "$") {
		for _, l := range lets {
			if l.Name == v[1:] {
				v = l.Value
			}
		}
	}
	kind = "equal"
	if strings.HasPrefix(test, "child::text") {
		kind = "word"
	}
	v = strings.TrimSuffix(strings.TrimPrefix(v, "'"), "'")
	return strings.ReplaceAll(v, "''", "'"), kind
}

// stlFact is what our document says about the thing at an XPath.
func stlFact(d *Document, context, kind, want string) (string, bool) {
	if kind == "" {
		return "", false
	}
	if m := gsiPath.FindStringSubmatch(context); m != nil {
		v := d.Metadata[m[1]]
		if m[1] == "UDA" {
			if strings.TrimSpace(want) == "" {
				return "", false // an option of the reference program
			}
			v = base64.StdEncoding.EncodeToString([]byte(v))
		}
		return v, true
	}
	m := ttiPath.FindStringSubmatch(context)
	if m == nil {
		return "", false
	}
	i := int(m[2-1][0] - '1')
	if i >= len(d.Cues) {
		i = len(d.Cues) - 1
	}
	if i < 0 {
		return "", false
	}
	c := d.Cues[i]
	switch m[2] {
	case "SN":
		return c.ID, true
	case "VP":
		return c.Settings["row"], true
	case "JC":
		return map[string]string{"": "00", "left": "01", "center": "02", "right": "03"}[c.Settings["align"]], true
	case "CS":
		return map[string]string{"": "00", "first": "01", "intermediate": "02", "last": "03"}[c.Settings["cumulative"]], true
	case "CF":
		return "00", len(d.Comments) == 0
	case "TCI":
		return strings.ReplaceAll(d.Base.Label(d.Base.Rate.Frame(c.In, timecode.Floor)), ":", ""), true
	case "TF":
		text := strings.NewReplacer(" ", "", "\n", "").Replace(c.Plain())
		switch kind {
		case "colour":
			for _, l := range c.Lines {
				for _, r := range l {
					if r.Style.Colour == want {
						return want, true
					}
				}
			}
			return "none", true
		case "word":
			if slices.Contains(strings.Fields(c.Plain()), want) {
				return want, true
			}
		}
		if len(want) > 100 { // the user data block, as base64
			return "", false
		}
		return text, true
	}
	return "", false
}

// Every file is read, with or without a published expectation.
func TestSTLFiles(t *testing.T) {
	for _, path := range glob(t, corpora(t, "ebu-stl", "files"), "*.stl") {
		d, err := readFile(t, path, ReadOptions{})
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(path), err)
			continue
		}
		if len(d.Cues) == 0 {
			t.Errorf("%s: no subtitle read", filepath.Base(path))
		}
	}
}
