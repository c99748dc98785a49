package timedtext

import (
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

// ebuttdExtra are the elements and attributes that EBU's published schema of
// EBU-TT-D has (github.com/ebu/ebu-tt-d-xsd, seen) and that no sample uses:
// children of metadata are any of other namespaces.
var ebuttdExtra = []string{
	"p@xml:space", "p@ttm:agent", "span@ttm:agent", "style@tts:textDecoration",
	"ttm:title", "ttm:desc", "ttm:agent", "ttm:agent@xml:id", "ttm:agent@type", "ttm:name", "ttm:name@type",
}

// shapes lists each element and attribute of a document, "p" and "p@begin".
func shapes(t *testing.T, data []byte, each func(name string, attrs map[string]string)) {
	t.Helper()
	prefix := func(n xml.Name) string {
		switch s := ttmlSpace(n.Space); s {
		case "tt", "":
			return n.Local
		case "urn:ebu:tt:metadata":
			return "ebuttm:" + n.Local
		case "urn:ebu:tt:style":
			return "ebutts:" + n.Local
		default:
			return s + ":" + n.Local
		}
	}
	dec := xml.NewDecoder(strings.NewReader(string(data)))
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if s, ok := tok.(xml.StartElement); ok {
			attrs := map[string]string{}
			for _, a := range s.Attr {
				if a.Name.Space == "xmlns" || a.Name.Local == "xmlns" {
					continue
				}
				name := prefix(a.Name)
				if strings.HasSuffix(a.Name.Space, "XML/1998/namespace") || a.Name.Space == "xml" {
					name = "xml:" + a.Name.Local
				}
				attrs[name] = a.Value
			}
			each(prefix(s.Name), attrs)
		}
	}
}

// everything is a document with all that EBU-TT-D carries.
func everything() *Document {
	d := farBank()
	d.Cues[0].Lines[0][0].Style = Style{Bold: true, Underline: true, Colour: "#ff8800"}
	d.Cues[0].ID, d.Cues[1].ID = "first", "sub1"
	d.Cues[2].Settings = map[string]string{"align": "left", "region": "bottom"}
	return d
}

// Source: IRT's EBU-TT-D samples (seen): we use no element or attribute that
// they do not, but those of the schema.
func TestEBUTTDShape(t *testing.T) {
	allowed := map[string]bool{}
	for _, n := range ebuttdExtra {
		allowed[n] = true
	}
	for _, path := range glob(t, corpora(t, "ebu-tt-d", "ttml"), "*.xml") {
		data, err := os.ReadFile(filepath.Clean(path))
		if err != nil {
			t.Fatal(err)
		}
		shapes(t, data, func(name string, attrs map[string]string) {
			allowed[name] = true
			for a := range attrs {
				allowed[name+"@"+a] = true
			}
		})
	}
	used := map[string]bool{}
	shapes(t, []byte(written(t, everything(), EBUTTD)), func(name string, attrs map[string]string) {
		used[name] = true
		for a := range attrs {
			used[name+"@"+a] = true
		}
	})
	for n := range used {
		if !allowed[n] {
			t.Errorf("%s is not in EBU-TT-D", n)
		}
	}
	t.Logf("%d names used, %d allowed", len(used), len(allowed))
}

// Source: EBU Tech 3380 by its schema (seen): the types of values, what is
// required, and that each reference finds its style or region.
func TestEBUTTDValues(t *testing.T) {
	types := map[string]*regexp.Regexp{
		"tt@ttp:timeBase":       regexp.MustCompile(`^media$`),
		"tt@ttp:cellResolution": regexp.MustCompile(`^[1-9][0-9]*\s[1-9][0-9]*$`),
		// The schema allows any number of digits; we write three.
		"p@begin":                   regexp.MustCompile(`^[0-9][0-9]+:[0-5][0-9]:[0-5][0-9]\.[0-9]{3}$`),
		"p@end":                     regexp.MustCompile(`^[0-9][0-9]+:[0-5][0-9]:[0-5][0-9]\.[0-9]{3}$`),
		"style@tts:color":           regexp.MustCompile(`^#([a-fA-F\d]{6}|[a-fA-F\d]{8})$`),
		"style@tts:backgroundColor": regexp.MustCompile(`^#([a-fA-F\d]{6}|[a-fA-F\d]{8})$`),
		"style@tts:fontSize":        regexp.MustCompile(`^[+]?\d+(\.?\d+)?%$`),
		"style@tts:textAlign":       regexp.MustCompile(`^(left|center|right|start|end)$`),
		"region@tts:origin":         regexp.MustCompile(`^([+]?\d+(\.?\d+)?%)\s([+]?\d+(\.?\d+)?%)$`),
		"region@tts:extent":         regexp.MustCompile(`^([+]?\d+(\.?\d+)?%)\s([+]?\d+(\.?\d+)?%)$`),
	}
	required := map[string][]string{
		"tt": {"ttp:timeBase", "xml:lang"}, "style": {"xml:id"}, "region": {"xml:id", "tts:origin", "tts:extent"}, "p": {"xml:id"},
	}
	for _, id := range []string{"", "sub2", "look1", "bottom", "text", "align-left", "speaker1", "first"} {
		d := everything()
		d.Cues[3].ID = id
		ids, order := map[string]int{}, ""
		shapes(t, []byte(written(t, d, EBUTTD)), func(name string, attrs map[string]string) {
			order += name + " "
			for _, a := range required[name] {
				if _, ok := attrs[a]; !ok {
					t.Errorf("%s has no %s", name, a)
				}
			}
			for a, v := range attrs {
				if re := types[name+"@"+a]; re != nil && !re.MatchString(v) {
					t.Errorf("%s@%s: got %q, want %s", name, a, v, re)
				}
			}
			for _, ref := range append(strings.Fields(attrs["style"]), attrs["region"], attrs["ttm:agent"]) {
				if ref != "" && ids[ref] == 0 {
					t.Errorf("%s refers to %q, which is not there", name, ref)
				}
			}
			if i := attrs["xml:id"]; i != "" {
				ids[i]++
			}
		})
		for i, n := range ids {
			if n > 1 {
				t.Errorf("identifier %q used %d times", i, n)
			}
		}
		if !strings.HasPrefix(order, "tt head metadata ebuttm:documentMetadata ebuttm:conformsToStandard ebuttm:conformsToStandard ") || !strings.Contains(order, "styling style style") || !strings.Contains(order, "layout region body div p span") {
			t.Errorf("got elements in the order %s", order)
		}
	}
}

func TestEBUTTDLost(t *testing.T) {
	d := farBank()
	d.Base = at25
	d.Cues[0].Lines[0][0].Style.Colour = "yellow"
	d.Cues[1].ID, d.Cues[2].ID = "one", "one"
	d.Cues[3].In += timecode.Ticks(1)
	lost, err := Write(io.Discard, d, EBUTTD, WriteOptions{})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(lost)
	want := "cue identifiers (1)|frame rate (1)|names of colours: written as numbers (1)|times finer than the format has: rounded (1)"
	if got := strings.Join(lost, "|"); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
